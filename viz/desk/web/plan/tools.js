// Ways of drawing on the plan: what each asks for, in one sentence at a time, and what it writes.
import { add, apart, leastBy, left, middle, sub, unit, writtenAt } from "./plane.js";

/**
 * @typedef {{title: string, say: (count: number) => string, least: number, most?: number,
 *   closed?: boolean, wall?: boolean, spots?: boolean, again?: boolean, typed?: boolean,
 *   asks?: {key: string, label: string, hint?: string, optional?: boolean}[],
 *   made: (drawn: Drawn) => Made}} Way
 * @typedef {{points: [number, number][], answers: Record<string, any>, told: object,
 *   plan: object, flipped: boolean}} Drawn
 * @typedef {{changes?: object[], said?: string, call?: [string, object], see?: object}} Made
 */

const adds = (at, to) => [{ do: "add", at, to }];

/** Return a table without what was left empty. */
const filled = (table) =>
  Object.fromEntries(Object.entries(table).filter(([, value]) => value !== "" && value !== undefined));

const line = (points, of) =>
  points.length === 1 ? writtenAt(points[0], of) : points.map((xy) => writtenAt(xy, of));

/** Return a way that draws a line or a point into a list of tables. */
const drawn = (key, title, first, next, asks, more = {}) => ({
  title, least: more.least ?? 2, most: more.most, asks, closed: more.closed,
  say: (count) => (count ? next : first),
  made: ({ points, answers, told, plan }) => {
    const ring = more.closed && points.length > 2 ? [...points, points[0]] : points;
    const table = filled({ ...more.to, ...told.to, ...answers, at: line(ring, plan.unit) });
    return { changes: adds(key, table), said: `add ${table.name || table.kind || title}` };
  },
});

const NAME = { key: "name", label: "What it is called", optional: true };

