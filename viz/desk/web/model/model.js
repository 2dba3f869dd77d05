/** The model: what is planned, in space; where a browser cannot draw that, a section and a still. */
import { button, give, make, styled } from "../dom.js";
import { flat } from "./flat.js";
import { Holding } from "./frame.js";

const VIEWS = [["whole", "The whole"], ["behind", "From the house"], ["cut", "Cut open"], ["apart", "Layers apart"]];
const NOTHING = "Nothing is drawn yet: what there is of the yard is shown here.";
const COMING = "It is being drawn.";
const UP = { whole: 0.56, behind: 0.72, cut: 0.24, apart: 0.42 };

/**
 * Mount the model in an element. It is shown and hidden with that.
 * @param {HTMLElement} element
 * @param {object} desk the line to the server
 */
export function mount(element, desk) {
  styled("/web/space/space.css");
  styled("/web/model/model.css");
  const room = new Room(element, desk);
  room.begin();
  return room;
}

class Room {
  constructor(element, desk) {
    this.element = element;
    this.desk = desk;
    this.holding = new Holding();
    this.view = "whole";
    this.shift = 0;
    this.canvas = make("canvas", {
      tabindex: "0", role: "img", "aria-label": "The model: nothing is planned yet.",
      "aria-describedby": "model-keys",
    });
    this.words = make("p", { class: "model-words" });
    this.told = make("p", { class: "model-told", role: "status", "aria-live": "polite" });
    this.keys = make("p", { id: "model-keys", class: "model-keys", hidden: true },
      "Arrow keys turn it, plus and minus come nearer and go away, Home shows all of it again, Enter tells each layer.");
    this.buttons = new Map(VIEWS.map(([key, label]) => [key, button(label, () => this.show(key),
      { "data-model": key, "aria-pressed": key === this.view })]));
    this.save = button([make("span", {}, "Save"), make("span", { class: "more" }, " picture")], () => this.keep(),
      { class: "model-save" });
    this.at = make("input", {
      type: "range", min: "-1", max: "1", step: "0.01", value: "0", "aria-label": "Move the cut",
      oninput: () => this.move(Number(this.at.value)), onchange: () => this.moved(),
    });
    this.slider = make("label", { class: "model-at", hidden: true }, make("span", {}, "Move the cut"), this.at);
    this.bar = make("div", { class: "model-bar" },
      make("div", { class: "model-views", role: "group", "aria-label": "How the model is shown" }, ...this.buttons.values()),
      this.save);
    this.picture = make("div", { class: "model-picture" }, this.canvas, this.words, this.told, this.keys, this.slider);
    this.box = make("div", { class: "model" }, this.picture, this.bar);
    element.append(this.box);
  }

  /** Load what draws, behind a try: nothing else of the page waits for it. */
  async begin() {
    this.desk.on("plan", (plan) => {
      if (this.header) return;
      const some = plan && (plan.house || plan.areas.length || plan.spots.length);
      this.words.textContent = some ? COMING : NOTHING;
    });
    const frames = [];
    this.desk.on("frame", (buffer) => (this.model ? this.take(buffer) : frames.push(buffer)));
    try {
      const [{ Model }, { listen }, labels] = await Promise.all([
        import("./scene.js"), import("../space/hands.js"), import("../space/labels.js"),
      ]);
      this.model = new Model(this.picture, this.canvas, () => this.named());
      this.swatch = labels.swatch;
      this.few = labels.NARROW;
      this.labels = new labels.Labels(this.picture);
      this.key = make("div", { class: "model-key", "aria-hidden": "true" });
      this.picture.append(this.key);
      listen(this.canvas, this.model.eye, {
        tap: (x, y) => this.tap(x, y), next: (way) => this.next(way), home: () => this.show(this.view),
      });
    } catch {
      flat(this.box, this.desk);
      return;
    }
    this.model.fill(() => {
      if (!this.header) return;
      this.say();
      this.show(this.view, true);
    });
    for (const frame of frames) this.take(frame);
    if (!this.header) this.wanted();
    this.desk.on("asked", (asked) => this.asked(asked));
    this.box.dataset.ready = "yes";
  }

  /** What a window holds and a frame builds on are two things: ask for all of it. */
  wanted() {
    this.holding = new Holding();
    this.desk.see({}, { whole: true });
  }

