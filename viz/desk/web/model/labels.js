/** Few words on the model, none on another: layers in a column at the right, the rest where they point. */
import { drawn, make } from "../dom.js";

const GAP = 6;

const meets = (a, b) => a[0] < b[2] + GAP && a[2] > b[0] - GAP && a[1] < b[3] + GAP && a[3] > b[1] - GAP;

export class Labels {
  /** @param {HTMLElement} element laid over the picture, heard by no one */
  constructor(element) {
    this.lines = drawn("svg", { class: "model-leaders", "aria-hidden": "true" });
    this.box = make("div", { class: "model-labels", "aria-hidden": "true" });
    this.key = make("div", { class: "model-key", "aria-hidden": "true" });
    element.append(this.lines, this.box, this.key);
    this.shown = [];
  }

  /**
   * Put labels on a picture.
   * @param {import("./scene.js").Model} model
   * @param {{wide: number, high: number, layers: boolean, narrow: boolean, keep: number[][],
   *   moving: boolean, eye: number[]}} on
   *   `layers`: whether each layer is named; `keep`: boxes of the picture that are taken;
   *   `moving`: layers are on their way, and nothing is named
   */
  put(model, { wide, high, layers, narrow, keep, moving, eye }) {
    this.lines.replaceChildren();
    this.box.replaceChildren();
    this.lines.setAttribute("viewBox", `0 0 ${wide} ${high}`);
    this.shown = [];
    this.taken = [...keep];
    this.size = [wide, high];
    if (moving) return;
    if (layers) this._column(model, narrow);
    else this._places(model, narrow, eye);
  }

  /**
   * Make room for the names of layers: how wide a column they take, and how high a key below it.
   * Where there is little room a layer has its number at the picture, and its name in the key.
   */
  room(model, narrow, named) {
    this.box.replaceChildren();
    this.key.replaceChildren();
    if (!named) return { right: 0, low: 0 };
    const layers = model.layers();
    if (narrow) {
      for (const { part } of layers) {
        const swatch = make("span", { class: "swatch" });
        swatch.style.background = tone(part);
        this.key.append(make("span", {}, make("b", {}, String(part.number)), swatch, part.brief));
      }
      return { right: 34, low: this.key.offsetHeight };
    }
    const made = layers.map(({ part }) => this._made([part.said], "layer", "#fff"));
    const right = Math.max(0, ...made.map((label) => label.offsetWidth));
    this.box.replaceChildren();
    return { right, low: 0 };
  }

  _made(rows, kind, colour) {
    const label = make("div", { class: `model-label ${kind}` });
    if (colour) {
      const swatch = make("span", { class: "swatch" });
      swatch.style.background = colour;
      label.append(swatch);
    }
    label.append(...rows.map((row) => make("span", {}, row)));
    this.box.append(label);
    return label;
  }

  _set(label, [x, y], [left, top, right, low], rows, colour) {
    label.style.transform = `translate(${left.toFixed(1)}px, ${top.toFixed(1)}px)`;
    const to = [Math.min(Math.max(x, left), right), Math.min(Math.max(y, top), low)];
    for (const kind of ["under", "over"]) {
      this.lines.append(drawn("line", { class: kind, x1: x, y1: y, x2: to[0], y2: to[1] }));
    }
    this.lines.append(drawn("circle", { cx: x, cy: y, r: 4 }));
    this.taken.push([left, top, right, low]);
    this.shown.push({ at: [x, y], to, box: [left, top, right, low], rows, colour });
  }

  /** Name each layer, one below the other in the order in which they lie. */
  _column(model, narrow) {
    const [wide, high] = this.size;
    const ends = model.ends(wide, high);
    if (!ends.length) return;
    const made = ends.map(({ part, x, y }) => {
      const rows = [narrow ? String(part.number) : part.said];
      const colour = narrow ? null : tone(part);
      const label = this._made(rows, narrow ? "number" : "layer", colour);
      return { label, rows, colour, at: [x, y], w: label.offsetWidth, h: label.offsetHeight };
    });
    const most = Math.max(...made.map((each) => each.w));
    const left = Math.min(wide - most - 10, Math.max(...made.map((each) => each.at[0])) + (narrow ? 14 : 34));
    const gap = narrow ? 1 : GAP;
    const [first, low] = between(this.taken, left, high);
    let space = made.reduce((sum, each) => sum + each.h + gap, 0);
    let top = Math.max(first, Math.min(Math.min(...made.map((each) => each.at[1])) - 24, low - space));
    for (const each of made) {
      // As high as its layer, where those below it have room left.
      const y = Math.max(top, Math.min(each.at[1] - each.h / 2, low - space));
      this._set(each.label, each.at, [left, y, left + each.w, y + each.h], each.rows, each.colour);
      top = y + each.h + gap;
      space -= each.h + gap;
    }
  }

  /** Name doors and what stands there, the first in rank first; what finds no room is left out. */
  _places(model, narrow, eye) {
    const [wide, high] = this.size;
    const points = [];
    for (const { text, at, stands } of model.header.labels) {
      if (model.gone(at)) continue;
      const [x, y, depth] = model.place(at, stands, wide, high);
      if (depth > 1 || x < 4 || y < 4 || x > wide - 4 || y > high - 4) continue;
      if (!model.sees(eye, at, stands)) continue;
      points.push({ rows: narrow ? text.slice(0, 1) : text, at: [x, y] });
    }
    for (const { rows, at } of points) {
      const label = this._made(rows, "place");
      const [w, h] = [label.offsetWidth, label.offsetHeight];
      const [x, y] = at;
      const spots = [[-w / 2, -h - 26], [-w / 2, -h - 64], [20, -h - 20], [-w - 20, -h - 20], [24, 10], [-w - 24, 10]];
      const found = spots.map(([dx, dy]) => {
        const left = Math.min(Math.max(x + dx, 8), wide - w - 8);
        const top = Math.min(Math.max(y + dy, 8), high - h - 8);
        return [left, top, left + w, top + h];
      }).find((box) => !this.taken.some((other) => meets(box, other))
        && !points.some((other) => other.at !== at && meets(box, [...other.at, ...other.at])));
      if (found) this._set(label, at, found, rows);
      else label.remove();
    }
  }
}

/** The colour that stands for a layer: of pavers, that of most of them. */
function tone({ kind, look }) {
  return kind === "paver" ? look.grains[1] : look.colour;
}

/** From where to where a column at the right may reach. */
function between(taken, left, high) {
  const met = taken.filter((box) => box[2] > left);
  const above = met.filter((box) => box[3] < high / 2).map((box) => box[3] + GAP);
  const below = met.filter((box) => box[1] > high / 2).map((box) => box[1] - GAP);
  return [Math.max(10, ...above), Math.min(high - 10, ...below)];
}
