/** Draws the blocks that a step is made of. Every word in them was made by the server. */

import { copyText, make } from "./dom.js";
import { words } from "./live.js";

const opened = new Set(); // folds and items that a person opened
const owned = new Map(); // elements that stay: of modules that draw for themselves, and folds

/** Put blocks into an element, keeping what is being typed and where the hand is. */
export function draw(element, blocks, desk, scope = "") {
  const held = grip(element);
  const taken = new Set(); // of two that are called alike the later is known by its place too
  const before = drawnIn.get(element) ?? new Map();
  const now = new Map();
  lay(element, blocks.map((block, place) => {
    const name = named(block) ?? place;
    const key = taken.has(name) ? `${name}/${place}` : name;
    taken.add(name);
    const told = JSON.stringify(block);
    const known = before.get(key);
    // What says the same stays as it is: a press that is on its way there arrives.
    const stays = known?.told === told && !known.node.querySelector("[aria-invalid=true]")
      && (block.kind !== "own" || known.node.firstChild); // what it drew may have gone elsewhere
    const node = stays ? known.node : one(block, desk, `${scope}/${key}`);
    now.set(key, { told, node });
    return node;
  }));
  drawnIn.set(element, now);
  regrip(element, held);
}

const drawnIn = new WeakMap(); // of an element, what was drawn in it last: by key, as told

/** What a block is known by, so that what is open in it stays open when others come before it. */
function named(block) {
  return block.data?.key ?? block.label;
}

/** Put elements into another one; those that are there already are not taken out on the way. */
function lay(element, wanted) {
  let here = element.firstChild;
  for (const each of wanted) {
    if (each.parentNode === element && here && here.compareDocumentPosition(each) & Node.DOCUMENT_POSITION_FOLLOWING) {
      while (here !== each) {
        const gone = here;
        here = here.nextSibling;
        gone.remove();
      }
    }
    if (each === here) here = here.nextSibling;
    else element.insertBefore(each, here);
  }
  while (here) {
    const gone = here;
    here = here.nextSibling;
    gone.remove();
  }
}

function one(block, desk, scope) {
  return (DRAWN[block.kind] ?? unknown)(block, desk, scope);
}

function unknown(block) {
  return make("p", { class: "say fails" }, `a block that this page cannot draw: ${block.kind}`);
}

const DRAWN = {
  say: (block) => make("p", { class: `say ${block.tone}` }, mark(block.tone), block.text),
  head: (block) => make("h3", {}, block.text),
  field,
  choice,
  offer,
  items,
  table,
  tool: (block, desk) =>
    button(block.label, () => desk._tell({ tool: { name: block.name, with: block.with } }), "tool"),
  call,
  make: making,
  fold: (block, desk, scope) => {
    const key = `${scope}:${block.label}`;
    const known = owned.get(key);
    const inner = known?.lastChild ?? make("div", { class: "blocks" });
    draw(inner, block.blocks, desk, scope);
    const fold = known ?? folding(key, make("summary", {}, make("span", { class: "what" }, block.label)), inner);
    owned.set(key, fold);
    return fold;
  },
  own,
};

/** A button that makes changes; where that needs a caution it is told, and asked once more. */
function offer(block, desk) {
  const act = () => desk.several(block.changes, block.said);
  const note = block.note && make("p", { class: "say quiet" }, block.note);
  if (!block.caution) return make("div", { class: "offer" }, button(block.label, act, "does"), note);
  const caution = make("p", { class: "say look" }, mark("look"), block.caution);
  const asks = make("div", { class: "row", role: "group", "aria-label": block.caution, hidden: true });
  const key = button(block.label, () => ask(true), "does");
  const ask = (open) => {
    key.hidden = open;
    asks.hidden = !open;
    (open ? asks.lastChild : key).focus();
  };
  asks.append(button(block.sure, act, "does"), button(block.leave, () => ask(false), "away"));
  return make("div", { class: "offer" }, caution, key, asks, note);
}

/** A shape beside a sentence that says how it is, so that no colour says it alone. */
function mark(tone) {
  const shape = { look: "◆ ", fails: "✖ " }[tone];
  return shape ? make("span", { class: "mark", "aria-hidden": "true" }, shape) : "";
}

