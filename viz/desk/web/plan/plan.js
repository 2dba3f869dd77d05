// The plan: seen, moved, chosen and drawn on. It writes the document; it works out nothing.
import { Drawing } from "./draw.js";
import { Hands } from "./hands.js";
import { Mover } from "./mover.js";
import { along, bending, movedRing, moving } from "./outline.js";
import { Window, boxOf, edgesOf, grain, writtenAt } from "./plane.js";
import { refusal } from "../live.js";
import { titleOf } from "./pick.js";
import { Picture } from "./shown.js";
import { tell } from "./tell.js";
import { marksOf, onWall, snapped, squares } from "./snap.js";
import { partsOf } from "./parts.js";

const EMPTY = {
  unit: "ft", turn: 180, house: null, doors: [], areas: [], marks: [], spots: [], structures: [],
  low_spots: [], bounds: [-4, -8, 36, 24], fit: [-4, -8, 36, 24], built: [-4, -8, 36, 24], stale: false,
};

/** Show the plan in an element.
 *  @param {HTMLElement} element
 *  @param {object} desk
 *  @returns {PlanView} */
export function mount(element, desk) {
  return new PlanView(element, desk);
}

class PlanView {
  constructor(element, desk) {
    this.desk = desk;
    this.win = new Window();
    this.plan = EMPTY;
    this.chosen = "";
    this.drawing = null;
    this.moved = new Map(); // corners of rings that are dragged, by the way to the ring
    this.hand = null; // where what is dragged is held, in the yard
    this.held = null;
    this.left = null; // where what was let go of is, while that is on its way
    this.guides = [];
    this.snapWords = [];
    this.fitted = "paving"; // what is shown of it, until a hand moves it
    this.spots = true;
    this.own = false; // whether a person has moved the picture
    this.mover = new Mover(desk, () => this.#settled());
    Object.assign(this, partsOf(this));
    element.append(this.root);
    this.picture = new Picture(this.svg);
    this.hands = new Hands(this);
    desk.on("plan", (plan) => this.#planned(plan));
    desk.on("who", (who) => {
      if (this.who !== who) this.choose(""); // it is told with every change
      this.who = who;
    });
    desk.on("open", () => this.paint());
    desk.on("asked", (asked) => this.#asked(asked));
    desk.on("tool", (tool) => tool && this.begin(tool.name, tool.with));
    new ResizeObserver(() => this.#sized()).observe(this.root);
  }

  /** Show level lines of the ground and of the finish, or none. */
  async showLines(lines) {
    this.lines = lines;
    this.paint();
    if (!lines) return;
    const reply = await this.desk.call("contours", {});
    if (this.lines && reply.contours) this.lines = reply.contours;
    this.paint();
  }

  /** Whether the yard itself is worked on. */
  get yard() {
    return (this.desk.state.open?.key ?? "yard") === "yard";
  }

  /** Whether it is only looked at, by one for whom it is built. */
  get looked() {
    return (this.desk.state.who ?? "crew") !== "crew";
  }

  get frame() {
    return [this.svg.clientWidth || 1, this.svg.clientHeight || 1];
  }

  wideEnough() {
    return this.opens ?? this.frame[0] >= 620;
  }

  /** Remember whether what is told is open; a picture that is small starts with it shut. */
  opened(event) {
    this.opens = event.target.open;
    if (this.opens && !this.held) this.#uncover();
  }

  /** Return how near a place must be to what it goes onto, in the unit of the site. */
  reach() {
    return 12 / this.win.scale;
  }

  /** Return boxes of the picture that something lies over. */
  covered() {
    const tell = this.held?.went ? null : this.tell; // it gives way to a hand that drags
    return [tell, this.keys, this.told, this.drawing?.bar]
      .filter((each) => each && !each.hidden && each.offsetWidth).map((each) => this.#over(each));
  }

  /** Return the box of the picture that an element lies over. */
  #over(element) {
    const [own, box] = [this.root, element].map((each) => each.getBoundingClientRect());
    return [box.left - own.left, box.top - own.top, box.right - own.left, box.bottom - own.top];
  }

  #planned(plan) {
    if (!plan) return;
    const first = this.plan === EMPTY;
    const turned = this.plan.turn !== plan.turn || this.plan.unit !== plan.unit;
    const grown = !this.plan.areas.length !== !plan.areas.length || !this.plan.house !== !plan.house;
    this.plan = plan;
    this.win.turn = plan.turn;
    if (first || turned || (grown && !this.own)) this.fit("paving");
    if (!this.mover.busy && !this.held) this.#loose();
    if (!this.mover.busy && !this.held && !this.sliding && this.chosen) {
      this.picture.draw(this, this.frame); // what is chosen, as it is now
      this.#tell();
    }
    if (this.lines && !plan.stale && !this.mover.busy) this.showLines(this.lines);
    this.paint();
    this.root.dataset.ready = "true";
  }

  /** Show what is looked at: the cut of the section, and the place that was tapped. */
  #asked({ cut, place }) {
    if (this.held?.kind !== "cut") this.cut = cut ?? null;
    this.place = place ?? null;
    this.paint();
  }

  #sized() {
    if (!this.own) this.fit();
    this.paint();
  }

  /** Show the paving, or what there is; or `all` that is drawn, however far from it that lies. */
  fit(what = this.fitted) {
    this.own = false;
    this.fitted = what;
    const { fit, built, bounds } = this.plan;
    const box = what === "paving" ? fit : this.spots ? bounds : built;
    const [wide, high] = this.frame;
    const around = wide < 620 ? 30 : 70;
    const side = around * 0.6;
    this.win.fit(box, [side, around, wide - side, high - around]);
    if (this.#buried()) this.win.fit(box, [side, around, this.keys.offsetLeft - 22, high - around]);
    this.paint();
  }

  /** Whether the keys of the picture lie over a corner, so that no hand gets hold of it. */
  #buried() {
    const { offsetLeft: left, offsetTop: top, offsetHeight: high } = this.keys;
    return [...edgesOf(this.plan)].some(({ to }) => {
      const [x, y] = this.win.seen(to.xy);
      return x > left - 22 && y > top - 22 && y < top + high + 22;
    });
  }

  /** Show places of the yard, if one of them is near the rim of the picture or beyond it. */
  include(points) {
    const [wide, high] = this.frame;
    const rim = ([x, y]) => x < 50 || y < 140 || x > wide - 50 || y > high - 60;
    if (!points.some((xy) => rim(this.win.seen(xy)))) return;
    const around = 6 * (this.plan.unit === "ft" ? 1 : 0.3);
    const [x0, y0, x1, y1] = boxOf(points);
    this.win.fit([x0 - around, y0 - around, x1 + around, y1 + around], [20, 120, wide - 20, high - 60]);
    this.paint();
  }

  zoom(by, point = this.frame.map((each) => each / 2)) {
    this.own = true;
    this.win.zoom(by, point);
    this.paint();
  }

  pan(by) {
    this.own = true;
    this.win.at = [this.win.at[0] + by[0], this.win.at[1] + by[1]];
    this.paint();
  }

  /** Draw all of it, once before the next picture of the screen. */
  paint() {
    if (this.due || !this.picture) return;
    this.due = requestAnimationFrame(() => {
      this.due = 0;
      const edge = document.activeElement?.dataset?.edge;
      this.picture.draw(this, this.frame);
      const working = this.mover.busy || Boolean(this.held?.went) || this.plan.stale;
      this.root.classList.toggle("working", working);
      this.status.textContent = this.held?.went || this.mover.busy ? "working" : "";
      const { plan } = this;
      this.lead.hidden = Boolean(this.drawing || this.looked || plan.house || plan.areas.length || plan.spots.length);
      if (edge) this.svg.querySelector(`[data-edge="${edge}"]`)?.focus();
    });
  }

  target(key = this.chosen) {
    return this.picture.targets?.find((each) => each.key === key) ?? null;
  }

  /** Choose something of the plan by its key, or nothing. */
  choose(key) {
    const other = this.chosen !== key;
    if (other) this.opens = undefined;
    this.chosen = key;
    this.picture.draw(this, this.frame);
    this.#tell();
    if (other && key) this.#uncover();
    this.paint();
  }

  /** Move the picture where what is chosen would lie under what is told of it, or outside. */
  #uncover() {
    const target = this.target();
    if (!target) return;
    const [x, y] = this.win.seen(target.xy);
    const [wide, high] = this.frame;
    const [left, top, right] = this.tell.hidden ? [0, high, 0] : this.#over(this.tell);
    const foot = x < right + 30 && x > left - 30 ? Math.min(top, high) : high;
    const by = [Math.max(40 - x, 0) + Math.min(wide - 40 - x, 0), Math.max(40 - y, 0) + Math.min(foot - 40 - y, 0)];
    if (by[0] || by[1]) this.pan(by);
  }

