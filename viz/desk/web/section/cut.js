// A cut drawn in the browser: lengths true, heights so many times as large as fits its room.
// Where everything lies, and every word, comes from the plan.

import { drawn } from "../dom.js";
import { folded, haloed, INK, LETTER, lettering, LINE, PAPER, spread } from "./labels.js";
import { patterns } from "./patterns.js";

const TEAL = "#0c5a60";
const MM = 3.1; // pixels of a millimetre of pen
const COLUMN = 268; // pixels for the words beside the cut, where there is room for them
const ASIDE = 190; // for the words about a wall
const WIDE = 700;
const BESIDE = Math.floor((ASIDE - 14) / LETTER); // letters of a line about a wall
const NAME = 18; // pixels of a name over what stands on paving
const NAMED = 24; // pixels that words on a fall leave free below them anyway
const ASIDE_MARK = 9; // pixels from the mark of a level to its words
const OVER = 102; // pixels over the cut, for how it falls in three lines
const LARGEST = { ft: 70, m: 230 }; // pixels of one foot, of one metre

function penned(pen) {
  if (!pen) return { stroke: "none" };
  return {
    stroke: pen.colour, "stroke-width": Math.max(pen.width * MM, 0.8),
    "stroke-dasharray": pen.dash.map((each) => each * MM).join(" ") || "none",
    "stroke-linejoin": "round",
  };
}

/** Grass along the ground: tufts as far apart as the eye wants, whatever the scale. */
function turf(points) {
  let d = "";
  let carried = 4;
  for (let k = 1; k < points.length; k += 1) {
    const [x0, y0] = points[k - 1];
    const [x1, y1] = points[k];
    const long = Math.hypot(x1 - x0, y1 - y0);
    let s = carried;
    for (; s < long; s += 9) {
      const at = `M${x0 + ((x1 - x0) * s) / long},${y0 + ((y1 - y0) * s) / long}`;
      d += `${at}l-3,-6${at}l0,-7${at}l3,-6`;
    }
    carried = s - long;
  }
  return drawn("path", { d, stroke: "#4d6b2f", "stroke-width": 1.3, fill: "none" });
}

/** Draw a cut.
 * @param {Object} cut as the plan tells it
 * @param {number} width pixels
 * @param {number} height pixels that it may take
 * @param {boolean} oneScale whether heights are drawn no larger than lengths
 * @param {"ft"|"m"} unit
 * @returns {{picture: SVGElement, words: string, told: boolean}} `told`: the layers stand beside it
 */
export function drawCut(cut, width, height, oneScale, unit) {
  const told = width >= WIDE;
  const [low, floor, high, roof] = cut.window;
  const walls = cut.labels.filter((each) => each.kind === "wall");
  const room = (side) => {
    if (told && cut.side === side) return COLUMN;
    return told && walls.some((each) => each.side === side) ? ASIDE : 14;
  };
  const [left, right] = [room(-1), room(1)];
  const across = Math.min((width - left - right) / (high - low), LARGEST[unit]);
  const ends = cut.labels.filter((each) => each.kind === "level");
  const head = OVER + (crowded(ends, across) ? LINE : 0);
  const fits = cut.stretches.filter(
    ({ times }) => (roof - floor) * across * times <= height - head,
  );
  const stretch = oneScale || !fits.length ? cut.stretches[0] : fits[fits.length - 1];
  const up = across * stretch.times;
  const deep = (roof - floor) * up;
  const labels = !told ? [] : cut.layers.map((each) => {
    const lines = folded(each.words, 28);
    return { ...each, lines, tall: lines.length * LINE };
  });
  const listed = labels.reduce((sum, each) => sum + each.tall + 5, 0);
  // Words over the paving need room above the picture only where nothing in it stands higher, and
  // so do those beside a wall.
  for (const each of walls) each.lines = each.words.flatMap((line) => folded(line, BESIDE));
  const over = Math.max(14, ...cut.labels.map((each) => {
    if (each.kind === "fall") return head - (roof - clear(each, cut, up)) * up;
    const below = (roof - each.at[1]) * up;
    return told && each.kind === "wall" ? raised(each) + LINE - below : 0;
  }));
  const tall = Math.max(over + deep + 8, listed + 40);
  const drop = over + (tall - 8 - over - deep) / 2;
  const x = (s) => left + (s - low) * across;
  const y = (z) => drop + (roof - z) * up;
  const place = ([s, z]) => [x(s), y(z)];
  const path = (points) =>
    `M${points.map((each) => place(each).map((v) => v.toFixed(1)).join(",")).join("L")}`;

  const picture = drawn("svg", {
    viewBox: `0 0 ${width} ${tall}`, width, height: tall, role: "img", "aria-label": cut.alt,
    xmlns: "http://www.w3.org/2000/svg",
  });
  const { defs, fill } = patterns(cut.tones, "cut");
  defs.append(drawn("clipPath", { id: "cut-window" },
    drawn("rect", { x: x(low), y: y(roof), width: (high - low) * across, height: deep })));
  const body = drawn("g", { "clip-path": "url(#cut-window)" });
  for (const part of cut.parts) {
    if (part.is === "area") {
      body.append(drawn("path", {
        d: `${part.rings.map(path).join("Z")}Z`, "fill-rule": "evenodd",
        fill: part.material ? fill(part.material) : part.fill || "none", ...penned(part.pen),
      }));
    } else if (part.is === "line") {
      const d = path(part.points) + (part.closed ? "Z" : "");
      body.append(drawn("path", { d, fill: "none", ...penned(part.pen) }));
    } else if (part.is === "turf") {
      body.append(turf(part.points.map(place)));
    } else {
      body.append(lettering([part.words], ...place(part.at), { anchor: "middle" }));
    }
  }
  picture.append(defs, drawn("rect", { width, height: tall, fill: PAPER }), body);
  for (const s of cut.levels.at) {
    picture.append(drawn("path", { d: `M${x(s)},${y(floor)}v6`, stroke: INK }));
  }
  picture.append(...notes(cut, ends, { across, x, place, width, told, up }));
  picture.append(...beside(labels, cut, { place, tall, start: x(low), end: x(high) }));
  return { picture, words: stretch.words, told };
}

