/**
 * A file of points as a table to type into: spots, test holes, or a level book.
 *
 * What is wrong in a cell is said by the reader of the file. A row that cannot be read yet stays in
 * the table, and is no part of the file until it can. Only the rows in view are in the page.
 */

import { lasting } from "../blocks.js";
import { inCells } from "./cells.js";
import { button, make, styled } from "../dom.js";
import { Keeping } from "./keeping.js";
import { Sheet } from "./sheet.js";

const ROW = 46; // pixels, a finger high
const AROUND = 8; // rows kept above and below those in view
const OFFERED = {
  spots: ["id", "code", "note"],
  holes: ["area"],
  book: ["distance", "x", "y", "wall", "along", "out", "side", "code", "note"],
};
const SAID = { spots: "spot", holes: "test hole", book: "reading" };
const WIDE = { z: "6rem", id: "3.8rem", code: "5rem", note: "11rem", point: "8rem", area: "7rem" };

/** Draw the grid of a file into an element. */
export function draw(element, data, desk) {
  styled("/web/ground/ground.css");
  lasting(element, data.key, desk, () => new Grid(data, desk)).update(data);
}

class Grid extends Keeping {
  constructor(data, desk) {
    super();
    this.desk = desk;
    this.data = data;
    this.mark = null; // of the text that is kept
    this.kept = ""; // that text
    this.sheet = null;
    this.wrong = new Map(); // line -> [{column, words}]: these are not kept as they are typed
    this.odd = new Map(); // number of a line -> {column, words, tone}: what the whole says of it
    this.shown = new Map(); // line -> its row in the page
    this.at = { line: null, column: 0, first: 0 };
    this.build();
  }

  build() {
    this.words = make("p", { class: "grid-words", role: "status" });
    this.body = make("div", { class: "grid-body", role: "rowgroup" });
    this.headRow = make("div", { class: "grid-row grid-head", role: "row" });
    this.table = make(
      "div", { class: "grid-table", role: "grid", "aria-label": this.data.label || this.data.name },
      make("div", { role: "rowgroup", class: "grid-heads" }, this.headRow), this.body,
    );
    this.sentence = make("p", {
      class: "grid-sentence", id: `wrong-${idOf(this.data)}`, "aria-live": "polite",
    });
    this.box = make(
      "div", { class: "grid-box", "data-scrolls": true, onscroll: () => this.window() }, this.table, this.sentence,
    );
    this.addButton = button("Add a row", () => this.addRow());
    this.outButton = button("", () => this.removeRow());
    this.bar = make("div", { class: "grid-bar" }, this.addButton, this.outButton);
    this.hint = make(
      "p", { class: "grid-hint" },
      "Enter goes down, Tab goes on, Esc leaves the table. A block copied from a spreadsheet is " +
        "pasted where the cursor stands.",
    );
    this.root = make(
      "div", { class: "grid-block" }, this.words, this.box, this.bar, this.hint,
    );
    this.shows(false); // until it is read
    inCells(this);
    document.addEventListener("focusin", (event) => {
      this.inHand = this.box.contains(event.target);
    });
  }

  /** Put the hand back into the cell that it was in. */
  goOn() {
    this.goTo(this.at.line, this.at.column);
  }

  /** Take what the desk tells of the file. */
  async update(data) {
    this.data = data;
    this.odd = new Map((data.marked || []).map((each) => [each.line, each]));
    if (data.told) {
      this.words.textContent = data.told;
      this.shows(false);
      return;
    }
    if (this.sheet && (data.mark === this.mark || this.busy)) {
      this.window();
      return;
    }
    if (this.loading === data.mark) return;
    this.loading = data.mark;
    const answer = await this.desk.call("sheet", { name: data.name, kind: data.kind });
    this.loading = null;
    if (this.busy) return;
    this.take(answer, data);
  }

  /** Show the table with what belongs to it, or the words alone. */
  shows(is) {
    this.box.hidden = this.bar.hidden = this.hint.hidden = !is;
  }