/** @type {Record<string, Way>} */
export const WAYS = {
  "draw-walls": {
    title: "House walls", least: 2, typed: true,
    say: (count) =>
      count === 0 ? "Tap where the house wall begins, at its left end as you face the house."
      : count === 1 ? "Tap the next corner of the wall, or type how long the wall is."
      : "Go on from corner to corner; press Done at the last one that matters.",
    made: ({ points, plan, flipped, given }) => {
      // Where there is nothing yet, the yard is measured from this wall: as one stands with one's
      // back to it, x to the right from its left end and y out from it.
      const bare = !given && !plan.house && !plan.areas.length && !plan.spots.length;
      const from = bare ? [Math.min(...points.map(([x]) => x)), points[0][1]] : [0, 0];
      const laid = (xy) => writtenAt([xy[0] - from[0], xy[1] - from[1]], plan.unit);
      return {
        changes: [
          { do: "set", at: "house/walls", to: points.map(laid) },
          { do: "set", at: "house/inside", to: laid(insideOf(points, flipped, plan)) },
        ],
        said: "house walls",
      };
    },
  },
  "draw-outline": {
    title: "Outline of the paving", least: 3, closed: true, typed: true,
    say: (count) =>
      count === 0 ? "Tap where the paving begins, best at the house wall."
      : count < 3 ? "Tap its next corner, or type how far it is."
      : "Go on round; tap the first corner again, or press Done, to close it.",
    made: ({ points, told, plan, answers }) => {
      const outline = points.map((xy) => writtenAt(xy, plan.unit));
      if (told.at) return { changes: [{ do: "set", at: told.at, to: outline }], said: "outline" };
      const names = plan.areas.map((area) => area.name);
      let name = answers.name || "patio";
      for (let k = 2; names.includes(name); k += 1) name = `${answers.name || "patio"} ${k}`;
      return { changes: adds("area", { name, ...told.to, outline }), said: `draw ${name}` };
    },
  },
  "draw-pocket": {
    title: "Planting pocket", least: 3, closed: true, typed: true,
    say: (count) => (count ? "Tap its next corner; press Done to close it." : "Tap a corner of it."),
    made: ({ points, told, plan }) => {
      const holes = [...(told.holes ?? []), points.map((xy) => writtenAt(xy, plan.unit))];
      return { changes: [{ do: "set", at: told.at, to: holes }], said: "add planting pocket" };
    },
  },
  "place-door": {
    title: "Door", least: 1, most: 1, wall: true,
    say: () => "Tap the middle of the door on its wall.",
    asks: [
      { ...NAME, hint: "back door" },
      { key: "sill", label: "Level of the top of its sill", hint: "100' 0\"" },
    ],
    help: "Levels count up from a height of your own: call one sill 100, and measure all else from it.",
    made: ({ points, answers, plan }) => ({
      changes: adds("door", filled({ ...answers, at: writtenAt(points[0], plan.unit) })),
      said: `add ${answers.name || "door"}`,
    }),
  },
  "place-spot": {
    title: "Spot of the survey", least: 1, most: 1, again: true,
    say: () => "Tap where the rod stood.",
    asks: [{ key: "z", label: "Level of the ground there", hint: "99' 8\"" }],
    made: ({ points, answers, plan }) => ({
      call: ["place-spot", { at: writtenAt(points[0], plan.unit), z: answers.z }],
    }),
  },
  "place-hole": {
    title: "Test hole", least: 1, most: 1, again: true,
    say: () => "Tap where the hole was dug.",
    asks: [{ key: "depth", label: "Depth of the topsoil there", hint: "4 in" }],
    made: ({ points, answers, plan }) => ({
      call: ["place-hole", { at: writtenAt(points[0], plan.unit), depth: answers.depth }],
    }),
  },
  "place-downspout": {
    title: "Downspout", least: 1, most: 2,
    say: (count) =>
      count ? "Tap where its pipe ends, or press Done where it has none."
      : "Tap where it comes down the wall.",
    asks: [NAME, { key: "roof", label: "Area of roof that it drains", hint: "420 ft2" }],
    made: ({ points, answers, plan }) => ({
      changes: adds("downspout", filled({
        ...answers, at: writtenAt(points[0], plan.unit),
        to: points[1] && writtenAt(points[1], plan.unit),
      })),
      said: `add ${answers.name || "downspout"}`,
    }),
  },
  "place-feature": {
    title: "Thing on the paving", least: 1, most: 1,
    say: () => "Tap the middle of where it stands.",
    asks: [NAME, { key: "size", label: "Length and width, or one diameter", hint: "30 in, 30 in" }],
    made: ({ points, answers, told, plan }) => {
      const sizes = String(answers.size).split(",").map((each) => each.trim());
      const size = sizes.length > 1 ? sizes : sizes[0];
      const table = filled({ kind: "other", ...told.to, ...answers, size });
      return {
        changes: adds("feature", { ...table, at: writtenAt(points[0], plan.unit) }),
        said: `add ${table.name || table.kind}`,
      };
    },
  },
  "draw-swale": drawn("outfall", "Swale", "Tap where the swale begins.",
    "Tap along its bottom, the way that the water runs; press Done at its end.", [NAME],
    { to: { kind: "swale" } }),
  "draw-outfall": drawn("outfall", "Where the water goes", "Tap where the water is to end up.",
    "Tap on along it, or press Done where it is one point.", [NAME], { least: 1 }),
  "draw-drain": {
    title: "A drain and its outlet", least: 2,
    say: (count) =>
      count === 0 ? "Tap where its pipe comes out: on a lower lawn."
      : count === 1 ? "Tap where the drain begins."
      : "Tap on along it, or press Done where it is one point.",
    asks: [NAME],
    made: ({ points: [out, ...along], answers, told, plan }) => {
      const drain = filled({
        kind: "drain", ...answers, at: line(along, plan.unit), outlet: told.outlet.name,
      });
      return {
        changes: [
          ...adds("outfall", { ...told.outlet, at: writtenAt(out, plan.unit) }),
          ...adds("outfall", drain),
        ],
        said: `add ${drain.name || "drain"}`,
      };
    },
  },
  "draw-lawn": drawn("outfall", "Lawn for the water", "Tap a corner of the lawn that may take the water.",
    "Tap its next corner; press Done to close it.", [NAME],
    { to: { kind: "lawn" }, least: 3, closed: true }),
  "draw-floor": drawn("floor", "What the paving stays above", "Tap where it begins.",
    "Tap on along it; press Done at its end.",
    [NAME, { key: "z", label: "Its level, empty where the ground stays", optional: true }],
    { least: 1 }),
  "draw-ceiling": drawn("ceiling", "What the paving stays below", "Tap where it begins.",
    "Tap on along it; press Done at its end.",
    [NAME, { key: "z", label: "Level of its lower edge", hint: "99' 11\"" }], { least: 1 }),
  "draw-meet": drawn("meet", "What the paving meets", "Tap where the two meet first.",
    "Tap on along the edge that they share; press Done at its end.",
    [NAME, { key: "z", label: "Its level there", hint: "99' 6\"" }], { least: 1 }),
  "draw-hold": drawn("hold", "What holds an edge", "Tap beside the edge that it holds.",
    "Tap on along that edge; press Done at its end.", []),
  "draw-crease": {
    title: "Crease of the ground", least: 2, spots: true,
    say: (count) => (count ? "Tap the next spot along the crease; press Done at its end."
      : "Tap the spot where the crease begins: each of its points is a spot."),
    made: ({ points, told }) => ({
      changes: [{
        do: "set", at: "ground/breaklines",
        // As the spots have them: a crease turns at spots alone.
        to: [...(told.lines ?? []), points],
      }],
      said: "add crease",
    }),
  },
  measure: {
    title: "Measure", least: 2, most: 2, again: true, typed: false,
    say: (count) => (count === 1 ? "Tap where to measure to." : "Tap where to measure from."),
    made: () => ({}),
  },
  "drop-water": {
    title: "A drop of water", least: 1, most: 1, again: true,
    say: () => "Tap where the drop falls.",
    made: ({ points }) => ({ call: ["drop", { at: points[0] }] }),
  },
  "draw-cut": {
    title: "Where the section is cut", least: 2, most: 2,
    say: (count) => (count ? "Tap where the cut ends." : "Tap where the cut begins."),
    made: ({ points }) => ({ see: { cut: points } }),
  },
};

