// What the plan shows is put together here: layers, labels without overlap, handles that keep focus.
import { boxOf, edgesOf, linePath, middleOf } from "./plane.js";
import { arrowsOf, dimensionAt, dimensionLine, dimensions, ground, patterns, scaleBar, signs, wordsAt } from "./picture.js";
import { edgeLine, edgeOf, targets } from "./pick.js";
import { dots, LINE, placed } from "./labels.js";
import { folded } from "../section/labels.js";
import { onWall } from "./snap.js";
import { drawn } from "../dom.js";

const SMALL = 620; // pixels: a narrower picture has fewer words
const NAMED = 34; // letters of a line of words that hold a name

/** Return the lines that words must not cross: walls, and edges of paving. */
function edges(plan) {
  const found = (plan.house?.walls ?? []).map((wall) => [wall.from, wall.to]);
  for (const { from, to } of edgesOf(plan)) {
    const bow = middleOf(from.xy, to.through, to.xy);
    found.push([from.xy, bow], [bow, to.xy]);
  }
  return found;
}

/** Return half of how high rings are on the screen. */
function halfHigh(rings, win) {
  const [, top, , foot] = boxOf(rings.flat().map((xy) => win.seen(xy)));
  return (foot - top) / 2;
}

/** Return small boxes along a line of the screen, as far as it is seen. */
function along(line, [wide, high]) {
  return dots(line, 5, 12).filter(([l, t, r, b]) => r > -4 && b > -4 && l < wide + 4 && t < high + 4);
}

/** Return places in an area, between its middle and its outline, for words that lie upon it. */
function within({ middle, rings: [{ corners }] }, win) {
  const from = win.seen(middle);
  const ends = corners.flatMap(({ xy, through }, k) => {
    const before = corners.at(k - 1).xy;
    return [xy, middleOf(before, through, xy)].map((each) => win.seen(each));
  });
  return [0.5, 0.3, 0.4, 0.6, 0.7, 0.85].flatMap((share) =>
    ends.map((end) => from.map((each, axis) => each + share * (end[axis] - each))));
}

/** The layers of the plan, from the bottom up, and the elements that stay between two pictures. */
export class Picture {
  /** @param {SVGElement} root */
  constructor(root) {
    this.root = root;
    this.of = "";
    this.back = drawn("rect", { class: "behind-all", width: "100%", height: "100%" });
    this.world = drawn("g", { class: "world" });
    this.over = drawn("g", { class: "over" });
    this.words = drawn("g", { class: "words" });
    this.handles = drawn("g", { class: "handles" });
    this.known = new Map();
    const pen = document.createElement("canvas").getContext("2d");
    this.measured = new Map();
    this.wide = (words, kind = "") => {
      const font = `${kind === "corner" || kind === "door" ? "700" : "600"} 15px "DejaVu Sans", system-ui, sans-serif`;
      const key = font + words;
      if (!this.measured.has(key)) {
        pen.font = font;
        this.measured.set(key, pen.measureText(words).width);
      }
      return this.measured.get(key);
    };
    root.append(this.back, this.world, this.over, this.words, this.handles);
  }

  /** Draw it all.
   *  @param {object} view the plan that is mounted
   *  @param {[number, number]} frame how wide and high it is */
  draw(view, frame) {
    const { plan, win, chosen, drawing, moved } = view;
    if (this.of !== plan.unit) {
      this.root.querySelector("defs")?.remove();
      this.root.prepend(patterns(plan.unit));
      this.of = plan.unit;
    }
    this.world.setAttribute("transform", win.matrix());
    this.world.replaceChildren(...ground(plan, moved, view.lines), ...(drawing?.ground() ?? []), ...this.#edge(view));
    const told = dimensions(plan, win, this.wide, chosen);
    this.over.replaceChildren(
      ...signs(plan, win, { spots: view.spots, arrows: !drawing, small: frame[0] < SMALL }),
      ...this.#passing(view), ...(drawing?.signs(win) ?? []), ...view.guides.map((line) =>
        drawn("path", { class: "guide", d: linePath(line.map((xy) => win.seen(xy))) })),
      scaleBar(win, plan.unit, [frame[0] - 18, frame[1] - 16]));
    this.targets = targets(plan, chosen, view.yard && !view.looked, view.cut);
    if (view.looked) for (const each of this.targets) each.moves = each.kind === "cut";
    this.#label(view, frame, told);
    this.#handle(view);
  }