  take(buffer) {
    const header = this.holding.take(buffer);
    if (!header) {
      this.wanted();
      return;
    }
    const first = !this.header;
    const other = !first && (this.header.area !== header.area || this.header.factor !== header.factor);
    // A frame that was on its way when the cut was moved knows nothing of it.
    if (this.moving && !other) header.cut = this.header.cut;
    this.header = header;
    this.model.tell(header, this.holding.shapes);
    const labels = new Map(header.views.map(({ key, label }) => [key, label]));
    for (const [key, button] of this.buttons) {
      button.hidden = !labels.has(key); // before there is a plan there are no layers to lift
      if (!button.hidden) button.textContent = labels.get(key);
    }
    if (!labels.has(this.view)) this.view = "whole";
    this.say();
    this.box.dataset.stale = header.stale ? "yes" : "";
    this.box.dataset.rev = header.rev;
    if (this.view === "cut") this.cutHere();
    this.name();
    if (first || other) this.show(this.view, true);
    else this.model.ask();
  }

  get narrow() {
    return this.picture.clientWidth < this.few;
  }

  /** Say how high it is drawn, in few words where there is little room. */
  say() {
    const { heights, heights_brief: brief, stale } = this.header;
    const words = this.narrow ? brief : heights;
    this.words.textContent = stale ? `${words} It shows the last state that has a finish.` : words;
  }

  asked({ cut } = {}) {
    const now = JSON.stringify(cut ?? null);
    if (now === this.line) return;
    this.line = now;
    this.shift = 0;
    this.at.value = "0";
  }

  /** Look at the model in another way. */
  show(view, atOnce = false) {
    this.view = view;
    for (const [key, button] of this.buttons) button.setAttribute("aria-pressed", String(key === view));
    this.slider.hidden = view !== "cut";
    if (!this.model?.shown) return;
    const from = this.model.apart;
    const to = view === "apart" ? 1 : 0;
    const plane = view === "cut" ? this.model.planeOf(this.header.cut, this.shift) : null;
    this.model.cut(plane);
    this.model.lift(to);
    this.rooms();
    const goal = this.goal(view, plane);
    this.model.lift(from);
    this.name();
    this.choose(null);
    this.box.dataset.moving = "yes";
    this.going = true;
    this.model.eye.go(goal, {
      atOnce,
      along: (share) => {
        this.model.lift(from + (to - from) * share);
        this.going = share < 1;
      },
    });
  }

  /** Where to stand: where most of what is named can be seen, of one side and the other. */
  goal(view, plane) {
    const { model, header } = this;
    const box = model.box(view === "whole" || view === "behind");
    const up = UP[view] + (this.narrow ? 0.16 : 0);
    const [[x0, y0], [x1, y1]] = box;
    const pad = view === "cut" ? 0.03 : 0.08 * Math.hypot(x1 - x0, y1 - y0);
    for (const d of [0, 1]) {
      box[0][d] -= pad;
      box[1][d] += pad;
    }
    const corners = [0, 1, 2, 3, 4, 5, 6, 7].map((k) => [0, 1, 2].map((d) => box[(k >> d) & 1][d]));
    const facing = Math.atan2(header.near[1], header.near[0]);
    const from = (turn) => model.eye.fitting(corners, { turn, up }, model.wide, model.high);
    if (plane) return from(Math.atan2(plane.to[1], plane.to[0]) - 0.3);
    if (view === "behind") return from(facing + Math.PI - 0.3);
    const ways = [-0.62, 0.62].map((turn) => from(facing + turn));
    const seen = ways.map((way) => header.labels.filter(({ at, stands }) =>
      model.sees(model.eye.place(way), at, stands)).length);
    return view === "whole" && seen[1] > seen[0] ? ways[1] : ways[0];
  }

  /** The layers as they are named, each at its point in the picture. */
  layers(found) {
    return found.map(({ part, at: point }) =>
      ({ rows: [part.said], number: part.number, colour: tone(part), at: point }));
  }

  /** Keep room for what stands on the picture: the words below, the names of layers at the right. */
  rooms() {
    const { model, key, labels, narrow, words } = this;
    const { wide, high } = model;
    const named = this.view === "cut" || this.view === "apart";
    const layers = named ? model.layers() : [];
    key.replaceChildren(...(narrow ? layers : []).map(({ part }) =>
      make("span", {}, make("b", {}, String(part.number)), this.swatch(tone(part)), part.brief)));
    const right = labels.column(this.layers(layers.map(({ part }) => ({ part }))), wide);
    const slider = this.view === "cut" && narrow ? 60 : 0;
    model.eye.room = {
      left: 16, right: named ? Math.min(right + 12, wide * 0.38) : 16,
      top: (named ? 16 : 44) + slider, low: high - words.offsetTop + key.offsetHeight + 12,
    };
    key.style.bottom = `${high - words.offsetTop + 3}px`;
  }

