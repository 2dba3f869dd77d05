/**
 * The level book, booked as the rod is read: one reading after another, with big keys, and reduced
 * at once. Elevations and sentences come from the desk; this only writes down what was read.
 */

import { make, styled } from "../dom.js";
import { Entry } from "./book_entry.js";
import { Sheet, keep } from "./sheet.js";

const SIGHTS = { backsight: "back", intermediate: "between", foresight: "fore" };
const HEADER = ["point", "bs", "is", "fs", "along", "out", "code", "note"];

/** Books that are open, by the file: they live on while the page is drawn anew. */
const open = new Map();

/** Draw a level book into an element. */
export function draw(element, data, desk) {
  styled("/web/ground/ground.css");
  let book = open.get(data.name);
  if (!book || book.desk !== desk) {
    book = new Book(data, desk);
    open.set(data.name, book);
  }
  if (element.firstChild !== book.root) {
    element.replaceChildren(book.root);
    if (book.inHand && document.activeElement === document.body) book.entry.reading.focus();
  }
  book.update(data);
}

class Book {
  constructor(data, desk) {
    this.desk = desk;
    this.data = data;
    this.sheet = null;
    this.found = { rows: {}, says: [], closes: [], problems: [] };
    this.begun = !data.fresh;
    this.list = make("ol", { class: "sights", "aria-label": `Readings in ${data.name}` });
    this.words = make("div", { class: "book-words", role: "status" });
    this.entry = new Entry(this);
    this.start = make("div", { class: "form book-start" });
    this.root = make("div", { class: "book" }, this.start, this.list, this.words, this.entry.root);
    this.root.addEventListener("focusin", () => (this.inHand = true));
    document.addEventListener("focusin", (event) => {
      if (!this.root.contains(event.target)) this.inHand = false;
    });
  }

  /** Take what the desk tells of the book. */
  async update(data) {
    this.data = data;
    if (data.fresh && this.named && !this.busy) this.forget(); // its beginning was taken back
    if (data.fresh && !this.begun) this.beginning();
    this.start.hidden = this.begun;
    this.entry.root.hidden = this.list.hidden = !this.begun;
    if (!this.begun) return;
    if (data.fresh) {
      if (!this.sheet) this.empty();
      return;
    }
    const around = [data.rod, ...data.references, ...data.walls].join();
    const same = this.sheet && data.mark === this.mark;
    if (this.busy || (same && around === this.around)) return;
    if (this.loading === data.mark + around) return;
    this.loading = data.mark + around;
    const answer = await this.desk.call("sheet", { name: data.name, kind: "book" });
    this.loading = null;
    if (!answer.sheet) {
      this.words.replaceChildren(...(answer.words || []).map((each) => say(each, "fails")));
      return;
    }
    if (this.busy) return;
    if (!same) this.sheet = new Sheet(answer.sheet);
    this.offered();
    this.mark = answer.sheet.mark;
    this.around = around;
    await this.reduce();
    this.show();
    if (!same) this.entry.next();
  }

  forget() {
    Object.assign(this, { sheet: null, begun: false, named: false, asked: null, mark: null });
    this.found = { rows: {}, says: [], closes: [], problems: [] };
    this.words.replaceChildren();
    this.list.replaceChildren();
  }

  offered() {
    this.sheet.offer([
      "point", "backsight", "intermediate", "foresight", "x", "y", "wall", "along", "out", "side",
      ...this.data.references.map((name) => `to ${name}`), "code", "note",
    ]);
  }

  empty() {
    const columns = HEADER.map((head) => ({
      head, label: head,
      reads: { bs: "backsight", is: "intermediate", fs: "foresight" }[head] || head,
    }));
    const raw = HEADER.join(",");
    this.sheet = new Sheet({
      name: this.data.name, sign: ",", columns, head_line: 1, lines: [{ raw, cells: HEADER }],
    });
    this.offered();
    this.show();
    this.entry.next();
  }

  /** Ask what a new book begins with: the rod, and the benchmark. */
  beginning() {
    if (this.asked) return;
    this.asked = { rod: this.data.unit === "m" ? "m" : "ft-in", name: "", z: "" };
    const known = this.data.benchmarks;
    const keys = this.data.rods.map((rod) => make("button", {
      type: "button", "aria-pressed": String(rod.to === this.asked.rod),
      onclick: (event) => {
        this.asked.rod = rod.to;
        for (const key of keys) key.setAttribute("aria-pressed", String(key === event.currentTarget));
      },
    }, rod.label));
    const name = make("input", {
      type: "text", id: "mark-name", autocomplete: "off", value: known[0] || "",
      placeholder: "back door sill",
    });
    const z = make("input", { type: "text", id: "mark-z", autocomplete: "off", placeholder: "100.00" });
    const wrong = make("p", { class: "say fails", role: "alert" });
    const begin = () => {
      Object.assign(this.asked, { name: name.value.trim(), z: z.value.trim() });
      const needed = !known.includes(this.asked.name);
      wrong.textContent = !this.asked.name ? "Say which point the levels begin at."
        : needed && !this.asked.z ? `Say the elevation of ${this.asked.name}.` : "";
      if (wrong.textContent) return;
      this.begun = true;
      this.update(this.data);
      this.entry.reading.focus();
    };
    this.start.replaceChildren(
      make("p", { class: "label" }, "What is the rod marked in?"),
      make("div", { class: "choice" }, ...keys),
      make("label", { for: "mark-name", class: "label" }, "Benchmark: the point the levels begin at"),
      name,
      make("label", { for: "mark-z", class: "label" }, `Its elevation (${this.data.unit})`),
      z,
      make("p", { class: "say quiet" }, "A sill that does not move is a good one. Call it 100.00 "
        + "where no other level is given. It is read first, and read again last."),
      wrong,
      make("button", { type: "button", class: "go", onclick: begin }, "Begin the book"),
    );
  }

