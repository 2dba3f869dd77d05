const plan = JSON.parse(document.getElementById("plan").textContent);
const box = document.getElementById("scene");
const byId = (id) => document.getElementById(id);
const VERTICAL = Math.tan((plan.angle * Math.PI) / 360);
const STILL = matchMedia("(prefers-reduced-motion: reduce)").matches;
const COARSE = matchMedia("(pointer: coarse)");
const state = { scene: plan.first, view: "layers", camera: 0, at: 0, way: 0 };
// The camera that suits a view; any other view is seen whole.
const SUITS = { slice: "side" };
const house = new Set(plan.house);
const letters = new Set(plan.words);
// Some views are at true scale; what is drawn higher in the others is shrunk in them.
const level = () => plan.trueScale.includes(state.view);
const shrunk = () => (level() ? 1 / here().factor : 1);
const where = (each) => (level() && each.real ? each.real : each.at);
// The eye stays above the ground. [rad]
const LOWEST = 0.06;
// The eye goes round a target: angle about the upright, height angle, distance. [rad, m]
const eye = { around: 0, up: 0.5, away: 10, target: [0, 0, 0] };
let space = null; // what is drawn, once there is something to draw it
let drawing = false;
let inside = null; // whether the eye is on the house's side, null until it is placed

const add = (a, b, s) => a.map((v, i) => v + s * b[i]);
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

function axes(around, up) {
  const back = [Math.cos(up) * Math.cos(around), Math.cos(up) * Math.sin(around), Math.sin(up)];
  const right = [-Math.sin(around), Math.cos(around), 0];
  const above = [
    back[1] * right[2] - back[2] * right[1],
    back[2] * right[0] - back[0] * right[2],
    back[0] * right[1] - back[1] * right[0],
  ];
  return { back, right, above };
}

// Stand where all the points are just in the picture.
function fitted(direction, points) {
  const around = Math.atan2(direction[1], direction[0]);
  const up = Math.asin(Math.min(1, Math.max(-1, direction[2])));
  const { back, right, above } = axes(around, up);
  // The column of layers takes the right of a wide picture, so the scene is fitted beside it.
  makeTags();
  const numbered = tags.filter((item) => item.each.number);
  const clear = numbered.length && box.clientWidth >= 640
    ? Math.max(...numbered.map((item) => item.width)) + 24 : 0;
  const aspect = (box.clientWidth - clear) / Math.max(1, box.clientHeight);
  const room = 1.08;
  const reachY = VERTICAL / room;
  const reachX = reachY * aspect;
  const local = points.map((p) => [dot(p, right), dot(p, above), dot(p, back)]);
  const span = (i) => [Math.min(...local.map((p) => p[i])), Math.max(...local.map((p) => p[i]))];
  const middle = [0, 1, 2].map((i) => (span(i)[0] + span(i)[1]) / 2);
  let away = 1;
  for (let round = 0; round < 20; round++) {
    away = Math.max(...local.map((p) => Math.max(
      Math.abs(p[0] - middle[0]) / reachX, Math.abs(p[1] - middle[1]) / reachY) + p[2] - middle[2]));
    for (const i of [0, 1]) {
      const flat = local.map((p) => (p[i] - middle[i]) / (away - p[2] + middle[2]));
      middle[i] += ((Math.min(...flat) + Math.max(...flat)) / 2) * away;
    }
  }
  middle[0] += (clear * VERTICAL * away) / box.clientHeight;
  let target = [0, 0, 0];
  target = add(add(add(target, right, middle[0]), above, middle[1]), back, middle[2]);
  return { around, up, away, target };
}

function place() {
  const { back, above } = axes(eye.around, eye.up);
  // Seen from inside the house, its own wall would hide everything.
  const near = here().near;
  const within = back[0] * near[0] + back[1] * near[1] < -0.05;
  if (within !== inside) {
    inside = within;
    space.show(visible);
  }
  space.look(add(eye.target, back, eye.away), eye.target, above);
  if (!drawing) {
    drawing = true;
    requestAnimationFrame(() => { drawing = false; space.draw(); label(); });
  }
}

