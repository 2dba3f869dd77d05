// Hands on the plan: mouse, fingers and keys, all through the same few deeds.
import { apart, middle, sub } from "./plane.js";
import { lineAt, targetAt } from "./pick.js";

const FINGER = 24; // pixels from the middle of what is meant
const STILL = 5; // pixels: what moves less is a tap
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

export class Hands {
  constructor(view) {
    this.view = view;
    this.down = new Map(); // pointers that are down, by their number
    const { svg } = view;
    const hear = (kind, heard) => svg.addEventListener(kind, heard);
    hear("pointerdown", (event) => this.#begin(event));
    hear("pointermove", (event) => this.#move(event));
    hear("pointerup", (event) => this.#end(event, true));
    hear("pointercancel", (event) => this.#end(event, false));
    // A finger that is lifted is a click as well, a moment later: it would press a key of the bar
    // that has come to lie there by then, such as Cancel.
    svg.addEventListener("touchend", (event) => event.cancelable && event.preventDefault(), { passive: false });
    hear("keydown", (event) => this.#key(event));
    hear("keyup", (event) => this.#keyUp(event));
    svg.addEventListener("wheel", (event) => {
      event.preventDefault();
      view.zoom(Math.exp(-event.deltaY * (event.deltaMode ? 0.05 : 0.0015)), this.#at(event));
    }, { passive: false });
    view.root.addEventListener("keydown", (event) => {
      if (event.key !== "Escape") return;
      if (view.drawing) view.drawing.cancel();
      else view.choose("");
    });
    svg.addEventListener("focusin", (event) => {
      const key = event.target.dataset?.key;
      if (key && key !== view.chosen && event.target.matches(":focus-visible")) view.choose(key);
    });
    svg.addEventListener("blur", () => this.#letKeysGo(), true);
  }

  #at(event) {
    const box = this.view.svg.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  }

  #begin(event) {
    if (event.button > 0) return;
    this.kind = event.pointerType;
    const { view } = this;
    const at = this.#at(event);
    view.svg.setPointerCapture(event.pointerId);
    this.down.set(event.pointerId, at);
    this.started = at;
    this.moves = false;
    if (this.down.size === 2) {
      if (view.held) view.release();
      this.pinch = this.#spread();
      return;
    }
    const edge = event.target.closest?.("[data-edge]");
    this.target = view.drawing || edge ? null : targetAt(view.picture.targets ?? [], view.win, at, FINGER);
    this.edge = view.drawing ? null : edge?.dataset.edge;
  }

  #spread() {
    const [a, b] = [...this.down.values()];
    return { long: apart(a, b), at: middle(a, b) };
  }

  #move(event) {
    const { view } = this;
    const at = this.#at(event);
    const before = this.down.get(event.pointerId);
    if (!before) {
      if (view.drawing && event.pointerType === "mouse") view.drawing.point(view.win.under(at));
      return;
    }
    this.down.set(event.pointerId, at);
    if (this.down.size === 2) {
      const now = this.#spread();
      view.zoom(now.long / (this.pinch.long || 1), now.at);
      view.pan(sub(now.at, this.pinch.at));
      this.pinch = now;
      this.moves = true;
      return;
    }
    if (!this.moves && apart(at, this.started) < STILL) return;
    if (!this.moves) {
      this.moves = true;
      if (this.target?.moves) {
        view.choose(this.target.key);
        view.hold(this.target);
      }
    }
    if (view.held) view.drag(view.win.under(at));
    else view.pan(sub(at, before));
  }

  #end(event, up) {
    if (!this.down.delete(event.pointerId)) return;
    const { view } = this;
    const at = this.#at(event);
    if (view.held) view.release();
    else if (up && !this.moves && !this.down.size) this.#tap(at);
    this.target = null;
  }

  #tap(at) {
    const { view } = this;
    const place = view.win.under(at);
    if (view.drawing) {
      view.drawing.tap(place);
      return;
    }
    const key = this.edge ?? this.target?.key ?? lineAt(view.plan, view.win, at, 12) ?? "";
    view.choose(key);
    if (this.edge) view.tell.querySelector('[name="length"]')?.select();
    if (key) {
      view.svg.querySelector(`[data-key="${key}"]`)?.focus({ preventScroll: true });
    } else {
      view.desk.see({ place });
    }
  }

  #key(event) {
    const { view } = this;
    const arrow = ARROWS[event.key];
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const key = event.target.dataset?.key;
    const edge = event.target.dataset?.edge;
    const target = key ? view.target(key) : null;
    this.kind = "keys";
    if (view.drawing) {
      this.#drawn(event, arrow);
      return;
    }
    if (arrow && target?.moves) {
      if (view.chosen !== key) view.choose(key);
      view.nudge(view.held ?? target, arrow, event.shiftKey);
    } else if (arrow) view.pan(arrow.map((each) => -each * 40));
    else if (event.key === "+" || event.key === "=") view.zoom(1.25);
    else if (event.key === "-") view.zoom(1 / 1.25);
    else if (event.key === "0") view.fit("all");
    else if ((event.key === "Enter" || event.key === " ") && (key || edge)) {
      view.choose(key ?? edge);
      const first = view.tell.querySelector("details");
      if (first) first.open = true;
      view.tell.querySelector("input, button.btn")?.focus();
    } else if (event.key === "Delete" && target) {
      const button = [...view.tell.querySelectorAll("button")].find((each) => each.textContent === "Remove");
      button?.click();
    } else return;
    event.preventDefault();
  }

  /** While something is drawn, keys move a cross and Enter takes its place. */
  #drawn(event, arrow) {
    const { view } = this;
    const { drawing } = view;
    if (arrow) {
      const step = (event.shiftKey ? (view.plan.unit === "ft" ? 1 : 0.1) : view.plan.unit === "ft" ? 1 / 12 : 0.01);
      const from = drawing.at ?? drawing.points.at(-1) ?? view.win.under(view.frame.map((each) => each / 2));
      const by = view.win.back(arrow).map((each) => Math.round(each) * step);
      drawing.at = [from[0] + by[0], from[1] + by[1]].map((each) => Math.round(each / step) * step);
      drawing.to = [];
      view.paint();
    } else if (event.key === "Enter" && drawing.at) drawing.take(drawing.at);
    else if (event.key === "Enter") drawing.done();
    else if (event.key === "Backspace") drawing.undo();
    else return;
    event.preventDefault();
  }

  #keyUp(event) {
    if (ARROWS[event.key]) this.#letKeysGo();
  }

  #letKeysGo() {
    if (this.view.held && !this.down.size) this.view.release();
  }
}
