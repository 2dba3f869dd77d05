// Words beside a picture: folded to their room, and spread so that none lies on another.

import { drawn } from "../dom.js";

export const INK = "#17201d";
export const PAPER = "#fffdf8";
const FACE = "system-ui, 'Segoe UI', 'DejaVu Sans', sans-serif";
export const LINE = 19; // pixels from one line of words to the next
export const LETTER = 8.6; // pixels of a letter, about

/** Fold words so that no line has more letters than there is room for. */
export function folded(words, most) {
  const lines = [];
  for (const word of words.split(" ")) {
    const last = lines.length - 1;
    if (last >= 0 && `${lines[last]} ${word}`.length <= most) lines[last] += ` ${word}`;
    else lines.push(word);
  }
  return lines;
}

/** Lines of words, the foot of the first at a place, seen over whatever lies there. */
export function lettering(lines, x, y, { anchor = "start", weight = 500, colour = INK } = {}) {
  return drawn("text", {
    x, y, "font-family": FACE, "font-size": 15, "text-anchor": anchor, fill: colour,
    "font-weight": weight, stroke: PAPER, "stroke-width": 4, "stroke-linejoin": "round",
    "paint-order": "stroke",
  }, lines.map((line, k) => drawn("tspan", { x, dy: k ? LINE : 0 }, line)));
}

/** A line that is seen over whatever lies there: a wider one under it in the tone of the paper. */
export function haloed(d, under, pen) {
  return [{ stroke: PAPER, "stroke-width": under }, pen].map((each) => drawn("path", { d, fill: "none", ...each }));
}

/** Spread labels so that none lies on another, in the order of their places. */
export function spread(labels, low, high) {
  labels.sort((one, other) => one.y - other.y);
  let foot = low;
  for (const each of labels) {
    each.top = Math.max(each.y - each.tall / 2, foot);
    foot = each.top + each.tall + 5;
  }
  let head = high;
  for (const each of [...labels].reverse()) {
    each.top = Math.min(each.top, head - each.tall);
    head = each.top - 5;
  }
}
