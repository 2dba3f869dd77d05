// What is kept of a day in the trench: where the instrument stood, and every shot. Two that kept
// apart are laid together without losing either; what was taken back stays taken back. A text gives
// it to the desk and takes it in again. Nothing is drawn.
import { bookText, judged, readRod } from "./rods.js";

/** Nothing kept yet. */
export function nothingKept() {
  return { setups: [], shots: [], gone: [], checks: [] };
}

/** Everything that either of two kept, each once, in the order of its time. */
export function together(one, other) {
  const whole = nothingKept();
  for (const part of ["setups", "shots", "checks"]) {
    const found = new Map();
    for (const each of [...(one?.[part] ?? []), ...(other?.[part] ?? [])]) found.set(each.id, each);
    whole[part] = [...found.values()].sort((a, b) => (a.id < b.id ? -1 : a.id > b.id ? 1 : 0));
  }
  whole.gone = [...new Set([...(one?.gone ?? []), ...(other?.gone ?? [])])].sort();
  return whole;
}

/** Where the instrument stands now, or null. */
export function standing(kept) {
  return kept.setups[kept.setups.length - 1] ?? null;
}

/** The shots that were not taken back, in the order of their time. */
export function shotsOf(kept) {
  const gone = new Set(kept.gone);
  return kept.shots.filter((each) => !gone.has(each.id));
}

/** The shots of a surface of a stake, the last of which stands. */
export function shotsAt(kept, area, stake, layer) {
  return shotsOf(kept).filter(
    (each) => each.area === area && each.stake === stake && each.layer === layer,
  );
}

/** An area of the data, and a stake of it, by their names; undefined where there is none. */
export function areaNamed(data, name) {
  return data.areas.find((each) => each.name === name);
}
export function stakeNamed(area, name) {
  return area?.stakes.find((each) => each.name === name);
}

/** A shot held against its level, {z, off, standing}; null where its stake or layer is gone. */
export function heldAgainst(data, shot) {
  const area = areaNamed(data, shot.area);
  const layer = area?.layers.find((each) => each.built && each.built === shot.built);
  const wanted = stakeNamed(area, shot.stake)?.z[layer?.name];
  return wanted === undefined ? null : judged(data, layer, wanted, shot.z, 0);
}

const COLUMNS = [
  "plan", "area", "stake", "layer", "x", "y", "z", "design", "reading", "rod marks", "benchmark",
  "benchmark z", "benchmark reading", "benchmark marks", "set up", "shot", "surface", "note",
];

/** A number as it is written into a text: no digit that a level would miss. */
function number(value) {
  const told = value.toFixed(9).replace(/\.?0+$/, "");
  return told === "-0" ? "0" : told;
}

