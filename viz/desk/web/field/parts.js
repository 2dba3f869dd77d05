// The parts that the screens of the trench are made of: elements, a reading in large figures, the
// yard as large as a stamp, tabs, and the keys that a reading is given by.
import { button, drawn, make } from "../dom.js";
import { feetInches, filled, marksOf, readRod } from "./rods.js";

/** A key of a screen: its words, the name by which the focus finds it again, and what it does. */
export function screenKey(words, name, act, kind = "tr-button", label = null) {
  return button(words, act, { class: kind, "data-key": name, "aria-label": label });
}

/** A reading in large figures, its fraction and its unit small: one text for who hears it. */
export function figure(text) {
  const match = /^(-?\d+)' (\d+)(?: (\d+)\/(\d+))?"$/.exec(text);
  if (!match) {
    const [value, ...unit] = text.split(" ");
    return make("div", { class: "tr-big" }, value, make("small", {}, ` ${unit.join(" ")}`));
  }
  const [, feet, inches, top, bottom] = match;
  const seen = [`${feet}′ ${inches}`];
  if (top) seen.push(make("sup", {}, top), make("sub", {}, `/${bottom}`));
  seen.push("″");
  return make("div", { class: "tr-big" }, make("span", { "aria-hidden": "true" }, seen),
    make("span", { class: "tr-heard" }, text));
}

/** The yard with every stake as a dot, and the one at hand named. */
export function yard(data, area, at, done) {
  const [x, y, wide, tall] = data.plan.box;
  const unit = Math.max(wide, tall) / 22;
  const picture = drawn("svg", { viewBox: data.plan.box.join(" "), "aria-hidden": "true",
    class: "tr-yard" });
  picture.append(
    ...data.plan.areas.map((d) => drawn("path", { d, class: "tr-paved", "stroke-width": unit / 6 })),
    drawn("path", { d: data.plan.house, class: "tr-house", "stroke-width": unit / 2 }),
  );
  for (const stake of area.stakes) {
    if (stake === at) continue;
    const [cx, cy] = stake.dot;
    picture.append(drawn("circle", { cx, cy, r: unit / 3, "stroke-width": unit / 9,
      class: done.has(stake.name) ? "tr-dot tr-done" : "tr-dot" }));
  }
  // Kept inside the picture however near its edge the stake is.
  const cx = Math.min(Math.max(at.dot[0], x + 1.3 * unit), x + wide - 1.3 * unit);
  const cy = Math.min(Math.max(at.dot[1], y + 1.3 * unit), y + tall - 1.3 * unit);
  picture.append(drawn("circle", { cx, cy, r: 1.25 * unit, class: "tr-here" }),
    drawn("text", { x: cx, y: cy + 0.52 * unit, "font-size": 1.5 * unit, "text-anchor": "middle",
      class: "tr-named" }, at.name));
  return picture;
}

/** Tabs, of which the arrow keys choose; `names` are what is shown. */
export function tabs(label, names, chosen, choose) {
  const go = (event) => {
    const by = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (!by) return;
    event.preventDefault();
    event.stopPropagation();
    choose(names[(names.indexOf(chosen) + by + names.length) % names.length]);
  };
  return make("div", { role: "tablist", "aria-label": label, class: "tr-tabs", onkeydown: go },
    names.map((name) => button(make("span", {}, name), () => choose(name), {
      role: "tab", "aria-selected": name === chosen, "data-key": `tab ${name}`,
      tabindex: name === chosen ? 0 : -1,
    })));
}

/** One of a few, each a key that stays down. */
export function choice(label, options, chosen, choose) {
  return make("div", { role: "group", "aria-label": label, class: "tr-choice" },
    options.map(([value, words]) => button([words].flat().map((each) => make("span", {}, each)),
      () => choose(value), { "aria-pressed": value === chosen, "data-key": `choice ${value}` })));
}

const FEET = 11;

