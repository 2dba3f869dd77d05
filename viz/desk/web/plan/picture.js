// The yard drawn: what lies on the ground in its own unit, and signs that keep their size.
import { add, apart, boxOf, cross, leastBy, left, linePath, middle, ringPath, sub, unit } from "./plane.js";
import { drawn } from "../dom.js";

const FOOT = { ft: 1, m: 0.3048 };

/** Return the patterns that areas are filled with. */
export function patterns(of) {
  const foot = FOOT[of];
  const pattern = (id, wide, high, turned, ...inner) =>
    drawn("pattern", {
      id, width: wide, height: high, patternUnits: "userSpaceOnUse",
      patternTransform: `scale(${foot})${turned}`,
    }, ...inner);
  return drawn("defs", {},
    pattern("plan-paving", 1.6, 0.8, "",
      drawn("rect", { class: "paver", width: 1.6, height: 0.8 }),
      drawn("path", { class: "joint", d: "M0 0H1.6M0 .4H1.6M.4 0V.4M1.2 .4V.8" })),
    pattern("plan-house", 0.9, 0.9, " rotate(45)",
      drawn("rect", { class: "inside", width: 0.9, height: 0.9 }),
      drawn("path", { class: "hatch", d: "M0 0V.9" })),
    pattern("plan-water", 1.2, 0.6, "",
      drawn("rect", { class: "wet", width: 1.2, height: 0.6 }),
      drawn("path", { class: "wave", d: "M0 .15H.7M.5 .45H1.2" })));
}

/** Return all that lies on the ground, in the unit of the site, from the bottom up.
 *  @param {object} plan
 *  @param {Map<string, object[]>} moved corners of rings that are dragged, by their way
 *  @param {object[] | null} lines level lines */
export function ground(plan, moved, lines) {
  const found = [];
  const shape = (kind, d, more = {}) => found.push(drawn("path", { class: kind, d, ...more }));
  const many = (rings) => rings.map((ring) => linePath(ring, true)).join("");
  if (plan.house) {
    shape("house", many([...plan.house.body, ...plan.house.courts]), { "fill-rule": "evenodd" });
  }
  for (const mark of plan.marks) if (mark.closed) shape("place", linePath(mark.points, true));
  for (const area of plan.areas) {
    const rings = area.rings.map((ring) => ringPath(moved.get(ring.at) ?? ring.corners)).join("");
    shape("paving", rings, { "fill-rule": "evenodd" });
  }
  for (const each of lines ?? []) shape(`level ${each.kind}`, linePath(each.line));
  for (const low of plan.low_spots) shape("low", many(low.rings), { "fill-rule": "evenodd" });
  for (const built of plan.structures) shape("built", many(built.rings), { "fill-rule": "evenodd" });
  for (const mark of plan.marks) {
    if (mark.rings) shape("thing", many(mark.rings));
    else if (!mark.closed && mark.points.length > 1) {
      shape(`line ${mark.kind}`, linePath(mark.points));
    }
  }
  for (const area of plan.areas) {
    for (const fold of area.folds) shape("fold", linePath(fold.line));
  }
  for (const wall of plan.house?.walls ?? []) shape("wall", linePath([wall.from, wall.to]));
  for (const door of plan.doors) shape("leaf", linePath(leafOf(door, FOOT[plan.unit]), true));
  return found;
}

/** Return the four corners of a door in its wall: three feet of it, whose width no file gives. */
function leafOf(door, foot) {
  const along = door.along ?? [1, 0];
  const across = left(along);
  const at = door.foot ?? door.xy;
  const corner = (s, t) => add(add(at, along, 1.5 * foot * s), across, 0.32 * foot * t);
  return [corner(-1, -1), corner(1, -1), corner(1, 1), corner(-1, 1)];
}

/** Return signs that keep their size: arrows of the fall, spots, points of what is marked. */
export function signs(plan, win, { spots = true, arrows = true, small = false }) {
  const found = [];
  for (const mark of plan.marks) {
    if (mark.points.length === 1 && !mark.rings) found.push(sign(mark.kind, win.seen(mark.points[0])));
    if (mark.kind === "downspout") found.push(sign(mark.kind, win.seen(mark.points[0])));
  }
  for (const spot of spots ? plan.spots : []) {
    found.push(sign(`spot ${spot.standing.replace(" ", "-")}`, win.seen(spot.xy)));
  }
  for (const fall of arrows ? arrowsOf(plan, win) : []) {
    found.push(arrow(win.seen(fall.xy), win.way(fall.way), small));
  }
  return found;
}

/** Return the arrows of the fall that have room beside one another. */
export function arrowsOf(plan, win) {
  const kept = [];
  const things = plan.marks.flatMap((mark) => mark.rings ?? []).map(boxOf);
  for (const fall of plan.areas.flatMap((area) => area.falls)) {
    const at = win.seen(fall.xy);
    const free = things.every(([x0, y0, x1, y1]) =>
      fall.xy[0] < x0 || fall.xy[0] > x1 || fall.xy[1] < y0 || fall.xy[1] > y1);
    const first = Boolean(fall.label); // it has the figure of its plane
    if (!fall.way || !(free || first)) continue;
    if (first || kept.every((other) => apart(win.seen(other.xy), at) > 64)) kept.push(fall);
  }
  return kept;
}