/** Return unit vectors of both sides of a line that is drawn, that of the house first.
 *  The house is where the screen's top is, unless it is told otherwise. */
export function houseSide(points, flipped, plan) {
  const turn = (plan.turn * Math.PI) / 180;
  const top = [Math.sin(turn), Math.cos(turn)]; // of the screen, in the yard
  let side = 0;
  for (let k = 1; k < points.length; k += 1) {
    const normal = left(sub(points[k], points[k - 1]));
    side += normal[0] * top[0] + normal[1] * top[1];
  }
  const closed = points.length > 3 && apart(points[0], points.at(-1)) < 1e-6;
  if (closed) {
    side = points.slice(1).reduce((sum, b, k) => sum + points[k][0] * b[1] - points[k][1] * b[0], 0);
  }
  return (side >= 0 ? 1 : -1) * (flipped ? -1 : 1);
}

/** Return a point inside the house: behind the middle of its longest wall. */
function insideOf(points, flipped, plan) {
  const side = houseSide(points, flipped, plan);
  const [a, b] = leastBy(points.slice(1).map((b, k) => [points[k], b]), (wall) => -apart(...wall));
  const deep = Math.min(apart(a, b) / 3, plan.unit === "ft" ? 6 : 2);
  return add(middle(a, b), left(unit(sub(b, a))), side * deep);
}
