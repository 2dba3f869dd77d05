// What is chosen on the plan, told beside it: where it lies, typed, and what can be done with it.
import { adding, removing, rounding, typed } from "./outline.js";
import { middleOf } from "./plane.js";
import { edgeOf, titleOf } from "./pick.js";
import { make } from "../dom.js";
import { number } from "../live.js";
import { button } from "./parts.js";

/** Draw what is told of what is chosen into an element.
 *  @param {HTMLElement} element
 *  @param {object} view the plan that is mounted
 *  @param {import("./pick.js").Target | null} target
 *  @param {string} key of what is chosen */
export function tell(element, view, target, key) {
  const held = document.activeElement;
  const name = element.contains(held) ? held.getAttribute("name") : null;
  const typing = name && held.tagName === "INPUT" && held.type !== "range" ? held.value : null;
  element.replaceChildren();
  element.hidden = !key;
  if (!key) return;
  if (view.looked) looked(element, view, target);
  else if (key.endsWith("/edge")) edge(element, view, key);
  else if (target) told[target.kind]?.(element, view, target);
  const again = name && element.querySelector(`[name="${name}"]`);
  if (!again) return;
  again.focus();
  if (typing !== null) again.value = typing;
}

const told = {
  corner(element, view, { ring, k, at }) {
    const corner = ring.corners[k];
    const next = ring.corners[(k + 1) % ring.corners.length];
    const level = corner.level ? `finish ${corner.level}` : "";
    frame(element, view, titleOf(corner, k), level,
      places(view, at, corner.through ? corner.written.arc[1] : corner.written,
        (to) => typed(ring, k, to), said(corner, k)),
      upAndDown(view, corner),
      buttons(
        button("Add corner", () => {
          const xy = middleOf(corner.xy, next.through, next.xy);
          view.change(adding(ring, (k + 1) % ring.corners.length || ring.corners.length, xy,
            view.plan.unit), `add after ${said(corner, k)}`);
        }, { title: "In the middle of the edge that begins here" }),
        round(view, ring, (k + 1) % ring.corners.length),
        remove(view, removing(ring, k), said(corner, k))));
  },
  bow(element, view, { ring, k }) {
    frame(element, view, "Round edge", "Drag its middle, or press arrow keys.",
      buttons(round(view, ring, k)));
  },
  door(element, view, { key }) {
    const door = view.plan.doors.find((each) => each.at === key);
    const written = view.written(key);
    frame(element, view, door.name, door.step,
      make("div", { class: "row" },
        field(view, "sill", "Sill", written?.sill, (to) => ({ at: `${key}/sill`, to }),
          `sill of ${door.name}`)),
      places(view, `${key}/at`, written?.at ?? door.xy, (to) => ({ at: `${key}/at`, to }), door.name),
      buttons(remove(view, { do: "remove", at: key, to: null }, door.name)));
  },
  mark(element, view, { mark }) {
    const only = mark.ways.length === 1 ? mark.ways[0] : null;
    frame(element, view, mark.label, only ? "" : "Tap one of its points to move it.",
      only && places(view, only, view.written(only) ?? mark.points[0], (to) => ({ at: only, to }),
        mark.label),
      buttons(remove(view, { do: "remove", at: mark.at, to: null }, mark.label)));
  },
  point(element, view, { mark, at, xy }) {
    frame(element, view, mark.label, "",
      places(view, at, view.written(at) ?? xy, (to) => ({ at, to }), mark.label));
  },
  house(element, view, { at, k, xy }) {
    frame(element, view, `Corner ${k + 1} of the house`, "",
      places(view, at, view.written(at) ?? xy, (to) => ({ at, to }), "corner of the house"),
      view.plan.house.corners.length > 2 &&
        buttons(remove(view, { do: "remove", at, to: null }, "corner of the house")));
  },
};

/** Tell what is chosen to one who only looks. */
function looked(element, view, target) {
  element.hidden = !target;
  if (target) frame(element, view, target.name, "");
}

/** What is only dragged has nothing to tell. */
told.cut = (element) => { element.hidden = true; };

function edge(element, view, key) {
  const { ring, k, from, to } = edgeOf(view.plan, key) ?? {};
  if (!ring) return;
  const names = [from, to].map((each) => each.name || "?").join(" to ");
  frame(element, view, `Edge ${names}`, to.edge.label,
    to.edge.label && make("div", { class: "row" },
      field(view, "length", "Length", to.edge.label, null, `edge ${names}`,
        (words) => view.typeLength(to.at, words, `edge ${names}`))),
    buttons(
      button("Add corner", () => view.change(
        adding(ring, k, middleOf(from.xy, to.through, to.xy), view.plan.unit),
        `add on edge ${names}`)),
      round(view, ring, k)));
}

