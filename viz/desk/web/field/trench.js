// The screen in the trench: stake by stake the reading of the rod for a layer, the instrument and
// where it stood, shots of what was built, and the text that gives them back. It works in the desk,
// which keeps what is booked beside the site, and in a file opened with no connection.
import { make, styled } from "../dom.js";
import { choice, figure, screenKey, tabs, timeOf, yard } from "./parts.js";
import { giveScreen, instrumentScreen, listScreen, shotScreen } from "./screens.js";
import {
  areaNamed, browserStore, deskStore, heldAgainst, nothingKept, shotsAt, shotsOf, stakeNamed,
  standing, together,
} from "./kept.js";
import { filled, levelText, offText, rodAt, rodText, rodWords, sightOf } from "./rods.js";

const screens = new WeakMap();

/**
 * Draw the screen into an element; of the plan that it shows already it goes on where it is.
 * @param {HTMLElement} element
 * @param {object} data as `viz/desk/field/trench.py` tells it
 * @param {object} host the desk, or `{paper: () => void}` of a file
 */
export function draw(element, data, host) {
  // A file to take away holds its style already.
  if (host?.call) styled("/web/field/trench.css");
  const before = screens.get(element);
  if (before && JSON.stringify(before.data) === JSON.stringify(data)) {
    before.again();
    return before;
  }
  before?.leave();
  const store = host?.call ? deskStore(data.number, host)
    : browserStore(data.number);
  const screen = new Trench(element, data, store, host);
  screens.set(element, screen);
  screen.show();
  screen.begin();
  return screen;
}

class Trench {
  constructor(element, data, store, host) {
    Object.assign(this, { element, data, store, host });
    this.kept = nothingKept();
    this.view = "rods";
    this.said = "";
    this.storing = 0;
    this.wide = false;
    this.marks = data.rod;
    [this.area] = data.areas;
    [this.stake] = this.area.stakes;
    this.recall();
    element.classList.add("trench");
    this.left = new AbortController();
    const { signal } = this.left;
    element.addEventListener("keydown", (event) => this.pressed(event), { signal });
    // Whoever closes the page before the last of it is stored is asked first.
    window.addEventListener("beforeunload", (event) => {
      if (this.storing || !this.store.safe) event.preventDefault();
    }, { signal });
  }

  /** Give the element up to another plan. */
  leave() {
    this.fill(false);
    this.left.abort();
    this.show = () => {};
  }

  /** Take up what was kept, and ask for the instrument where none stands. */
  async begin() {
    this.kept = together(await this.store.load(), this.kept);
    if (!standing(this.kept) && this.data.benchmarks.length && !this.recalled) this.view = "sight";
    this.show();
    // Whoever came for the trench alone, on a phone, looks at nothing else.
    if (this.host?.state?.rights === "field" && window.innerWidth < 760) this.fill(true);
    this.element.dataset.ready = "1";
  }

  /** Take up what was kept since by another screen on the same plan; give what was not stored. */
  async again() {
    const unsafe = !this.store.safe;
    const found = await (unsafe ? this.store.store(this.kept) : this.store.load());
    const kept = together(found, this.kept);
    if (unsafe === !this.store.safe && JSON.stringify(kept) === JSON.stringify(this.kept)) return;
    const moved = standing(kept)?.id !== standing(this.kept)?.id;
    this.kept = kept;
    if (moved && this.view === "sight") this.view = "rods";
    this.show();
  }

  /** Let the screen fill the window of the desk, or give the page back; nothing else is in reach. */
  fill(wide) {
    if (this.wide === wide || !this.host?.call) return;
    this.wide = wide;
    this.element.classList.toggle("tr-wide", wide);
    for (let inner = this.element; inner !== document.body && inner; inner = inner.parentElement) {
      for (const beside of inner.parentElement?.children ?? []) {
        if (beside !== inner) beside.inert = wide;
      }
    }
    this.show();
  }

  /** Keep one thing more: shown at once, and said to be kept when it is stored, not before. */
  async keep(more, said = "") {
    const { storing } = this.data.labels;
    const unsafe = !this.store.safe;
    this.kept = together(this.kept, { ...nothingKept(), ...more });
    if (said) Object.assign(this, { said: storing, waits: more });
    this.storing += 1;
    this.show();
    this.kept = together(await this.store.store(this.kept), this.kept);
    this.storing -= 1;
    const waited = this.waits === more && this.said === storing;
    if (waited) this.said = this.store.safe ? said : "";
    if (unsafe || !this.store.safe) this.show();
    else if (waited) (this.look ?? this.show).call(this); // what is being typed stays
    this.element.dataset.stored = String(Number(this.element.dataset.stored ?? 0) + 1);
  }

  // Where this device was looking, which is no one else's business.
  get place() {
    return `fallaway trench at ${this.data.number}`;
  }

