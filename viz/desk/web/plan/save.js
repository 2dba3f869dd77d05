// The plan as a picture of its own: an SVG file that carries its looks with it.

import { drawn, give } from "../dom.js";

const TONES = ["--paper", "--ink", "--clay", "--teal", "--line", "--quiet", "--look", "--fails"];

/** Save the picture of a plan as it is seen. */
export async function saved(view) {
  const rules = await (await fetch(new URL("plan.css", import.meta.url))).text();
  const looks = getComputedStyle(view.root);
  const tones = TONES.map((name) => `${name}: ${looks.getPropertyValue(name)};`).join(" ");
  const picture = view.svg.cloneNode(true);
  const [wide, high] = view.frame;
  picture.setAttribute("xmlns", "http://www.w3.org/2000/svg");
  picture.setAttribute("viewBox", `0 0 ${wide} ${high}`);
  picture.setAttribute("width", wide);
  picture.setAttribute("height", high);
  for (const gone of picture.querySelectorAll(".handle .reach, .handle .ring, .dimension-button .reach")) {
    gone.remove();
  }
  picture.prepend(drawn("style", {}, `svg { ${tones} font-family: "DejaVu Sans", system-ui, sans-serif; }\n${rules}`));
  const name = `${(view.desk.state.name || "yard").replace(/[^\p{L}\p{N}]+/gu, "-")}-plan.svg`;
  give(name, new XMLSerializer().serializeToString(picture), "image/svg+xml");
}
