/** The yard with every shot of a layer: up where it is high, down where it is low, full beyond. */

import { drawn, make } from "../dom.js";

/** Draw the map into an element. */
export function draw(element, data) {
  const [, , wide, tall] = data.plan.box;
  const unit = Math.max(wide, tall) / 26;
  const picture = drawn("svg", { viewBox: data.plan.box.join(" "), role: "img",
    "aria-label": data.label, class: "built-map" });
  for (const d of data.plan.areas) {
    picture.append(drawn("path", { d, fill: "#ece4d4", stroke: "currentColor",
      "stroke-width": unit / 8 }));
  }
  picture.append(drawn("path", { d: data.plan.house, fill: "none", stroke: "currentColor",
    "stroke-width": unit / 2 }));
  for (const shot of data.shots) picture.append(...marked(shot, unit));
  element.replaceChildren(make("figure", { class: "field" }, picture,
    make("figcaption", { class: "say quiet" }, data.label)));
}

function marked(shot, unit) {
  const [x, y] = shot.at;
  const fill = shot.beyond ? "currentColor" : "#fff";
  const pen = { fill, stroke: "currentColor", "stroke-width": unit / 8 };
  const tip = shot.sign === "up" ? -unit * 0.6 : unit * 0.6;
  const mark = shot.sign === "dot"
    ? drawn("circle", { cx: x, cy: y, r: unit / 3, ...pen })
    : drawn("path", { d: `M${x - unit * 0.6} ${y - tip}H${x + unit * 0.6}L${x} ${y + tip}Z`, ...pen });
  const words = drawn("text", { x, y: y + 1.7 * unit, "font-size": unit, "text-anchor": "middle",
    fill: "currentColor", "font-weight": 700, stroke: "#fffdf7", "stroke-width": unit / 4,
    "paint-order": "stroke" }, shot.name);
  mark.append(drawn("title", {}, `${shot.name}: ${shot.words}`));
  return [mark, words];
}
