// Elements made by hand, with no markup in strings, and what every view asks of the browser: a
// style sheet brought in once, a file given, a text copied. It stands in the file to take away, too.

const DRAWING = "http://www.w3.org/2000/svg";

/**
 * Make an element.
 * @param {string} name
 * @param {Record<string, any>} [attributes] functions are heard: `onclick`. What is null or false
 *   is left out, but of what a screen reader is told, which says false.
 * @param {...any} inside elements and words, lists of them too; what is null or false is left out
 */
export function make(name, attributes = {}, ...inside) {
  return filledWith(document.createElement(name), attributes, inside);
}

/** Make an element of a drawing, the same way. */
export function drawn(name, attributes = {}, ...inside) {
  return filledWith(document.createElementNS(DRAWING, name), attributes, inside);
}

function filledWith(element, attributes, inside) {
  const nothing = (value) => value === null || value === undefined || value === false;
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("aria-") && value === false) element.setAttribute(key, "false");
    else if (key.startsWith("on") && value) element.addEventListener(key.slice(2), value);
    else if (!nothing(value)) {
      element.setAttribute(key, value === true && !key.startsWith("aria-") ? "" : String(value));
    }
  }
  element.append(...inside.flat().filter((each) => !nothing(each)));
  return element;
}

/** Make a button: its words, what it does, and what else is said of it. */
export function button(words, onclick, attributes = {}) {
  return make("button", { type: "button", onclick, ...attributes }, words);
}

const sheets = new Map(); // by their address

/** Have a style sheet of the page loaded, once; the promise is kept when it is there. */
export function styled(href) {
  if (!sheets.has(href)) {
    const link = make("link", { rel: "stylesheet", href });
    sheets.set(href, new Promise((there) => link.addEventListener("load", there)));
    document.head.append(link);
  }
  return sheets.get(href);
}

/** Give a file to who sits there: a text of a type, or the address of what it holds. */
export function give(name, text, type) {
  const href = type ? URL.createObjectURL(new Blob([text], { type })) : text;
  make("a", { href, download: name }).click();
  if (type) setTimeout(() => URL.revokeObjectURL(href), 60000);
}

/**
 * Copy a text, also where the browser lets no script write to the clipboard by itself.
 * @param {string} text
 * @param {HTMLTextAreaElement} [area] that shows it already: it stays marked, to be copied by hand
 */
export async function copyText(text, area) {
  try {
    await navigator.clipboard.writeText(text);
    return true;
  } catch {
    const own = area ?? make("textarea", { class: "unseen" });
    if (!area) {
      own.value = text;
      document.body.append(own);
    }
    own.select();
    let done = false;
    try {
      done = document.execCommand("copy");
    } catch { /* it is said that it was not */ }
    if (!area) own.remove();
    return done;
  }
}
