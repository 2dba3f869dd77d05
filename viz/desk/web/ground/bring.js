/** A file of points or a scan brought in: what is understood of it is shown before it is taken. */

import { lasting, say, tabled } from "../blocks.js";
import { button, make, styled } from "../dom.js";

const TAKEN = ".csv,.txt,.geojson,.json,.dxf,.xml,.landxml,.xlsx,.xlsm,.las,.laz,.ply,.xyz,.pts,.asc";
const ASKS = {
  units: {
    words: "What are its numbers measured in?",
    ways: [["ft", "feet"], ["m", "metres"], ["us-ft", "US survey feet"]],
  },
  way: {
    words: "Which is it?",
    ways: [["points", "points: name, north, east, level"], ["scan", "a scan: x, y, z"]],
  },
};

/** Draw what brings a file in into an element. */
export function draw(element, data, desk) {
  styled("/web/ground/ground.css");
  lasting(element, data.key, desk, () => new Bring(desk));
}

class Bring {
  constructor(desk) {
    this.desk = desk;
    this.told = {};
    this.input = make("input", {
      type: "file", hidden: true, id: "bring-file", accept: TAKEN,
      onchange: () => this.send(this.input.files[0]),
    });
    this.pick = button([
      make("span", { class: "word" }, "Choose a file, or drop it here"),
      make("span", { class: "note" }, "points: CSV, GeoJSON, DXF, LandXML, XLSX; scans: LAS, LAZ, PLY, XYZ"),
    ], () => this.input.click(), { class: "drop" });
    this.said = make("div", { class: "bring-said", role: "status" });
    this.root = make("div", { class: "form bring" }, this.input, this.pick, this.said);
    this.root.addEventListener("dragover", (event) => {
      event.preventDefault();
      this.pick.classList.add("over");
    });
    this.root.addEventListener("dragleave", () => this.pick.classList.remove("over"));
    this.root.addEventListener("drop", (event) => {
      event.preventDefault();
      this.pick.classList.remove("over");
      this.send(event.dataTransfer.files[0]);
    });
  }

  async send(file) {
    if (!file) return;
    const sent = await this.sent(file);
    if (!sent) return;
    this.told = { file: sent, name: file.name };
    this.understand();
  }

  /** Send a file; return what it is called there, or nothing where it was not taken. */
  async sent(file) {
    this.input.value = "";
    this.say(`sending ${file.name} ...`);
    let reply;
    try {
      reply = await fetch(`/survey?name=${encodeURIComponent(file.name)}`, {
        method: "POST", body: file,
      });
    } catch {
      return this.say("The page is not connected: nothing was sent.", "fails");
    }
    if (reply.status === 413) return this.say(`${file.name} is larger than is taken here.`, "fails");
    if (!reply.ok) return this.say("This page may not bring files in.", "fails");
    return (await reply.json()).file;
  }

  async understand() {
    this.say(`reading ${this.told.name} ...`);
    const found = await this.desk.call("import", this.told, (busy) => this.say(busy.words));
    if (found.problems === undefined) return this.say("It could not be read.", "fails");
    return found.problems.length ? this.wanting(found) : this.show(found);
  }

  /** Say what is wrong, and ask for what the file does not say itself. */
  wanting(found) {
    const asks = ASKS[found.asked];
    const words = found.problems.map((each) => say(each, asks ? "look" : "fails"));
    if (found.asked === "part") {
      const input = make("input", { type: "text", id: "bring-part", autocomplete: "off" });
      const go = () => {
        this.told.part = input.value.trim();
        if (this.told.part) this.understand();
      };
      input.addEventListener("keydown", (event) => event.key === "Enter" && go());
      words.push(make("label", { for: input.id, class: "label" }, "Which layer, surface or sheet?"),
        make("div", { class: "row" }, input, button("Read it", go)));
    } else if (asks) {
      words.push(make("p", { class: "label" }, asks.words),
        make("div", { class: "choice" }, asks.ways.map(([to, label]) => button(label, () => {
          this.told[found.asked] = to;
          this.understand();
        }, { "data-to": to }))));
    }
    this.said.replaceChildren(...words);
  }

  /** Show what was understood, and the ways to take it. */
  show(found) {
    const heads = ["file", "kind", "points", "breaklines", "unit", "told by"];
    const kept = found.kept.map(([name, came, left]) => make("li", {}, `${name}: ${came} came, ${left} left`));
    this.said.replaceChildren(
      say(found.words, "strong"),
      tabled(heads, found.files, "what was read"),
      make("details", {}, make("summary", {}, "What was kept of it"), make("ul", {}, kept)),
      this.laid(found),
      ...found.remarks.map((each) => say(each, "look")),
      make("div", { class: "row" },
        found.ways.map(({ into, label }, place) =>
          button(label, () => this.take(found, into), { class: place ? "" : "go", "data-into": into })),
        button("Leave it", () => this.say(""), { class: "away" })),
    );
  }

  /** How it lies on the yard, and what lays it there by points in common. */
  laid(found) {
    const input = make("input", {
      type: "file", hidden: true, accept: ".csv,.txt",
      onchange: async () => {
        const sent = input.files[0] && (await this.sent(input.files[0]));
        if (!sent) return;
        this.told.common = sent;
        this.understand();
      },
    });
    const up = button("Its y points up", () => {
      this.told.up = this.told.up === "y" ? "" : "y";
      this.understand();
    }, { "aria-pressed": this.told.up === "y" });
    const { laid } = found;
    return make(
      "details", { open: Boolean(laid) }, make("summary", {}, "Lay it onto the yard"),
      laid && [say(laid.words, "plain"), tabled(laid.heads, laid.rows, "points in common")],
      say("A file of three points or more that were measured on the yard and are seen in it, with the "
        + "header point, x, y, z, scan x, scan y, scan z.", "quiet"),
      input,
      make("div", { class: "row" }, button("Points in common", () => input.click()), found.scan && up),
    );
  }

  async take(found, into) {
    const reply = await this.desk.call("take", { key: found.key, into });
    if (reply.problems && reply.problems.length) return this.say(reply.problems.join(" "), "fails");
    return this.say(`Taken: ${found.words}`);
  }

  say(words, tone = "plain") {
    this.said.replaceChildren(say(words, tone));
  }
}
