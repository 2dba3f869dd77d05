/** Make an element: its attributes (`onclick` and the like are heard), and what is in it. */
export function make(name, attributes = {}, ...inside) {
  return fill(document.createElement(name), attributes, inside);
}

/** Make an element of a drawing. */
export function drawn(name, attributes = {}, ...inside) {
  return fill(document.createElementNS("http://www.w3.org/2000/svg", name), attributes, inside);
}

function fill(element, attributes, inside) {
  for (const [key, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else element.setAttribute(key, value === true ? "" : value);
  }
  element.append(...inside.filter((each) => each !== null && each !== undefined && each !== false));
  return element;
}