/** Whether the levels at the ends of the paving would lie one on the other. */
function crowded(ends, across) {
  if (ends.length < 2) return false;
  const [from, to] = ends.map((each) => each.at[0] * across);
  return to - from < 2 * ASIDE_MARK + ends.reduce((sum, each) => sum + broad(each), 0);
}

/** How wide the first line of a label is. [pixels] */
const broad = (each) => each.words[0].length * LETTER;

/** Words over the paving: how it falls and which way, the levels at its ends, the sills. */
function* notes(cut, ends, { across, x, place, width, told, up }) {
  const lift = crowded(ends, across) ? LINE : 0;
  const highest = Math.max(...ends.map((each) => each.at[1]));
  for (const each of ends) {
    const [px, py] = place(each.at);
    const first = each === ends[0];
    // Of two that have no room side by side the higher stands over the other.
    const over = lift && each.at[1] === highest ? place([0, highest])[1] - 9 - lift : py - 9;
    yield drawn("path", { d: `M${px},${py}l-6,-9h12Z`, fill: INK });
    yield lettering(each.words, px + (first ? ASIDE_MARK : -ASIDE_MARK), over, {
      anchor: first ? "start" : "end", weight: 700,
    });
  }
  for (const each of cut.labels) {
    const [px, py] = place(each.at);
    if (each.kind === "fall") {
      const top = place([each.at[0], clear(each, cut, up)]);
      yield* fall(each, [top[0], top[1] - lift], each.span.map(x), told ? 0 : width);
    } else if (each.kind === "wall" && told && each.side !== cut.side) {
      yield lettering(each.lines, px + each.side * 10, py - raised(each), {
        anchor: each.side < 0 ? "end" : "start",
      });
    } else if (each.kind === "other") {
      // Over the level at the end of the paving, where its name would lie on it.
      const near = ends.some((end) => Math.abs(x(end.at[0]) - px) < broad(each) / 2 + 4);
      yield lettering(each.words, px, py - 12 - (near ? LINE : 0), { anchor: "middle" });
    }
  }
}

/** How high the words on a fall stand: over the names of what stands on the paving there. */
function clear({ at, span }, cut, up) {
  const names = cut.parts.filter((part) => part.is === "text"
    && part.at[0] > Math.min(...span) && part.at[0] < Math.max(...span));
  return Math.max(at[1], ...names.map((part) => part.at[1] + NAME / up - NAMED / up));
}

/** How far over its place the words about a wall begin. [pixels] */
function raised(each) {
  return (each.lines.length - 2) * 6;
}

function* fall(each, [px, py], [start, end], width) {
  const letters = Math.max(Math.floor((width ? width - 24 : end - start) / LETTER), 20);
  const whole = each.words[0].length <= letters;
  const parts = whole ? each.words : each.words[0].split(/(?<=;) /);
  // What stands in brackets stays together.
  const lines = parts.flatMap((part) =>
    part.length <= letters ? [part] : part.split(/ (?=\()/).flatMap((each) => folded(each, letters)));
  const half = (Math.max(...lines.map((line) => line.length)) * LETTER) / 2;
  const middle = width ? Math.min(Math.max(px, half + 8), width - half - 8) : px;
  const base = py - 46;
  yield lettering(lines, middle, base - (lines.length - 1) * LINE, {
    anchor: "middle", weight: 700, colour: TEAL,
  });
  if (!each.way) return;
  const reach = Math.min((end - start) * 0.3, 120) * each.way;
  const head = 9 * each.way;
  yield drawn("path", {
    d: `M${px - reach},${base + 12}H${px + reach}m${-head},-6l${head},6l${-head},6`,
    stroke: TEAL, "stroke-width": 2.5, fill: "none",
  });
}

/** The layers in a column beside the cut, each with a line to its place. */
function* beside(labels, cut, { place, tall, start, end }) {
  for (const each of labels) [each.x, each.y] = place(each.at);
  spread(labels, 22, tall - 4);
  const from = cut.side > 0 ? end : start;
  for (const each of labels) {
    const middle = each.top + each.tall / 2;
    const words = from + 28 * cut.side;
    const d = `M${each.x},${each.y}L${from + 14 * cut.side},${middle}H${words - 4 * cut.side}`;
    yield* haloed(d, 3, { stroke: INK, "stroke-width": 1 });
    yield lettering(each.lines, words, each.top + 15, {
      anchor: cut.side > 0 ? "start" : "end",
    });
  }
  // Places of what is thin lie close together: no line goes over another's.
  for (const each of labels) yield drawn("circle", { cx: each.x, cy: each.y, r: 2.6, fill: INK });
}