/** Return where words of a mark belong: at the middle of its longest piece that is seen. */
export function wordsAt(mark, win, [wide, high]) {
  const pieces = mark.points.slice(1).map((b, place) => {
    const a = mark.points[place];
    const [x, y] = win.seen(middle(a, b));
    const seen = x > 0 && y > 0 && x < wide && y < high;
    return { long: apart(a, b) * (seen ? 1 : 0.01), xy: middle(a, b), k: place + 1 };
  });
  return leastBy(pieces, ({ long }) => -long) ?? { xy: mark.points[0], k: 0 };
}

/** Return a sign at a point of the screen: its shape tells what it is, never its colour alone. */
function sign(kind, [x, y]) {
  const shapes = {
    downspout: "M-7 0A7 7 0 1 0 7 0A7 7 0 1 0 -7 0ZM-3 0H3M0 -3V3",
    reference: "M0 -7L7 5H-7Z",
    "spot fits": "M-3.5 0H3.5M0 -3.5V3.5",
    "spot stands-out": "M-8 -8L8 8M-8 8L8 -8M-11 0A11 11 0 1 0 11 0A11 11 0 1 0 -11 0Z",
    "spot left-out": "M-5 -5L5 5M-5 5L5 -5",
    step: "M-8 5H-3V0H3V-5H8",
  };
  const d = shapes[kind] ?? "M0 -6L6 0L0 6L-6 0Z";
  return drawn("path", { class: `sign ${kind}`, d, transform: `translate(${x} ${y})` });
}

function arrow(at, way, small) {
  const angle = (Math.atan2(way[1], way[0]) * 180) / Math.PI;
  const d = "M-24 -3.5H8V-11L25 0L8 11V3.5H-24Z";
  return drawn("path", { class: "fall", d, transform: `translate(${at[0]} ${at[1]}) rotate(${angle}) scale(${small ? 0.7 : 1})` });
}

/** Return the dimensions of straight edges that stand free: their line on the screen, and words.
 *  @param {object} plan
 *  @param {import("./plane.js").Window} win
 *  @param {(words: string) => number} wide
 *  @param {string} chosen the way to a corner whose edges are all told */
export function dimensions(plan, win, wide, chosen) {
  const found = [];
  for (const area of plan.areas) {
    for (const ring of area.rings) {
      const corners = ring.corners;
      const turned = corners.reduce((sum, each, k) => sum + cross(corners.at(k - 1).xy, each.xy), 0);
      corners.forEach((corner, k) => {
        const from = corners.at(k - 1);
        if (!corner.edge.label || corner.closing) return;
        if (!corner.edge.free && chosen !== corner.at && chosen !== from.at) return;
        const [a, b] = [win.seen(from.xy), win.seen(corner.xy)];
        const room = apart(a, b);
        if (room < wide(corner.edge.label) * 0.7 && room < 60) return;
        // Outside the paving, as far as a finger is from a corner.
        const side = left(unit(sub(corner.xy, from.xy))).map((each) => -each * Math.sign(turned));
        const out = win.way(side).map((each) => each * 34);
        found.push({ ring, k, label: corner.edge.label, line: [add(a, out), add(b, out)], out });
      });
    }
  }
  return found;
}

/** Return the line of a dimension with its ticks. */
export function dimensionLine({ line: [a, b], out }) {
  const tick = unit(out).map((each) => each * 7);
  const d = [a, b].map((end) => {
    const [from, to] = [sub(end, tick), add(end, tick)];
    return `M${from[0]} ${from[1]}L${to[0]} ${to[1]}`;
  });
  return drawn("path", { class: "measured", d: `M${a[0]} ${a[1]}L${b[0]} ${b[1]}${d.join("")}` });
}

/** Return where words may stand beside the middle of a dimension. */
export const dimensionAt = ({ line: [a, b] }) => middle(a, b);

const ROUND = { ft: [1, 2, 5, 10, 20, 50, 100, 200], m: [0.5, 1, 2, 5, 10, 20, 50, 100] };

/** Return a scale bar that ends at a point of the screen. */
export function scaleBar(win, of, [right, foot]) {
  const long = ROUND[of].find((each) => each * win.scale > 70) ?? ROUND[of].at(-1);
  const wide = long * win.scale;
  const x = right - wide;
  return drawn("g", { class: "scale" },
    drawn("text", { x: right, y: foot - 14, "text-anchor": "end" }, `${long} ${of}`),
    drawn("rect", { class: "first", x, y: foot - 8, width: wide / 2, height: 8 }),
    drawn("rect", { x: x + wide / 2, y: foot - 8, width: wide / 2, height: 8 }));
}