  take(answer, data) {
    if (!answer.sheet || !answer.sheet.short) {
      const count = answer.sheet ? answer.sheet.rows.toLocaleString("en") : "";
      this.words.textContent = answer.sheet
        ? `${data.name} holds ${count} rows: too many for a table, so it is read as it lies.`
        : answer.words.join(" ");
      this.shows(false);
      return;
    }
    this.shows(true);
    const pending = this.sheet ? [...this.wrong].filter(([line]) => this.unread(line)) : [];
    const number = this.sheet && this.at.line ? this.sheet.numbers().get(this.at.line) : 0;
    this.sheet = new Sheet(answer.sheet);
    this.sheet.offer(OFFERED[data.kind] || []);
    this.mark = answer.sheet.mark;
    this.kept = this.sheet.text();
    this.wrong = new Map();
    for (const [line, problems] of pending) {
      const held = this.sheet.hold(line);
      if (held) this.wrong.set(held, problems);
    }
    this.spare();
    const numbers = this.sheet.numbers();
    const again = this.sheet.rows().find((line) => numbers.get(line) === number);
    this.at = { ...this.at, line: again || null };
    this.render();
    this.check();
  }

  /** Return whether a row is held here alone: it cannot be read yet. */
  unread(line) {
    return line.changed && line.cells.some((cell) => cell) && this.sheet.lines.includes(line);
  }

  /** Keep one empty row at the end to type into. */
  spare() {
    const last = this.rows().at(-1);
    if (!last || last.cells.some((cell) => cell)) this.sheet.add();
  }

  rows() {
    return this.sheet.rows();
  }

  /** Draw the header and the rows in view anew. */
  render() {
    const { columns } = this.sheet;
    const wide = columns.map((each) => WIDE[each.reads] || "5.2rem");
    wide.push(`minmax(${wide.pop()}, 1fr)`);
    this.table.style.setProperty("--cells", `3.2rem ${wide.join(" ")}`);
    this.headRow.replaceChildren(
      make("span", { role: "columnheader", class: "grid-number" }, "line"),
      ...columns.map((each) => make(
        "span", { role: "columnheader", class: each.reads ? "" : "grid-unread" },
        each.label || each.head,
      )),
    );
    this.shown.forEach((row) => row.remove());
    this.shown.clear();
    this.window();
  }

  /** Hold the rows in view in the page, and no others but the one that is typed into. */
  window() {
    if (!this.sheet) return;
    const rows = this.rows();
    const first = Math.max(0, Math.floor(this.box.scrollTop / ROW) - AROUND);
    const last = Math.min(
      rows.length, Math.ceil((this.box.scrollTop + this.box.clientHeight) / ROW) + AROUND,
    );
    const wanted = new Set(rows.slice(first, Math.max(last, first + 24)));
    if (this.at.line && rows.includes(this.at.line)) wanted.add(this.at.line);
    for (const [line, row] of this.shown) {
      if (!wanted.has(line)) {
        row.remove();
        this.shown.delete(line);
      }
    }
    const numbers = this.sheet.numbers();
    this.body.style.height = `${rows.length * ROW}px`;
    this.table.setAttribute("aria-rowcount", rows.length + 1);
    let after = null;
    for (const [place, line] of rows.entries()) {
      if (!wanted.has(line)) continue;
      let row = this.shown.get(line);
      if (!row) {
        row = this.row(line);
        this.shown.set(line, row);
        if (after) after.after(row);
        else this.body.prepend(row);
      }
      after = row;
      row.style.top = `${place * ROW}px`;
      row.setAttribute("aria-rowindex", place + 2);
      row.firstChild.textContent = numbers.get(line);
      this.mind(line, row, numbers.get(line));
    }
    this.tell();
  }

  row(line) {
    const cells = this.sheet.columns.map((column, at) => {
      const input = make("input", {
        type: "text", autocomplete: "off", autocapitalize: "off", spellcheck: "false",
        enterkeyhint: "next", tabindex: "-1",
      });
      input.value = line.cells[at] || "";
      input.cell = { line, at, shown: input.value };
      return make("span", { role: "gridcell", class: column.reads ? "" : "grid-unread" }, input);
    });
    const number = make("span", {
      role: "rowheader", class: "grid-number", onclick: () => this.goTo(line, 0),
    });
    return make("div", { class: "grid-row", role: "row" }, number, ...cells);
  }

  /** Mark what is wrong in a row, and name its cells. */
  mind(line, row, number) {
    const wrong = (this.wrong.get(line) || []).filter((each) => this.counts(line, each));
    const odd = wrong.length ? null : this.odd.get(number);
    row.classList.toggle("grid-wrong", wrong.length > 0 || odd?.tone === "fails");
    row.classList.toggle("grid-odd", odd?.tone === "look");
    row.classList.toggle("grid-settled", odd?.tone === "settled");
    row.classList.toggle("grid-now", this.at.line === line);
    this.sheet.columns.forEach((column, at) => {
      const input = row.children[at + 1].firstChild;
      const its = wrong.find((each) => each.column === at || each.column === null);
      const named = wrong.some((each) => each.column === at)
        || (odd?.tone === "fails" && odd.column === at);
      input.setAttribute("aria-label", `${column.label || column.head}, line ${number}`);
      input.setAttribute("aria-invalid", named ? "true" : "false");
      if (its || odd) input.setAttribute("aria-describedby", this.sentence.id);
      else input.removeAttribute("aria-describedby");
      const here = this.at.line === line && this.at.column === at;
      input.tabIndex = here || (!this.at.line && row === this.body.firstChild && at === 0) ? 0 : -1;
    });
  }