function button(label, act, kind = "") {
  return make("button", { type: "button", class: kind, onclick: act }, label);
}

function folding(key, summary, inner) {
  const fold = make("details", { open: opened.has(key) }, summary, inner);
  fold.addEventListener("toggle", () => (fold.open ? opened.add(key) : opened.delete(key)));
  return fold;
}

/** A value as a person wrote it: "2 in", 99.5, [27, 16.5]. */
export function written(value) {
  if (value === null || value === undefined) return "";
  return Array.isArray(value) ? value.map(written).join(", ") : String(value);
}

/** What is typed, as it is to be written: a number where it is one. */
export function typed(text, takes) {
  const told = text.trim();
  if (told === "") return null;
  if (takes === "list") return told.split(",").map((each) => typed(each, "number"));
  const number = Number(told);
  return takes === "number" && Number.isFinite(number) ? number : told;
}

function field(block, desk) {
  const id = `at-${block.at.replaceAll("/", "-")}`;
  const wrong = desk.refused(block.at);
  const box = make("input", {
    id, type: "text", "data-at": block.at, autocomplete: "off", spellcheck: "false",
    value: written(block.value), "aria-describedby": `${id}-hint`,
    "aria-invalid": wrong ? "true" : null,
  });
  const said = make("p", { class: "say fails", role: "alert" }, wrong);
  const write = async (to) => {
    if (to === null && !block.optional) return;
    const reply = await desk.set(block.at, to, { said: block.label, own: true });
    said.textContent = reply.is === "refused" ? words(reply.problems) : "";
    box.setAttribute("aria-invalid", reply.is === "refused");
  };
  box.addEventListener("change", () => {
    if (box.value !== written(block.value)) write(typed(box.value, block.takes));
  });
  box.addEventListener("keydown", (event) => {
    if (event.key === "Enter") box.blur();
    if (event.key === "Escape") box.value = written(block.value);
  });
  const arrows = block.nudge
    ? [
        arrow(block.nudge.up_shape, block.nudge.up_words, () => write(block.nudge.up)),
        arrow(block.nudge.down_shape, block.nudge.down_words, () => write(block.nudge.down)),
      ]
    : [];
  return make(
    "div",
    { class: "field" },
    make("label", { for: id }, block.label),
    make("div", { class: "row" }, box, ...arrows),
    make("p", { class: "say quiet", id: `${id}-hint` }, block.hint),
    said,
  );
}

function arrow(shape, words, act) {
  const key = button(shape, act, "arrow");
  key.setAttribute("aria-label", words);
  return key;
}

function choice(block, desk) {
  const group = make("div", { class: "choice", role: "group", "aria-label": block.label });
  const said = make("p", { class: "say fails", role: "alert" }, desk.refused(block.at));
  for (const option of block.options) {
    const chosen = written(option.to) === written(block.value);
    const key = button("", async () => {
      const reply = option.changes
        ? await desk.several(option.changes, block.label, { own: true })
        : await desk.set(block.at, option.to, { said: block.label, own: true });
      said.textContent = reply.is === "refused" ? words(reply.problems) : "";
    });
    key.setAttribute("aria-pressed", chosen);
    key.dataset.at = `${block.at}=${written(option.to)}`;
    key.append(make("span", { class: "word" }, chosen ? `✓ ${option.label}` : option.label));
    if (option.note) key.append(make("span", { class: "note" }, option.note));
    group.append(key);
  }
  return make("div", { class: "field" }, make("p", { class: "label" }, block.label), group, said);
}

function items(block, desk, scope) {
  const list = make("ul", { class: "items" });
  for (const item of block.items) {
    const inner = make("div", { class: "blocks" });
    draw(inner, item.blocks, desk, `${scope}/${item.at}`);
    if (item.removable) {
      const called = item.called || item.title;
      inner.append(button(`Take ${called} away`, () => desk.remove(item.at, `${called} away`), "away"));
    }
    const told = [make("strong", {}, item.title), " ", make("span", { class: "quiet" }, item.summary)];
    const summary = make("summary", {}, make("span", { class: "what" }, told));
    list.append(make("li", {}, folding(`item:${item.at}`, summary, inner)));
  }
  const add = block.add && button(block.add.label, () => {
    opened.add(`item:${block.at}/${block.items.length}`);
    desk.add(block.at, block.add.to, block.add.label);
  }, "tool");
  return make("div", { class: "field" }, make("p", { class: "label" }, block.label), list, add);
}

