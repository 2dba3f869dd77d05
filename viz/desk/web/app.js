/** The page: the job sheet, the views, the line of five, and what is typed on the keyboard. */

import { draw } from "./blocks.js";
import { button, make } from "./dom.js";
import { desk, words } from "./live.js";

const at = (id) => document.getElementById(id);
const VIEWS = ["plan", "section", "model"];
const STATES = { settled: "settled", "to do": "to do", look: "wants a look", fails: "fails", working: "working" };

// ---- the job sheet

function drawSteps(lines) {
  const open = desk.state.open?.key;
  const list = at("steps");
  const items = lines.map((line, place) => {
    const known = list.querySelector(`li[data-key="${line.key}"]`);
    const item = known ?? stepItem(line.key);
    const is = line.key === open;
    item.className = `step ${line.state.replace(" ", "-")}${is ? " open" : ""}`;
    const key = item.querySelector("button.line");
    key.setAttribute("aria-expanded", is);
    key.replaceChildren(
      make("span", { class: "number", "aria-hidden": "true" }, String(place + 1)),
      make("span", { class: "title" }, line.title),
      make("span", { class: "answer" }, line.answer),
      make("span", { class: `state ${line.state.replace(" ", "-")}` }, STATES[line.state] ?? line.state),
    );
    return item;
  });
  const stay = items.every((item, place) => list.children[place] === item) && list.children.length === items.length;
  if (!stay) list.replaceChildren(...items);
}

function stepItem(key) {
  const line = button("", () => openStep(key), { class: "line" });
  return make("li", { "data-key": key, class: "step" }, make("h2", {}, line), make("div", { class: "blocks" }));
}

let opening = ""; // the step that was asked for, until it is there

/** Open a step; what it holds comes with the answer. */
export function openStep(key) {
  opening = key;
  desk.see({ step: key });
}

const GROWS = 4000; // ms in which what a step has of its own comes, and makes it longer

/** Bring a step that was opened to the top, and keep it there until it has all or a hand moves. */
function bring(item) {
  const top = () => item.scrollIntoView({ block: "start" });
  const grown = new ResizeObserver(top);
  const over = new AbortController();
  const stop = () => {
    grown.disconnect();
    over.abort();
  };
  top();
  grown.observe(item);
  setTimeout(stop, GROWS);
  for (const each of ["wheel", "pointerdown", "keydown"]) {
    addEventListener(each, stop, { capture: true, passive: true, signal: over.signal });
  }
}

desk.on("steps", drawSteps);
desk.on("open", (open) => {
  if (desk.state.steps) drawSteps(desk.state.steps);
  for (const item of at("steps").children) {
    const blocks = item.querySelector(".blocks");
    if (item.dataset.key === open.key) draw(blocks, open.blocks, desk, open.key);
    else draw(blocks, [], desk);
  }
  if (opening === open.key) {
    opening = "";
    const item = at("steps").querySelector(`li[data-key="${open.key}"]`);
    if (item) bring(item);
  }
  document.documentElement.dataset.step = open.key;
  document.documentElement.dataset.ready = `${desk.state.rev}`;
});

// ---- what is wrong, and what would mend it

desk.on("problems", drawProblems);
desk.on("offers", drawProblems);

/** Lay out a sentence of several lines: what it begins with, and its lists as lists.
 *
 * Its last list is of the ways that end it: where each of them is offered, its button stands for it.
 */
function laid(text, offered) {
  const [first, ...rest] = text.split("\n");
  const made = [make("p", { class: "say fails" }, first)];
  for (const line of rest) {
    if (!line.startsWith("  - ")) made.push(make("p", { class: "say" }, line));
    else {
      if (made.at(-1).tagName !== "UL") made.push(make("ul", { class: "listed" }));
      made.at(-1).append(make("li", {}, line.slice(4)));
    }
  }
  const lists = made.filter((each) => each.tagName === "UL");
  return lists.length > 1 && offered >= lists.at(-1).children.length
    ? made.filter((each) => each !== lists.at(-1))
    : made;
}

