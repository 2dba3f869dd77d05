// The plan as a picture of its own: an SVG file that carries its looks with it.

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
  const style = document.createElementNS("http://www.w3.org/2000/svg", "style");
  style.textContent = `svg { ${tones} font-family: "DejaVu Sans", system-ui, sans-serif; }\n${rules}`;
  picture.prepend(style);
  const file = new Blob([new XMLSerializer().serializeToString(picture)], { type: "image/svg+xml" });
  const link = document.createElement("a");
  link.href = URL.createObjectURL(file);
  link.download = `${(view.desk.state.name || "yard").replace(/[^\p{L}\p{N}]+/gu, "-")}-plan.svg`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}
