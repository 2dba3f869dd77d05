// One way of drawing at work: the points so far, what is asked when they are there, what is written.
import { add, apart, leastBy, left, linePath, ruled, sub, unit } from "./plane.js";
import { marksOf, onWall, onward, snapped } from "./snap.js";
import { drawn, make } from "../dom.js";
import { number } from "../live.js";
import { button } from "./parts.js";
import { houseSide, WAYS } from "./tools.js";

export class Drawing {
  /** @param {object} view the plan that is mounted
   *  @param {string} name of the way
   *  @param {object} told what it is begun with */
  constructor(view, name, told) {
    this.view = view;
    this.name = name;
    this.told = told ?? {};
    this.way = WAYS[name];
    this.points = [...(this.told.points ?? [])];
    this.at = null; // where the next point would go
    this.to = []; // what it would go onto
    this.flipped = false;
    this.answers = this.told.answers ?? {};
    this.asking = false;
    this.bar = make("div", { class: "plan-bar", role: "group", "aria-label": this.way.title });
    view.root.append(this.bar);
    if (this.told.points) this.done();
    else this.#draw();
  }

  /** Show where the next point would go, from a point of the yard. */
  point(xy) {
    if (this.asking) return;
    const plan = this.view.plan;
    const found = this.way.wall && plan.house ? onWall(plan, xy, plan.unit) : null;
    const spot = this.way.spots ? leastBy(plan.spots, (each) => apart(each.xy, xy)) : null;
    if (spot) {
      this.at = spot.xy;
      this.to = [{ words: `spot ${spot.id}` }];
    } else if (found) {
      this.at = found.xy;
      this.to = [{ words: `on ${found.wall.name}` }];
    } else {
      const on = marksOf(plan);
      const own = this.points.map((each) => ({ xy: each, words: "" }));
      const guides = [...onward(this.points), ...on.guides];
      const near = snapped(xy, { marks: [...own.slice(0, 1), ...on.marks], guides },
        this.view.reach(), plan.unit);
      this.at = near.xy;
      this.to = near.to.filter((each) => each.words);
    }
    this.view.paint();
  }

  /** Take the point that is shown. */
  tap(xy) {
    if (this.asking) return;
    this.point(xy);
    this.take(this.at);
  }

  /** Take a point of the yard. */
  take(xy) {
    const closes = this.way.closed && this.points.length >= this.way.least;
    if (closes && apart(xy, this.points[0]) < this.view.reach()) {
      this.done();
      return;
    }
    if (this.points.length && apart(xy, this.points.at(-1)) < 1e-6) return;
    if (this.name === "measure" && this.points.length === 2) this.points = [];
    this.points.push(xy);
    this.at = null;
    this.to = [];
    this.view.include(this.points);
    if (this.points.length === this.way.most) this.done();
    else this.#draw();
  }

  /** Take the last point back. */
  undo() {
    if (this.asking) this.asking = false;
    this.points.pop();
    this.#draw();
  }

  /** End it: what is still wanted is asked, then all is written. */
  done() {
    if (this.name === "measure" || this.points.length < this.way.least) {
      this.#draw();
      return;
    }
    this.asking = Boolean(this.way.asks?.length);
    if (this.asking) this.#draw();
    else this.#write({});
  }

  /** Leave everything as it is. */
  cancel() {
    this.bar.remove();
    this.view.ended();
  }

