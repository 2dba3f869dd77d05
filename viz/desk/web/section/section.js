// The section: a cut through the yard, or the bases side by side at one place.

import { button, give, make, styled } from "../dom.js";
import { swatch } from "./patterns.js";
import { drawBases } from "./bases.js";
import { drawCut } from "./cut.js";

const STEP = { ft: 0.25, m: 0.1 }; // how far an arrow key moves the line
const MOST = 5; // ways that stand as buttons: of more one is picked from a list

function chosen(text, pressed, press) {
  return button(text, press, { class: "choice-button", "aria-pressed": Boolean(pressed) });
}

/** The cuts of many areas: a list that leaves the picture its room. */
function picked(names, ways, take) {
  const options = ways.map((way, k) => make("option", { value: k, selected: way.chosen }, way.words));
  if (!ways.some((way) => way.chosen)) {
    options.unshift(make("option", { value: "", selected: true, disabled: true }, names.own_way));
  }
  return make("select", {
    class: "section-pick", "aria-label": names.way, onchange: (event) => take(ways[event.target.value]),
  }, ...options);
}

/** Return a line moved square to itself, in the unit of the site. */
function moved([[x0, y0], [x1, y1]], by) {
  const long = Math.hypot(x1 - x0, y1 - y0) || 1;
  const [nx, ny] = [((y0 - y1) / long) * by, ((x1 - x0) / long) * by];
  return [[x0 + nx, y0 + ny], [x1 + nx, y1 + ny]];
}

/** Save a picture as it stands. */
function save(picture, name) {
  if (picture) give(name, new XMLSerializer().serializeToString(picture), "image/svg+xml");
}

/** Mount the section into its place of the page.
 * @param {HTMLElement} element
 * @param {Object} desk
 */
export function mount(element, desk) {
  styled("/web/section/section.css").then(() => draw());
  element.classList.add("section-view");
  const bar = make("div", { class: "section-bar" });
  const body = make("div", { class: "section-body" });
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
    const take = (way) => {
      own.off = 0;
      own.from = way.line;
      see(way.line);
    };
    const along = ways.length > MOST ? [picked(names, ways, take)]
      : ways.map((way) => chosen(way.words, way.chosen, () => take(way)));
    const scale = chosen(names.one_scale, own.oneScale, () => {
      own.oneScale = !own.oneScale;
      draw();
    });
    const keep = () => save(body.querySelector(".section-frame svg"), names.file);
    const slider = make("input", {
      type: "range", min: -reach, max: reach, step: STEP[desk.state.unit], value: own.off,
      oninput: (event) => slide(Number(event.target.value), reach),
    });
    const on = ({ words, chosen: now, name }) => chosen(words, now, () => desk.see({ base_system: name }));
    return make("div", {},
      make("div", { class: "section-ways" }, along, scale,
        button(names.save, keep, { class: "quiet-button" }),
        make("label", { class: "section-slide" }, names.slide, slider)),
      make("div", { class: "section-ways", role: "group", "aria-label": names.systems },
        make("span", { class: "section-slide-word" }, names.systems), section.systems.map(on)));
  }

  function drawn(section) {
    const { cut, names } = section;
    const wide = Math.max(body.clientWidth, 280);
    const room = Math.max(element.clientHeight - 260, 250);
    const { picture, words, told } = drawCut(cut, wide, room, own.oneScale, desk.state.unit);
    const pressed = (event) => {
      const way = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
      if (!way) return;
      event.preventDefault();
      slide(own.off + way * STEP[desk.state.unit] * (event.shiftKey ? 4 : 1), section.reach);
    };
    const frame = make("div", {
      class: "section-frame", tabindex: "0", role: "group", "aria-label": names.keys, onkeydown: pressed,
    }, picture);
    const text = make("p", { class: "section-words" }, [`${cut.title}.`, words, ...cut.said].join(" "));
    return [frame, controls(section), ...(told ? [] : [key(cut)]), text, levels(cut, names)];
  }

  /** What lies where, in words beside patterns, where the picture has no room for them. */
  function key(cut) {
    return make("ul", { class: "section-key" }, cut.layers.map(({ material, words }) =>
      make("li", {}, swatch(material, cut.tones), make("span", {}, words))));
  }

  function levels(cut, names) {
    const table = make("table", {}, cut.levels.rows.map(({ name, cells }) =>
      make("tr", {}, make("th", { scope: "row" }, name), cells.map((cell) => make("td", {}, cell)))));
    const frame = make("div", {
      class: "section-levels", tabindex: "0", role: "region", "aria-label": names.levels,
    }, table);
    const toggled = (event) => { own.open = event.target.open; };
    return make("details", { open: own.open, ontoggle: toggled }, make("summary", {}, names.levels), frame);
  }

  function draw() {
    const { section, stale } = desk.state;
    if (!section || !element.clientWidth) return;
    bars(section);
    const held = body.contains(document.activeElement) ? document.activeElement : null;
    const again = held && (held.className ? `.${held.className}` : held.tagName.toLowerCase());
    if (section.words) {
      body.replaceChildren(make("p", { class: "section-none" }, section.words));
    } else if (own.show === "bases") {
      drawBases(body, section.bases, desk, element.clientHeight - 400);
    } else {
      const missed = section.missed ? [make("p", { class: "section-none" }, section.missed)] : [];
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
