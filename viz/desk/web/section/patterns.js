// Patterns of materials: each tells its material without colour too. Their tones come with the
// section, as the drawings have them; only the marks are made here.

import { drawn } from "../dom.js";

const outlined = (mark, line, width) => ({ ...mark, stroke: line, width });
const stone = (points, fill) => ({ d: `M${points}Z`, fill });
const stroke = (d, line, width = 1) => ({ d, stroke: line, width });
const round = (x, y, r) => `M${x - r},${y}a${r},${r} 0 1,0 ${2 * r},0a${r},${r} 0 1,0 ${-2 * r},0`;
const dots = (places, r, fill) => ({ d: places.map(([x, y]) => round(x, y, r)).join(""), fill });

/** What is drawn on one tile of each material: its width, its height, its marks. */
const MARKS = {
  paver: ({ marks, line }) => [46, 400, [
    { d: "M0,0h22v400h-22Z", fill: marks[1] }, { d: "M24,0h21v400h-21Z", fill: marks[0] },
    stroke("M23,0V400M45.5,0V400", line, 1.4),
  ]],
  "bedding sand": ({ marks }) => [9, 9, [dots([[2, 2], [6.5, 4], [3.5, 7]], 0.9, marks[0])]],
  chips: ({ marks, line }) => [16, 14, [
    outlined(dots([[4, 4], [12, 10]], 2.7, marks[0]), line, 0.6),
    outlined(dots([[12, 3], [4, 11]], 2.3, marks[1]), line, 0.6),
  ]],
  "dense-graded": ({ marks, line }) => [34, 28, [
    outlined(stone("2,4 11,2 14,9 7,14 1,11", marks[0]), line, 0.8),
    outlined(stone("20,10 29,8 33,15 26,20 19,17", marks[2]), line, 0.8),
    outlined(stone("5,19 11,17 14,22 9,26 4,24", marks[1]), line, 0.8),
    dots([[18, 3], [25, 3], [31, 25], [20, 24], [16, 14], [2, 16]], 1.1, line),
  ]],
  "open-graded": ({ marks, line }) => [30, 26, [
    outlined(dots([[7, 7]], 6.2, marks[0]), line, 1),
    outlined(dots([[22, 7]], 5.8, marks[2]), line, 1),
    outlined(dots([[14.5, 19.5]], 5.9, marks[1]), line, 1),
    outlined(dots([[-0.5, 19.5], [29.5, 19.5]], 5.9, marks[0]), line, 1),
  ]],
  panel: ({ marks }) => [15, 400, [{ d: "M3,0h9v400h-9Z", fill: marks[0] }]],
  geotextile: ({ marks }) => [12, 6, [stroke("M0,3H7", marks[0], 1.6)]],
  refill: ({ marks, line }) => [40, 30, [
    outlined(stone("4,6 9,4 11,9 6,11", marks[1]), line, 0.7),
    outlined(stone("24,19 30,18 31,23 26,24", marks[0]), line, 0.7),
    stroke("M0,14.5H13M20,29.5H34", line, 1),
  ]],
  backfill: ({ marks }) => [22, 18, [
    stroke("M3,12l5,-6M7,13l5,-6M11,14l5,-6", marks[0], 1.1), dots([[18, 4], [2, 4]], 1, marks[0]),
  ]],
  soil: ({ marks }) => [40, 30, [
    stroke("M3,12l6,-7M8,13l6,-7M13,14l6,-7M37,28l-6,-7M32,29l-6,-7M27,29l-6,-7", marks[0], 1.1),
  ]],
  topsoil: ({ marks }) => [18, 20, [
    dots([[3, 4], [10, 2], [15, 9], [5, 13], [12, 16]], 1.1, marks[0]),
    stroke("M8,4q2,3 0,6q-2,3 0,6", marks[0], 0.8),
  ]],
  concrete: ({ marks }) => [26, 22, [
    dots([[4, 5], [12, 3], [20, 8], [7, 15], [16, 18]], 1, marks[0]),
    stroke("M10,10l5,1l-3,4Z", marks[0], 0.9),
  ]],
  block: ({ marks }) => [20, 18, [stroke("M2,6l8,-4M12,15l7,-3M4,12l7,4M12,3l6,4", marks[0], 1)]],
  cap: ({ marks }) => [12, 6, [stroke("M0,3H12", marks[0], 0.9)]],
  "step unit": ({ marks }) => [16, 14, [dots([[4, 3], [4, 7], [12, 8], [12, 12]], 1, marks[0])]],
  pipe: ({ marks }) => [10, 10, [dots([[5, 5]], 2, marks[0])]],
  grate: ({ marks }) => [7, 20, [stroke("M3.5,0V20", marks[0], 2)]],
  membrane: ({ marks }) => [16, 4, [stroke("M0,2H8", marks[0], 1.4)]],
};
MARKS["drain stone"] = MARKS["open-graded"];
MARKS.channel = MARKS.concrete;

/** Return the `defs` with a pattern for each tone; `fill` gives what fills an area of a material.
 * @param {Object} tones
 * @param {string} prefix set before every id, so that pictures on one page share none
 */
export function patterns(tones, prefix) {
  const defs = drawn("defs");
  const id = (key) => `${prefix}-${key.replace(/[^a-z]/g, "-")}`;
  for (const [key, tone] of Object.entries(tones)) {
    const marks = [0, 1, 2].map((k) => tone.marks[k % tone.marks.length]);
    const [width, height, marked] = (MARKS[key] || MARKS["dense-graded"])({ marks, line: tone.line });
    defs.append(drawn("pattern", { id: id(key), width, height, patternUnits: "userSpaceOnUse" },
      drawn("rect", { width, height, fill: tone.ground }),
      marked.map((mark) => drawn("path", {
        d: mark.d, fill: mark.fill || "none", stroke: mark.stroke, "stroke-width": mark.width,
      }))));
  }
  return { defs, fill: (key) => (key in tones ? `url(#${id(key)})` : "none") };
}

const GRASS = "M2,18H38" + [6, 14, 22, 30].map((x) => `M${x},18l-2,-7M${x},18l2,-8`).join("");
let taken = 0;

/** Return a small picture of one material, for a list of words. */
export function swatch(material, tones) {
  const box = drawn("svg", { width: 40, height: 24, viewBox: "0 0 40 24", "aria-hidden": "true" });
  if (material === "turf") {
    box.append(drawn("path", { d: GRASS, stroke: "#4d6b2f", fill: "none", "stroke-width": 1.4 }));
    return box;
  }
  taken += 1;
  const known = material in tones;
  const { defs, fill } = patterns(known ? { [material]: tones[material] } : {}, `swatch${taken}`);
  box.append(defs, drawn("rect", {
    x: 0.5, y: 0.5, width: 39, height: 23, fill: known ? fill(material) : "#26302f",
    stroke: "#2b2b2b",
  }));
  return box;
}
