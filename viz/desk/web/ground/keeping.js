/** How a grid has its rows read by the desk, and keeps those that can be. */

import { make } from "../dom.js";
import { words } from "../live.js";
import { keep } from "./sheet.js";

/** What a grid is that holds a sheet, and the rows of it that are wrong. */
export class Keeping {
  /** Have the reader look at all of it, and keep the rows that it can read. */
  async check(said) {
    if (said) this.said = said;
    if (this.busy) {
      this.again = true;
      return;
    }
    this.busy = true;
    do {
      this.again = false;
      await this.once();
    } while (this.again);
    this.busy = false;
    this.window();
    this.root.dataset.ready = "true";
  }

  async once() {
    const { name, kind } = this.data;
    let text = this.sheet.text();
    let found = await this.desk.call("check", { name, kind, text });
    if (!found.problems) return this.lost();
    this.marked(found.problems);
    const bad = new Set([...this.wrong.keys()]);
    if (bad.size) {
      text = this.sheet.text(bad);
      found = await this.desk.call("check", { name, kind, text });
      if (!found.problems) return this.lost();
    }
    this.words.replaceChildren(found.words || (bad.size ? "" : "No rows yet."));
    if (bad.size) {
      const waiting = bad.size === 1 ? `Line ${this.sheet.numbers().get([...bad][0])} is`
        : `${bad.size} rows are`;
      this.words.append(make("span", { class: "grid-waits" }, `${waiting} not kept as typed yet.`));
    }
    if (!this.said || text === this.kept || found.problems.length) return undefined;
    const { said } = this;
    this.said = null;
    const reply = await keep(this.desk, name, text, this.data.naming, said);
    if (reply.is === "refused") {
      this.general = words(reply.problems);
      return undefined;
    }
    if (reply.is === "lost") {
      this.said = said;
      return this.lost();
    }
    this.general = "";
    this.sheet.kept(bad);
    this.kept = text;
    this.mark = found.mark;
    this.root.dataset.kept = String(Number(this.root.dataset.kept || 0) + 1);
    return undefined;
  }

  /** The line to the desk is cut: what is typed waits for it. */
  lost() {
    this.general = "The page is not connected: what is typed waits here, and is not kept yet.";
    const ends = this.desk.on("connected", (is) => {
      if (!is) return;
      setTimeout(() => ends());
      this.check();
    });
  }

  /** Mark the rows that the reader told of. */
  marked(problems) {
    const numbers = new Map([...this.sheet.numbers()].map(([line, number]) => [number, line]));
    this.wrong = new Map();
    this.general = "";
    for (const problem of problems) {
      const line = numbers.get(problem.line);
      if (!line || !line.cells || this.sheet.lines.indexOf(line) === this.sheet.head) {
        this.general = this.general || problem.words;
      } else this.wrong.set(line, [...(this.wrong.get(line) || []), problem]);
    }
  }
}
