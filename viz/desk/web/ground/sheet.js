/**
 * A csv file as a grid holds it: every line of it, so that remarks stay where they are and a row
 * that nobody touched is written back as it was. No number is made here.
 */

/**
 * @typedef {{head: string, reads: string, label: string, added?: boolean}} Column
 * @typedef {{raw: string, cells: string[] | null, changed?: boolean, good?: string}} Line
 *   `good` is the row as it was kept last: it stays in the file while what is typed cannot be read
 */

/** The lines of one file. */
export class Sheet {
  /** @param {object} record as the desk tells it */
  constructor(record) {
    this.name = record.name;
    this.sign = record.sign;
    /** @type {Column[]} */
    this.columns = record.columns.map((each) => ({ ...each }));
    /** @type {Line[]} */
    this.lines = record.lines.map((each) => ({ ...each, good: each.raw }));
    this.head = this._place(record.head_line);
  }

  /** Add columns that the file has not: they are written once a cell of them is. */
  offer(names) {
    for (const name of names) {
      if (!this.columns.some((each) => each.reads === name)) {
        this.columns.push({ head: name, reads: name, label: name, added: true });
      }
    }
  }

  /** @returns {Line[]} the rows below the header, in order */
  rows() {
    return this.lines.filter((each, place) => each.cells !== null && place > this.head);
  }

  /** @param {string} reads @returns {number} the place of a column, -1 for none */
  column(reads) {
    return this.columns.findIndex((each) => each.reads === reads);
  }

  /** @returns {string} what a row has in a column */
  cell(line, reads) {
    const at = this.column(reads);
    return at < 0 ? "" : line.cells[at] || "";
  }

  /** Write a cell; a column that it is the first of is put into the file. */
  put(line, at, text) {
    const column = this.columns[at];
    if ((line.cells[at] || "") === text) return false;
    if (column.added && text) {
      column.added = false;
      const head = this.lines[this.head];
      head.changed = true;
    }
    while (line.cells.length <= at) line.cells.push("");
    line.cells[at] = text;
    line.changed = true;
    return true;
  }

  /** Add an empty row after another, or at the end. @returns {Line} */
  add(after) {
    const line = { raw: "", cells: this.columns.map(() => ""), changed: true };
    const at = after ? this.lines.indexOf(after) + 1 : this.lines.length;
    this.lines.splice(at, 0, line);
    return line;
  }

  /**
   * Hold a row of an older text that could not be read: in the place of the row that it was
   * before, or as a new one. @returns {Line | null} null where that row is gone
   */
  hold(line) {
    if (!line.good) {
      this.lines.push(line);
      return line;
    }
    const here = this.rows().find((each) => each.raw === line.good);
    if (!here) return null;
    here.cells = line.cells;
    here.changed = true;
    return here;
  }

  /** Take a row out. */
  remove(line) {
    this.lines = this.lines.filter((each) => each !== line);
  }

  /** @returns {() => void} what brings all lines back to how they are now */
  remember() {
    const lines = [...this.lines];
    const columns = this.columns.map((each) => ({ ...each }));
    const held = lines.map(({ cells, changed }) => ({ cells: cells && [...cells], changed }));
    return () => {
      lines.forEach((line, place) => Object.assign(line, held[place]));
      this.lines = lines;
      this.columns = columns;
    };
  }

  /** @returns {Map<Line, number>} the number that each line has in the file */
  numbers() {
    const found = new Map();
    let number = 1;
    for (const line of this.lines) {
      found.set(line, number);
      number += line.changed ? 1 : line.raw.split("\n").length;
    }
    return found;
  }

  /** @param {Set<Line>} [wrong] rows that are written as they were kept last @returns {string} */
  text(wrong) {
    const written = this.lines.map((line, place) => {
      if (wrong && wrong.has(line)) return line.good || "";
      if (!line.changed) return line.raw;
      return place === this.head ? this._header() : this._row(line);
    });
    while (written.length && written[written.length - 1] === "" && this.lines[written.length - 1].changed) {
      written.pop();
    }
    return `${written.join("\n")}\n`;
  }

  /** The rows are kept as they stand, but for those that are wrong. */
  kept(wrong) {
    this.lines.forEach((line, place) => {
      if (!line.cells || wrong.has(line) || place === this.head) return;
      line.good = line.changed ? this._row(line) : line.raw;
    });
  }

  _header() {
    return this._own(this.columns.map((each) => each.head)).map((cell) => this._quoted(cell))
      .join(this.sign);
  }

  _row(line) {
    if (!line.cells.some((cell) => cell)) return "";
    const cells = this.columns.map((_, at) => line.cells[at] || "");
    return this._own(cells).map((cell) => this._quoted(cell)).join(this.sign);
  }

  _own(cells) {
    return cells.filter((_, at) => !this.columns[at].added);
  }

  _quoted(cell) {
    const plain = cell.replace(/[\r\n]+/g, " ").trim();
    const odd = plain.includes(this.sign) || /^["#]/.test(plain);
    return odd ? `"${plain.replace(/"/g, '""')}"` : plain;
  }

  _place(number) {
    let at = 1;
    for (let place = 0; place < this.lines.length; place += 1) {
      if (at === number) return place;
      at += this.lines[place].raw.split("\n").length;
    }
    return 0;
  }
}

/** Keep a file, and what of the document names it, as one step of undo. */
export function keep(desk, name, text, changes, said) {
  return desk.file(name, text, { said, changes: changes && changes.length ? changes : undefined, own: true });
}