  #tell() {
    tell(this.tell, this, this.target(), this.chosen);
  }

  /** Return the place of a target, where it is dragged to. */
  shownAt(target) {
    if (this.held?.key === target.key && this.hand) return this.hand;
    return this.left?.key === target.key ? this.left.xy : target.xy;
  }

  /** Return what the document has written at a way. */
  written(way) {
    return way.split("/").reduce((table, key) => table?.[key], this.desk.state.document);
  }

  /** Make one change, and return why it was refused; `own` where who asks says that. */
  async change(change, said, own = false) {
    const { at, to, also } = change;
    const several = change.do === "remove" ? [change] : also && [{ do: "set", at, to }, ...also];
    const reply = several
      ? await this.desk.several(several, said, { own }) : await this.desk.set(at, to, { said, own });
    return refusal(reply);
  }

  /** Write what was drawn, and return why it was refused: the bar of the drawing says it. */
  async write({ changes, said, call, see }) {
    if (see) this.desk.see(see);
    if (changes) return refusal(await this.desk.several(changes, said, { own: true }));
    if (!call) return "";
    const reply = await this.desk.call(...call);
    const words = refusal(reply);
    if (words) return words;
    const { way, words: told, file, text, changes: more, said: called } = reply;
    this.way = way ?? null;
    this.told.textContent = told ?? "";
    this.paint();
    if (!file) return "";
    return refusal(await this.desk.file(file, text, { said: called, changes: more, own: true }));
  }

  /** Hold the finish at a corner to a level, so many steps of a hand above what is written.
   *  @returns {Promise<{wrong: string, level: string}>} why it may not be, and what it then is */
  async cornerLevel({ at, held }, z, by = 0, live = false) {
    const reply = await this.desk.call("corner-level", { at, held: held?.at ?? "", z, by });
    const wrong = refusal(reply);
    if (wrong || !reply.changes.length) return { wrong, level: "" };
    const told = await this.desk.several(reply.changes, reply.said, { live, own: true });
    return { wrong: refusal(told), level: reply.level };
  }

  /** Return typed lengths, or the numbers of a place, in the unit of the site, or what is wrong. */
  async lengths(words, place = false) {
    const reply = await this.desk.call("lengths", { words, place });
    return refusal(reply) || reply.lengths;
  }

  /** Make the edge that ends at a corner as long as it is typed. */
  async typeLength(at, words, said) {
    const reply = await this.desk.call("edge-length", { at, length: words });
    return refusal(reply) || refusal(await this.desk.several(reply.changes, said, { own: true }));
  }

  /** Begin a way of drawing. */
  begin(name, told) {
    if (this.looked && !["measure", "drop-water", "draw-cut"].includes(name)) return;
    this.drawing?.cancel();
    this.choose("");
    this.way = null;
    this.told.textContent = "";
    this.drawing = new Drawing(this, name, told);
    this.root.classList.add("drawing");
    this.root.scrollIntoView({ block: "nearest" });
    this.paint();
  }

  ended() {
    this.drawing = null;
    this.desk.state.tool = null;
    this.root.classList.remove("drawing");
    this.svg.focus({ preventScroll: true });
    this.paint();
  }

  /** Take hold of a target: what it is part of is kept as it was, to be moved from there. */
  hold(target) {
    const xy = this.shownAt(target); // where it was left, if that is still on its way
    this.held = { ...target, went: false };
    this.hand = xy;
    // What lies over it may have taken the focus: keys go on where the hand left off.
    this.svg.querySelector(`[data-key="${target.key}"]`)?.focus({ preventScroll: true });
  }

  /** Move what is held to a place of the yard; `exact` leaves it there, else it goes onto things. */
  drag(xy, { exact = false, last = false } = {}) {
    const { held } = this;
    held.went = true;
    this.root.classList.add("dragging");
    const found = exact ? { xy, to: [] } : this.#onto(xy);
    this.hand = found.xy;
    this.guides = found.to.map((each) => each.line).filter(Boolean);
    this.snapWords = found.to.map((each) => each.words).slice(0, 2);
    if (held.kind === "cut") {
      this.cut = this.cut.map((each, k) => (k === held.k ? found.xy : each));
      this.#cutSeen(last);
      this.paint();
      return;
    }
    const { change, said } = this.#moving(held, found.xy);
    this.mover.send(change, said, last);
    this.paint();
  }

  /** Ask for the section along the cut: one at a time, the last is always asked for. */
  async #cutSeen(last) {
    if (this.cutting && !last) return;
    this.cutting = true;
    await this.desk.see({ cut: this.cut });
    this.cutting = false;
  }

  #onto(xy) {
    const { held, plan } = this;
    if (held.kind === "door" && plan.house) {
      const found = onWall(plan, xy, plan.unit);
      return { xy: found.xy, to: [{ words: `on ${found.wall.name}` }] };
    }
    const on = marksOf(plan, held.at);
    if (held.kind === "corner") on.guides = [...squares(held.ring.corners, held.k), ...on.guides];
    if (held.kind === "bow" || held.kind === "cut") on.marks = on.guides = [];
    return snapped(xy, on, this.reach(), plan.unit);
  }

  #moving(held, xy) {
    const of = this.plan.unit;
    if (held.kind === "corner") {
      this.moved.set(held.ring.at, movedRing(held.ring.corners, held.k, xy).corners);
      const said = titleOf(held.ring.corners[held.k], held.k).toLowerCase();
      return { change: { ...moving(held.ring, held.k, xy, of), ...along(held.ring.corners[held.k], writtenAt(xy, of)) }, said };
    }
    if (held.kind === "bow") {
      const corners = held.ring.corners.map((each, k) => (k === held.k ? { ...each, through: xy } : each));
      this.moved.set(held.ring.at, corners);
      return { change: bending(held.ring, held.k, xy, of), said: "round edge" };
    }
    return { change: { at: held.at, to: writtenAt(xy, of) }, said: held.name.split(",")[0] };
  }

  /** Let go of what is held; the last place that it had is always written. */
  release() {
    const { held, hand } = this;
    if (held?.went && held.kind === "cut") this.#cutSeen(true);
    else if (held?.went) {
      const { change, said } = this.#moving(held, hand);
      this.mover.send(change, said, true);
    }
    if (held?.went) this.left = { key: held.key, xy: hand };
    this.held = null;
    this.root.classList.remove("dragging");
    this.guides = [];
    this.snapWords = [];
    if (!this.mover.busy) this.#loose();
    this.#tell();
    this.paint();
  }

  /** Move what is chosen by keys: an inch or 10 mm, with Shift a foot or 100 mm. */
  nudge(target, way, far) {
    if (!this.held) this.hold(target);
    const step = far ? (this.plan.unit === "ft" ? 1 : 0.1) : grain(this.plan.unit);
    const by = this.win.back(way).map((each) => Math.round(each) * step);
    const at = [this.hand[0] + by[0], this.hand[1] + by[1]];
    const wall = target.kind === "door" ? onWall(this.plan, at, this.plan.unit) : null;
    this.drag(wall ? wall.xy : at, { exact: true });
  }

  #settled() {
    if (!this.held) this.#loose();
    this.#tell();
    this.paint();
  }

  /** Show again what is written: nothing is on its way. */
  #loose() {
    this.moved.clear();
    this.hand = this.left = null;
  }
}
