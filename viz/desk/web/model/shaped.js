/** Shapes made ready to be drawn: their corners with normals, their sharp edges. */
import { placed } from "../space/cut.js";
import { BufferAttribute } from "../space/three.js";

const SHARP = Math.cos((35 * Math.PI) / 180);

/** How many shapes were made ready to be drawn, and cut: each once while it stays as it is. */
export const work = { shaped: 0, cut: 0 };

/** Corners of triangles with their normals and places on the picture of the surface. */
export function surface({ v, i }, factor, look) {
  work.shaped += 1;
  const count = i.length;
  const at = new Float32Array(3 * count);
  const normal = new Float32Array(3 * count);
  const uv = look ? new Float32Array(2 * count) : null;
  for (let k = 0; k < count; k += 3) {
    const [a, b, c] = [3 * i[k], 3 * i[k + 1], 3 * i[k + 2]];
    const [ax, ay, az] = [v[b] - v[a], v[b + 1] - v[a + 1], v[b + 2] - v[a + 2]];
    const [bx, by, bz] = [v[c] - v[a], v[c + 1] - v[a + 1], v[c + 2] - v[a + 2]];
    // Of the body as drawn, then as an upright scale wants it, which undoes itself in the shader.
    const [nx, ny, nz] = [ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx];
    const long = Math.sqrt(nx * nx + ny * ny + nz * nz) || 1;
    const flat = Math.abs(nz) > 0.5 * long;
    const way = Math.sqrt(nx * nx + ny * ny) || 1;
    for (let e = 0; e < 3; e++) {
      const from = 3 * i[k + e];
      const to = 3 * (k + e);
      const [x, y, z] = [v[from], v[from + 1], v[from + 2]];
      at[to] = x;
      at[to + 1] = y;
      at[to + 2] = z;
      normal[to] = nx / long;
      normal[to + 1] = ny / long;
      normal[to + 2] = nz / long;
      if (uv) uv.set(flat ? look.place(x, y) : look.side((y * nx - x * ny) / way, z * factor), 2 * (k + e));
    }
  }
  const geometry = placed(at);
  geometry.setAttribute("normal", new BufferAttribute(normal, 3));
  if (uv) geometry.setAttribute("uv", new BufferAttribute(uv, 2));
  return geometry;
}

/** The sharp edges of a closed mesh, as it is drawn. */
export function edges({ v, i }, factor) {
  const seen = new Map();
  const normals = new Float64Array(i.length);
  const found = [];
  const corners = v.length / 3;
  for (let k = 0; k < i.length; k += 3) {
    const [a, b, c] = [3 * i[k], 3 * i[k + 1], 3 * i[k + 2]];
    const [ax, ay, az] = [v[b] - v[a], v[b + 1] - v[a + 1], (v[b + 2] - v[a + 2]) * factor];
    const [bx, by, bz] = [v[c] - v[a], v[c + 1] - v[a + 1], (v[c + 2] - v[a + 2]) * factor];
    const [nx, ny, nz] = [ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx];
    const long = Math.sqrt(nx * nx + ny * ny + nz * nz) || 1;
    normals[k] = nx / long;
    normals[k + 1] = ny / long;
    normals[k + 2] = nz / long;
    for (let e = 0; e < 3; e++) {
      const [from, to] = [i[k + e], i[k + (e + 1) % 3]];
      const name = from < to ? from * corners + to : to * corners + from;
      const other = seen.get(name);
      if (other === undefined) {
        seen.set(name, k);
        continue;
      }
      const alike = normals[k] * normals[other] + normals[k + 1] * normals[other + 1] + normals[k + 2] * normals[other + 2];
      if (alike < SHARP) {
        for (const at of [3 * from, 3 * to]) found.push(v[at], v[at + 1], v[at + 2]);
      }
    }
  }
  return placed(found);
}
