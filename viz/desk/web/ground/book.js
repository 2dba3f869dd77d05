/**
 * The level book, booked as the rod is read: one reading after another, with big keys, and reduced
 * at once. Elevations and sentences come from the desk; this only writes down what was read.
 */

import { lasting, say } from "../blocks.js";
import { button, make, styled } from "../dom.js";
import { number, words } from "../live.js";
import { Entry } from "./book_entry.js";
import { Sheet, keep } from "./sheet.js";

const SIGHTS = { backsight: "back", intermediate: "between", foresight: "fore" };
const HEADER = ["point", "bs", "is", "fs", "along", "out", "code", "note"];
const NOTHING = { rows: {}, says: [], closes: [], problems: [] }; // what is found in no book

const LOST = "The page is not connected: it was not kept.";

/** Draw a level book into an element. */
export function draw(element, data, desk) {
  styled("/web/ground/ground.css");
  lasting(element, data.key, desk, () => new Book(data, desk)).update(data);
}

class Book {
  constructor(data, desk) {
    this.desk = desk;
    this.data = data;
    this.sheet = null;
    this.found = NOTHING;
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

  /** Put the hand back where readings are typed. */
  goOn() {
    this.entry.reading.focus();
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
    Object.assign(this, { sheet: null, begun: false, named: false, asked: null, mark: null, found: NOTHING });
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
    const keys = this.data.rods.map((rod) => button(rod.label, (event) => {
      this.asked.rod = rod.to;
      for (const key of keys) key.setAttribute("aria-pressed", key === event.currentTarget);
    }, { "aria-pressed": rod.to === this.asked.rod }));
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
      button("Begin the book", begin, { class: "go" }),
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
    return { ...told, rod: this.asked.rod, benchmark: this.newMark() };
  }

  /** The benchmark that a new book begins at, where the site has none of that name. */
  newMark() {
    const { name, z } = this.asked;
    return this.data.benchmarks.includes(name) ? undefined : { name, z: number(z) };
  }

  async reduce() {
    const found = await this.desk.call("levels", this.told(this.sheet.text()));
    this.found = found.problems ? found : NOTHING;
  }

  /** Have a change of the lines read; keep it where it can be, else take it back. */
  async change(alter, said) {
    if (this.busy) return { words: "" };
    this.busy = true;
    const restore = this.sheet.remember();
    const line = alter(this.sheet);
    const text = this.sheet.text();
    const found = await this.desk.call("levels", this.told(text));
    const place = line && this.sheet.numbers().get(line);
    const all = found.problems || [{ words: LOST, line: null }];
    const mine = all.filter((each) => each.line === place || each.line === null);
    const others = this.found.problems.map((each) => each.words);
    let wrong = mine.length ? mine : all.filter((each) => !others.includes(each.words));
    if (!wrong.length) {
      const reply = await keep(this.desk, this.data.name, text, this.naming(), said);
      if (reply.is === "refused" || reply.is === "lost") wrong = reply.problems || [{ words: LOST }];
    }
    this.busy = false;
    if (wrong.length) {
      restore();
      return { words: words(wrong) };
    }
    this.found = found;
    this.named = true;
    this.mark = found.mark;
    const { rod, references, walls } = this.data;
    this.around = [rod || this.rod(), ...references, ...walls].join();
    this.root.dataset.kept = String(Number(this.root.dataset.kept || 0) + 1);
    this.show();
    const closed = found.closes.find((each) => each.line === place);
    return { words: "", row: found.rows[place], closed };
  }

  naming() {
    if (!this.data.fresh) return [];
    const mark = this.newMark();
    return [{ do: "add", at: "levels", to: { file: this.data.name, rod: this.asked.rod } },
      ...(mark ? [{ do: "add", at: "benchmark", to: mark }] : [])];
  }

  /** Show what was booked, and what it says of itself. */
  show() {
    const numbers = this.sheet.numbers();
    this.list.replaceChildren(...this.rows().map((line) => this.item(line, numbers.get(line))));
    this.list.scrollTop = this.list.scrollHeight;
    const { closes, says, problems } = this.found;
    this.words.replaceChildren(
      ...problems.map((each) => say(each.words, "fails")),
      ...closes.map((each) => say(each.words, { fail: "fails", warn: "look" }[each.status] ?? "strong")),
      ...says.map((each) => say(each.text, each.tone)),
    );
    this.entry.tell();
    this.root.dataset.ready = "true";
  }

  item(line, place) {
    const row = this.found.rows[place] || {};
    const cell = (name) => this.sheet.cell(line, name);
    const kinds = Object.keys(SIGHTS).filter((name) => cell(name));
    const read = kinds.map((name) => `${SIGHTS[name]} ${cell(name)}`).join(", ");
    const where = [row.marks, row.place, row.instrument && `instrument at ${row.instrument}`];
    const parts = {
      name: cell("point") || `line ${place}`, read: read || "no reading",
      level: row.adjusted || row.elevation || "", place: where.filter(Boolean).join(" · "),
    };
    const shown = button(
      Object.entries(parts).map(([part, text]) => make("span", { class: `sight-${part}` }, text)),
      () => this.entry.edit(line),
      { class: "sight", "data-line": place, "aria-pressed": this.entry.line === line },
    );
    const wrong = this.found.problems.some((each) => each.line === place);
    return make("li", { class: wrong ? "sight-wrong" : "" }, shown);
  }
}