  cutHere() {
    this.model.cut(this.model.planeOf(this.header.cut, this.shift));
  }

  /** Move the cut, by a share of the paving to either side. */
  move(share) {
    const [[x0, y0], [x1, y1]] = this.header.box;
    this.shift = (share * Math.hypot(x1 - x0, y1 - y0)) / 2;
    this.cutHere();
    this.model.ask();
  }

  /** Tell the plan and the section where the cut now stands. */
  moved() {
    const { to } = this.model.plane;
    const { origin, scale } = this.header;
    // The next move goes on from here, whether the answer has come or not.
    this.header.cut = this.header.cut.map(([x, y]) => [x + this.shift * to[0], y + this.shift * to[1]]);
    const line = this.header.cut.map(([x, y]) => [(x + origin[0]) / scale, (y + origin[1]) / scale]);
    this.shift = 0;
    this.at.value = "0";
    this.line = JSON.stringify(line);
    const moving = (this.moving = this.desk.see({ cut: line }));
    moving.then(() => this.moving === moving && (this.moving = null));
  }

  tap(x, y) {
    // What is under a finger is what the picture shows.
    if (this.model.asking) this.model.draw();
    const { wide, high } = this.model;
    this.choose(this.model.under((x / wide) * 2 - 1, 1 - (y / high) * 2));
  }

  next(way) {
    const layers = this.model.layers();
    if (!layers.length) return;
    const now = layers.indexOf(this.chosen);
    const at = now < 0 ? (way > 0 ? 0 : layers.length - 1) : (now + way + layers.length) % layers.length;
    this.choose(layers[at]);
  }

  choose(body) {
    this.chosen = body;
    this.model.choose(body);
    this.told.textContent = body?.part.said ?? "";
    this.model.ask();
  }

  /** What a screen reader says is seen. */
  name() {
    const said = this.header.views.find(({ key }) => key === this.view).said;
    this.canvas.setAttribute("aria-label", `${said} ${this.header.heights}`);
  }

  /** Put names on the picture that was just drawn. */
  named() {
    const { key, labels, model, slider, words } = this;
    const { wide, high } = model;
    const low = Math.min(words.offsetTop, key.offsetTop);
    const keep = [[0, low - 4, words.offsetWidth + 10, high]];
    if (!slider.hidden) keep.push([slider.offsetLeft, slider.offsetTop, wide, slider.offsetTop + 50]);
    const on = { wide, high, keep };
    // While the layers are on their way nothing is named.
    const moving = model.apart > 0 && model.apart < 1;
    if (!moving && (this.view === "apart" || this.view === "cut")) on.layers = this.layers(model.ends());
    else if (!moving) on.places = this.places();
    labels.put(on);
    this.box.dataset.drawn = model.pictures;
    // It stands still once it is seen to: names lie where the picture has their places.
    if (!this.going) delete this.box.dataset.moving;
  }

  /** Doors and what stands there, those that are seen. */
  places() {
    const { model, narrow } = this;
    const eye = model.eye.place();
    return this.header.labels
      .filter(({ at, stands }) => !model.gone(at) && model.sees(eye, at, stands))
      .map(({ text, at, stands }) =>
        ({ rows: narrow ? text.slice(0, 1) : text, at: model.at(model.drawnAt(at, stands)) }));
  }

  /** Save the picture as it stands, with what it shows and the caution below it. */
  async keep() {
    const { saved } = await import("../space/save.js");
    const { header, model, words } = this;
    const said = header.views.find(({ key }) => key === this.view).said;
    model.draw();
    give(header.file, saved(model, this.labels, {
      notes: [said, header.stale ? words.textContent : header.heights], caution: header.caution,
    }));
    this.told.textContent = "The picture was saved with your downloads.";
  }
}

/** The colour that stands for a layer: of pavers, that of most of them. */
function tone({ kind, look }) {
  return kind === "paver" ? look.grains[1] : look.colour;
}