function drawProblems() {
  const { problems = [], stale } = desk.state;
  const offers = desk.state.offers ?? []; // none yet, until each is tried
  const told = problems.flatMap((each) => laid(each.words, offers.length));
  if (problems.length && stale) {
    told.push(make("p", { class: "say quiet" }, "What is drawn is the last plan that there was."));
  }
  const ways = make("div", { class: "blocks" });
  draw(ways, problems.length ? offers : [], desk, "offers");
  at("problems").replaceChildren(...told, ways);
  at("problems").hidden = !problems.length;
}

// ---- the line of five, the name, what is saved

desk.on("tally", (tally) => {
  at("tally").replaceChildren(...tally.map((each) =>
    button(["label", "value", "small"].map((part) => make("span", { class: part }, each[part])),
      () => openFigure(each.step), { class: `figure ${each.tone}` })));
});

// Its words change while a plan is worked out: it grows for them and never shrinks again, so that the
// view above keeps its size. For every other size a model is fitted and drawn anew.
const foot = { wide: 0, high: 0 };
new ResizeObserver(([{ target }]) => {
  if (foot.wide !== innerWidth) {
    Object.assign(foot, { wide: innerWidth, high: 0 });
    target.style.minHeight = "";
  }
  foot.high = Math.max(foot.high, target.getBoundingClientRect().height);
  target.style.minHeight = `${foot.high}px`;
}).observe(at("tally"));

/** Open the step that a figure is of; for what fails, the first step in which something does. */
function openFigure(key) {
  const lines = desk.state.steps ?? [];
  const worst = ["fails", "look"].flatMap((state) => lines.filter((each) => each.state === state));
  const line = lines.find((each) => each.key === key) ?? worst[0];
  if (line) openStep(line.key);
}

desk.on("name", (name) => {
  at("name").textContent = at("name").title = name || "A new yard";
  document.title = name ? `${name} · fallaway` : "fallaway";
});
desk.on("saved", (saved) => (at("saved").textContent = desk.state.connected === false ? "not connected" : saved));
desk.on("connected", (is) => {
  document.documentElement.classList.toggle("cut-off", !is);
  at("saved").textContent = is ? (desk.state.saved ?? "") : "not connected: start fallaway open again";
});
desk.on("working", (is) => document.documentElement.classList.toggle("working", is));
desk.on("whole", (is) => document.documentElement.classList.toggle("so-far", !is));
let fades;
let refusedAt = null; // the state that a change was refused at, while that is said

desk.on("fault", (fault) => notice(`Something in fallaway itself went wrong; nothing that was saved is lost. ${fault.words.trim().split("\n").at(-1)}`));
desk.on("refused", (refused) => {
  notice(words(refused.problems));
  refusedAt = desk.state.rev;
});
desk.on("rev", (rev) => refusedAt !== null && rev > refusedAt && notice(""));
desk.on("clash", (clash) => {
  const way = (whose, value, take) =>
    button(`${whose}: ${JSON.stringify(value)}`, () => { take(); notice(""); }, { class: "does" });
  notice("");
  at("notice").replaceChildren(make("p", {}, "Another window changed this too. Which holds?"),
    way("Yours", clash.yours, () => desk.set(clash.at, clash.yours)), way("Theirs", clash.theirs, () => desk.see({})));
});

/** Say something for a while, in a place that hides nothing that is worked on. */
export function notice(text) {
  clearTimeout(fades);
  refusedAt = null;
  at("notice").replaceChildren(...(text ? [make("p", {}, text)] : []));
  if (text) fades = setTimeout(() => at("notice").replaceChildren(), 12000);
}

// ---- undo, redo, earlier states

