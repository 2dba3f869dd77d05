/** The next reading of a level book: the kind of sight, the point, the rod, and where it stood. */

import { button, make } from "../dom.js";

const KINDS = [
  ["backsight", "Back", "Backsight: the first after setting up, on a point whose level is known."],
  ["intermediate", "Between", "Intermediate sight: a spot of the yard."],
  ["foresight", "Fore", "Foresight: the last before the instrument is moved, or the end of the book."],
];
const EIGHTHS = ["", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8"];
const SIXTEENTHS = ["1/16", "3/16", "5/16", "7/16", "9/16", "11/16", "13/16", "15/16"];

/** The form below a book: it books the next reading, or puts one right. */
export class Entry {
  constructor(book) {
    this.book = book;
    this.line = null;
    this.kind = "backsight";
    this.way = "none";
    this.part = null;
    this.build();
  }

  build() {
    const box = (id, label, mode) => {
      const input = make("input", {
        type: "text", id: `${id}-${idOf(this.book.data.name)}`, autocomplete: "off",
        autocapitalize: "off", spellcheck: "false", inputmode: mode || null, enterkeyhint: "done",
      });
      return [make("label", { for: input.id, class: "label" }, label), input];
    };
    this.title = make("h4", {});
    this.kinds = KINDS.map(([kind, label]) =>
      button(label, () => this.choose(kind), { "aria-pressed": false, "data-kind": kind }));
    this.kindWords = make("p", { class: "say quiet" });
    [this.pointLabel, this.point] = box("point", "Point");
    this.feetBox = box("reading", "Rod reads");
    this.reading = this.feetBox[1];
    this.inchBox = box("inches", "inches", "numeric");
    this.inches = this.inchBox[1];
    this.parts = make("div", { class: "parts", role: "group", "aria-label": "and part of an inch" });
    this.hung = button("Rod upside down",
      () => this.press(this.hung, this.hung.getAttribute("aria-pressed") !== "true"),
      { class: "hung", "aria-pressed": false });
    this.ways = make("div", { class: "choice", role: "group", "aria-label": "Where it stood" });
    this.place = make("div", { class: "place" });
    this.fields = new Map();
    [this.codeLabel, this.code] = box("code", "What is there");
    [this.noteLabel, this.note] = box("note", "Note");
    this.said = make("p", { class: "say fails", role: "alert" });
    this.result = make("p", { class: "book-result", role: "status" });
    this.go = make("button", { type: "submit", class: "go" }, "Book it");
    this.out = button("Take it out", () => this.takeOut(), { class: "away" });
    this.back = button("Back to the next", () => this.next());
    this.root = make(
      "form", { class: "entry", autocomplete: "off" },
      this.title,
      make("div", { class: "choice kinds", role: "group", "aria-label": "Kind of sight" }, ...this.kinds),
      this.kindWords,
      make("div", { class: "pair" }, make("div", {}, this.pointLabel, this.point)),
      make("div", { class: "rod" }, make("div", {}, ...this.feetBox), make("div", {}, ...this.inchBox)),
      this.parts, this.hung,
      make("p", { class: "label" }, "Where it stood"), this.ways, this.place,
      make("div", { class: "pair" }, make("div", {}, this.codeLabel, this.code),
        make("div", {}, this.noteLabel, this.note)),
      this.said, this.result,
      make("div", { class: "row" }, this.go, this.out, this.back),
    );
    this.root.addEventListener("submit", (event) => {
      event.preventDefault();
      this.keep();
    });
  }

  press(key, is) {
    key.setAttribute("aria-pressed", String(is));
  }

  choose(kind) {
    this.kind = kind;
    this.kinds.forEach((key) => this.press(key, key.dataset.kind === kind));
    this.kindWords.textContent = KINDS.find(([each]) => each === kind)[2];
  }

  /** Whether the rod is read in feet and inches, on keys of its own. */
  split() {
    return this.book.rod() === "ft-in";
  }

  /** Draw what hangs on the rod and on the site. */
  tell() {
    const split = this.split();
    this.feetBox[0].textContent = split ? "Rod reads: feet" : `Rod reads (${this.book.rod()})`;
    this.reading.inputMode = split ? "text" : "decimal";
    this.inchBox[1].parentNode.hidden = this.parts.hidden = !split;
    if (!this.parts.childElementCount) {
      const key = (part) => button(part || "0", () => this.takePart(part),
        { "data-part": part, "aria-pressed": part === this.part });
      this.parts.append(...EIGHTHS.map(key), make("details", {}, make("summary", {}, "sixteenths"),
        make("div", { class: "parts" }, ...SIXTEENTHS.map(key))));
    }
    const ways = [["none", "No place"]];
    if (this.book.data.walls.length) ways.unshift(["wall", "Along a wall"]);
    if (this.book.data.references.length > 1) ways.splice(1, 0, ["ties", "Two tapes"]);
    ways.splice(ways.length - 1, 0, ["xy", "x and y"]);
    if (!ways.some(([way]) => way === this.way)) this.way = "none";
    this.ways.replaceChildren(...ways.map(([way, label]) =>
      button(label, () => this.choosePlace(way), { "aria-pressed": way === this.way, "data-way": way })));
  }

  takePart(part) {
    this.part = part;
    for (const key of this.parts.querySelectorAll("button")) this.press(key, key.dataset.part === part);
  }

  choosePlace(way, told = {}) {
    this.way = way;
    for (const key of this.ways.children) this.press(key, key.dataset.way === way);
    const { walls, references, unit } = this.book.data;
    this.fields.clear();
    const field = (name, label, hint = "") => this.placing(name, label, told[name] || "",
      make("input", { type: "text", autocomplete: "off", placeholder: hint }));
    const example = unit === "m" ? "1.25" : "4' 6\"";
    const drawn = {
      none: [],
      xy: [field("x", `x (${unit})`), field("y", `y (${unit})`)],
      wall: [
        ...(walls.length > 1 ? [this.pick("wall", "Wall", walls, told.wall || this.wall || walls[0])] : []),
        field("along", "Along, from its left end", example), field("out", "Out from it", example),
      ],
      ties: [...references.map((name) => field(`to ${name}`, `To ${name}`, example)),
        this.pick("side", "Side, where it may be either", ["", "left", "right"], told.side || "")],
    }[way];
    this.place.replaceChildren(...drawn);
  }

  pick(name, label, options, chosen) {
    return this.placing(name, label, chosen, make("select", {},
      options.map((each) => make("option", { value: each }, each || "as it comes out"))));
  }

  /** One of the fields that say where the rod stood, under its label. */
  placing(name, label, value, box) {
    box.id = `at-${name.replace(/\W/g, "-")}-${idOf(this.book.data.name)}`;
    box.value = value;
    this.fields.set(name, box);
    return make("div", {}, make("label", { for: box.id, class: "label" }, label), box);
  }

  /** Begin the next reading: its kind and name follow from the last one. */
  next() {
    this.line = null;
    const rows = this.book.rows();
    const last = rows.at(-1);
    const cell = (name) => (last ? this.book.sheet.cell(last, name) : "");
    this.fill({});
    if (!last) {
      this.choose("backsight");
      this.point.value = this.book.benchmarks()[0] || "";
    } else if (cell("foresight") && !cell("backsight")) {
      const ended = this.book.benchmarks().includes(cell("point"));
      this.choose("backsight");
      this.point.value = ended ? "" : cell("point");
    } else {
      this.choose("intermediate");
      this.point.value = this.following(rows);
    }
    const way = this.kind === "intermediate" ? this.lastWay || this.usual(rows) : "none";
    this.choosePlace(way);
    this.title.textContent = "Next reading";
    this.go.textContent = "Book it";
    this.out.hidden = this.back.hidden = true;
    this.mark();
  }

  /** The name after the last one that is a number. */
  following(rows) {
    const numbers = rows.map((line) => this.book.sheet.cell(line, "point"))
      .filter((name) => /^\d+$/.test(name)).map(Number);
    return String(numbers.length ? Math.max(...numbers) + 1 : 1);
  }

  /** How the last point was placed. */
  usual(rows) {
    return rows.map((line) => this.placed(line)).findLast((way) => way !== "none")
      ?? (this.book.data.walls.length ? "wall" : "xy");
  }

  placed(line) {
    const cell = (name) => this.book.sheet.cell(line, name);
    if (cell("x") || cell("y")) return "xy";
    if (cell("along") || cell("out") || cell("wall")) return "wall";
    return this.book.data.references.some((name) => cell(`to ${name}`)) ? "ties" : "none";
  }

  fill({ reading = "", code = "", note = "" }) {
    const split = this.split();
    const [, minus, feet, inches, part] = /^(-?)\s*(\d+)[' -]+\s*(\d+)?\s*(\d+\/\d+)?"?$/.exec(reading)
      || [];
    this.press(this.hung, Boolean(reading.startsWith("-")));
    if (split && feet !== undefined && (inches !== undefined || part)) {
      this.reading.value = feet;
      this.inches.value = inches || "0";
      this.takePart(part || "");
    } else {
      this.reading.value = minus ? reading.slice(1).trim() : reading.replace(/^-\s*/, "");
      this.inches.value = "";
      this.takePart(null);
    }
    this.code.value = code;
    this.note.value = note;
    this.said.textContent = "";
    this.result.textContent = "";
  }

  /** Put a reading that was booked into the form. */
  edit(line) {
    this.line = line;
    const { sheet } = this.book;
    const cell = (name) => sheet.cell(line, name);
    const kind = KINDS.map(([name]) => name).find((name) => cell(name)) || "intermediate";
    this.fill({ reading: cell(kind), code: cell("code"), note: cell("note") });
    this.choose(kind);
    this.point.value = cell("point");
    const told = Object.fromEntries(sheet.columns.map((each, at) => [each.reads, line.cells[at]]));
    this.choosePlace(this.placed(line), told);
    const number = sheet.numbers().get(line);
    this.title.textContent = `Line ${number} of ${this.book.data.name}`;
    this.go.textContent = "Put it right";
    this.out.hidden = this.back.hidden = false;
    this.mark();
    this.root.scrollIntoView({ block: "nearest" });
    this.reading.focus({ preventScroll: true });
  }

  mark() {
    const numbers = this.book.sheet.numbers();
    const now = this.line ? String(numbers.get(this.line)) : "";
    for (const key of this.book.list.querySelectorAll(".sight")) {
      this.press(key, key.dataset.line === now);
    }
  }

  /** What was read, as it goes into the book: as the person read it, no sum is made of it. */
  written() {
    const whole = this.reading.value.trim();
    const sign = this.hung.getAttribute("aria-pressed") === "true" ? "-" : "";
    if (!whole && !this.inches.value && !this.part) return "";
    const pieces = this.split() && !/[\s'"]/.test(whole)
      ? [whole || "0", this.inches.value.trim() || "0", this.part] : [whole];
    const text = pieces.filter(Boolean).join(" ");
    return text.startsWith("-") ? text : sign + text;
  }

  async keep() {
    const { book } = this;
    const reading = this.written();
    if (!reading && this.way === "none") {
      this.said.textContent = "Say what the rod reads.";
      this.reading.focus();
      return;
    }
    const point = this.point.value.trim();
    const line = this.line;
    const places = ["x", "y", "wall", "along", "out", "side",
      ...book.data.references.map((name) => `to ${name}`)];
    const told = {
      point, [this.kind]: reading, code: this.code.value.trim(), note: this.note.value.trim(),
    };
    for (const [name, input] of this.fields) told[name] = input.value.trim();
    if (this.way === "wall" && book.data.walls.length > 1) this.wall = told.wall;
    this.go.disabled = true;
    const { words, row, closed } = await book.change((sheet) => {
      const its = line ? sheet.lines[sheet.lines.indexOf(line)] : sheet.add(book.rows().at(-1));
      const both = line && sheet.cell(its, "backsight") && sheet.cell(its, "foresight");
      const cleared = both ? places : [...KINDS.map(([name]) => name), ...places];
      for (const name of cleared) put(sheet, its, name, "");
      for (const [name, text] of Object.entries(told)) put(sheet, its, name, text);
      return its;
    }, `reading of ${point || "a point"}`);
    this.go.disabled = false;
    if (words) {
      this.said.textContent = words;
      return;
    }
    if (this.kind === "intermediate") this.lastWay = this.way;
    this.next();
    const level = row && (row.adjusted || row.elevation);
    this.result.textContent = closed ? closed.words : !row ? ""
      : row.instrument && told.backsight ? `${row.point}: the instrument is at ${row.instrument}`
        : `${row.point} is at ${level}`;
    this.reading.focus({ preventScroll: true });
  }

  async takeOut() {
    const { line } = this;
    const name = this.point.value.trim() || "a point";
    const { words } = await this.book.change((sheet) => {
      sheet.remove(line);
      return null;
    }, `reading of ${name} taken out`);
    this.said.textContent = words;
    if (!words) this.next();
  }
}

function put(sheet, line, name, text) {
  const at = sheet.column(name);
  if (at >= 0) sheet.put(line, at, text);
}

function idOf(name) {
  return name.replace(/[^a-z0-9]/gi, "-");
}