/** How a cell is set: a figure in one piece, many words in a column that has room for some. */
function broad(cell) {
  return cell.length <= 14 ? "short" : cell.length > 32 ? "long" : "some";
}

function table(block, desk) {
  const head = make("tr", {}, ...block.columns.map((name) => make("th", { scope: "col" }, name)));
  const rows = block.rows.map((row) => make("tr", {}, ...row.map((cell) => make("td", { class: broad(cell) }, cell))));
  const copied = make("span", { role: "status", class: "quiet" });
  const copy = button("Copy the table", async () => {
    const text = [block.columns, ...block.rows].map((row) => row.join("\t")).join("\n");
    copied.textContent = (await copyText(text)) ? "copied" : "choose it, and copy it by hand";
  });
  return make(
    "div",
    { class: "field" },
    block.label && make("p", { class: "label" }, block.label),
    make("div", { class: "wide", tabindex: "0", role: "region", "aria-label": block.label || "table" },
      make("table", {}, make("thead", {}, head), make("tbody", {}, ...rows))),
    // Who is only shown the job has no spreadsheet to take it into.
    desk?.state.who !== "home" && make("div", { class: "row" }, copy, copied),
  );
}

function call(block, desk) {
  const said = make("p", { class: "say", role: "status" });
  const key = button(block.label, async () => {
    const reply = await desk.call(block.name, block.with, (busy) => (said.textContent = busy.words));
    said.textContent = reply.words ?? words(reply.problems);
  }, "does");
  return make("div", { class: "offer" }, key, block.note && make("p", { class: "say quiet" }, block.note), said);
}

const madeBefore = new Map(); // what was made, so that it stays in reach when the step is drawn anew

function making(block, desk) {
  const said = make("div", { class: "made", role: "status" });
  const show = () => said.replaceChildren(...(madeBefore.get(block.what) ?? []));
  const key = button(block.label, async () => {
    key.disabled = true;
    const reply = desk.make(block.what, (busy) => (progress.textContent = busy.words));
    const progress = make("p", { class: "say" }, "beginning ...");
    madeBefore.set(block.what, [progress, button("Stop", () => desk.cancel(reply.id), "away")]);
    show();
    const told = await reply;
    key.disabled = false;
    madeBefore.set(block.what, result(told));
    show();
    desk._tell({ madeNow: block.what });
  }, "does");
  desk.on("madeNow", (what) => what === block.what && show());
  show();
  return make("div", { class: "offer" }, key, block.note && make("p", { class: "say quiet" }, block.note), said);
}

function result(told) {
  if (told.is !== "made") {
    return [make("p", { class: "say fails" }, words(told.problems) || "stopped: nothing was written")];
  }
  return told.files.map((file) =>
    make("p", {}, make("a", { href: file.href, target: "_blank", rel: "noopener" }, file.name)),
  );
}

function own(block, desk, scope) {
  const key = `${scope}:${block.module}`;
  const element = owned.get(key) ?? make("div", { class: "own" });
  owned.set(key, element);
  import(`./${block.module}.js`).then((module) => module.draw(element, block.data, desk));
  return element;
}

/** What is being typed in an element, and where the hand is. */
function grip(element) {
  const active = document.activeElement;
  if (!element.contains(active) || !active.dataset?.at) return null;
  const text = active.tagName === "INPUT" && active.value !== active.defaultValue;
  const { selectionStart: start, selectionEnd: end } = active;
  return { at: active.dataset.at, value: text ? active.value : null, start, end };
}

function regrip(element, held) {
  if (!held) return;
  const found = element.querySelector(`[data-at="${CSS.escape(held.at)}"]`);
  if (!found || found === document.activeElement) return;
  if (held.value !== null) found.value = held.value;
  found.focus({ preventScroll: true });
  if (held.start !== null && found.tagName === "INPUT") found.setSelectionRange(held.start, held.end);
}
