// Where a place goes that is pointed at: onto walls, square to its neighbours, in line with others.
import { add, apart, cross, dot, edgesOf, grain, leastBy, left, size, sub, unit } from "./plane.js";

/**
 * @typedef {{xy: [number, number], words: string}} Mark a place that another may fall on
 * @typedef {{on: [number, number], along: [number, number], words: string, from?: number,
 *   to?: number, step?: [number, number]}} Guide a line; it ends where `from` and `to` say so
 */

/** Return the marks and guides of a plan, but for the corner that is moved.
 *  @param {string} [moved] the way to it */
export function marksOf(plan, moved = "") {
  const marks = [];
  const guides = [];
  for (const wall of plan.house?.walls ?? []) {
    const along = unit(sub(wall.to, wall.from));
    const long = apart(wall.from, wall.to);
    guides.push({ on: wall.from, along, from: 0, to: long, words: `on ${wall.name}` });
  }
  for (const corner of plan.house?.corners ?? []) {
    if (corner.at !== moved) marks.push({ xy: corner.xy, words: "at a corner of the house" });
  }
  for (const { to: corner } of edgesOf(plan)) {
    if (corner.at === moved) continue;
    const name = `corner ${corner.name || ""}`.trim();
    marks.push({ xy: corner.xy, words: `at ${name}` });
    guides.push({ on: corner.xy, along: [1, 0], words: `in line with ${name}` });
    guides.push({ on: corner.xy, along: [0, 1], words: `in line with ${name}` });
  }
  return { marks, guides };
}

/** Return guides that make a corner square with the edges beyond its neighbours.
 *  @param {{xy: [number, number], through: any, name: string}[]} corners
 *  @param {number} k */
export function squares(corners, k) {
  const found = [];
  const count = corners.length;
  for (const side of [-1, 1]) {
    const next = corners[(k + side + count) % count];
    const beyond = corners[(k + 2 * side + count) % count];
    const along = sub(next.xy, beyond.xy);
    if (!size(along)) continue;
    const words = `square at corner ${next.name}`.trim();
    found.push({ on: next.xy, along: left(unit(along)), words });
    found.push({ on: next.xy, along: unit(along), words: `straight on at corner ${next.name}` });
  }
  return found;
}

/** Return guides for the next point of a line that is drawn. */
export function onward(points) {
  if (!points.length) return [];
  const last = points[points.length - 1];
  const words = "square to the house";
  const found = [{ on: last, along: [1, 0], words }, { on: last, along: [0, 1], words }];
  if (points.length > 1) {
    const along = unit(sub(last, points[points.length - 2]));
    found.unshift({ on: last, along, words: "straight on" });
    found.unshift({ on: last, along: left(along), words: "square" });
  }
  if (points.length > 2) {
    const first = points[0];
    const along = unit(sub(points[1], first));
    found.push({ on: first, along: left(along), words: "square with the first" });
    found.push({ on: first, along, words: "in line with the first" });
  }
  return found;
}

/** Return where a place goes, and to what it went.
 *  @param {[number, number]} xy as it is pointed at
 *  @param {{marks: Mark[], guides: Guide[]}} on
 *  @param {number} reach how far it is drawn, in the unit of the site
 *  @param {"ft" | "m"} of
 *  @returns {{xy: [number, number], to: {words: string, line?: [number, number][]}[]}} */
export function snapped(xy, on, reach, of) {
  const mark = leastBy(on.marks, (each) => apart(each.xy, xy));
  if (mark && apart(mark.xy, xy) <= reach) return { xy: mark.xy, to: [{ words: mark.words }] };
  const near = on.guides
    .map((guide) => ({ guide, foot: footOn(guide, xy) }))
    .filter(({ foot }) => foot && apart(foot, xy) <= reach)
    .sort((one, two) => apart(one.foot, xy) - apart(two.foot, xy));
  const step = grain(of);
  if (!near.length) return { xy: xy.map((each) => Math.round(each / step) * step), to: [] };
  const first = near[0].guide;
  const shown = (guide, at) => ({ words: guide.words, line: [guide.on, at] });
  for (const { guide } of near.slice(1)) {
    const met = meeting(first, guide);
    if (met && apart(met, xy) <= reach * 1.5) {
      return { xy: met, to: [shown(first, met), shown(guide, met)] };
    }
  }
  // Along one line whole inches are kept, from where the line is measured.
  const far = Math.round(dot(sub(near[0].foot, first.on), first.along) / step) * step;
  const at = add(first.on, first.along, within(first, far));
  return { xy: at, to: [shown(first, at)] };
}

const within = (guide, far) => Math.min(Math.max(far, guide.from ?? -Infinity), guide.to ?? Infinity);

function footOn(guide, xy) {
  const far = dot(sub(xy, guide.on), guide.along);
  return add(guide.on, guide.along, within(guide, far));
}

function meeting(one, two) {
  const turn = cross(one.along, two.along);
  if (Math.abs(turn) < 0.02) return null;
  const far = cross(sub(two.on, one.on), two.along) / turn;
  const at = add(one.on, one.along, far);
  if (within(one, far) !== far) return null;
  const other = dot(sub(at, two.on), two.along);
  return within(two, other) === other ? at : null;
}

/** Return the nearest place on a wall, with the wall; null where there is none. */
export function onWall(plan, xy, of) {
  const step = grain(of);
  const feet = (plan.house?.walls ?? []).map((wall) => {
    const along = unit(sub(wall.to, wall.from));
    const far = Math.round(dot(sub(xy, wall.from), along) / step) * step;
    return { xy: add(wall.from, along, Math.min(Math.max(far, 0), apart(wall.from, wall.to))), wall };
  });
  return leastBy(feet, (each) => apart(each.xy, xy));
}