desk.on("undo", (said) => {
  at("undo").disabled = !said;
  at("undo").querySelector(".words").textContent = said ? `Undo ${said}` : "Undo";
  at("undo").setAttribute("aria-label", said ? `Undo ${said}` : "Nothing to undo");
});
desk.on("redo", (said) => {
  at("redo").disabled = !said;
  at("redo").title = said ? `Redo ${said}` : "";
  at("redo").setAttribute("aria-label", said ? `Redo ${said}` : "Nothing to redo");
});
at("undo").addEventListener("click", () => desk.undo());
at("redo").addEventListener("click", () => desk.redo());
at("earlier").addEventListener("toggle", () => drawEarlier(desk.state.earlier ?? []));
desk.on("earlier", drawEarlier);

/** Earlier states are made only where they are looked at. */
function drawEarlier(earlier) {
  at("earlier").hidden = !earlier.length;
  if (!at("earlier").open) return;
  at("earlier").querySelector("ol").replaceChildren(...earlier.map((each) => make("li", {},
    button(`Bring back: ${each.said}`, () => desk.restore(each.rev), { class: "does" }),
    make("span", { class: "quiet" }, ` ${each.at.slice(0, 16).replace("T", " ")}`))));
}

document.addEventListener("keydown", (event) => {
  const typing = /^(INPUT|TEXTAREA|SELECT)$/.test(event.target.tagName);
  if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z" && !typing) {
    event.preventDefault();
    if (event.shiftKey) desk.redo();
    else desk.undo();
  }
  if (event.altKey && /^[1-9]$/.test(event.key)) {
    const line = desk.state.steps?.[Number(event.key) - 1];
    if (line) {
      event.preventDefault();
      openStep(line.key);
    }
  }
});

// ---- the views

const mounted = new Set();

/** Show one view; its module is brought in when it is first wanted. */
export async function show(view) {
  if (desk.state.asked?.view !== view) desk.see({ view });
  at("desk").dataset.view = view;
  for (const each of VIEWS) at(each).hidden = each !== view;
  for (const key of at("tabs").children) key.setAttribute("aria-pressed", key.dataset.view === view);
  if (mounted.has(view)) return;
  mounted.add(view);
  try {
    (await import(`./${view}/${view}.js`)).mount(at(view), desk);
  } catch (error) {
    at(view).textContent = `This view cannot be drawn here: ${error.message}`;
  }
}

for (const key of at("tabs").children) {
  key.addEventListener("click", () => {
    show(key.dataset.view);
    at("view").scrollIntoView({ block: "nearest" }); // on a phone it may lie far above
  });
}
desk.on("tool", (tool) => tool && show("plan"));

// ---- shown to the homeowner: their words, nothing to change, no prices unless asked

let worked = "yard"; // the step that was open before it was shown

at("guest").addEventListener("click", () => {
  const home = desk.state.who !== "home";
  if (home) worked = desk.state.open?.key ?? "yard";
  opening = home ? "" : worked;
  // Where nothing has to be solved first, the first of what is told opens.
  desk.see({ who: home ? "home" : "crew", prices: !home, step: home ? "first" : worked });
});
at("prices").addEventListener("click", () => desk.see({ prices: !desk.state.asked?.prices }));
desk.on("who", (who) => {
  const shared = desk.state.rights !== "all";
  if (document.documentElement.dataset.who !== who) at("sheet").scrollTop = 0;
  document.documentElement.dataset.who = who;
  at("back").hidden = who !== "crew";
  at("earlier").classList.toggle("gone", who !== "crew");
  at("guest").hidden = shared;
  at("guest").textContent = who === "home" ? "Back to the work" : "Show it to the homeowner";
  at("prices").hidden = shared || who !== "home";
  at("prices").textContent = desk.state.asked?.prices ? "Without the price" : "With the price";
});

// ---- looks

at("look").addEventListener("click", () => {
  const outdoor = document.documentElement.dataset.look !== "outdoor";
  document.documentElement.dataset.look = outdoor ? "outdoor" : "indoor";
  at("look").textContent = outdoor ? "Indoor look" : "Outdoor look";
  try {
    localStorage.setItem("look", outdoor ? "outdoor" : "indoor");
  } catch {
    // a browser that keeps nothing
  }
});
try {
  if (localStorage.getItem("look") === "outdoor") at("look").click();
} catch {
  // as above
}

desk.connect();
show("plan");
