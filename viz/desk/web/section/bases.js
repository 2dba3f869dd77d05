// Base systems side by side at the place that was tapped: one scale, the finish at one level.

import { button, drawn, make } from "../dom.js";
import { folded, haloed, INK, LETTER, lettering, LINE, spread } from "./labels.js";
import { patterns, swatch } from "./patterns.js";

const GROUND = "#3d5a22";
const NARROW = 190; // pixels: a narrower column has thicknesses in it, and a list below

/** One column: its layers to scale, the ground today, the soil below. */
function column(each, bases, wide, tall, number) {
  const scale = tall / (bases.deepest + bases.highest);
  const top = bases.highest * scale + 1;
  const layers = each.beds.map((bed) => `${bed.name} ${bed.thick}`).join(", ");
  const box = drawn("svg", {
    viewBox: `0 0 ${wide} ${tall + 2}`, width: wide, height: tall + 2, role: "img",
    "aria-label": `${each.title}: ${layers}; ${each.dig}`,
  });
  const { defs, fill } = patterns(bases.tones, `base${number}`);
  const whole = { x: 1, y: top, width: wide - 2, height: tall - top };
  box.append(defs, drawn("rect", { ...whole, fill: fill("soil") }));
  const narrow = wide < NARROW;
  const labels = [];
  for (const bed of each.beds) {
    const y = top + bed.top * scale;
    const high = (bed.bottom - bed.top) * scale;
    box.append(drawn("rect", {
      x: 1, y, width: wide - 2, height: high, fill: fill(bed.material), stroke: INK,
      "stroke-width": 1.4,
    }));
    const room = Math.max(Math.floor((wide - 40) / LETTER) - bed.thick.length, 6);
    const lines = narrow ? [] : folded(bed.name, room);
    labels.push({ lines, thick: bed.thick, y: y + high / 2, tall: Math.max(lines.length, 1) * LINE });
  }
  const dug = top + each.dug * scale;
  if (tall - dug > 18) {
    labels.push({ lines: [], soil: bases.soil, y: Math.min(dug + 18, tall - 10), tall: LINE });
  }
  // Layers thinner than a line of words would have theirs on one another.
  spread(labels, 2, tall);
  const told = labels.flatMap((label) => lettered(label, wide, narrow));
  const ground = { stroke: GROUND, "stroke-width": 2.4, "stroke-dasharray": "9 5" };
  const frame = { ...whole, fill: "none", stroke: INK, "stroke-width": each.planned ? 5 : 1.4 };
  box.append(...haloed(`M0,${top - each.ground * scale}H${wide}`, 4.5, ground), ...told, drawn("rect", frame));
  return box;
}

/** The words of one layer, with a stroke to it where they stand off its middle. */
function lettered({ lines, thick, soil, y, top, tall }, wide, narrow) {
  const base = top + 14.5;
  if (soil) return [lettering([soil], wide / 2, base, { anchor: "middle", weight: 600 })];
  const middle = top + tall / 2;
  const [x, anchor] = narrow ? [wide / 2, "middle"] : [wide - 14, "end"];
  const off = Math.abs(middle - y) > 3;
  const strokes = narrow ? [[2, 14]] : [[2, 11], [wide - 2, wide - 11]];
  return [
    ...strokes.filter(() => off).flatMap(([far, near]) =>
      haloed(`M${far},${y}L${near},${middle}`, 4, { stroke: INK, "stroke-width": 1.6 })),
    lettering(lines, 14, base, { weight: 600 }), lettering([thick], x, base, { anchor, weight: 700 }),
  ];
}

/** Draw the bases into an element.
 * @param {HTMLElement} element
 * @param {Object} bases as the plan tells them
 * @param {Object} desk
 * @param {number} height pixels that the columns may take
 */
export function drawBases(element, bases, desk, height) {
  const room = element.clientWidth;
  const gap = room > 600 ? 28 : 8;
  const abreast = Math.min(bases.columns.length, room > 600 ? 4 : 3);
  const wide = Math.min(Math.floor((room - gap * (abreast - 1)) / abreast), 330);
  const tall = Math.max(Math.min(height, 520), 270);
  const grid = make("div", { class: "bases" });
  grid.style.gridTemplateColumns = `repeat(${abreast}, ${wide}px)`;
  grid.style.columnGap = `${gap}px`;
  const more = make("div");
  bases.columns.forEach((each, number) => {
    const card = make("section", { class: each.planned ? "base base-planned" : "base" });
    card.append(
      make("h3", {}, each.title),
      make("p", { class: "base-tag" }, each.tag ? `✓ ${each.tag}` : ""),
      column(each, bases, wide, tall, number),
      make("p", { class: "base-cut" }, each.cut),
      make("div", {}, each.facts.map((fact) => make("p", { class: "base-fact" }, fact))),
    );
    // Sentences have no room in a narrow column, and stand below all of them.
    const own = make("section", { class: "base-more" });
    if (wide < NARROW) {
      own.append(make("h4", {}, each.title));
      more.append(own);
    } else card.append(own);
    own.append(make("p", { class: "base-dig" }, each.dig), make("p", { class: "base-why" }, each.why));
    if (!each.planned) {
      own.append(button(each.choose, () => desk.set(bases.at, each.base, { said: each.said }),
        { class: "quiet-button" }));
    }
    grid.append(card);
  });
  const told = [bases.missed, bases.where, bases.scale, bases.about].filter(Boolean).join(" ");
  element.replaceChildren(grid, key(bases, wide < NARROW), make("p", { class: "section-words" }, told), more);
}

/** What the patterns are, in words: the layers too where columns are narrow. */
function key(bases, all) {
  const list = make("ul", { class: "section-key" });
  const row = (picture, text) => list.append(make("li", {}, picture, make("span", {}, text)));
  const seen = new Set();
  for (const bed of all ? bases.columns.flatMap((each) => each.beds) : []) {
    if (!seen.has(bed.name)) row(swatch(bed.material, bases.tones), bed.name);
    seen.add(bed.name);
  }
  row(drawn("svg", { width: 40, height: 24, viewBox: "0 0 40 24", "aria-hidden": "true" }, drawn("path", {
    d: "M0,12H40", stroke: GROUND, "stroke-width": 2.6, "stroke-dasharray": "9 5",
  })), bases.ground);
  return list;
}
