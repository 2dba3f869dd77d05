// What is offered where no finish has all that is asked, in the step that it is of. It comes later
// than the rest, for each offer is tried first.

import { draw as drawBlocks } from "./blocks.js";
import { make } from "./dom.js";

const heard = new WeakSet();

/** Draw the offers of the page as they come.
 * @param {HTMLElement} element
 * @param {Object} data the step that they are of, and what is said until then, or where there
 *   is none: {about, working, none}
 * @param {Object} desk
 */
export function draw(element, data, desk) {
  const show = () => {
    const offers = (desk.state.offers ?? []).filter((each) => each.about === data.about);
    if (offers.length) drawBlocks(element, offers, desk, "offered");
    else element.replaceChildren(make("p", { class: "say quiet" }, desk.state.offers ? data.none : data.working));
  };
  element.classList.add("blocks");
  if (!heard.has(element)) desk.on("offers", show);
  heard.add(element);
  show();
}