  #edge({ plan, chosen }) {
    const found = chosen.endsWith("/edge") ? edgeOf(plan, chosen) : null;
    return found ? [drawn("path", { class: "edge chosen", d: edgeLine(found) })] : [];
  }

  /** Return what passes over the plan: the way of a drop, the cut, the place that is looked at. */
  #passing({ win, way, cut, place }) {
    const found = [];
    const seen = (points) => linePath(points.map((xy) => win.seen(xy)));
    if (way?.length > 1) found.push(drawn("path", { class: "drop", d: seen(way) }));
    if (way?.length) {
      const [x, y] = win.seen(way.at(-1));
      found.push(drawn("circle", { class: "drop end", cx: x, cy: y, r: 6 }));
    }
    if (cut) found.push(drawn("path", { class: "cut", d: seen(cut) }));
    if (place) {
      const [x, y] = win.seen(place);
      found.push(drawn("path", { class: "place-pin", d: `M${x} ${y}L${x - 9} ${y - 17}A10 10 0 1 1 ${x + 9} ${y - 17}Z` }));
    }
    return found;
  }

  #label(view, frame, told) {
    const { plan, win, chosen, drawing } = view;
    const small = frame[0] < SMALL;
    const labels = [];
    const taken = [[frame[0] - 190, frame[1] - 44, frame[0], frame[1]], ...view.covered()];
    const over = taken.slice(1);
    const put = (key, xy, words, kind, rank, more = {}) => {
      const at = win.seen(xy);
      if (over.some(([l, t, r, b]) => at[0] > l && at[0] < r && at[1] > t && at[1] < b)) return;
      labels.push({ key, at, words: words.filter(Boolean), kind, rank, ...more });
    };
    for (const line of edges(plan)) taken.push(...along(line.map((xy) => win.seen(xy)), frame));
    for (const ring of plan.marks.flatMap((mark) => mark.rings ?? [])) {
      taken.push(boxOf(ring.map((xy) => win.seen(xy))));
    }
    for (const area of plan.areas) {
      const middle = win.seen(area.middle);
      for (const ring of area.rings) {
        for (const [k, corner] of ring.corners.entries()) {
          if (corner.closing) continue;
          const at = win.seen(corner.xy);
          taken.push([at[0] - 11, at[1] - 11, at[0] + 11, at[1] + 11]);
          const mine = chosen === corner.at;
          if (!corner.name && !mine && plan.planned) continue; // the drawings give it no letter
          const level = small && !mine ? "" : corner.level;
          const words = [`${corner.name || k + 1}${level ? `  ${level}` : ""}`];
          const out = [at[0] - middle[0], at[1] - middle[1]].map((each) => Math.sign(each));
          put(corner.at, corner.xy, words, "corner", mine ? 0 : 2, { away: out, must: mine, near: !mine });
        }
      }
      if (plan.areas.length > 1 || !area.falls.length) {
        put(`${area.at}/name`, area.middle, [area.name], "area", 2.5, { gap: 0, near: true, within: within(area, win) });
      }
      for (const fall of drawing ? [] : area.falls) {
        if (fall.label) put(`${area.at}/fall`, fall.xy, [fall.label], "fall", 3, { gap: 16 });
      }
    }
    for (const fall of drawing ? [] : arrowsOf(plan, win)) {
      const at = win.seen(fall.xy);
      taken.push([at[0] - 16, at[1] - 14, at[0] + 16, at[1] + 14]);
    }
    for (const door of plan.doors) {
      const whole = `${door.name} · ${door.sill}`;
      const named = whole.length > NAMED ? [...folded(door.name, NAMED), door.sill] : [whole];
      const words = small && chosen !== door.at ? [door.step || door.sill] : [...named, door.step];
      const away = door.outward ? win.way(door.outward).map((each) => -each) : undefined;
      put(door.at, door.foot ?? door.xy, words, "door", 1, { away, slides: true, gap: 20, head: small ? 1 : named.length });
    }
    for (const mark of plan.marks) {
      if (mark.kind === "crease" || (small && !chosen.startsWith(mark.at))) continue;
      const { xy, k } = wordsAt(mark, win, frame);
      const wall = mark.kind === "ceiling" && k ? onWall(plan, xy, plan.unit)?.wall : null;
      const beside = wall && {
        away: win.way(wall.outward).map((each) => -each), gap: 20,
        span: [mark.points[k - 1], mark.points[k]].map((each) => win.seen(each)),
      };
      const round = mark.rings && { gap: halfHigh(mark.rings, win) + 6 };
      const told = folded(mark.label, NAMED);
      put(mark.at, xy, told, `mark ${mark.kind}`, 5,
        { near: chosen !== mark.at, head: told.length, ...beside, ...round });
    }
    for (const [k, each] of (view.lines ?? []).entries()) {
      const { xy } = wordsAt({ points: each.line }, win, frame);
      put(`level ${k}`, xy, [each.label], `level ${each.kind}`, 7, { gap: 2 });
    }
    for (const low of plan.low_spots) {
      // On its own side of the edge that it lies at, though a dimension runs through it there.
      put(low.label, low.xy, [low.label], "low", 3, { lined: true });
    }
    const levels = view.desk.state.open?.key === "ground" || win.scale > 60 * (plan.unit === "ft" ? 1 : 3);
    if (view.spots && !drawing) {
      for (const spot of plan.spots) {
        if (spot.standing !== "fits") {
          put(`spot ${spot.id}`, spot.xy, [`${spot.id} ${spot.level}`, spot.standing], "spot odd", 4);
        } else if (!small && levels) put(`spot ${spot.id}`, spot.xy, [spot.level], "spot", 8, { gap: 5 });
      }
    }
    const words = drawing?.words() ?? view.snapWords;
    const hand = drawing?.at ?? view.hand;
    if (words.length && hand) put("hand", hand, words, "hand", -1, { away: [0, -1], gap: 24, must: true });
    for (const each of told) {
      const key = `${each.ring.corners[each.k].at}/edge`;
      const at = dimensionAt(each);
      labels.push({ key, at, words: [each.label], kind: "dimension", rank: 1.5, gap: 0, lined: true, told: each });
    }
    const found = placed(labels, this.wide, taken, frame, told.flatMap((each) => dots(each.line)));
    // Dimensions first: words that have to stand on one of their lines stand over it.
    const order = [...found.filter((label) => label.told), ...found.filter((label) => !label.told)];
    this.words.replaceChildren(...order.flatMap((label) => this.#written(label, view)));
  }

  /** Return the elements of one label. */
  #written(label, view) {
    const [x0, y0, x1, y1] = label.box;
    const x = (x0 + x1) / 2;
    const parts = [];
    if (label.told) {
      parts.push(dimensionLine(label.told));
      parts.push(drawn("rect", { class: "behind", x: x0, y: y0, width: x1 - x0, height: y1 - y0, rx: 6 }));
    }
    if (label.leader) parts.push(drawn("path", { class: "leader", d: linePath(label.leader) }));
    label.words.forEach((row, k) => parts.push(drawn("text", {
      class: `label ${label.kind}${k >= (label.head ?? 1) ? " second" : ""}`, x, y: y0 + 2 + LINE * (k + 0.76), "text-anchor": "middle",
    }, row)));
    const edge = label.told && edgeOf(view.plan, label.key);
    return label.told ? [drawn("g", {
      class: "dimension-button", tabindex: 0, role: "button", "data-edge": label.key,
      "aria-label": `Edge ${edge.from.name} to ${edge.to.name}, ${label.words[0]}. Press to type another length.`,
    }, drawn("rect", { class: "reach", x: x - 30, y: (y0 + y1) / 2 - 22, width: 60, height: 44 }), ...parts)] : parts;
  }

  /** Draw the handles; those that were there stay the same elements, so that focus stays. */
  #handle(view) {
    const wanted = new Map((view.drawing ? [] : this.targets).map((target) => [target.key, target]));
    for (const [key, made] of this.known) {
      if (!wanted.has(key)) {
        made.remove();
        this.known.delete(key);
      }
    }
    for (const [key, target] of wanted) {
      let made = this.known.get(key);
      if (!made) {
        made = drawn("g", { tabindex: 0, role: "button", "data-key": key },
          drawn("circle", { class: "reach", r: 22 }), drawn("circle", { class: "ring", r: 18 }),
          drawn("circle", { class: "dot", r: 8 }));
        this.known.set(key, made);
        this.handles.append(made);
      }
      const [x, y] = view.win.seen(view.shownAt(target));
      made.setAttribute("class", `handle ${target.kind}${key === view.chosen ? " chosen" : ""}`);
      made.setAttribute("transform", `translate(${x} ${y})`);
      made.setAttribute("aria-label", target.name);
      made.setAttribute("aria-pressed", key === view.chosen ? "true" : "false");
    }
  }
}
