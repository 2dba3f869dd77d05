/** Small forms of the survey: a shot read again, a point that levels or tapes hang on, a crease. */

import { unlessThere } from "../blocks.js";
import { button, make, styled } from "../dom.js";
import { number, refusal } from "../live.js";

const FORMS = { settle, point, crease, pegs };

/** Draw a form into an element, unless it is there and being typed into. */
export function draw(element, data, desk) {
  styled("/web/ground/ground.css");
  unlessThere(element, data, () => FORMS[data.form](data, desk));
}

function input(id, label, hint) {
  const box = make("input", {
    type: "text", id, "data-at": id, autocomplete: "off", autocapitalize: "off",
    spellcheck: "false", placeholder: hint || null,
  });
  return [make("label", { for: id, class: "label" }, label), box];
}

function form(go, label, ...inside) {
  const said = make("p", { class: "say fails", role: "alert" });
  const element = make("form", { class: "form", autocomplete: "off" }, ...inside, said,
    make("div", { class: "row" }, make("button", { type: "submit", class: "does" }, label)));
  element.addEventListener("submit", async (event) => {
    event.preventDefault();
    said.textContent = (await go()) || "";
  });
  return element;
}

/** A shot that was read again, and reads something else now. */
function settle(data, desk) {
  const id = `settle-${data.shot.replace(/\W/g, "-")}`;
  const [label, box] = input(id, data.reads, "");
  return form(async () => {
    const level = box.value.trim();
    if (!level) return data.wanted;
    const told = { option: "--shot", words: `${data.shot}=${level}`, called: data.name };
    const reply = await desk.call("settle", told);
    return (reply.problems || []).join(" ");
  }, data.take, label, box);
}

/** A benchmark with its elevation, or a point that a tape is held to with its place. */
function point(data, desk) {
  const mark = data.what === "benchmark";
  const [label, name] = input(`${data.what}-name`, mark ? "Another benchmark: its name"
    : "Another point for the tape: its name", mark ? "hydrant bolt" : "A");
  const [whereLabel, where] = input(`${data.what}-where`, mark ? `Elevation (${data.unit})`
    : `Where it is: x, y (${data.unit})`, mark ? "100.00" : "26, 22");
  return form(async () => {
    const called = name.value.trim();
    if (!called || !where.value.trim()) return "Say both.";
    const to = mark ? { name: called, z: number(where.value) }
      : { name: called, at: where.value.split(",").map(number) };
    const wrong = refusal(await desk.add(data.what, to, `${called}, a ${data.what}`, { own: true }));
    if (!wrong) name.value = where.value = "";
    return wrong;
  }, mark ? "Add the benchmark" : "Add the point", label, name, whereLabel, where);
}

/** Both pegs read from two set-ups, and how far off they were: it is whole or it is none. */
function pegs(data, desk) {
  const boxes = { readings: [[], []], distances: [[], []] };
  const rows = data.heads.map((pair, setup) => pair.map((head, peg) => {
    const of = (what, label) => {
      const [name, box] = input(`${data.key.replace(/\W/g, "-")}-${what}-${setup}-${peg}`, `${head}, ${label}`, "");
      box.value = data[what][setup][peg];
      boxes[what][setup][peg] = box;
      return make("div", { class: "field" }, name, box);
    };
    return make("div", { class: "pair" }, of("readings", data.reads), of("distances", data.far));
  }));
  const typed = (what) => boxes[what].map((pair) => pair.map((box) => box.value.trim()));
  const element = form(async () => {
    const to = { readings: typed("readings"),
      distances: typed("distances").map((pair) => pair.map(number)) };
    return refusal(await desk.set(data.at, to, { said: data.said, own: true }));
  }, data.keep, ...rows.flat());
  if (data.gone) {
    const out = () => desk.set(data.at, null, { said: `${data.said} left out` });
    element.append(button(data.gone, out, { class: "away" }));
  }
  return element;
}

/** A line along which the ground creases, through spots that are named in order. */
function crease(data, desk) {
  const known = new Map(data.spots.map(([name, x, y]) => [name, [x, y]]));
  const hint = data.spots.length > 2 ? data.spots.slice(0, 3).map(([name]) => name).join(", ") : "";
  const [label, box] = input("crease-spots", "A line through spots, in order", hint);
  return form(async () => {
    const names = box.value.split(/[,;]/).map((each) => each.trim()).filter(Boolean);
    const unknown = names.filter((name) => !known.has(name));
    if (unknown.length) return `No spot is called ${unknown.join(", ")}.`;
    if (names.length < 2) return "Name two spots or more.";
    const line = names.map((name) => known.get(name));
    const said = `crease from ${names[0]} to ${names.at(-1)}`;
    const [at, to] = data.list ? ["ground/breaklines", [line]] : [data.at, line];
    const wrong = refusal(await desk.set(at, to, { said, own: true }));
    if (!wrong) box.value = "";
    return wrong;
  }, "Keep the line", label, box);
}