  rod() {
    return this.data.fresh ? this.asked.rod : this.data.rod;
  }

  benchmarks() {
    return this.data.fresh && this.asked ? [this.asked.name, ...this.data.benchmarks]
      : this.data.benchmarks;
  }

  rows() {
    return this.sheet ? this.sheet.rows().filter((line) => line.cells.some((cell) => cell)) : [];
  }

  told(text) {
    const told = { name: this.data.name, kind: "book", text };
    if (!this.data.fresh) return told;
    const known = this.data.benchmarks.includes(this.asked.name);
    return {
      ...told, rod: this.asked.rod,
      benchmark: known ? undefined : { name: this.asked.name, z: plain(this.asked.z) },
    };
  }

  async reduce() {
    this.found = await this.desk.call("levels", this.told(this.sheet.text()));
    if (!this.found.problems) this.found = { rows: {}, says: [], closes: [], problems: [] };
    return this.found;
  }

  /** Have a change of the lines read; keep it where it can be, else take it back. */
  async change(alter, said) {
    if (this.busy) return { words: "" };
    this.busy = true;
    const restore = this.sheet.remember();
    const line = alter(this.sheet);
    const text = this.sheet.text();
    const found = await this.desk.call("levels", this.told(text));
    const number = line && this.sheet.numbers().get(line);
    const mine = (found.problems || []).filter((each) => each.line === number || each.line === null);
    const others = this.found.problems.map((each) => each.words);
    const fresh = (found.problems || []).filter((each) => !others.includes(each.words));
    let wrong = mine.length ? mine : fresh;
    if (!found.problems) wrong = [{ words: "The page is not connected: it was not kept." }];
    if (!wrong.length) {
      const reply = await keep(this.desk, this.data.name, text, this.naming(), said);
      if (reply.is === "refused" || reply.is === "lost") {
        wrong = reply.problems || [{ words: "The page is not connected: it was not kept." }];
      }
    }
    this.busy = false;
    if (wrong.length) {
      restore();
      return { words: wrong.map((each) => each.words).join("\n"), wrong };
    }
    this.found = found;
    this.named = true;
    this.mark = found.mark;
    const { rod, references, walls } = this.data;
    this.around = [rod || this.rod(), ...references, ...walls].join();
    this.root.dataset.kept = String(Number(this.root.dataset.kept || 0) + 1);
    this.show();
    const closed = found.closes.find((each) => each.line === number);
    return { words: "", row: found.rows[number], closed };
  }

  naming() {
    if (!this.data.fresh) return [];
    const changes = [{ do: "add", at: "levels", to: { file: this.data.name, rod: this.asked.rod } }];
    if (!this.data.benchmarks.includes(this.asked.name)) {
      const to = { name: this.asked.name, z: plain(this.asked.z) };
      changes.push({ do: "add", at: "benchmark", to });
    }
    return changes;
  }

  /** Show what was booked, and what it says of itself. */
  show() {
    const numbers = this.sheet.numbers();
    this.list.replaceChildren(...this.rows().map((line) => this.item(line, numbers.get(line))));
    this.list.scrollTop = this.list.scrollHeight;
    const { closes, says, problems } = this.found;
    const words = [
      ...problems.map((each) => say(each.words, "fails")),
      ...closes.map((each) => say(each.words, each.status === "fail" ? "fails"
        : each.status === "warn" ? "look" : "strong")),
      ...says.map((each) => say(each.text, each.tone)),
    ];
    this.words.replaceChildren(...words);
    this.entry.tell();
    this.root.dataset.ready = "true";
  }

  item(line, number) {
    const row = this.found.rows[number] || {};
    const cell = (name) => this.sheet.cell(line, name);
    const kinds = Object.keys(SIGHTS).filter((name) => cell(name));
    const read = kinds.map((name) => `${SIGHTS[name]} ${cell(name)}`).join(", ");
    const level = row.adjusted || row.elevation || "";
    const shown = make(
      "button",
      { type: "button", class: "sight", "data-line": number, "aria-pressed": String(this.entry.line === line),
        onclick: () => this.entry.edit(line) },
      make("span", { class: "sight-name" }, cell("point") || `line ${number}`),
      make("span", { class: "sight-read" }, read || "no reading"),
      make("span", { class: "sight-level" }, level),
      make("span", { class: "sight-place" }, [row.marks, row.place,
        row.instrument && `instrument at ${row.instrument}`].filter(Boolean).join(" · ")),
    );
    const wrong = this.found.problems.some((each) => each.line === number);
    return make("li", { class: wrong ? "sight-wrong" : "" }, shown);
  }
}

function say(text, tone) {
  const shape = { look: "◆ ", fails: "✖ " }[tone];
  return make("p", { class: `say ${tone}` },
    shape ? make("span", { "aria-hidden": "true" }, shape) : null, text);
}

/** A level as it is written: a number where it is one. */
export function plain(text) {
  const number = Number(text);
  return text !== "" && Number.isFinite(number) ? number : text;
}
