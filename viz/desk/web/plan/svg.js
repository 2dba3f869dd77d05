// SVG and HTML made by hand: elements with attributes, no markup in strings.

const SVG = "http://www.w3.org/2000/svg";

/** Return an SVG element.
 *  @param {string} name
 *  @param {Record<string, any>} [attributes] those that are null are left out
 *  @param {...(Node | string)} inner */
export function svg(name, attributes = {}, ...inner) {
  return dressed(document.createElementNS(SVG, name), attributes, inner);
}

/** Return an HTML element; `on` holds what it listens to. */
export function html(name, attributes = {}, ...inner) {
  const { on = {}, ...rest } = attributes;
  const made = dressed(document.createElement(name), rest, inner);
  for (const [kind, heard] of Object.entries(on)) made.addEventListener(kind, heard);
  return made;
}

/** Return a button of the page. */
export const button = (words, pressed, attributes = {}) =>
  html("button", { type: "button", class: "btn", on: { click: pressed }, ...attributes }, words);

function dressed(made, attributes, inner) {
  for (const [key, value] of Object.entries(attributes)) {
    if (value !== null && value !== undefined && value !== false) {
      made.setAttribute(key, value === true ? "" : String(value));
    }
  }
  made.append(...inner.filter((each) => each !== null && each !== undefined));
  return made;
}
