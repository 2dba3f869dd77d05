/** Draws the blocks that a step is made of. Every word in them was made by the server. */

import { button, copyText, make } from "./dom.js";
import { number, refusal, words } from "./live.js";

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
  for (const each of [...element.childNodes]) if (!wanted.includes(each)) each.remove();
  wanted.forEach((each, place) => {
    const here = element.childNodes[place] ?? null;
    if (each !== here) element.insertBefore(each, here);
  });
}

function one(block, desk, scope) {
  return (DRAWN[block.kind] ?? unknown)(block, desk, scope);
}

function unknown(block) {
  return say(`a block that this page cannot draw: ${block.kind}`, "fails");
}

const DRAWN = {
  say: (block) => say(block.text, block.tone),
  head: (block) => make("h3", {}, block.text),
  field,
  choice,
  offer,
  items,
  table,
  tool: (block, desk) =>
    button(block.label, () => desk._tell({ tool: { name: block.name, with: block.with } }), { class: "tool" }),
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
  if (!block.caution) return offered(block, [button(block.label, act, { class: "does" })]);
  const asks = make("div", { class: "row", role: "group", "aria-label": block.caution, hidden: true });
  const key = button(block.label, () => ask(true), { class: "does" });
  const ask = (open) => {
    key.hidden = open;
    asks.hidden = !open;
    (open ? asks.lastChild : key).focus();
  };
  asks.append(button(block.sure, act, { class: "does" }), button(block.leave, () => ask(false), { class: "away" }));
  return offered(block, [say(block.caution, "look"), key, asks]);
}

/** Keys with their note below them, and below that what they came to. */
function offered(block, keys, said = null) {
  return make("div", { class: "offer" }, keys, block.note && say(block.note, "quiet"), said);
}

/** A sentence; a shape beside it says how it is, so that no colour says it alone. */
export function say(text, tone) {
  const shape = { look: "◆ ", fails: "✖ " }[tone];
  return make("p", { class: `say ${tone}` },
    shape && make("span", { class: "mark", "aria-hidden": "true" }, shape), text);
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
  return takes === "number" ? number(told) : told;
}

function field(block, desk) {
  const id = `at-${block.at.replaceAll("/", "-")}`;
  const wrong = desk.refused(block.at);
  const box = make("input", {
    id, type: "text", "data-at": block.at, autocomplete: "off", spellcheck: "false",
    value: desk.typed(block.at) ?? written(block.value), "aria-describedby": `${id}-hint`,
    "aria-invalid": wrong ? "true" : null,
  });
  const said = make("p", { class: "say fails", role: "alert" }, wrong);
  const write = async (to) => {
    if (to === null && !block.optional) return;
    const reply = await desk.set(block.at, to, { said: block.label, own: true, typed: box.value });
    said.textContent = refusal(reply);
    box.setAttribute("aria-invalid", reply.is === "refused");
  };
  const takeBack = () => {
    box.value = written(block.value);
    desk.forget(block.at);
    said.textContent = "";
    box.removeAttribute("aria-invalid");
  };
  box.addEventListener("change", () => {
    if (box.value !== written(block.value)) write(typed(box.value, block.takes));
    else takeBack();
  });
  box.addEventListener("keydown", (event) => {
    if (event.key === "Enter") box.blur();
    if (event.key === "Escape") takeBack();
  });
  const arrow = (way) => button(block.nudge[`${way}_shape`], () => write(block.nudge[way]),
    { class: "arrow", "aria-label": block.nudge[`${way}_words`] });
  return make(
    "div",
    { class: "field" },
    make("label", { for: id }, block.label),
    make("div", { class: "row" }, box, block.nudge && [arrow("up"), arrow("down")]),
    make("p", { class: "say quiet", id: `${id}-hint` }, block.hint),
    said,
  );
}

function choice(block, desk) {
  const said = make("p", { class: "say fails", role: "alert" }, desk.refused(block.at));
  const keys = block.options.map((option) => {
    const chosen = written(option.to) === written(block.value);
    const take = async () => {
      said.textContent = refusal(await (option.changes
        ? desk.several(option.changes, block.label, { own: true })
        : desk.set(block.at, option.to, { said: block.label, own: true })));
    };
    return button([
      make("span", { class: "word" }, chosen ? `✓ ${option.label}` : option.label),
      option.note ? make("span", { class: "note" }, option.note) : null,
    ], take, { "aria-pressed": chosen, "data-at": `${block.at}=${written(option.to)}` });
  });
  const group = make("div", { class: "choice", role: "group", "aria-label": block.label }, keys);
  return make("div", { class: "field" }, make("p", { class: "label" }, block.label), group, said);
}