const said = (corner, k) => titleOf(corner, k).toLowerCase();

function frame(element, view, title, quiet, ...inner) {
  element.append(
    make("details", { open: view.wideEnough(), ontoggle: (event) => view.opened(event) },
      make("summary", {}, make("b", {}, title), make("span", { class: "quiet" }, ` ${quiet ?? ""}`)),
      ...inner.filter(Boolean)),
    make("button", {
      type: "button", class: "close", "aria-label": `Let go of ${title}`,
      onclick: () => view.choose(""),
    }, "×"));
}

const buttons = (...inner) => make("div", { class: "row" }, ...inner.filter(Boolean));

const STEPS = 24; // of a hand, up or down from where it is

/** Return what moves the finish at a corner up and down: typed, by keys, or by a hand as it goes. */
function upAndDown(view, corner) {
  const start = corner.held ? String(corner.held.z) : corner.level;
  if (!start || !corner.at.includes("/outline/")) return null;
  const wrong = make("p", { class: "wrong", role: "alert" });
  const now = make("output", {}, corner.held ? "held" : "");
  const ask = async (z, by, live) => {
    const told = await view.cornerLevel(corner, z, by, live);
    if (told.level) now.textContent = told.level;
    const both = told.wrong ? "" : against(view);
    wrong.textContent = told.wrong || (both && `not together: ${both}`);
    return told.wrong;
  };
  const slide = make("input", {
    type: "range", min: -STEPS, max: STEPS, step: 1, value: 0, name: "slide",
    "aria-label": `Finish here, down or up`, "aria-valuetext": start,
  });
  let waiting = null;
  const send = async (by, last) => {
    waiting = { by, last };
    if (view.sliding) return;
    view.sliding = true; // what is told stays as it is under the hand
    while (waiting) {
      const next = waiting;
      waiting = null;
      await ask(start, next.by, !next.last);
      slide.setAttribute("aria-valuetext", now.textContent || start);
      if (next.last && !waiting) break;
    }
    view.sliding = false;
    view.choose(view.chosen); // told anew, from the level that it has now
  };
  slide.addEventListener("input", () => send(Number(slide.value), false));
  slide.addEventListener("change", () => send(Number(slide.value), true));
  return make("div", { class: "held-level" },
    buttons(
      field(view, "finish", "Finish here", start, null, "", (words) => ask(words, 0, false)),
      button("▲", () => ask(start, 2, false), { "aria-label": "Finish higher here" }),
      button("▼", () => ask(start, -2, false), { "aria-label": "Finish lower here" }),
      corner.held && button("Let it go", () => ask("", 0, false),
        { title: "The finish lies here as it is best for all of it" })),
    make("div", { class: "row" }, slide, now),
    wrong);
}

/** What no finish has together, as it stands at the head of the sheet, without the ways out. */
function against(view) {
  const [first] = view.desk.state.problems ?? [];
  if (!first) return "";
  const lines = first.words.split("\n");
  const end = lines.findIndex((line, k) => k && !line.startsWith("  - "));
  return lines.slice(1, end < 0 ? lines.length : end).map((line) => line.slice(4)).join("; ");
}

function round(view, ring, k) {
  const corner = ring.corners[k];
  const words = corner.through ? "Straight edge" : "Round edge";
  return button(words, () => view.change(rounding(ring, k, view.plan.unit), words.toLowerCase()));
}

const remove = (view, change, what) =>
  change && button("Remove", () => view.change(change, `remove ${what}`));

/** Return two fields for a place, x and y as the file has them. */
function places(view, at, written, change, what) {
  const both = [...(Array.isArray(written) ? written : [0, 0])];
  const one = (axis) =>
    field(view, `${at} ${"xy"[axis]}`, "xy"[axis], both[axis], (to) => {
      const next = [...both];
      next[axis] = to;
      return change(next);
    }, what);
  return make("div", { class: "row" }, one(0), one(1));
}

/** Return a labelled field that writes what is typed, and says below it why it may not. */
function field(view, name, label, value, change, what, own) {
  const wrong = make("span", { class: "wrong", role: "alert" });
  const input = make("input", {
    name, value: value ?? "", autocomplete: "off", enterkeyhint: "done", spellcheck: "false",
    onchange: async () => {
      const to = number(input.value);
      const words = await (own ? own(input.value) : view.change(change(to), what, true));
      wrong.textContent = words ?? "";
      input.setAttribute("aria-invalid", words ? "true" : "false");
    },
  });
  return make("label", { class: "typed" }, make("span", {}, label), input, wrong);
}