  async #write(answers) {
    const { points, told, flipped } = this;
    const plan = this.view.plan;
    const made = this.way.made({ points, answers, told, plan, flipped, given: this.given });
    const words = await this.view.write(made);
    if (words) {
      this.#draw(words);
      return;
    }
    if (!this.way.again) {
      this.cancel();
      return;
    }
    this.points = [];
    this.answers = this.told.answers ?? {};
    this.asking = false;
    this.#draw();
  }

  /** Draw what is asked now, with what went wrong. */
  #draw(wrong = "") {
    const enough = this.points.length >= this.way.least && this.name !== "measure";
    const asked = this.asking ? this.#asks() : null;
    const say = this.asking ? "Say what is still wanted, then press Done." : this.way.say(this.points.length);
    const told = this.name === "measure" && this.points.length === 2
      ? `${ruled(apart(...this.points), this.view.plan.unit)} apart. ` : "";
    this.bar.replaceChildren(
      make("p", { class: "say", role: "status" }, make("b", {}, `${this.way.title}: `), told, say),
      asked ?? (this.way.typed && this.points.length ? this.#typed() : this.#placed()),
      make("p", { class: "wrong", role: "alert" }, wrong),
      make("div", { class: "row" },
        this.name === "draw-walls" && enough &&
          button("House on the other side", () => { this.flipped = !this.flipped; this.view.paint(); }),
        this.points.length > 0 && button("Undo last point", () => this.undo()),
        (enough || this.asking) && button("Done", () => this.#finish(asked), { class: "btn on" }),
        button(this.way.again ? "Close" : "Cancel", () => this.cancel())));
    // A finger wants no keyboard over the plan until something has to be typed.
    const first = this.bar.querySelector(".row.typing input, .row.asked input");
    if (asked || (first && this.view.hands.kind !== "touch")) first.focus({ preventScroll: true });
    else this.view.svg.focus({ preventScroll: true });
    this.#uncover();
    this.view.paint();
  }

  /** Move the picture down where what is asked would lie over the points that were taken last. */
  #uncover() {
    const { offsetLeft: left, offsetTop: top, offsetWidth: wide, offsetHeight: high } = this.bar;
    const room = 28;
    const under = this.points.slice(-2).map((each) => this.view.win.seen(each))
      .filter(([x, y]) => x > left - room && x < left + wide + room && y < top + high + room)
      .map(([, y]) => top + high + room - y);
    const { win } = this.view;
    if (under.length) win.at = [win.at[0], win.at[1] + Math.max(...under)];
  }

  #finish(asked) {
    if (!asked) {
      this.done();
      return;
    }
    const answers = Object.fromEntries([...asked.querySelectorAll("input")].map((input) =>
      [input.name, input.name === "name" ? input.value.trim() : number(input.value)]));
    const open = this.way.asks.find((each) => !each.optional && answers[each.key] === "");
    this.answers = answers;
    if (open) this.#draw(`${open.label} is still wanted.`);
    else this.#write(answers);
  }

  #asks() {
    const fields = this.way.asks.map(({ key, label, hint }) =>
      make("label", { class: "typed" }, make("span", {}, label),
        make("input", {
          name: key, value: this.answers[key] ?? "", placeholder: hint ? `such as ${hint}` : null,
          autocomplete: "off",
          onkeydown: (event) => {
            if (event.key === "Enter") this.#finish(form);
          },
        })));
    const help = this.way.help ? [make("p", { class: "quiet" }, this.way.help)] : [];
    const form = make("div", { class: "row asked" }, ...fields, ...help);
    return form;
  }

  /** Return what does something once until that is done: pressed twice, it is one point. */
  #once(work) {
    return async () => {
      if (this.measuring) return;
      this.measuring = true;
      try {
        await work();
      } finally {
        this.measuring = false;
      }
    };
  }

  /** Return the fields for an edge that is typed: how long it is, and how it turns. */
  #typed() {
    const go = this.#once(async () => {
      const words = length.value;
      const onward = this.#onward(turn.value, angle.value);
      const long = await this.view.lengths([words]);
      if (typeof long === "string") {
        this.#draw(long);
        return;
      }
      const ahead = length.value === words ? "" : length.value; // typed meanwhile, for the next edge
      this.take(add(this.points.at(-1), onward, long[0]));
      const next = this.bar.querySelector('[name="length"]');
      if (next) next.value = ahead;
    });
    const enter = (event) => event.key === "Enter" && go();
    const length = make("input", {
      name: "length", autocomplete: "off", "aria-label": "Length of the next edge",
      placeholder: this.view.plan.unit === "ft" ? "27' 6\"" : "8.4 m", onkeydown: enter,
    });
    const first = this.points.length === 1;
    const ways = first
      ? [["ahead", "to the right"], ["right", "toward the yard"], ["back", "to the left"], ["left", "away from the yard"]]
      : [["left", "turn left"], ["right", "turn right"], ["ahead", "straight on"], ["angle", "turn by"]];
    const turn = make("select", { name: "turn", "aria-label": "Which way it goes" },
      ...ways.map(([value, words]) => make("option", { value }, words)));
    const angle = make("input", {
      name: "angle", class: "short", inputmode: "decimal", value: "45", "aria-label": "Degrees to the left",
      onkeydown: enter,
    });
    angle.hidden = true;
    turn.addEventListener("change", () => { angle.hidden = turn.value !== "angle"; });
    return make("div", { class: "row typing" }, length, turn, angle,
      button("Add", go));
  }

  /** Return the fields for a place that is typed, behind a line that opens. */
  #placed() {
    const full = this.points.length === this.way.most || this.name === "measure";
    if (this.asking || full) return "";
    const go = this.#once(async () => {
      const at = await this.view.lengths(inputs.map((input) => input.value), true);
      if (typeof at === "string") this.#draw(at);
      else {
        this.given = true; // what is typed lies where it says
        this.take(at);
      }
    });
    const inputs = ["x", "y"].map((name) => make("input", {
      name, autocomplete: "off", onkeydown: (event) => event.key === "Enter" && go(),
    }));
    return make("details", {}, make("summary", {}, "Or type its place"),
      make("div", { class: "row" }, ...inputs.map((input) =>
        make("label", { class: "typed" }, make("span", {}, input.name), input)), button("Add", go)));
  }

  /** Return the way of the next edge, from the last one, or from the screen for the first. */
  #onward(turn, degrees) {
    const count = this.points.length;
    const ahead = count > 1
      ? unit(sub(this.points[count - 1], this.points[count - 2])) : this.view.win.back([1, 0]);
    const by = { ahead: 0, left: 90, right: -90, back: 180, angle: Number(degrees) || 0 }[turn];
    const [c, s] = [Math.cos((by * Math.PI) / 180), Math.sin((by * Math.PI) / 180)];
    return [c * ahead[0] - s * ahead[1], s * ahead[0] + c * ahead[1]].map((each) => Math.round(each * 1e12) / 1e12);
  }

  /** Return what is drawn of it on the ground, in the unit of the site. */
  ground() {
    const shown = this.at && !this.asking ? [...this.points, this.at] : this.points;
    const found = [];
    if (this.name === "draw-walls" && shown.length > 1) {
      const side = houseSide(shown, this.flipped, this.view.plan);
      const deep = (this.view.plan.unit === "ft" ? 2 : 0.6) * side;
      for (let k = 1; k < shown.length; k += 1) {
        const out = left(unit(sub(shown[k], shown[k - 1]))).map((each) => each * deep);
        const strip = [shown[k - 1], shown[k], add(shown[k], out), add(shown[k - 1], out)];
        found.push(drawn("path", { class: "house", d: linePath(strip, true) }));
      }
    }
    if (this.way.closed && shown.length > 2) {
      found.push(drawn("path", { class: "paving begun", d: linePath(shown, true) }));
    }
    if (shown.length > 1) found.push(drawn("path", { class: "begun", d: linePath(shown) }));
    return found;
  }

  /** Return its signs, that keep their size: points, the cross of the pointer, what it goes onto. */
  signs(win) {
    const dot = (xy, kind) => drawn("circle", { class: kind, cx: win.seen(xy)[0], cy: win.seen(xy)[1], r: 7 });
    const found = this.points.map((xy) => dot(xy, "begun-point"));
    for (const each of this.to) {
      if (each.line) found.push(drawn("path", { class: "guide", d: linePath(each.line.map((xy) => win.seen(xy))) }));
    }
    if (this.at && !this.asking) {
      const [x, y] = win.seen(this.at);
      found.push(drawn("path", { class: "cross", d: `M${x - 14} ${y}H${x + 14}M${x} ${y - 14}V${y + 14}` }));
    }
    return found;
  }

  /** Say what the next point would be: how far on, and what it goes onto. */
  words() {
    if (!this.at || this.asking) return [];
    const last = this.points.at(-1);
    const long = last && this.way.most !== 1 ? [ruled(apart(last, this.at), this.view.plan.unit)] : [];
    return [...long, ...this.to.map((each) => each.words).slice(0, 2)];
  }
}
