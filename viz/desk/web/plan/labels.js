// Words beside marks on the plan, none over another: each takes the first of its places that is free.

import { apart } from "./plane.js";

/**
 * @typedef {{key: string, at: [number, number], words: string[], kind: string, rank: number,
 *   away?: [number, number], span?: [number, number][], slides?: boolean, near?: boolean,
 *   must?: boolean, gap?: number, within?: [number, number][], lined?: boolean}} Label
 *   `at` on the screen; the lower its rank, the sooner it is placed. `away` is the side that is
 *   tried first; one that has a `span` stays on that side of it, or is left out; one that `slides`
 *   goes along the side; one that is `near` is left out where it has no room close by; one that
 *   must be there is placed even where it has none of its own. `within` are other places that it
 *   may lie upon; one that is `lined` may lie on a line of the drawing.
 */

const SIDES = [[0, -1], [1, 0], [-1, 0], [0, 1], [1, -1], [-1, -1], [1, 1], [-1, 1]];

/** Return labels with their boxes, those left out that have no room.
 *
 *  Each has the first of its places where no line strikes words through, its own leader neither;
 *  where there is none such, the first that is free.
 *  @param {Label[]} labels
 *  @param {(words: string, kind: string) => number} wide how wide words are, in pixels
 *  @param {[number, number, number, number][]} taken boxes that words must not cross
 *  @param {[number, number]} frame how wide and high the picture is
 *  @param {[number, number, number, number][]} lines boxes that words had better not cross */
export function placed(labels, wide, taken, frame, lines = []) {
  const boxes = [...taken];
  const struck = [...lines];
  const written = [];
  const found = [];
  for (const label of [...labels].sort((a, b) => a.rank - b.rank)) {
    const size = [
      Math.max(...label.words.map((row) => wide(row, label.kind))) + 6,
      label.words.length * LINE + 4,
    ];
    const places = boxesRound(label, size);
    const clear = (each) => !struck.some((other) => over(each, other))
      && !dots(leaderOf(each.of ?? label.at, each)).some((dot) => written.some((other) => over(dot, other)));
    let box;
    for (const each of places) {
      if (!inside(each, frame) || boxes.some((other) => over(each, other))) continue;
      box ??= each;
      if (!label.lined && !clear(each)) continue;
      box = each;
      break;
    }
    if (label.must) box ??= places.find((each) => inside(each, frame));
    if (!box) continue;
    boxes.push(box);
    written.push(box);
    const at = box.of ?? label.at;
    const leader = leaderOf(at, box);
    struck.push(...dots(leader));
    found.push({ ...label, at, box, leader });
  }
  return found;
}

/** Return the line from a place to words about it that lie too far off to be taken for its own. */
function leaderOf([x, y], [x0, y0, x1, y1]) {
  const near = [Math.min(Math.max(x, x0), x1), Math.min(Math.max(y, y0), y1)];
  return apart(near, [x, y]) > FAR ? [[x, y], near] : null;
}

/** Return small boxes along a line of the screen. */
export function dots(line, half = 2, step = 6) {
  if (!line) return [];
  const [a, b] = line;
  const count = Math.max(1, Math.ceil(apart(a, b) / step));
  return Array.from({ length: count + 1 }, (_, k) => {
    const [x, y] = [0, 1].map((axis) => a[axis] + ((b[axis] - a[axis]) * k) / count);
    return [x - half, y - half, x + half, y + half];
  });
}

/** Pixels from one line of a label to the next. */
export const LINE = 18;
const FAR = 42; // pixels: words nearer than this to their place want no line to it

function boxesRound(label, [w, h]) {
  const gap = label.gap ?? 14;
  const places = [];
  const put = ([x, y], [dx, dy], far, aside = 0) => {
    const cx = x + dx * (gap * far + (Math.abs(dx) > 0.3 ? w / 2 : 0)) - dy * aside * w;
    const cy = y + dy * (gap * far + h / 2) + dx * aside * w;
    places.push(Object.assign([cx - w / 2, cy - h / 2, cx + w / 2, cy + h / 2], { of: [x, y] }));
  };
  if (label.gap === 0) {
    const [x, y] = label.at;
    places.push([x - w / 2, y - h / 2, x + w / 2, y + h / 2]);
  }
  for (const [x, y] of label.within ?? []) {
    places.push(Object.assign([x - w / 2, y - h / 2, x + w / 2, y + h / 2], { of: [x, y] }));
  }
  if (label.span) {
    // On its own side of a line first, and along that.
    const [a, b] = label.span;
    for (const far of [1, 1.7, 2.6]) {
      for (const share of [0.5, 0.35, 0.65, 0.2, 0.8, 0.08, 0.92]) {
        put([a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])], label.away, far);
      }
    }
    return places;
  }
  for (const far of label.away ? [1, 1.7, 2.6, 3.8] : []) {
    for (const aside of label.slides ? [0, 0.6, -0.6] : [0]) put(label.at, label.away, far, aside);
    if (!label.slides) break;
  }
  for (const far of label.near ? [1, 1.6] : [1, 1.6, 2.6, 4]) {
    for (const side of label.away ? [label.away, ...SIDES] : SIDES) put(label.at, side, far);
  }
  return places;
}

const over = (a, b) => a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];

const inside = (box, [w, h]) => box[0] >= 2 && box[1] >= 2 && box[2] <= w - 2 && box[3] <= h - 2;
