// Places on the plan: the yard turned onto the screen, arcs, and how a place is written in the file.

/** @typedef {[number, number]} Place in the unit of the site */

export const sub = (a, b) => [a[0] - b[0], a[1] - b[1]];
export const add = (a, b, k = 1) => [a[0] + k * b[0], a[1] + k * b[1]];
export const dot = (a, b) => a[0] * b[0] + a[1] * b[1];
export const cross = (a, b) => a[0] * b[1] - a[1] * b[0];
export const size = (a) => Math.hypot(a[0], a[1]);
export const apart = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
export const unit = (a) => { const long = size(a) || 1; return [a[0] / long, a[1] / long]; };
export const middle = (a, b) => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
export const left = (a) => [-a[1], a[0]];

/** Return the one of some that is least by a measure, the first of equals; null of none. */
export function leastBy(found, measure) {
  let [best, least] = [null, Infinity];
  for (const each of found) {
    const size = measure(each);
    if (size < least) [best, least] = [each, size];
  }
  return best;
}

/** Return the box [x0, y0, x1, y1] that places lie in. */
export function boxOf(places) {
  const [xs, ys] = [0, 1].map((axis) => places.map((xy) => xy[axis]));
  return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
}

/** Yield every edge of paving: the corners that it lies between, the ring, and the number of the second. */
export function* edgesOf(plan) {
  for (const area of plan.areas) {
    for (const ring of area.rings) {
      for (const [k, to] of ring.corners.entries()) yield { area, ring, k, from: ring.corners.at(k - 1), to };
    }
  }
}

/** The yard on the screen: turned, moved and made larger or smaller; never mirrored. */
export class Window {
  constructor() {
    this.turn = 180;
    this.scale = 20; // pixels for each unit of the site
    this.at = [0, 0]; // pixels
  }

  /** Turn a direction of the yard onto the screen, whose y runs down. */
  way([x, y]) {
    const angle = (this.turn * Math.PI) / 180;
    const [c, s] = [Math.cos(angle), Math.sin(angle)];
    return [c * x - s * y, -(s * x + c * y)];
  }

  /** Turn a direction of the screen into the yard. */
  back([x, y]) {
    const angle = (this.turn * Math.PI) / 180;
    const [c, s] = [Math.cos(angle), Math.sin(angle)];
    return [c * x - s * y, -s * x - c * y];
  }

  /** Return where a place is on the screen. */
  seen(xy) {
    const [x, y] = this.way(xy);
    return [x * this.scale + this.at[0], y * this.scale + this.at[1]];
  }

  /** Return the place under a point of the screen. */
  under([px, py]) {
    return this.back([(px - this.at[0]) / this.scale, (py - this.at[1]) / this.scale]);
  }

  /** Return the matrix of an SVG group that is drawn in the unit of the site. */
  matrix() {
    const [a, b] = this.way([1, 0]);
    const [c, d] = this.way([0, 1]);
    const k = this.scale;
    return `matrix(${a * k} ${b * k} ${c * k} ${d * k} ${this.at[0]} ${this.at[1]})`;
  }

  /** Show a box [x0, y0, x1, y1] of the yard in a frame of the screen [left, top, right, bottom]. */
  fit([x0, y0, x1, y1], [l, t, r, b]) {
    const [u0, v0, u1, v1] = boxOf([[x0, y0], [x1, y0], [x1, y1], [x0, y1]].map((xy) => this.way(xy)));
    this.scale = Math.max(Math.min((r - l) / (u1 - u0 || 1), (b - t) / (v1 - v0 || 1)), 0.05);
    this.at = [(l + r - this.scale * (u0 + u1)) / 2, (t + b - this.scale * (v0 + v1)) / 2];
  }

  /** Make it larger about a point of the screen. */
  zoom(by, [px, py]) {
    const scale = Math.min(Math.max(this.scale * by, 0.5), 4000);
    const k = scale / this.scale;
    this.scale = scale;
    this.at = [px - k * (px - this.at[0]), py - k * (py - this.at[1])];
  }
}

