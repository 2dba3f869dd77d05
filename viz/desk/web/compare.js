// Two designs of one yard: an earlier state is chosen, and what differs stands below.

import { draw as drawBlocks } from "./blocks.js";
import { button, make } from "./dom.js";

const kept = { rev: "", blocks: [], words: "" };

/** Draw the choice of an earlier state, and what differs from it.
 * @param {HTMLElement} element
 * @param {Object} data the words of the choice: {label, none, compare}
 * @param {Object} desk
 */
export function draw(element, data, desk) {
  const earlier = desk.state.earlier ?? [];
  if (!earlier.length) {
    element.replaceChildren(make("p", { class: "say quiet" }, data.none));
    return;
  }
  const said = make("p", { class: "say", role: "status" }, kept.words);
  const found = make("div", { class: "blocks" });
  const select = make(
    "select",
    { id: "compare-with" },
    ...earlier.map((each) => make("option", { value: each.rev, selected: `${each.rev}` === kept.rev }, told(each))),
  );
  const key = button(data.compare, async () => {
    kept.rev = select.value;
    const reply = await desk.call("compare", { rev: Number(select.value) });
    kept.words = reply.words ?? "";
    kept.blocks = reply.blocks ?? [];
    said.textContent = kept.words;
    drawBlocks(found, kept.blocks, desk, "compare");
  }, { class: "does" });
  element.replaceChildren(
    make("div", { class: "field" }, make("label", { for: "compare-with" }, data.label), make("div", { class: "row" }, select, key)),
    said,
    found,
  );
  drawBlocks(found, kept.blocks, desk, "compare");
}

/** An earlier state by when it was left, and the change that led to it. */
function told({ said, at }) {
  const time = at ? new Date(at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hourCycle: "h23" }) : "";
  return time ? `${time}, ${said}` : said;
}
