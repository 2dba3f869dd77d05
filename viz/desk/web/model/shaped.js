/** Shapes made ready to be drawn: their surface with its places on a picture, their sharp edges. */
import { meshed, placed } from "../space/cut.js";
import { BufferAttribute } from "../space/three.js";

const SHARP = Math.cos((35 * Math.PI) / 180);

/** How many shapes were made ready to be drawn, and cut: each once while it stays as it is. */
export const work = { shaped: 0, cut: 0 };

/** The unit vector out of the triangle that begins at a corner, heights so many times as large. */
function outward({ v, i }, k, factor = 1) {
  const [a, b, c] = [3 * i[k], 3 * i[k + 1], 3 * i[k + 2]];
  const [ax, ay, az] = [v[b] - v[a], v[b + 1] - v[a + 1], (v[b + 2] - v[a + 2]) * factor];
  const [bx, by, bz] = [v[c] - v[a], v[c + 1] - v[a + 1], (v[c + 2] - v[a + 2]) * factor];
  const [nx, ny, nz] = [ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx];
  const long = Math.sqrt(nx * nx + ny * ny + nz * nz) || 1;
  return [nx / long, ny / long, nz / long];
}

/** Triangles, with the places of their corners on the picture of the surface where it has one. */
export function surface(shape, factor, look) {
  work.shaped += 1;
  const mesh = meshed(shape);
  if (!look) return mesh;
  const { v, i } = shape;
  const uv = new Float32Array(2 * i.length);
  for (let k = 0; k < i.length; k += 3) {
    const [nx, ny, nz] = outward(shape, k);
    const way = Math.sqrt(nx * nx + ny * ny) || 1;
    for (let e = k; e < k + 3; e++) {
      const [x, y, z] = v.subarray(3 * i[e], 3 * i[e] + 3);
      uv.set(Math.abs(nz) > 0.5 ? look.place(x, y) : look.side((y * nx - x * ny) / way, z * factor), 2 * e);
    }
  }
  const geometry = mesh.toNonIndexed();
  geometry.setAttribute("uv", new BufferAttribute(uv, 2));
  return geometry;
}

/** The sharp edges of a closed mesh, as it is drawn. */
export function edges(shape, factor) {
  const { v, i } = shape;
  const seen = new Map();
  const found = [];
  const corners = v.length / 3;
  for (let k = 0; k < i.length; k += 3) {
    const [nx, ny, nz] = outward(shape, k, factor);
    for (let e = 0; e < 3; e++) {
      const [from, to] = [i[k + e], i[k + (e + 1) % 3]];
      const name = from < to ? from * corners + to : to * corners + from;
      const other = seen.get(name);
      if (!other) seen.set(name, [nx, ny, nz]);
      else if (nx * other[0] + ny * other[1] + nz * other[2] < SHARP) {
        for (const at of [3 * from, 3 * to]) found.push(v[at], v[at + 1], v[at + 2]);
      }
    }
  }
  return placed(found);
}
