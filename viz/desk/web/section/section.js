// The section: a cut through the yard, or the bases side by side at one place.

import { swatch } from "./patterns.js";
import { drawBases } from "./bases.js";
import { drawCut } from "./cut.js";

const STEP = { ft: 0.25, m: 0.1 }; // how far an arrow key moves the line

function made(name, text = "", className = "") {
  const element = document.createElement(name);
  if (className) element.className = className;
  if (text) element.textContent = text;
  return element;
}

function pressing(text, className, press) {
  const element = made("button", text, className);
  element.type = "button";
  element.addEventListener("click", press);
  return element;
}

function chosen(text, pressed, press) {
  const element = pressing(text, "choice-button", press);
  element.setAttribute("aria-pressed", String(pressed));
  return element;
}

/** Return a line moved square to itself, in the unit of the site. */
function moved([[x0, y0], [x1, y1]], by) {
  const long = Math.hypot(x1 - x0, y1 - y0) || 1;
  const [nx, ny] = [((y0 - y1) / long) * by, ((x1 - x0) / long) * by];
  return [[x0 + nx, y0 + ny], [x1 + nx, y1 + ny]];
}

/** Save a picture as it stands. */
function save(picture, name) {
  if (!picture) return;
  const text = new XMLSerializer().serializeToString(picture);
  const link = made("a");
  link.href = URL.createObjectURL(new Blob([text], { type: "image/svg+xml" }));
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}

/** Mount the section into its place of the page.
 * @param {HTMLElement} element
 * @param {Object} desk
 */
export function mount(element, desk) {
  const sheet = document.createElement("link");
  sheet.rel = "stylesheet";
  sheet.href = new URL("section.css", import.meta.url).href;
  sheet.addEventListener("load", () => draw());
  document.head.append(sheet);
  element.classList.add("section-view");
  const bar = made("div", "", "section-bar");
  const body = made("div", "", "section-body");
  element.replaceChildren(bar, body);
  const own = { show: "cut", oneScale: false, open: false, from: null, off: 0, sent: "" };

  function show(what) {
    own.show = what;
    draw();
  }

  /** Move the line so far from where its way was chosen, and ask what it meets there. */
  function slide(off, reach) {
    own.off = Math.max(-reach, Math.min(reach, off));
    if (own.from) see(moved(own.from, own.off));
  }

  function see(line) {
    own.sent = JSON.stringify(line);
    desk.see({ cut: line });
  }

  function bars(section) {
    const { names } = section;
    bar.replaceChildren(
      chosen(names.cut, own.show === "cut", () => show("cut")),
      chosen(names.bases, own.show === "bases", () => show("bases")),
    );
  }

  function controls(section) {
    const { names, ways, reach } = section;
    const box = made("div", "", "section-ways");
    for (const way of ways) {
      box.append(chosen(way.words, way.chosen, () => {
        own.off = 0;
        own.from = way.line;
        see(way.line);
      }));
    }
    const bases = made("div", "", "section-ways");
    bases.setAttribute("role", "group");
    bases.setAttribute("aria-label", names.systems);
    bases.append(made("span", names.systems, "section-slide-word"));
    for (const system of section.systems) {
      bases.append(chosen(system.words, system.chosen, () => desk.see({ base_system: system.name })));
    }
    box.append(chosen(names.one_scale, own.oneScale, () => {
      own.oneScale = !own.oneScale;
      draw();
    }));
    const keep = () => save(body.querySelector(".section-frame svg"), names.file);
    box.append(pressing(names.save, "quiet-button", keep));
    const label = made("label", names.slide, "section-slide");
    const input = made("input");
    Object.assign(input, {
      type: "range", min: -reach, max: reach, step: STEP[desk.state.unit], value: own.off,
    });
    input.addEventListener("input", () => slide(Number(input.value), reach));
    label.append(input);
    box.append(label);
    const both = made("div");
    both.append(box, bases);
    return both;
  }

  function drawn(section) {
    const { cut, names } = section;
    const wide = Math.max(body.clientWidth, 280);
    const room = Math.max(element.clientHeight - 260, 250);
    const { picture, words, told } = drawCut(cut, wide, room, own.oneScale, desk.state.unit);
    const frame = made("div", "", "section-frame");
    frame.tabIndex = 0;
    frame.setAttribute("role", "group");
    frame.setAttribute("aria-label", names.keys);
    frame.addEventListener("keydown", (event) => {
      const way = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
      if (!way) return;
      event.preventDefault();
      slide(own.off + way * STEP[desk.state.unit] * (event.shiftKey ? 4 : 1), section.reach);
    });
    frame.append(picture);
    const text = made("p", [`${cut.title}.`, words, ...cut.said].join(" "), "section-words");
    return [frame, controls(section), ...(told ? [] : [key(cut)]), text, levels(cut, names)];
  }

  /** What lies where, in words beside patterns, where the picture has no room for them. */
  function key(cut) {
    const list = made("ul", "", "section-key");
    for (const layer of cut.layers) {
      const row = made("li");
      row.append(swatch(layer.material, cut.tones), made("span", layer.words));
      list.append(row);
    }
    return list;
  }

  function levels(cut, names) {
    const fold = made("details");
    fold.open = own.open;
    fold.addEventListener("toggle", () => {
      own.open = fold.open;
    });
    const frame = made("div", "", "section-levels");
    frame.tabIndex = 0;
    frame.setAttribute("role", "region");
    frame.setAttribute("aria-label", names.levels);
    const table = made("table");
    for (const row of cut.levels.rows) {
      const line = made("tr");
      const head = made("th", row.name);
      head.scope = "row";
      line.append(head, ...row.cells.map((cell) => made("td", cell)));
      table.append(line);
    }
    frame.append(table);
    fold.append(made("summary", names.levels), frame);
    return fold;
  }

  function draw() {
    const { section, stale } = desk.state;
    if (!section || !element.clientWidth) return;
    bars(section);
    const held = body.contains(document.activeElement) ? document.activeElement : null;
    const again = held && (held.className ? `.${held.className}` : held.tagName.toLowerCase());
    if (section.words) {
      body.replaceChildren(made("p", section.words, "section-none"));
    } else if (own.show === "bases") {
      drawBases(body, section.bases, desk, element.clientHeight - 400);
    } else {
      const missed = section.missed ? [made("p", section.missed, "section-none")] : [];
      body.replaceChildren(...missed, ...drawn(section));
    }
    if (again && own.show === "cut") body.querySelector(again)?.focus({ preventScroll: true });
    body.classList.toggle("stale", Boolean(stale));
    element.dataset.ready = "yes";
  }

  desk.on("section", (section) => {
    if (section?.cut && !own.from) own.from = section.cut.line;
    draw();
  });
  desk.on("asked", (asked) => {
    if (!asked?.cut || JSON.stringify(asked.cut) === own.sent) return;
    // Its line was laid elsewhere, in the plan or in the model: from there it is moved now.
    own.sent = JSON.stringify(asked.cut);
    own.from = asked.cut;
    own.off = 0;
  });
  desk.on("stale", draw);
  let wide = 0;
  new ResizeObserver(() => {
    if (element.clientWidth !== wide) draw();
    wide = element.clientWidth;
  }).observe(element);
  return { show };
}