/** Return the circle through three places, or null where they lie on a line. */
export function circle(a, b, c) {
  const [p, q] = [sub(b, a), sub(c, a)];
  const twice = 2 * cross(p, q);
  if (Math.abs(twice) < 1e-9 * (dot(p, p) + dot(q, q))) return null;
  const centre = add(a, [
    (q[1] * dot(p, p) - p[1] * dot(q, q)) / twice,
    (p[0] * dot(q, q) - q[0] * dot(p, p)) / twice,
  ]);
  return { centre, radius: apart(centre, a), leftward: cross(sub(b, a), sub(c, b)) > 0 };
}

/** Return the piece of a path that goes from a place to another, through a third if it is round. */
export function leg(from, through, to) {
  const round = through && circle(from, through, to);
  if (!round) return `L${to[0]} ${to[1]}`;
  // More than half a turn where the centre lies on the same side of the chord as the arc.
  const chord = sub(to, from);
  const large = cross(chord, sub(through, from)) * cross(chord, sub(round.centre, from)) > 0;
  const sweep = round.leftward ? 1 : 0; // within a group in the unit of the site
  return `A${round.radius} ${round.radius} 0 ${large ? 1 : 0} ${sweep} ${to[0]} ${to[1]}`;
}

/** Return the path of a ring of corners {xy, through}, each with the edge that ends at it. */
export function ringPath(corners) {
  const first = corners.at(-1).xy;
  const legs = corners.map(({ through, xy }, k) => leg(corners.at(k - 1).xy, through, xy));
  return `M${first[0]} ${first[1]}${legs.join("")}Z`;
}

/** Return the path of a line of places. */
export const linePath = (points, closed = false) =>
  points.map((xy, k) => `${k ? "L" : "M"}${xy[0]} ${xy[1]}`).join("") + (closed ? "Z" : "");

/** Return where the middle of an edge is, on its arc where it is round. */
export function middleOf(from, through, to) {
  const round = through && circle(from, through, to);
  if (!round) return middle(from, to);
  const chord = sub(to, from);
  const side = Math.sign(cross(chord, sub(through, from)));
  const out = unit(left(chord)).map((each) => each * side);
  return add(round.centre, out, round.radius);
}

/** Return a place moved as the chord of its arc was: from a-b to c-d. */
export function carried(xy, a, b, c, d) {
  const [was, is, off] = [sub(b, a), sub(d, c), sub(xy, a)];
  const square = dot(was, was) || 1;
  const [k, s] = [dot(was, is) / square, cross(was, is) / square];
  return add(c, [k * off[0] - s * off[1], s * off[0] + k * off[1]]);
}

/** Return what a place is rounded to when it is pointed at: whole inches, or 10 mm. */
export const grain = (of) => (of === "ft" ? 1 / 12 : 0.01);

/** Return a length as a person writes it in a file: 27, "27' 1\"", 27.0833, 8.25. */
export function written(value, of) {
  const whole = Math.round(value * 12);
  if (of === "ft" && Math.abs(value * 12 - whole) < 1e-3) {
    if (whole % 12 === 0) return whole / 12;
    const inches = Math.abs(whole);
    return `${whole < 0 ? "-" : ""}${Math.floor(inches / 12)}' ${inches % 12}"`;
  }
  return Math.round(value * 1e4) / 1e4;
}

/** Return a place as a person writes it in a file. */
export const writtenAt = (xy, of) => [written(xy[0], of), written(xy[1], of)];

/** Say how long what is being drawn is, to the nearest inch or centimetre: read off a ruler. */
export function ruled(value, of) {
  if (of !== "ft") return `${(Math.round(value * 100) / 100).toFixed(2)} m`;
  const whole = Math.round(value * 12);
  const about = Math.abs(value * 12 - whole) > 0.02 ? "about " : "";
  return `${about}${Math.floor(whole / 12)}' ${whole % 12}"`;
}
