/** Few words on a picture, none on another: layers in a column at the right, the rest where they point. */
import { drawn, make } from "../dom.js";

export const NARROW = 620; // a picture that has room for few words [pixels]
const GAP = 4;
const SIDES = [[0, -1], [1, -1], [-1, -1], [1, 0], [-1, 0], [0, 1], [1, 1], [-1, 1]];
const BEND = 16; // how far before its name the line to a layer turns level [pixels]

const meets = (a, b) => a[0] < b[2] + GAP && a[2] > b[0] - GAP && a[1] < b[3] + GAP && a[3] > b[1] - GAP;
const around = ([x, y], by) => [x - by, y - by, x + by, y + by];

/** The colour that stands for a material. */
export function swatch(colour) {
  const found = make("span", { class: "space-swatch" });
  found.style.background = colour;
  return found;
}

export class Labels {
  /** @param {HTMLElement} element laid over the picture, heard by no one */
  constructor(element) {
    this.lines = drawn("svg", { class: "space-leaders", "aria-hidden": "true" });
    this.box = make("div", { class: "space-labels", "aria-hidden": "true" });
    element.append(this.lines, this.box);
    this.sizes = new Map();
    this.shown = this.arrows = [];
  }

  /** How wide a column of layers is, where the picture is so wide. */
  column(layers, wide) {
    const most = Math.max(0, ...layers.map((each) => this._made(each, wide).w));
    return most && most + BEND + 14;
  }

  /**
   * Put labels on a picture.
   * @param {{wide: number, high: number, layers?: object[], places?: object[], keep?: number[][],
   *   painted?: number[][], arrows?: object[]}} on
   *   `layers`: from the top down, each with its number, rows, colour and the point `at` that is
   *   drawn; `places`: the first in rank first, each with its rows, `at` and kind; of those of a kind
   *   only so many are named as `most` says, and what is `wanted` is named wherever there is room;
   *   `keep`: boxes of the picture that are taken, `painted`: those that only what is wanted may hide;
   *   `arrows`: lines with a head and a name
   */
  put({ wide, high, layers = [], places = [], keep = [], painted = [], arrows = [] }) {
    this.lines.replaceChildren();
    this.box.replaceChildren();
    this.lines.setAttribute("viewBox", `0 0 ${wide} ${high}`);
    this.shown = [];
    this.arrows = arrows;
    for (const { line, head, words, at: [x, y] } of arrows) {
      this._line(line);
      this.lines.append(drawn("polygon", { class: "head", points: head.join(" ") }), drawn("text", { x, y }, words));
    }
    this.taken = [...keep, ...layers.map(({ at }) => around(at, 5))];
    if (layers.length) this._column(layers, wide, high);
    this._places(places, painted, wide, high);
  }

  /** A label with its size, which is looked up once. */
  _made({ rows, kind = "place", number, colour }, wide) {
    const few = number && wide < NARROW;
    const told = few ? { number, rows: [] } : { number: colour ? 0 : number, colour, rows };
    const label = make("div", { class: `space-label ${number ? "layer" : kind}${few ? " few" : ""}` },
      told.number ? make("b", { class: "space-number" }, String(number)) : null,
      told.colour && swatch(colour), told.rows.map((row) => make("span", {}, row)));
    const key = [document.documentElement.dataset.look, wide, label.className, ...rows].join("\n");
    if (!this.sizes.has(key)) {
      this.box.append(label);
      this.sizes.set(key, [label.offsetWidth, label.offsetHeight]);
      label.remove();
    }
    const [w, h] = this.sizes.get(key);
    return { label, w, h, ...told };
  }

  _line(line) {
    for (const kind of ["under", "over"]) {
      this.lines.append(drawn("polyline", { class: kind, points: line.join(" ") }));
    }
  }

  _set({ label, w, h, ...told }, [x, y], [left, top], bend) {
    const box = [left, top, left + w, top + h];
    label.style.transform = `translate(${Math.round(left)}px, ${Math.round(top)}px)`;
    const to = [Math.min(Math.max(x, left), box[2]), Math.min(Math.max(y, top), box[3])];
    const line = bend ? [[x, y], [left - bend, top + h / 2], [left, top + h / 2]] : [[x, y], to];
    this._line(line);
    this.lines.append(drawn("circle", { cx: x, cy: y, r: 4 }));
    this.box.append(label);
    this.taken.push(box);
    this.shown.push({ line, box, ...told });
  }

  /** Name each layer, one below the other. */
  _column(layers, wide, high) {
    const made = layers.map((each) => ({ ...this._made(each, wide), at: each.at }));
    const left = wide - Math.max(...made.map((each) => each.w)) - 10;
    const gap = wide < NARROW ? 2 : GAP;
    const [first, low] = between(this.taken, left, high);
    let space = made.reduce((sum, each) => sum + each.h + gap, 0);
    let top = Math.max(first, Math.min(Math.min(...made.map((each) => each.at[1])) - 24, low - space));
    for (const { at, ...each } of made) {
      // As high as its layer, where those below it have room left.
      const y = Math.max(top, Math.min(at[1] - each.h / 2, low - space));
      this._set(each, at, [left, y], BEND);
      const [from, to] = this.shown.at(-1).line;
      for (let t = 0; t <= 1; t += 0.04) {
        this.taken.push(around(from.map((each, d) => each + t * (to[d] - each)), 1));
      }
      top = y + each.h + gap;
      space -= each.h + gap;
    }
  }

  /** Name what stands there; what finds no room beside its point is left out. */
  _places(places, painted, wide, high) {
    const seen = places.filter(({ at: [x, y, before] }) =>
      before && x > 4 && y > 4 && x < wide - 4 && y < high - 4);
    const counts = {};
    // No point that is named is hidden by another name.
    this.taken.push(...seen.filter(({ most }) => !most).map(({ at }) => around(at, 2)));
    for (const { at, kind, most = Infinity, wanted, ...told } of seen) {
      if ((counts[kind] ??= 0) >= most) continue;
      const made = this._made({ kind, ...told }, wide);
      const clear = ([left, top], others) => {
        const box = [left, top, left + made.w, top + made.h];
        return left >= 4 && top >= 4 && box[2] <= wide - 4 && box[3] <= high - 4
          && !others.some((other) => meets(box, other));
      };
      const all = [...this.taken, ...painted];
      const spot = beside(made, at, (box) => clear(box, all))
        ?? (wanted && beside(made, at, (box) => clear(box, this.taken)));
      if (!spot) continue;
      counts[kind] += 1;
      this._set(made, at, spot);
    }
  }
}

/** The first place beside a point, from near to far, where its label is clear. */
function beside({ w, h }, [x, y], clear) {
  for (const gap of [14, 34, 64, 100, 140]) {
    for (const [dx, dy] of SIDES) {
      const spot = [x - w / 2 + dx * (w / 2 + gap), y - h / 2 + dy * (h / 2 + gap * (dx ? 0.7 : 1))];
      if (clear(spot)) return spot;
    }
  }
  return null;
}

/** From where to where a column at the right may reach. */
function between(taken, left, high) {
  const met = taken.filter((box) => box[2] > left);
  const above = met.filter((box) => box[3] < high / 2).map((box) => box[3] + GAP);
  const below = met.filter((box) => box[1] > high / 2).map((box) => box[1] - GAP);
  return [Math.max(10, ...above), Math.min(high - 10, ...below)];
}
