/** Forms of the yard: rods for a reading of today, shots given back, a layer recorded. */

import { draw as drawBlocks, unlessThere } from "../blocks.js";
import { make } from "../dom.js";
import { words } from "../live.js";

const FORMS = { rods, back, record };

/** Draw a form into an element, unless it is there and being typed into. */
export function draw(element, data, desk) {
  unlessThere(element, data, () => FORMS[data.form](data, desk));
}

function box(name, id, label, inside = []) {
  return make("div", { class: "field" }, make("label", { for: id }, label),
    make(name, { id, name: id, autocomplete: "off", spellcheck: "false" }, inside));
}

function form(label, go, ...inside) {
  const said = make("div", { class: "blocks", role: "status" });
  const element = make("form", { class: "form blocks", autocomplete: "off" }, ...inside,
    make("button", { type: "submit", class: "does" }, label), said);
  element.addEventListener("submit", async (event) => {
    event.preventDefault();
    const told = Object.fromEntries(new FormData(element));
    await go(told, (blocks) => drawBlocks(said, blocks, null, label), element);
  });
  return element;
}

/** What an answer says, as a block: in whole sentences, which the desk made. */
function told(answer) {
  const wrong = words(answer.problems);
  return [{ kind: "say", tone: wrong ? "fails" : "strong", text: wrong || answer.words }];
}

/** The rods of every stake, for the instrument as it stands: it is set up on the screen above. */
function rods(data, desk) {
  return form(data.tell, async (given, show) => {
    const answer = await desk.call("rods", {});
    show(answer.blocks ?? told(answer));
  });
}

/** Shots that a page taken away gives back: pasted, or out of its file. */
function back(data, desk) {
  const { labels } = data;
  const text = make("textarea", { id: "back-text", name: "text", rows: 5, spellcheck: "false" });
  const file = make("input", { type: "file", id: "back-file", accept: ".csv,.txt,text/*",
    onchange: async () => {
      if (file.files[0]) text.value = await file.files[0].text();
    } });
  return form(labels.back_take, async (given, show) => {
    const answer = await desk.call("shots", { text: given.text });
    show(told(answer));
    if (answer.words) desk.see({});
  },
  make("div", { class: "field" }, make("label", { for: "back-text" }, labels.back_label), text),
  make("div", { class: "field" }, make("label", { for: "back-file" }, labels.back_file), file));
}

/** A layer as it was built, written into the records of the site. */
function record(data, desk) {
  const { labels } = data;
  return form(labels.record, async (given, show) => {
    const answer = await desk.call("record", { layer: given["record-layer"],
      who: given["record-who"], note: given["record-note"] });
    show(told(answer));
    if (answer.words) desk.see({});
  },
  box("select", "record-layer", labels.layer, data.layers.map(([value, shown]) => make("option", { value }, shown))),
  box("input", "record-who", labels.who),
  box("input", "record-note", labels.note));
}