  recall() {
    let at = null;
    try {
      at = JSON.parse(window.localStorage.getItem(this.place) ?? "null");
    } catch { /* a browser that keeps nothing begins at the first stake */ }
    this.recalled = Boolean(at);
    const area = areaNamed(this.data, at?.area);
    const stake = stakeNamed(area, at?.stake);
    if (stake) Object.assign(this, { area, stake });
    this.layer = this.layerLike({ name: at?.layer });
    if (this.data.marks.some((each) => each.name === at?.marks)) this.marks = at.marks;
  }

  remember() {
    const at = { area: this.area.name, stake: this.stake.name, layer: this.layer.name,
      marks: this.marks };
    try {
      window.localStorage.setItem(this.place, JSON.stringify(at));
    } catch { /* the same */ }
  }

  /** The layer of the stake at hand that is like another: by its name, its role, else the lowest. */
  layerLike(layer) {
    const own = this.layers; // what is filled up again has a bottom only where it is
    return own.find((each) => each.name === layer?.name)
      ?? own.find((each) => each.role === layer?.role) ?? own[own.length - 1];
  }

  get layers() {
    return this.area.layers.filter((each) => each.name in this.stake.z);
  }

  get height() {
    const setup = standing(this.kept);
    return setup ? sightOf(this.data, setup) : null;
  }

  /** What the rod reads on a layer of the stake at hand, or why it reads nothing. */
  rod(layer) {
    const { data } = this;
    if (this.height === null) return { text: this.stake.level[layer.name] };
    const metres = rodAt(this.height, this.stake.z[layer.name]);
    const told = { layer: layer.name };
    if (metres < 0) return { none: filled(data.labels.above_sight, told) };
    if (metres > data.rod_length) return { none: filled(data.labels.beyond_rod, told) };
    return { text: rodText(data, metres, this.marks),
      words: rodWords(data, metres, this.marks) };
  }

  go(view, said = "") {
    this.view = view;
    this.said = said;
    this.show();
    // What is read first is at the top, wherever the last screen was scrolled to.
    this.element.scrollTop = 0;
    if (this.element.getBoundingClientRect().top < 0) this.element.scrollIntoView();
  }

  to(area, stake) {
    const before = this.layer;
    this.area = area;
    this.stake = stake;
    this.layer = this.layerLike(before);
    this.said = "";
    this.remember();
  }

  /** The stake so many further on, through every area. */
  further(by) {
    const all = this.data.areas.flatMap((area) => area.stakes.map((stake) => [area, stake]));
    const now = all.findIndex(([, stake]) => stake === this.stake);
    return all[(now + by + all.length) % all.length];
  }

  walk(by) {
    this.to(...this.further(by));
    this.show();
  }

  /** The next stake whose layer at hand has no shot; where all have one, simply the next. */
  toNextLeft() {
    const all = this.data.areas.length * Math.max(...this.data.areas.map((a) => a.stakes.length));
    const like = this.layer;
    for (let by = 1; by <= all; by += 1) {
      const [area, stake] = this.further(by);
      const layer = area.layers.find((each) => each.built === like.built);
      if (layer && layer.name in stake.z && !shotsAt(this.kept, area.name, stake.name, layer.name).length) {
        this.to(area, stake);
        return;
      }
    }
    this.to(...this.further(1));
  }

  pressed(event) {
    if (event.key === "Escape" && this.wide) this.fill(false);
    if (event.target.matches?.("input, textarea, [role=tab]") || event.altKey || event.ctrlKey) return;
    const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (!by || !["rods", "shot"].includes(this.view)) return;
    event.preventDefault();
    this.walk(by);
  }

  /** Draw what is looked at, and put the focus where it was. */
  show() {
    const held = this.element.contains(document.activeElement)
      ? document.activeElement.dataset.key : undefined;
    const screens = { rods: () => this.rodsScreen(), shot: shotScreen, sight: instrumentScreen,
      list: listScreen, give: giveScreen, stop: () => this.stopScreen() };
    if (this.data.stop.why.length && !["list", "give"].includes(this.view)) this.view = "stop";
    this.look = null;
    this.element.replaceChildren(["shot", "stop"].includes(this.view) ? "" : this.head(), screens[this.view](this));
    this.element.dataset.view = this.view;
    const again = held && this.element.querySelector(`[data-key="${CSS.escape(held)}"]`);
    if (again) again.focus();
    else if (held) this.element.querySelector("input, [aria-selected=true], button")?.focus();
  }

