// What the plan has around its picture: keys, what else can be done, what is said.
import { saved } from "./save.js";
import { button as pressed, drawn, make, styled } from "../dom.js";

/** Return the parts of a plan, its root among them. */
export function partsOf(view) {
  styled("/web/plan/plan.css");
  const picture = drawn("svg", {
    class: "plan-picture", tabindex: 0, role: "group", "aria-label": "Plan of the yard",
  });
  const tell = make("aside", { class: "plan-tell", "aria-label": "What is chosen", hidden: true });
  const status = make("p", { class: "plan-status", role: "status" });
  const told = make("p", { class: "plan-told", role: "status" });
  const lead = make("div", { class: "plan-lead", hidden: true },
    make("p", {}, make("b", {}, "Nothing is drawn yet. "), "Begin with the wall of the house."),
    button("Draw the house walls", () => view.begin("draw-walls"), { class: "btn on" }));
  const more = make("details", { class: "plan-more" }, make("summary", { class: "btn" }, "More"),
    make("div", { class: "menu" }, ...waysOf(view).map(([words, done]) => button(words, () => {
      more.open = false;
      done();
    }))));
  const key = (words, name, pressed) => button(words, pressed, { "aria-label": name, title: name });
  const keys = make("div", { class: "plan-keys", role: "group", "aria-label": "How the plan is seen" },
    key("+", "Larger", () => view.zoom(1.4)), key("\u2212", "Smaller", () => view.zoom(1 / 1.4)),
    key("Fit", "Fit: show all that is drawn", () => view.fit("all")), more);
  const root = make("div", { class: "plan" }, picture, lead, status, keys, told, tell);
  return { root, svg: picture, tell, status, told, lead, keys };
}

/** Return what else can be done on the plan: its words, and what does it. */
function waysOf(view) {
  return [
    ["Measure", () => view.begin("measure")],
    ["Run a drop of water", () => view.begin("drop-water")],
    ["Cut a section", () => view.begin("draw-cut")],
    ["Level lines", () => view.showLines(view.lines ? null : [])],
    ["Spots of the survey", () => { view.spots = !view.spots; view.paint(); }],
    ["Save this picture", () => saved(view)],
  ];
}

/** Return a button of the plan. */
export const button = (words, act, attributes = {}) => pressed(words, act, { class: "btn", ...attributes });
