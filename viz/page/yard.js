/** The page that is one file: what is seen, from where, and what is said beside it. */
import { copyText, give, make } from "../desk/web/dom.js";
import { alongFace, upright } from "../desk/web/space/cut.js";
import { moved, still, turned } from "../desk/web/space/eye.js";
import { listen } from "../desk/web/space/hands.js";
import { Labels, NARROW } from "../desk/web/space/labels.js";
import { saved } from "../desk/web/space/save.js";
import { Parts } from "./parts.js";

const byId = (id) => document.getElementById(id);
const plan = JSON.parse(byId("data").textContent);
const box = byId("scene");
const state = { scene: plan.first, view: "layers", camera: 0, at: 0, way: 0 };
const SUITS = { slice: "side" }; // the camera that suits a view; any other view is seen whole
const SPOTS = 9; // of the levels of the ground a few are told: all are in the plan
let space = null; // what is drawn, once there is something to draw it
let labels = null;

const here = () => plan.scenes[state.scene];
const narrow = () => box.clientWidth < NARROW;
/** Some views are at true scale; what is drawn higher in the others is shrunk in them. */
const level = () => plan.trueScale.includes(state.view);
/** The way of the cut that is shown, or null. */
const cutting = () => (state.view === "slice" && here().slices[state.way]) || null;
const middle = (slices) => Math.round(slices.stations.length * 0.6);
const along = (place, [x, y]) => place[0] * x + place[1] * y;

// ---------------------------------------------------------------- what is seen, and from where

function show() {
  told();
  if (!space) return;
  const slices = cutting();
  const key = `${state.scene}:${state.view}`;
  press("views", state.view);
  byId("cut").hidden = slices === null;
  if (slices) {
    byId("cut-at").max = slices.stations.length - 1;
    byId("cut-at").value = state.at;
    byId("cut-words").textContent = `Cut ${slices.words[state.at]}`;
    byId("cut-at").setAttribute("aria-valuetext", byId("cut-words").textContent);
    press("ways", slices.name);
  }
  space.see({
    key, behind: key + plan.behind, near: here().near, apart: state.view === "apart", level: level(),
    plane: slices && upright(moved([0, 0], slices.direction, slices.stations[state.at]), slices.direction),
  });
}

/** A view that is chosen is seen as suits it; within it a person's own choice holds. */
const suited = () => Math.max(0, here().cameras.findIndex((each) => each.name === SUITS[state.view]));

function look(index, atOnce) {
  state.camera = index;
  if (!space?.shown) return;
  const camera = here().cameras[index];
  const slices = cutting();
  const stands = slices && camera.name === "side" ? slices : camera;
  const { wide, high, eye } = space;
  // The column of layers takes the right of the picture, so the scene is fitted beside it.
  eye.room = { left: 16, right: 16 + labels.column(layers(), wide), top: 16, low: 36 };
  const shrunk = level() ? 1 / here().factor : 1;
  const points = camera.points?.map(([x, y, z]) => [x, y, z * shrunk]) ?? here().hulls[state.view];
  // What is cut away is moved into what is left.
  const kept = points.map((point) => {
    const over = slices ? along(point, slices.direction) - slices.stations[state.at] : 0;
    return over > 0 ? moved(point, [...slices.direction, 0], -over) : point;
  });
  press("cameras", camera.name);
  eye.go(eye.fitting(kept, turned(narrow() ? stands.tall : stands.eye), wide, high), { atOnce });
}

function free() {
  state.camera = null;
  press("cameras", "");
}

function view(name) {
  if (name === state.view) return;
  state.view = name;
  if (cutting()) state.at = middle(cutting());
  show();
  look(suited());
}

function cutWay(name) {
  state.way = here().slices.findIndex((each) => each.name === name);
  state.at = middle(cutting());
  show();
  look(suited());
}

/** Every station is framed, unless the eye was placed by hand. */
function cutAt(station) {
  state.at = station;
  show();
  if (state.camera !== null) look(state.camera, true);
}

function choose(scene) {
  state.scene = scene;
  show();
}

function toArea(area) {
  choose(plan.scenes.findIndex((each) => each.area === area && each.chosen));
  look(suited(), true);
  // On a small screen the buttons stand far below the picture.
  byId("scene-side").scrollIntoView({ block: "nearest", behavior: still() ? "auto" : "smooth" });
}

// ---------------------------------------------------------------- names on the picture

/** What is written in a view; about what was cut away, nothing. */
function written() {
  const slices = cutting();
  return here().labels.filter(({ at, kind, views }) => views.includes(state.view)
    && !(narrow() && ["level", "spot"].includes(kind))
    && !(slices && along(at, slices.direction) > slices.stations[state.at] + 0.01));
}

/** The layers that are named, from the top down: on a cut in their faces. */
function layers() {
  const { factor, legend } = here();
  if (!cutting()) return written().filter(({ number }) => number).map((each) => ({ ...each, rows: [each.text] }));
  return legend.flatMap(({ name, number }) => {
    const at = space.faced(name, alongFace(number, legend.length), factor);
    return at ? [{ at, number, rows: [name] }] : [];
  });
}

/** Where something is drawn, in the view that is shown. */
const drawnAt = (each) => space.at(level() && each.real ? each.real : each.at);