  /** Whether a wrong cell is to be marked: one that is empty is not while its row is typed. */
  counts(line, problem) {
    if (this.at.line !== line || !this.root.contains(document.activeElement)) return true;
    return problem.column !== null && Boolean(line.cells[problem.column]);
  }

  /** Say what is wrong in the cell that the cursor is in, else where the first wrong one is. */
  tell() {
    const { line, column } = this.at;
    const own = (line && this.wrong.get(line)) || [];
    const mine = own.filter((each) => this.counts(line, each));
    const here = mine.find((each) => each.column === column) || mine[0];
    const others = [...this.wrong].filter(([each, list]) => this.sheet.lines.includes(each)
      && list.some((one) => this.counts(each, one)));
    const odd = line && this.odd.get(this.sheet.numbers().get(line));
    if (here) this.sentence.textContent = here.words;
    else if (odd) this.sentence.textContent = odd.words;
    else if (others.length) {
      const [first, [{ words, column: wrong }]] = others[0];
      this.sentence.replaceChildren(button(words, () => this.goTo(first, Math.max(0, wrong || 0)),
        { class: "grid-first" }));
    } else this.sentence.textContent = this.general || "";
    const tone = here ? "" : odd?.tone;
    this.sentence.classList.toggle("grid-look", tone === "look");
    this.sentence.classList.toggle("grid-done", tone === "settled");
    this.sentence.classList.toggle(
      "grid-fails", tone !== "look" && tone !== "settled" && Boolean(here || odd || others.length || this.general),
    );
    const number = line ? this.sheet.numbers().get(line) : 0;
    this.outButton.textContent = line ? `Take out line ${number}` : "Take out a line";
    this.outButton.disabled = !line;
  }

  goTo(line, column) {
    const place = this.rows().indexOf(line);
    if (place < 0) return;
    this.at = { line, column, first: column };
    const top = place * ROW;
    if (top < this.box.scrollTop) this.box.scrollTop = top;
    const under = top + 2 * ROW - this.box.clientHeight + this.sentence.offsetHeight + 8;
    if (under > this.box.scrollTop) this.box.scrollTop = under;
    this.window();
    const input = this.shown.get(line).children[column + 1].firstChild;
    if (document.activeElement !== input) input.focus({ preventScroll: true });
    input.scrollIntoView({ block: "nearest", inline: "nearest" });
    input.select();
  }

  addRow() {
    this.spare();
    this.render();
    this.goTo(this.rows().at(-1), 0);
  }

  removeRow() {
    const { line } = this.at;
    if (!line) return;
    const rows = this.rows();
    const next = rows[rows.indexOf(line) + 1];
    const number = this.sheet.numbers().get(line);
    this.sheet.remove(line);
    this.wrong.delete(line);
    this.spare();
    this.at.line = null;
    this.render();
    if (next) this.goTo(next, this.at.column);
    this.check(`line ${number} taken out of ${this.data.name}`);
  }

  /** A cell was typed: look at it, and keep what can be read. */
  typed(cell, text) {
    const { line, at, shown } = cell;
    if (text === shown) return; // another one may have been laid over it since
    cell.shown = text;
    if (!this.sheet.put(line, at, text.trim())) return;
    this.spare();
    this.window();
    this.check(`${SAID[this.data.kind]} in line ${this.sheet.numbers().get(line)}`);
  }

  /** Lay rows that were pasted over those from a row on. */
  lay(line, rows) {
    let here = line;
    for (const cells of rows) {
      cells.forEach((cell, at) => {
        if (cell !== null) this.sheet.put(here, at, cell);
      });
      const all = this.rows();
      here = all[all.indexOf(here) + 1] || this.sheet.add();
    }
    this.spare();
    this.render();
    this.check(`${rows.length} rows pasted into ${this.data.name}`);
  }
}

function idOf(data) {
  return `${data.kind}-${data.name}`.replace(/[^a-z0-9-]/gi, "-");
}