function fraction(parts) {
  return parts === 0 ? "0" : feetInches({ inch: 1 }, parts / 16).replace(/^0' 0 ?|"$/g, "");
}

/**
 * Keys and a field for a reading, nothing filled in beforehand.
 * @returns {{element, input, told}} `told()` gives {text, metres}, or {missing: words}.
 */
export function reading(data, marks, changed, given) {
  const { labels } = data;
  const form = marksOf(data, marks).form;
  const input = make("input", {
    type: "text", class: "tr-value", inputmode: "none", autocomplete: "off", spellcheck: "false",
    "aria-label": labels.reading, "data-key": "reading",
    oninput: () => pad.typed(input.value.trim(), readRod(data, input.value, marks)),
    onkeydown: (event) => {
      if (event.key !== "Enter") return;
      // Else it would press what the hand is put on next, too.
      event.preventDefault();
      given();
    },
  });
  const told = () => {
    const read = readRod(data, input.value, marks);
    if (pad.missing() || !read) return { missing: pad.missing() || filled(labels.no_reading, { form }) };
    if (read.metres > data.rod_length) {
      const rod = marks === "ft-in" ? feetInches(data, data.rod_length)
        : `${(data.rod_length / marksOf(data, marks).metres).toFixed(0)} ${marks}`;
      return { missing: filled(labels.too_long, { rod }) };
    }
    return { text: input.value.trim(), metres: read.metres };
  };
  const show = (text) => {
    input.value = text;
    changed();
  };
  const pad = marks === "ft-in" ? feetKeys(data, show, changed) : digitKeys(data, input, marks, show, changed);
  const hint = make("p", { class: "tr-hint" }, filled(labels.type_here, { form }));
  const element = make("div", { class: "tr-reading" }, input, pad.element, hint);
  return { element, input, told };
}

function keyRow(label, kind, keys) {
  const group = make("div", { role: "group", "aria-label": label, class: `tr-keys ${kind}` }, keys);
  return make("div", { class: "tr-row" }, make("h3", {}, label), group);
}

function feetKeys(data, show, changed) {
  const { labels } = data;
  const most = Math.floor(data.rod_length / data.foot);
  const now = { feet: null, inches: null, parts: null };
  let typed = false;
  let page = 0;
  const buttons = [];
  const key = (part, value, words) => {
    const made = button(words, () => {
      typed = false;
      now[part] = value;
      const told = feetInches({ inch: 1 }, 12 * (now.feet ?? 0) + (now.inches ?? 0) + (now.parts ?? 0) / 16);
      const blank = now.feet === null ? "–' " : `${now.feet}' `;
      show(now.feet !== null && now.inches !== null ? told : `${blank}${now.inches ?? "–"}`);
      press();
    }, { class: "tr-key", "aria-pressed": false });
    buttons.push([made, part, value]);
    return made;
  };
  const press = () => {
    for (const [made, part, value] of buttons) made.setAttribute("aria-pressed", now[part] === value);
  };
  const feet = keyRow(labels.feet, "tr-feet", []);
  const fill = () => {
    const first = page * FEET;
    const keys = [];
    for (let k = first; k < first + FEET && k <= most; k += 1) keys.push(key("feet", k, String(k)));
    if (most >= FEET) {
      keys.push(button("…", () => {
        page = (page + 1) * FEET > most ? 0 : page + 1;
        fill();
        press();
      }, { class: "tr-key", "aria-label": labels.more_feet }));
    }
    feet.lastChild.replaceChildren(...keys);
  };
  fill();
  const inches = Array.from({ length: 12 }, (_, k) => key("inches", k, String(k)));
  const parts = Array.from({ length: 16 }, (_, k) => key("parts", k, fraction(k)));
  parts.forEach((made, k) => made.classList.toggle("tr-quarter", k % 4 === 0));
  return {
    element: make("div", { class: "tr-pad" },
      feet,
      keyRow(labels.inches, "tr-inches", inches),
      keyRow(labels.and_sixteenths, "tr-parts", parts)),
    typed(text, read) {
      typed = text !== "";
      Object.assign(now, { feet: read?.feet ?? null, inches: read?.inches ?? null,
        parts: read?.parts ?? null });
      press();
      changed();
    },
    missing() {
      if (typed) return "";
      const words = [[now.feet, labels.feet], [now.inches, labels.inches],
        [now.parts, labels.sixteenths]]
        .filter(([value]) => value === null).map(([, each]) => each);
      return words.length ? filled(labels.complete, { missing: words.join(", ") }) : "";
    },
  };
}

function digitKeys(data, input, marks, show, changed) {
  const { labels } = data;
  const whole = marksOf(data, marks).decimals === 0;
  const put = (sign) => () => show(input.value + sign);
  const key = (words, act, label) => button(words, act, { class: "tr-key", "aria-label": label });
  const digits = ["1", "2", "3", "4", "5", "6", "7", "8", "9"].map((each) => key(each, put(each)));
  digits.push(whole ? key(labels.clear, () => show("")) : key(".", put("."), "."),
    key("0", put("0")), key("⌫", () => show(input.value.slice(0, -1)), labels.erase));
  return {
    element: make("div", { class: "tr-pad" }, keyRow(marksOf(data, marks).label, "tr-digits", digits)),
    typed: changed,
    missing: () => (input.value.trim() ? "" : filled(labels.complete, { missing: labels.the_reading })),
  };
}

/** The time of day of a moment, with its day where that is not today. */
export function timeOf(moment) {
  const at = new Date(moment);
  if (Number.isNaN(at.getTime())) return moment;
  const two = (value) => String(value).padStart(2, "0");
  const time = `${two(at.getHours())}:${two(at.getMinutes())}`;
  if (at.toDateString() === new Date().toDateString()) return time;
  return `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())} ${time}`;
}
