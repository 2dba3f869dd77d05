// What of the plan can be chosen: corners, doors, marks and walls, each with a name that is spoken.
import { apart, dot, edgesOf, leastBy, linePath, middleOf, sub } from "./plane.js";

/**
 * @typedef {{key: string, kind: string, at: string, xy: [number, number], name: string,
 *   ring?: object, k?: number, moves: boolean}} Target
 *   `at` is the way to what it writes; `key` tells it apart from all others.
 */

/** Return all that can be chosen, in the order in which Tab goes through it.
 *  @param {object} plan
 *  @param {string} chosen key of what is chosen
 *  @param {boolean} yard whether the yard itself is worked on
 *  @param {[number, number][] | null} cut the line of the section
 *  @returns {Target[]} */
export function targets(plan, chosen, yard, cut) {
  const found = [];
  const edges = [...edgesOf(plan)];
  for (const { area, ring, k, from, to: corner } of edges) {
    if (corner.closing) continue;
    const level = corner.level ? `, finish ${corner.level}` : "";
    found.push({
      key: corner.at, kind: "corner", at: corner.at, xy: corner.xy, ring, k, moves: true,
      name: `${titleOf(corner, k)} of ${area.name}${level}`,
    });
    if (corner.through && [corner.at, from.at, `${corner.at}/bow`].includes(chosen)) {
      found.push({
        key: `${corner.at}/bow`, kind: "bow", at: corner.at, ring, k, moves: true,
        xy: middleOf(from.xy, corner.through, corner.xy),
        name: `Middle of the round edge to ${titleOf(corner, k).toLowerCase()}`,
      });
    }
  }
  for (const door of plan.doors) {
    const words = [door.name, door.sill, door.step].filter(Boolean).join(", ");
    found.push({
      key: door.at, kind: "door", at: `${door.at}/at`, xy: door.foot ?? door.xy, moves: true,
      name: words,
    });
  }
  // What holds the finish at a corner is moved with that corner, and lies under it.
  const held = edges.map(({ to }) => to.held?.at);
  for (const mark of plan.marks) {
    if (mark.kind === "crease" || held.includes(mark.at)) continue;
    found.push({
      key: mark.at, kind: "mark", at: mark.ways.length === 1 ? mark.ways[0] : "", mark,
      xy: mark.points[Math.floor(mark.points.length / 2)], moves: mark.ways.length === 1,
      name: mark.label,
    });
    if (chosen !== mark.at && !chosen.startsWith(`${mark.at}/`)) continue;
    if (mark.ways.length < 2) continue;
    mark.ways.forEach((at, k) => found.push({
      key: at, kind: "point", at, xy: mark.points[k], mark, moves: true,
      name: `Point ${k + 1} of ${mark.label}`,
    }));
  }
  if (yard && plan.house) {
    const corners = plan.house.corners;
    const last = plan.house.closed ? corners.length - 1 : corners.length;
    corners.slice(0, last).forEach((corner, k) => found.push({
      key: corner.at, kind: "house", at: corner.at, xy: corner.xy, k, moves: true,
      name: `Corner ${k + 1} of the house`,
    }));
  }
  (cut ?? []).forEach((xy, k) => found.push({
    key: `cut/${k}`, kind: "cut", at: "", xy, k, moves: true, name: `${k ? "Second" : "First"} end of the cut`,
  }));
  return found;
}

/** Return what a corner is called. */
export const titleOf = (corner, k) => `Corner ${corner.name || k + 1}`;

/** Return the target nearest to a point of the screen, none beyond a finger. */
export function targetAt(found, win, point, reach) {
  // Lines are chosen by their length, too: their middle counts for less than a corner.
  const off = (target) => apart(win.seen(target.xy), point) + (target.kind === "mark" ? 8 : 0);
  return leastBy(found.filter((target) => off(target) <= reach), off);
}

/** Return the edge of paving, or the line, at a point of the screen. */
export function lineAt(plan, win, point, reach) {
  const lines = [...edgesOf(plan)].filter(({ to }) => !to.closing).map(({ from, to }) =>
    ({ key: `${to.at}/edge`, points: [from.xy, middleOf(from.xy, to.through, to.xy), to.xy] }));
  lines.push(...plan.marks.map(({ at, points }) => ({ key: at, points })));
  const off = ({ points }) => Math.min(...points.slice(1).map((xy, k) =>
    offLine(win.seen(points[k]), win.seen(xy), point)));
  return leastBy(lines.filter((line) => off(line) <= reach), off)?.key ?? null;
}

function offLine(a, b, p) {
  const along = sub(b, a);
  const square = dot(along, along);
  const share = square ? Math.min(Math.max(dot(sub(p, a), along) / square, 0), 1) : 0;
  return apart(p, [a[0] + share * along[0], a[1] + share * along[1]]);
}

/** Return the edge that a key speaks of. */
export function edgeOf(plan, key) {
  const at = key.replace(/\/edge$/, "");
  return [...edgesOf(plan)].find(({ to }) => to.at === at) ?? null;
}

/** Return the line of an edge that is chosen. */
export const edgeLine = ({ from, to }) =>
  linePath([from.xy, middleOf(from.xy, to.through, to.xy), to.xy]);
