/**
 * Closed meshes cut by an upright plane: the faces of the cut, exact and filled.
 *
 * Every edge of a closed mesh belongs to two triangles, so the points where the plane crosses edges
 * chain into closed lines by the names of those edges alone, however near to each other they lie.
 */
import { ShapeUtils, Vector2 } from "../space/three.js";

/**
 * Cut a mesh.
 * @param {Float32Array} v vertices
 * @param {ArrayLike<number>} i triangles, counter-clockwise from outside
 * @param {{at: number[], along: number[]}} plane a point of it and its unit direction, in plan
 * @returns {number[][][]} closed lines of points [along, z]; solid lies on the left of each
 */
export function lines(v, i, { at, along }) {
  const far = new Float64Array(v.length / 3);
  for (let k = 0; k < far.length; k++) {
    // A corner on the plane counts as behind it: no edge is crossed in its end.
    const off = (v[3 * k] - at[0]) * along[1] - (v[3 * k + 1] - at[1]) * along[0];
    far[k] = off === 0 ? -1e-9 : off;
  }
  const count = far.length;
  const points = new Map();
  const next = new Map();
  const crossing = (a, b) => {
    const name = Math.min(a, b) * count + Math.max(a, b);
    if (!points.has(name)) {
      // Always from the lower to the higher corner, so that both triangles find the same point.
      const [p, q] = a < b ? [a, b] : [b, a];
      const t = far[p] / (far[p] - far[q]);
      const x = v[3 * p] + t * (v[3 * q] - v[3 * p]) - at[0];
      const y = v[3 * p + 1] + t * (v[3 * q + 1] - v[3 * p + 1]) - at[1];
      const z = v[3 * p + 2] + t * (v[3 * q + 2] - v[3 * p + 2]);
      points.set(name, [x * along[0] + y * along[1], z]);
    }
    return name;
  };
  for (let k = 0; k < i.length; k += 3) {
    const corner = [i[k], i[k + 1], i[k + 2]];
    const front = corner.map((c) => far[c] > 0);
    if (front[0] === front[1] && front[1] === front[2]) continue;
    let start;
    let end;
    for (let e = 0; e < 3; e++) {
      const [a, b] = [e, (e + 1) % 3];
      if (front[a] && !front[b]) start = crossing(corner[a], corner[b]);
      if (!front[a] && front[b]) end = crossing(corner[a], corner[b]);
    }
    next.set(start, end);
  }
  const found = [];
  while (next.size) {
    const [first] = next.keys();
    const line = [];
    for (let name = first; next.has(name); ) {
      line.push(points.get(name));
      const following = next.get(name);
      next.delete(name);
      name = following;
    }
    if (line.length > 2) found.push(line);
  }
  return found;
}

const area = (line) => {
  let sum = 0;
  for (let k = 0; k < line.length; k++) {
    const [a, b] = [line[k], line[(k + 1) % line.length]];
    sum += a[0] * b[1] - b[0] * a[1];
  }
  return sum / 2;
};

const inside = ([x, y], line) => {
  let odd = false;
  for (let k = 0; k < line.length; k++) {
    const [a, b] = [line[k], line[(k + 1) % line.length]];
    if (a[1] > y !== b[1] > y && x < a[0] + ((y - a[1]) / (b[1] - a[1])) * (b[0] - a[0])) odd = !odd;
  }
  return odd;
};

/**
 * Fill closed lines: triangles of points [along, z], holes left out.
 * @param {number[][][]} closed as `lines` gives them
 * @returns {number[][]} points, three to a triangle
 */
export function filled(closed) {
  const sized = closed.map((line) => ({ line, area: area(line) }));
  const total = sized.reduce((sum, each) => sum + each.area, 0);
  const way = total < 0 ? -1 : 1;
  const outer = sized.filter((each) => way * each.area > 1e-9);
  const holes = sized.filter((each) => way * each.area < -1e-9);
  const triangles = [];
  for (const each of outer) {
    const own = holes.filter(({ line }) => inside(line[0], each.line));
    const vectors = (line) => line.map(([x, y]) => new Vector2(x, y));
    const contour = vectors(each.line);
    const inner = own.map(({ line }) => vectors(line));
    const all = [contour, ...inner].flat();
    for (const face of ShapeUtils.triangulateShape(contour, inner)) {
      for (const corner of face) triangles.push([all[corner].x, all[corner].y]);
    }
  }
  return triangles;
}
