import { button, make } from "../dom.js";
import { words as said } from "../live.js";

/**
 * Show a cut and a still, made by the program itself, where a browser draws nothing in space.
 * @param {HTMLElement} box
 * @param {object} desk the line to the server
 */
export function flat(box, desk) {
  const words = make("p", {},
    "This browser cannot draw the model in space. In its place stand a cut through the middle and a still of the layers, on the base that is planned; the section view shows every base.");
  const far = make("p", { role: "status", "aria-live": "polite" });
  const pictures = make("div", { class: "model-flat-pictures" });
  const again = button("Draw them again", () => draw());
  let of = null;
  const draw = async () => {
    again.hidden = true;
    if (!desk.state.plan?.planned) {
      far.textContent = "Nothing is planned yet: they are drawn once there is a plan.";
      return;
    }
    of = desk.state.rev;
    far.textContent = "Drawing ...";
    const told = await desk.make("still", (busy) => { far.textContent = busy.words; });
    again.hidden = false;
    if (told.is !== "made") {
      far.textContent = said(told.problems) || "They were not drawn: ask again.";
      return;
    }
    far.textContent = "";
    pictures.replaceChildren(...told.files.map(({ name, href }) => make("img", {
      src: `${href}?rev=${of}`, alt: name.endsWith(".svg") ? "The paving, cut through its middle" : "The layers, opened like stairs",
    })));
  };
  box.dataset.flat = "yes";
  box.replaceChildren(make("div", { class: "model-flat" }, words, far, pictures, again));
  desk.on("rev", (rev) => {
    if (of !== null && rev !== of && !again.hidden) far.textContent = "The plan has moved on since these were drawn.";
  });
  desk.on("plan", (plan) => {
    if (of === null && plan.planned) draw();
  });
  if (of === null) draw();
  box.dataset.ready = "yes";
}
