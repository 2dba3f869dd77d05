/**
 * Closed meshes cut by an upright plane: the faces of the cut, exact and filled.
 *
 * Every edge of a closed mesh belongs to two triangles, so the points where the plane crosses edges
 * chain into closed lines by the names of those edges alone, however near to each other they lie.
 */
import * as three from "./three.js";

export const EDGE = "#40372d";
const PROUD = 0.003; // how far the face of what lies in other bodies stands before theirs [m]
const BEFORE = 0.0005; // how far a face stands before what is left of its body, and its rim before it [m]
const NEAR_TOP = 0.06; // soil is far deeper than what is seen of layers: it is named so near its top [m]

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
    const vectors = (line) => line.map(([x, y]) => new three.Vector2(x, y));
    const contour = vectors(each.line);
    const inner = own.map(({ line }) => vectors(line));
    const all = [contour, ...inner].flat();
    for (const face of three.ShapeUtils.triangulateShape(contour, inner)) {
      for (const corner of face) triangles.push([all[corner].x, all[corner].y]);
    }
  }
  return triangles;
}

/**
 * Where a face is pointed at: a share of its way along from the right, in the middle of its height there.
 * @param {number[][][]} closed as `lines` gives them, heights so many times as `high` as they are
 * @returns {number[] | null} [along, z]
 */
export function pointed(closed, share, high = 1) {
  const [largest] = [...closed].sort((a, b) => Math.abs(area(b)) - Math.abs(area(a)));
  if (!largest) return null;
  const along = largest.map(([s]) => s);
  const most = Math.max(...along);
  const at = most - share * (most - Math.min(...along));
  const met = closed.flatMap((line) => line.flatMap(([s, z], k) => {
    const [next, to] = line[(k + 1) % line.length];
    return s > at !== next > at ? [z + ((at - s) / (next - s)) * (to - z)] : [];
  })).sort((a, b) => b - a);
  let [top, tall] = [0, 0];
  for (let k = 0; k + 1 < met.length; k += 2) {
    if (met[k] - met[k + 1] > tall) [top, tall] = [met[k], met[k] - met[k + 1]];
  }
  return tall ? [at, top - Math.min(tall / 2, NEAR_TOP * high)] : null;
}

/** How far from the right a layer is pointed at: each at a place of its own, so that no lines cross. */
export const alongFace = (number, count) => 0.04 + (0.5 * number) / count;

/** Ends of lines, two by two, or corners of triangles. */
export function placed(numbers) {
  const geometry = new three.BufferGeometry();
  geometry.setAttribute("position", new three.BufferAttribute(new Float32Array(numbers), 3));
  return geometry;
}

/** The triangles of a shape. */
export function meshed({ v, i }) {
  return placed(v).setIndex(new three.BufferAttribute(i, 1));
}

/** An upright plane: a point of it, its way along, the way `to` whoever looks at it, and what clips by it. */
export function upright([x, y], to) {
  const clip = new three.Plane(new three.Vector3(-to[0], -to[1], 0), x * to[0] + y * to[1]);
  return { at: [x, y], to, along: [-to[1], to[0]], clip };
}

/** A point [along, z] of an upright plane, or so far before it. */
export const inSpace = ({ at, to, along }, [s, z], far = 0) =>
  [at[0] + s * along[0] + far * to[0], at[1] + s * along[1] + far * to[1], z];

/** The face of a cut through a closed body, with its rim. */
export class Face {
  /** @param {object} body what it is of @param {object} material of the face */
  constructor(body, material) {
    this.mesh = new three.Mesh(undefined, material);
    this.rim = new three.LineSegments(undefined, new three.LineBasicMaterial({ color: EDGE }));
    body.add(this.mesh, this.rim);
    this.cut(null);
  }

  /**
   * Cut by a plane, or by none.
   * @param {{v: Float32Array, i: ArrayLike<number>}} shape
   * @param {number} [before] in so many steps it is drawn before the faces of what it lies in
   * @param {(point: number[]) => number[]} [side] where a point falls on the picture of its surface
   */
  cut(shape, plane, before = 0, side = null) {
    this.closed = shape ? lines(shape.v, shape.i, plane) : [];
    const flat = filled(this.closed);
    this.mesh.visible = this.rim.visible = flat.length > 0;
    for (const each of [this.mesh, this.rim]) each.geometry.dispose();
    if (!flat.length) return;
    const off = PROUD * before + BEFORE;
    const rim = this.closed.flatMap((line) => line.flatMap((p, k) => [p, line[(k + 1) % line.length]]));
    this.mesh.geometry = placed(flat.flatMap((p) => inSpace(plane, p, off)));
    this.rim.geometry = placed(rim.flatMap((p) => inSpace(plane, p, off + BEFORE)));
    if (side) {
      const uv = new three.BufferAttribute(new Float32Array(flat.flatMap(side)), 2);
      this.mesh.geometry.setAttribute("uv", uv);
    }
  }

  free() {
    this.cut(null);
    this.rim.material.dispose();
  }
}
