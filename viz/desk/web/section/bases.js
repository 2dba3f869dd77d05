// Base systems side by side at the place that was tapped: one scale, the finish at one level.

import { patterns, svg, swatch } from "./patterns.js";

const INK = "#17201d";
const GROUND = "#3d5a22";
const PAPER = "#fffdf8";
const FACE = "system-ui, 'Segoe UI', 'DejaVu Sans', sans-serif";
const NARROW = 190; // pixels: a narrower column has thicknesses in it, and a list below

function words(text, x, y, anchor, bold = false) {
  return svg("text", {
    x, y, "text-anchor": anchor, "font-family": FACE, "font-size": 15, fill: INK,
    "font-weight": bold ? 700 : 600, stroke: PAPER, "stroke-width": 4,
    "stroke-linejoin": "round", "paint-order": "stroke",
  }, text);
}

function made(name, text, className = "") {
  const element = document.createElement(name);
  if (className) element.className = className;
  element.textContent = text;
  return element;
}

/** One column: its layers to scale, the ground today, the soil below. */
function column(each, bases, wide, tall, number) {
  const scale = tall / (bases.deepest + bases.highest);
  const top = bases.highest * scale + 1;
  const layers = each.beds.map((bed) => `${bed.name} ${bed.thick}`).join(", ");
  const box = svg("svg", {
    viewBox: `0 0 ${wide} ${tall + 2}`, width: wide, height: tall + 2, role: "img",
    "aria-label": `${each.title}: ${layers}; ${each.dig}`,
  });
  const { defs, fill } = patterns(bases.tones, `base${number}`);
  const whole = { x: 1, y: top, width: wide - 2, height: tall - top };
  box.append(defs, svg("rect", { ...whole, fill: fill("soil") }));
  const narrow = wide < NARROW;
  const told = [];
  for (const bed of each.beds) {
    const y = top + bed.top * scale;
    const high = (bed.bottom - bed.top) * scale;
    box.append(svg("rect", {
      x: 1, y, width: wide - 2, height: high, fill: fill(bed.material), stroke: INK,
      "stroke-width": 1.4,
    }));
    const middle = y + high / 2 + 5;
    if (!narrow) told.push(words(bed.name, 12, middle, "start"));
    const [x, anchor] = narrow ? [wide / 2, "middle"] : [wide - 12, "end"];
    told.push(words(bed.thick, x, middle, anchor, true));
  }
  const dug = top + each.dug * scale;
  if (tall - dug > 18) {
    told.push(words(bases.soil, wide / 2, Math.min(dug + 24, tall - 4), "middle"));
  }
  const d = `M0,${top - each.ground * scale}H${wide}`;
  box.append(svg("path", { d, stroke: PAPER, "stroke-width": 4.5 }));
  box.append(svg("path", { d, stroke: GROUND, "stroke-width": 2.4, "stroke-dasharray": "9 5" }));
  const frame = { ...whole, fill: "none", stroke: INK, "stroke-width": each.planned ? 5 : 1.4 };
  box.append(...told, svg("rect", frame));
  return box;
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
  const grid = made("div", "", "bases");
  grid.style.gridTemplateColumns = `repeat(${abreast}, ${wide}px)`;
  grid.style.columnGap = `${gap}px`;
  const more = made("div", "");
  bases.columns.forEach((each, number) => {
    const card = made("section", "", each.planned ? "base base-planned" : "base");
    const facts = made("div", "");
    facts.append(...each.facts.map((fact) => made("p", fact, "base-fact")));
    card.append(
      made("h3", each.title),
      made("p", each.tag ? `✓ ${each.tag}` : "", "base-tag"),
      column(each, bases, wide, tall, number),
      made("p", each.cut, "base-cut"),
      facts,
    );
    // Sentences have no room in a narrow column, and stand below all of them.
    const own = made("section", "", "base-more");
    if (wide < NARROW) {
      own.append(made("h4", each.title));
      more.append(own);
    } else card.append(own);
    own.append(made("p", each.dig, "base-dig"), made("p", each.why, "base-why"));
    if (!each.planned) {
      const choose = made("button", each.choose, "quiet-button");
      choose.type = "button";
      choose.addEventListener("click", () => desk.set(bases.at, each.base, { said: each.said }));
      own.append(choose);
    }
    grid.append(card);
  });
  const told = [bases.missed, bases.where, bases.scale, bases.about].filter(Boolean).join(" ");
  element.replaceChildren(grid, key(bases, wide < NARROW), made("p", told, "section-words"), more);
}

/** What the patterns are, in words: the layers too where columns are narrow. */
function key(bases, all) {
  const list = made("ul", "", "section-key");
  const row = (picture, text) => {
    const item = made("li", "");
    item.append(picture, made("span", text));
    list.append(item);
  };
  const seen = new Set();
  for (const bed of all ? bases.columns.flatMap((each) => each.beds) : []) {
    if (!seen.has(bed.name)) row(swatch(bed.material, bases.tones), bed.name);
    seen.add(bed.name);
  }
  const dash = svg("svg", { width: 40, height: 24, viewBox: "0 0 40 24", "aria-hidden": "true" });
  dash.append(svg("path", {
    d: "M0,12H40", stroke: GROUND, "stroke-width": 2.6, "stroke-dasharray": "9 5",
  }));
  row(dash, bases.ground);
  return list;
}
