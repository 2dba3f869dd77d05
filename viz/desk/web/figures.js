// What a crew reckons with: a box for each figure, written where it stands, or all of them at once.

import { button, make } from "./dom.js";
import { words } from "./live.js";

/** Draw figures.
 * @param {HTMLElement} element
 * @param {Object} data groups of rows, each {book, name, title, value, usual, note}
 * @param {Object} desk
 */
export function draw(element, data, desk) {
  const held = document.activeElement?.dataset?.figure;
  const boxes = [];
  const parts = [];
  if (data.shared) parts.push(make("p", { class: "say quiet" }, data.shared));
  for (const group of data.groups) {
    if (group.title) parts.push(make("h3", {}, group.title));
    for (const row of group.rows) parts.push(figure(row, data, desk, boxes));
  }
  if (data.together) {
    const said = make("p", { class: "say fails", role: "alert" });
    parts.push(button(data.together, async () => {
      const values = boxes.map(({ row, box }) => ({ book: row.book, name: row.name, to: box.value }));
      said.textContent = words((await desk.call("crew_figure", { values })).problems);
    }, { class: "does" }), said);
  }
  if (data.file) parts.push(make("p", { class: "say quiet" }, data.file));
  element.classList.add("figures", "blocks");
  element.replaceChildren(...parts);
  if (held) element.querySelector(`[data-figure="${CSS.escape(held)}"]`)?.focus({ preventScroll: true });
}

function figure(row, data, desk, boxes) {
  const id = `figure-${row.book}-${row.name}`;
  const box = make("input", {
    id, type: "text", value: row.value, placeholder: row.usual, autocomplete: "off",
    spellcheck: "false", "data-figure": `${row.book}/${row.name}`, "aria-describedby": `${id}-note`,
    disabled: Boolean(data.shared),
  });
  const said = make("p", { class: "say fails", role: "alert" });
  box.addEventListener("change", async () => {
    const values = [{ book: row.book, name: row.name, to: box.value }];
    // One of several that are written together is only looked at.
    const reply = await desk.call("crew_figure", { values, only: Boolean(data.together) });
    said.textContent = words(reply.problems);
    box.setAttribute("aria-invalid", Boolean(said.textContent));
  });
  boxes.push({ row, box });
  return make(
    "div",
    { class: "field" },
    make("label", { for: id }, row.title),
    make("div", { class: "row" }, box),
    make("p", { class: "say quiet", id: `${id}-note` }, row.note),
    said,
  );
}