function cell(text) {
  return /[",\n;]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

/** The shots that stand as a text: a row each, as the desk and `fallaway verify` read them. */
export function asText(data, kept) {
  const rows = [COLUMNS.join(",")];
  const last = new Map();
  for (const shot of shotsOf(kept)) last.set(`${shot.area}/${shot.stake}/${shot.layer}`, shot);
  for (const shot of last.values()) {
    const setup = kept.setups.find((each) => each.id === shot.setup);
    const before = shotsAt(kept, shot.area, shot.stake, shot.layer).slice(0, -1);
    const readings = before.filter((each) => each.reading).map((each) => bookText(data, each.reading, each.marks)).join("; ");
    const note = readings ? data.labels.read_before.replace("{readings}", readings) : "";
    rows.push([
      data.number, shot.area, shot.stake, shot.built, ...shot.at.map(number),
      number(shot.z / data.metres), number(shot.wanted / data.metres),
      ...(setup ? [bookText(data, shot.reading, shot.marks), shot.marks, setup.benchmark,
        number(setup.z / data.metres), bookText(data, setup.reading, setup.marks), setup.marks,
        setup.id] : Array(7).fill("")),
      shot.id, shot.layer, note,
    ].map((each) => cell(String(each))).join(","));
  }
  return `${rows.join("\n")}\n`;
}

/** The rows of such a text, each an object by its columns. */
function rowsOf(text) {
  const cells = /("(?:[^"]|"")*"|[^,\n\r]*)(,|\r?\n|\r|$)/g;
  const rows = [];
  let row = [];
  for (const match of text.matchAll(cells)) {
    if (match[0] === "" && row.length === 0) break;
    const told = match[1];
    row.push(told.startsWith('"') ? told.slice(1, -1).replaceAll('""', '"') : told.trim());
    if (match[2] !== ",") {
      rows.push(row);
      row = [];
    }
  }
  const head = rows.findIndex((each) => each.includes("stake") && each.includes("reading"));
  if (head < 0) return [];
  const names = rows[head].map((each) => each.toLowerCase());
  return rows.slice(head + 1).filter((each) => each.length === names.length)
    .map((each) => Object.fromEntries(names.map((name, place) => [name, each[place]])));
}

/** What a text holds: {kept, count, others: rows of other plans, plan: of which}. */
export function fromText(data, text) {
  const found = nothingKept();
  const others = [];
  for (const row of rowsOf(text)) {
    const reading = readRod(data, row.reading ?? "", row["rod marks"]);
    const on = readRod(data, row["benchmark reading"] ?? "", row["benchmark marks"]);
    if (!reading || !on || !row.shot || !row["set up"]) continue;
    if (row.plan !== data.number) {
      others.push(row.plan);
      continue;
    }
    found.setups.push({
      id: row["set up"], benchmark: row.benchmark, z: Number(row["benchmark z"]) * data.metres,
      reading: row["benchmark reading"], marks: row["benchmark marks"],
    });
    found.shots.push({
      id: row.shot, area: row.area, stake: row.stake, layer: row.surface, reading: row.reading,
      marks: row["rod marks"], setup: row["set up"], built: row.layer,
      at: [Number(row.x), Number(row.y)], z: Number(row.z) * data.metres,
      wanted: Number(row.design) * data.metres,
    });
  }
  return { kept: together(found, null), count: found.shots.length, others };
}

/**
 * Lay more onto the day that the browser's database keeps, and give the whole once it lies on the
 * disk: what the browser's own storage is given it writes seconds later, and loses if it is ended.
 */
async function laidDown(key, kept) {
  const days = await new Promise((done, fail) => {
    const asked = window.indexedDB.open("fallaway trench", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("days");
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => fail(asked.error);
  });
  try {
    return await new Promise((done, fail) => {
      const change = days.transaction("days", "readwrite", { durability: "strict" });
      const day = change.objectStore("days");
      let whole;
      day.get(key).onsuccess = (event) => {
        whole = together(event.target.result, kept);
        day.put(whole, key);
      };
      change.oncomplete = () => done(whole);
      change.onabort = () => fail(change.error);
    });
  } finally {
    days.close();
  }
}

/** The same in the browser's own storage, which may forget the last of it; null where it has none. */
function leftIn(key, kept) {
  try {
    const whole = together(JSON.parse(window.localStorage.getItem(key) ?? "null"), kept);
    window.localStorage.setItem(key, JSON.stringify(whole));
    return whole;
  } catch {
    return null;
  }
}

/**
 * Where a page keeps its day: in the browser, under the number of the plan.
 * `load` gives what is kept, `store` lays more onto it and gives the whole; `safe` is false where
 * the browser has no database, and does not surely keep it.
 */
export function browserStore(number) {
  const key = `fallaway trench ${number}`;
  const store = {
    where: "here",
    safe: true,
    load: () => store.store(nothingKept()),
    async store(kept) {
      try {
        const whole = await laidDown(key, kept);
        store.safe = true;
        return whole;
      } catch {
        store.safe = false;
        return leftIn(key, kept) ?? kept;
      }
    },
  };
  return store;
}

/** The same in the desk, which keeps it beside the site. */
export function deskStore(number, desk) {
  const store = {
    where: "desk",
    safe: true,
    load: () => store.store(nothingKept()),
    async store(kept) {
      try {
        const answer = await desk.call("trench", { number, kept });
        store.safe = Boolean(answer?.kept);
        return together(answer?.kept, kept);
      } catch {
        store.safe = false;
        return kept;
      }
    },
  };
  return store;
}