// Letters that would stand on their head from the house are shown turned there.
function visible(i) {
  const where = plan.seen[i];
  const key = state.scene + ":" + state.view;
  // Faces of the cut are those of the way that is shown.
  if (caps.has(i)) return cutting() !== null && where.includes(state.scene + ":" + cutting().name);
  if (inside && where.includes(key + plan.behind)) return true;
  return where.includes(key) && !(inside && (house.has(i) || letters.has(i)));
}

// On a small screen less is written, and it is looked at from higher up.
const small = () => box.clientWidth < 600;

let flight = 0;
function fly(to) {
  const from = { ...eye, target: [...eye.target] };
  let turn = (to.around - from.around) % (2 * Math.PI);
  if (turn > Math.PI) turn -= 2 * Math.PI;
  if (turn < -Math.PI) turn += 2 * Math.PI;
  const mine = ++flight;
  const start = performance.now();
  const length = STILL ? 0 : 450;
  function step(now) {
    if (mine !== flight) return;
    const t = length ? Math.min(1, (now - start) / length) : 1;
    const s = t * t * (3 - 2 * t);
    eye.around = from.around + s * turn;
    eye.up = from.up + s * (to.up - from.up);
    eye.away = from.away + s * (to.away - from.away);
    eye.target = from.target.map((v, i) => v + s * (to.target[i] - v));
    place();
    if (t < 1) requestAnimationFrame(step);
  }
  step(start);
}

const here = () => plan.scenes[state.scene];

function look(index, jump) {
  state.camera = index;
  if (!space) return;
  const camera = here().cameras[index];
  const face = camera.name === "side" && cutting() ? cutting() : null;
  const tall = small() ? "tall" : null;
  const direction = face ? face[tall || "eye"] : camera[tall || "direction"];
  const close = camera.points && camera.points.map(([x, y, z]) => [x, y, z * shrunk()]);
  const to = fitted(direction, kept(close || here().hulls[state.view]));
  press("cameras", camera.name);
  // A flight that is still under way would carry the eye on to where it was sent before.
  if (jump) { flight++; Object.assign(eye, to); place(); } else fly(to);
}

// A view that is chosen is seen as suits it; within it a person's own choice holds.
const suited = () => Math.max(0, here().cameras.findIndex((each) => each.name === SUITS[state.view]));

function show() {
  told();
  if (!space) return;
  cut();
  space.stand((i) => (state.view === "apart" ? plan.lifts[i] : 0),
    (i) => (level() ? 1 / plan.factors[i] : 1));
  inside = null;
  press("views", state.view);
  place();
}

// What is written about the area and the base that are chosen.
function told() {
  for (const section of document.querySelectorAll(".area")) {
    section.hidden = section.dataset.area !== String(here().area);
  }
  for (const part of document.querySelectorAll(".base")) {
    part.hidden = part.dataset.scene !== String(state.scene);
  }
  for (const cell of document.querySelectorAll("[data-of]")) {
    cell.dataset.shown = cell.dataset.of === String(state.scene) ? "yes" : "no";
  }
  for (const button of document.querySelectorAll("[data-scene].choose")) {
    button.setAttribute("aria-pressed", String(button.dataset.scene === String(state.scene)));
  }
  for (const button of document.querySelectorAll("[data-to-area]")) {
    button.setAttribute("aria-pressed", String(button.dataset.toArea === String(here().area)));
  }
  for (const still of document.querySelectorAll("#still [data-still]")) {
    still.hidden = still.dataset.still !== String(state.scene);
  }
  byId("subtitle").textContent = here().subtitle;
}

function press(group, name) {
  for (const button of byId(group).querySelectorAll("[data-name]")) {
    button.setAttribute("aria-pressed", String(button.dataset.name === name));
  }
}