function items(block, desk, scope) {
  const list = make("ul", { class: "items" });
  for (const item of block.items) {
    const inner = make("div", { class: "blocks" });
    draw(inner, item.blocks, desk, `${scope}/${item.at}`);
    if (item.removable) {
      const called = item.called || item.title;
      inner.append(button(`Take ${called} away`, () => desk.remove(item.at, `${called} away`), { class: "away" }));
    }
    const told = [make("strong", {}, item.title), " ", make("span", { class: "quiet" }, item.summary)];
    const summary = make("summary", {}, make("span", { class: "what" }, told));
    list.append(make("li", {}, folding(`item:${item.at}`, summary, inner)));
  }
  const add = block.add && button(block.add.label, () => {
    opened.add(`item:${block.at}/${block.items.length}`);
    desk.add(block.at, block.add.to, block.add.label);
  }, { class: "tool" });
  return make("div", { class: "field" }, make("p", { class: "label" }, block.label), list, add);
}

/** How a cell is set: a figure in one piece, many words in a column that has room for some. */
function broad(cell) {
  return cell.length <= 14 ? "short" : cell.length > 32 ? "long" : "some";
}

/** Rows of words under their heads, in a place of their own that scrolls. */
export function tabled(columns, rows, label) {
  const head = make("tr", {}, columns.map((name) => make("th", { scope: "col" }, name)));
  const body = rows.map((row) => make("tr", {}, row.map((cell) => make("td", { class: broad(cell) }, cell))));
  return make("div", { class: "wide", tabindex: "0", role: "region", "aria-label": label },
    make("table", {}, make("thead", {}, head), make("tbody", {}, body)));
}

function table(block, desk) {
  const copied = make("span", { role: "status", class: "quiet" });
  const copy = button("Copy the table", async () => {
    const text = [block.columns, ...block.rows].map((row) => row.join("\t")).join("\n");
    copied.textContent = (await copyText(text)) ? "copied" : "choose it, and copy it by hand";
  });
  return make(
    "div",
    { class: "field" },
    block.label && make("p", { class: "label" }, block.label),
    tabled(block.columns, block.rows, block.label || "table"),
    // Who is only shown the job has no spreadsheet to take it into.
    desk?.state.who !== "home" && make("div", { class: "row" }, copy, copied),
  );
}

function call(block, desk) {
  const said = make("p", { class: "say", role: "status" });
  const key = button(block.label, async () => {
    const reply = await desk.call(block.name, block.with, (busy) => (said.textContent = busy.words));
    said.textContent = reply.words ?? words(reply.problems);
  }, { class: "does" });
  return offered(block, [key], said);
}

const madeBefore = new Map(); // what was made, so that it stays in reach when the step is drawn anew

function making(block, desk) {
  const said = make("div", { class: "made", role: "status" });
  const show = () => said.replaceChildren(...(madeBefore.get(block.what) ?? []));
  const key = button(block.label, async () => {
    key.disabled = true;
    const reply = desk.make(block.what, (busy) => (progress.textContent = busy.words));
    const progress = make("p", { class: "say" }, "beginning ...");
    madeBefore.set(block.what, [progress, button("Stop", () => desk.cancel(reply.id), { class: "away" })]);
    show();
    const told = await reply;
    key.disabled = false;
    madeBefore.set(block.what, result(told));
    show();
    desk._tell({ madeNow: block.what });
  }, { class: "does" });
  desk.on("madeNow", (what) => what === block.what && show());
  show();
  return offered(block, [key], said);
}

function result(told) {
  if (told.is !== "made") {
    return [say(words(told.problems) || "stopped: nothing was written", "fails")];
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

const lived = new Map(); // by their key, with the desk that they are of

/** Return what draws for itself and lives on while the page is drawn anew: its `root` in an element. */
export function lasting(element, key, desk, begun) {
  let known = lived.get(key);
  if (known?.desk !== desk) lived.set(key, known = begun());
  if (element.firstChild !== known.root) {
    element.replaceChildren(known.root);
    if (known.inHand && document.activeElement === document.body) known.goOn();
  }
  return known;
}

const marks = new WeakMap(); // of an element, the data that its form was made of

/** Put a form into an element, unless it is there and being typed into. */
export function unlessThere(element, data, begun) {
  const mark = JSON.stringify(data);
  if (marks.get(element) === mark) return;
  marks.set(element, mark);
  element.replaceChildren(begun());
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