function named() {
  const { wide, high } = space;
  const at = (each) => ({ ...each, at: drawnAt(each) });
  const column = layers().map(at).filter((each) => each.at[2]);
  // On a cut the layers lie all but in one line, so they keep their order from the top down.
  const order = (each) => (cutting() ? each.number : each.at[1]);
  const corner = narrow() ? 84 : 112;
  labels.put({
    wide, high, arrows: arrows(), layers: column.sort((a, b) => order(a) - order(b)),
    places: written().filter(({ number }) => !number).map((each) => ({
      ...at(each), rows: ((narrow() && each.brief) || each.text).split("\n"),
      wanted: each.kind === "house", most: each.kind === "spot" ? SPOTS : undefined,
    })),
    keep: [[wide - corner, 4, wide, corner - 4], [0, byId("hint").offsetTop || high, wide, high]],
    painted: (here().painted[state.view] ?? []).map((points) => {
      const [x, y] = [0, 1].map((d) => points.map((point) => space.at(point)[d]));
      return [Math.min(...x), Math.min(...y), Math.max(...x), Math.max(...y)];
    }),
  });
}

/** How the plan's x and y run in this picture, in its corner. */
function arrows() {
  const { right, over } = space.eye.axes;
  const steps = [[right[0], -over[0]], [right[1], -over[1]]];
  const longest = Math.max(...steps.map((step) => Math.hypot(...step)));
  const [long, from] = narrow() ? [24, [space.wide - 44, 42]] : [34, [space.wide - 62, 56]];
  return steps.map((step, d) => {
    const to = from.map((each, k) => each + (step[k] * long) / longest);
    const [x, y] = step.map((each) => each / Math.max(0.001, Math.hypot(...step)));
    return {
      line: [from, to], words: "xy"[d], at: [to[0] + x * 10, to[1] + y * 10],
      head: [to, [to[0] - x * 9 - y * 4, to[1] - y * 9 + x * 4], [to[0] - x * 9 + y * 4, to[1] - y * 9 - x * 4]],
    };
  });
}

function save() {
  const { fall, file, heights, legend, subtitle } = here();
  space.draw();
  give(file, saved(space, labels, {
    band: plan.band, title: plan.site, under: subtitle,
    legend: legend.map((each) => ({ ...each, words: `${each.name}, ${each.words}` })),
    notes: [`${fall} ${heights[state.view]}`], caution: plan.caution,
  }));
  say("The picture was saved with your downloads.");
}

// ---------------------------------------------------------------- what is said beside it

/** What is written about the area and the base that are chosen. */
function told() {
  const each = (selector, does) => document.querySelectorAll(selector).forEach(does);
  const [area, scene] = [String(here().area), String(state.scene)];
  each(".area", (one) => { one.hidden = one.dataset.area !== area; });
  each(".base", (one) => { one.hidden = one.dataset.scene !== scene; });
  each("#still [data-still]", (one) => { one.hidden = one.dataset.still !== scene; });
  each("[data-of]", (one) => { one.dataset.shown = one.dataset.of === scene ? "yes" : "no"; });
  each(".choose", (one) => one.setAttribute("aria-pressed", String(one.dataset.scene === scene)));
  each("[data-to-area]", (one) => one.setAttribute("aria-pressed", String(one.dataset.toArea === area)));
  byId("subtitle").textContent = here().subtitle;
}

function press(group, name) {
  for (const button of byId(group).querySelectorAll("[data-name]")) {
    button.setAttribute("aria-pressed", String(button.dataset.name === name));
  }
}

function say(words) {
  byId("message").textContent = words;
}

async function copy(table) {
  const rows = [...table.rows].map((row) => [...row.cells].map((cell) => cell.textContent.trim()).join("\t"));
  if (await copyText(rows.join("\n"))) say("Copied: paste it into a spreadsheet.");
  else say("This browser let nothing be copied: mark the table and copy it by hand.");
}

// Bases and areas are chosen, and tables copied, also where no picture can be turned.
document.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  const { copy: table, name, scene, toArea: area } = button.dataset;
  const group = button.parentNode.id;
  if (scene !== undefined) choose(Number(scene));
  else if (area !== undefined) toArea(Number(area));
  else if (table !== undefined) copy(byId(table));
  else if (button.id === "save") save();
  else if (group === "views") view(name);
  else if (group === "ways") cutWay(name);
  else if (group === "cameras") look(here().cameras.findIndex((each) => each.name === name));
});

async function start() {
  const canvas = make("canvas");
  const made = new Parts(box, canvas, named);
  await made.unpack(plan.packed);
  byId("viewer").append(canvas);
  labels = new Labels(byId("viewer"));
  window.space = space = made; // whoever looks into the page may ask what it draws
  space.light(plan.lit);
  for (const id of ["wait", "still"]) byId(id).hidden = true;
  const coarse = matchMedia("(pointer: coarse)");
  const hint = () => {
    byId("hint").textContent = coarse.matches ? "Drag to turn · pinch to come nearer · two fingers to move"
      : "Drag to turn · wheel to come nearer · right button to move";
  };
  coarse.addEventListener("change", hint);
  hint();
  listen(box, space.eye, { free, home: () => look(suited()) });
  box.addEventListener("pointerdown", () => { byId("hint").hidden = true; });
  byId("cut-at").addEventListener("input", (event) => cutAt(Number(event.target.value)));
  show();
  space.fill(() => { if (state.camera !== null) look(state.camera, true); });
}

/** Without a picture that turns, all is there but that: the cut is drawn flat, beside it the numbers. */
function flat() {
  space = null;
  byId("still").hidden = false;
  byId("still-words").textContent =
    "This browser cannot turn the picture, so it is drawn cut through the middle. All numbers are here.";
  for (const id of ["wait", "viewer", "views", "cut", "cameras", "hint"]) byId(id).hidden = true;
}

told();
start().catch(flat).then(() => { document.body.dataset.ready = "yes"; });