  head() {
    const { data } = this;
    const { labels } = data;
    const setup = standing(this.kept);
    const last = this.kept.checks.filter((each) => each.setup === setup?.id).pop();
    const words = setup ? [
      filled(labels.sight, { benchmark: setup.benchmark, time: timeOf(setup.id) }),
      last ? filled(labels.checked, { time: timeOf(last.id) }) : "",
    ].filter(Boolean).join(", ") : filled(labels.plan, { number: data.number });
    const title = setup ? levelText(data, this.height) : labels.no_sight;
    return make("div", { class: "tr-head" },
      make("div", {}, make("strong", {}, title), make("p", {}, words)),
      this.view === "sight" || !data.benchmarks.length ? null
        : screenKey(setup ? labels.moved : labels.set_up, "moved", () => this.go("sight")));
  }

  layerTabs() {
    const names = [...this.layers].reverse().map((each) => each.name);
    return tabs(this.data.labels.layer, names, this.layer.name, (name) => {
      this.layer = this.area.layers.find((each) => each.name === name);
      this.said = "";
      this.remember();
      this.show();
      this.element.querySelector("[aria-selected=true]")?.focus();
    });
  }

  rodsScreen() {
    const { data, stake, layer } = this;
    const { labels } = data;
    const done = new Set(shotsOf(this.kept).filter((each) => each.area === this.area.name
      && each.layer === layer.name).map((each) => each.stake));
    const told = this.rod(layer);
    const several = data.areas.length > 1;
    const last = shotsAt(this.kept, this.area.name, stake.name, layer.name).at(-1);
    const held = last && heldAgainst(data, last);
    return make("div", { class: "tr-screen" },
      this.layerTabs(),
      make("div", { class: "tr-who" },
        make("div", {}, make("h2", {}, stake.name), several ? make("p", {}, this.area.name) : null,
          make("p", { class: "tr-where" }, stake.where)),
        yard(data, this.area, stake, done)),
      make("div", { class: "tr-read", role: "status" },
        make("p", {}, this.height === null ? labels.level : layer.until),
        told.none ? make("p", { class: "tr-none" }, told.none) : figure(told.words ?? told.text)),
      make("div", { class: "tr-two" },
        make("div", {}, make("span", {}, labels.lawn),
          make("b", {}, stake.lawn[layer.name] || labels.not_surveyed),
          stake.known ? make("span", {}, `${labels.known} ${stake.known}`.replaceAll(" ", "\u00a0")) : null),
        make("div", {}, make("span", {}, labels.bigger), make("b", {}, `${labels.deeper} ▼`))),
      this.said ? make("p", { class: "tr-said", role: "status" }, this.said) : null,
      stake.note ? make("p", { class: "tr-note" }, `${stake.name}: ${stake.note}`) : null,
      held ? make("p", { class: "tr-note" },
        `${labels.as_built}: ${last.reading}, ${offText(data, held.off)}`) : null,
      make("dl", { class: "tr-pole", "aria-label": labels.all_layers }, this.layers.map((each) => {
        const own = this.rod(each);
        return make("div", { class: each === layer ? "tr-on" : "" }, make("dt", {}, each.name),
          make("dd", {}, own.words ?? own.text ?? "–"));
      })),
      make("div", { class: "tr-go" },
        screenKey("◀", "previous", () => this.walk(-1), "", labels.previous),
        screenKey(this.height === null ? labels.set_up : labels.shot, "shot",
          () => this.go(this.height === null ? "sight" : "shot"), "tr-main"),
        screenKey("▶", "next", () => this.walk(1), "", labels.next)),
      this.foot());
  }

  /** What stands in the place of every rod of a plan that is not to be built. */
  stopScreen() {
    const { title, why } = this.data.stop;
    return make("div", { class: "tr-screen" },
      make("div", { class: "tr-stop", role: "alert" }, make("h2", {}, title),
        make("ul", {}, why.map((each) => make("li", {}, each))), make("p", {}, this.data.labels.no_rods)),
      this.foot());
  }

  /** What stands at the foot of every screen: the shots, and where they are kept. */
  foot() {
    const { data } = this;
    const { labels } = data;
    const count = shotsOf(this.kept).length;
    const lost = this.store.where === "desk" ? labels.lost_desk : labels.not_kept;
    return make("div", { class: "tr-foot" },
      this.store.safe ? null : make("p", { class: "tr-warn", role: "alert" }, lost),
      make("div", { class: "tr-links" },
        screenKey(`${labels.shots}: ${count}`, "list", () => this.go("list")),
        screenKey(labels.give, "give", () => this.go("give")),
        this.host?.call && screenKey(this.wide ? labels.narrow : labels.wide, "fill", () => this.fill(!this.wide)),
        this.host?.call && !data.stop.why.length ? make("a", { class: "tr-button",
          href: "/take-away.html", download: "take-away.html", "data-key": "away" }, labels.away) : null,
        this.host?.paper && screenKey(labels.paper, "paper", () => this.host.paper())));
  }

  marksChoice() {
    return choice(this.data.labels.rod_marked, this.data.marks.map((each) => [each.name, each.name]),
      this.marks, (marks) => {
        this.marks = marks;
        this.remember();
        this.show();
      });
  }
}
