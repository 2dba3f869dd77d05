// The one file of the crew: the screen in the trench from what is written into the file, and the
// table of rods beside it, which reads without this.
import { draw } from "./trench.js";

const root = document.documentElement;
const paper = document.getElementById("paper");
const show = (what) => {
  root.dataset.shows = what;
  window.scrollTo(0, 0);
  if (what === "paper") paper.querySelector("h1").focus();
};
for (const key of document.querySelectorAll("[data-rods]")) {
  key.hidden = false;
  key.addEventListener("click", () => show("rods"));
}
root.dataset.shows = "rods";
document.getElementById("site").hidden = false;
draw(document.getElementById("trench"), JSON.parse(document.getElementById("data").textContent), {
  paper: () => show("paper"),
});
