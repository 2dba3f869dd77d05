// The screens beside the rods: a shot on keys, the instrument and where it stood, the list of shots,
// and the text that gives them back.
import { copyText, give, make } from "../dom.js";
import { choice, reading, screenKey, timeOf } from "./parts.js";
import {
  asText, fromText, heldAgainst, shotsAt, shotsOf, standing,
} from "./kept.js";
import {
  filled, judged, levelText, offText, readRod, rodAt, rodWords, sightOf, sizeText, verdictOf,
} from "./rods.js";

/** The key that leads back to the rods. */
function back(screen, kind = "") {
  return screenKey(screen.data.labels.back, "back", () => screen.go("rods"), kind);
}

function now() {
  return new Date().toISOString();
}

/** What a verdict is shown as: its sign, its words, and how it stands for the style. */
function verdictBox(told, kind) {
  return make("div", { class: `tr-verdict tr-${kind}`, role: "status" },
    make("span", { class: "tr-sign", "aria-hidden": "true" }, told?.sign ?? ""),
    make("div", {}, make("b", {}, told?.title ?? ""), make("span", {}, told?.words ?? "")));
}

/** A shot of the layer at hand: keys, and at once what it says. */
export function shotScreen(screen) {
  const { data, stake, layer } = screen;
  const { labels } = data;
  const main = make("div", { class: "tr-screen" });
  const wanted = screen.rod(layer);
  const head = make("div", { class: "tr-shot-head" }, make("h2", {}, stake.name), make("p", {},
    data.areas.length > 1 ? `${screen.area.name}, ` : "", make("b", {}, layer.name),
    ` ${labels.as_built}`, make("br"), `${labels.should_read} `,
    make("b", {}, wanted.words ?? wanted.none ?? "")));
  main.append(head);
  if (!layer.built) {
    main.append(make("p", { class: "tr-note" }, filled(labels.no_shots_of, { layer: layer.name })),
      make("div", { class: "tr-go tr-go-two" }, back(screen)));
    return main;
  }
  const verdict = make("div", {});
  let found = null;
  let given = null;
  const keep = screenKey(labels.keep, "keep", () => keepIt(), "tr-main");
  const look = () => {
    given = keys.told();
    found = given.text ? judged(data, layer, stake.z[layer.name], screen.height, given.metres) : null;
    const blank = keys.input.value === "" ? screen.said : "";
    const told = found ? verdictOf(data, layer, found) : { title: blank, words: given.missing };
    verdict.replaceChildren(verdictBox(told, found?.standing ?? "none"));
    keep.textContent = found?.standing === "again" ? labels.keep_far : labels.keep;
    keep.setAttribute("aria-disabled", String(!found));
    keep.classList.toggle("tr-far", found?.standing === "again");
  };
  const keys = reading(data, screen.marks, () => look(), () => keepIt());
  const keepIt = () => {
    look();
    if (!found) return;
    const shot = { id: now(), area: screen.area.name, stake: stake.name, layer: layer.name,
      reading: given.text, marks: screen.marks, setup: standing(screen.kept).id,
      built: layer.built, at: stake.at, z: found.z, wanted: stake.z[layer.name] };
    const said = filled(labels.kept, { stake: stake.name, layer: layer.name,
      verdict: `${given.text}, ${offText(data, found.off)}` });
    screen.kept.shots.push(shot);
    screen.toNextLeft();
    screen.go("shot");
    screen.keep({ shots: [shot] }, said);
    screen.element.querySelector("input")?.focus({ preventScroll: true });
  };
  main.append(
    verdict, keys.element,
    make("div", { class: "tr-go tr-go-two" },
      back(screen), keep),
    undoRow(screen), screen.marksChoice(), screen.foot());
  // The figures stand over what they mean.
  main.insertBefore(keys.input, verdict);
  look();
  screen.look = look;
  return main;
}

/** The key that takes back the last shot, where there is one. */
function undoRow(screen) {
  const { labels } = screen.data;
  const last = shotsOf(screen.kept).pop();
  if (!last) return "";
  const told = { stake: last.stake, layer: last.layer, reading: last.reading };
  return screenKey(filled(labels.undo, told), "undo", () => {
    screen.kept.gone.push(last.id);
    screen.go(screen.view);
    screen.keep({ gone: [last.id] }, filled(labels.undone, told));
  });
}

/** Where the instrument stands: set up on a benchmark, checked on one, and where it stood before. */
export function instrumentScreen(screen) {
  const { data } = screen;
  const { labels } = data;
  const main = make("div", { class: "tr-screen" });
  const before = standing(screen.kept);
  let on = data.benchmarks.find((each) => each.name === screen.benchmark) ?? null;
  if (data.benchmarks.length === 1) [on] = data.benchmarks;
  const out = make("div", {});
  const set = screenKey(labels.stands, "stand", () => setUp(), "tr-main");
  const check = before ? screenKey(labels.check, "check", () => checkIt()) : null;
  let given = { missing: "" };
  const look = () => {
    given = keys.told();
    const ready = on !== null && Boolean(given.text);
    set.setAttribute("aria-disabled", String(!ready));
    check?.setAttribute("aria-disabled", String(!ready));
    const words = ready ? filled(labels.new_sight, { level: levelText(data, on.z + given.metres) })
      : given.missing;
    out.replaceChildren(make("p", { class: "tr-note", role: "status" }, words || " "));
    return ready;
  };
  const setUp = () => {
    if (!look()) return;
    const setup = { id: now(), benchmark: on.name, z: on.z, reading: given.text,
      marks: screen.marks };
    screen.kept.setups.push(setup);
    screen.benchmark = null;
    screen.go("rods");
    screen.remember();
    screen.keep({ setups: [setup] });
  };
  const checkIt = () => {
    if (!look()) return;
    const should = rodAt(screen.height, on.z);
    const off = given.metres - should;
    const told = { size: sizeText(data, Math.abs(off)), reading: given.text,
      wanted: rodWords(data, should, screen.marks) };
    if (Math.abs(off) > data.closes + data.rounding) {
      out.replaceChildren(verdictBox({ sign: "?", title: labels.again ?? data.verdict.again,
        words: filled(labels.check_off, told) }, "again"));
      return;
    }
    const found = { id: now(), setup: before.id, benchmark: on.name, reading: given.text,
      marks: screen.marks };
    screen.kept.checks.push(found);
    screen.go("rods", filled(labels.check_same, told));
    screen.keep({ checks: [found] });
  };
  const keys = reading(data, screen.marks, () => look(), () => setUp());
  const pick = make("div", {});
  const benchmarks = () => pick.replaceChildren(choice(labels.held_on,
    data.benchmarks.map((each) => [each.name, [each.name, each.level]]), on?.name, (name) => {
      on = data.benchmarks.find((each) => each.name === name);
      screen.benchmark = name;
      benchmarks();
      look();
      pick.querySelector("[aria-pressed=true]")?.focus();
    }));
  benchmarks();
  main.append(
    before ? "" : make("p", { class: "tr-note" }, labels.no_sight_long),
    make("h3", {}, labels.held_on), pick, make("h3", {}, labels.reads), keys.element, out,
    make("div", { class: "tr-go tr-go-two" },
      back(screen), set),
    check ?? "", make("h3", {}, labels.rod_marked), screen.marksChoice(), stood(screen));
  look();
  return main;
}

/** Where the instrument stood, the last first, each with how many shots hang on it. */
function stood(screen) {
  const { data, kept } = screen;
  const { labels } = data;
  if (!kept.setups.length) return "";
  const lines = [...kept.setups].reverse().map((each, place) => {
    const count = shotsOf(kept).filter((shot) => shot.setup === each.id).length;
    const told = { time: timeOf(each.id), benchmark: each.benchmark,
      level: levelText(data, each.z), reading: each.reading,
      height: levelText(data, sightOf(data, each)) };
    return make("li", {}, place === 0 ? make("b", {}, `${labels.now}: `) : "",
      filled(labels.setup_line, told), `; ${filled(labels.setup_shots, { count })}`);
  });
  return make("div", { class: "tr-stood" }, make("h3", {}, labels.stands_since), make("ol", {}, lines));
}

/** Every stake with its shot of the layer at hand, and what is left. */
export function listScreen(screen) {
  const { data, kept } = screen;
  const { labels } = data;
  const main = make("div", { class: "tr-screen" });
  main.append(screen.layerTabs());
  for (const area of data.areas) {
    const layer = area.layers.find((each) => each.name === screen.layer.name)
      ?? area.layers.find((each) => each.role === screen.layer.role);
    if (!layer) continue;
    const rows = area.stakes.filter((each) => layer.name in each.z)
      .map((stake) => [stake, shotsAt(kept, area.name, stake.name, layer.name).pop()]);
    const left = rows.filter(([, shot]) => !shot).map(([stake]) => stake.name);
    const done = filled(labels.of_layer, { done: rows.length - left.length, all: rows.length });
    const rest = left.length ? filled(labels.left, { count: left.length, names: left.join(", ") })
      : labels.none_left;
    main.append(make("div", {}, make("h2", { class: "tr-title" },
      data.areas.length > 1 ? `${area.name}: ${layer.name}` : layer.name),
    layer.built ? make("p", {}, `${done}; ${rest}`)
      : make("p", {}, filled(labels.no_shots_of, { layer: layer.name })),
    make("ul", { class: "tr-list" }, rows.map(([stake, shot]) => listRow(screen, area, layer, stake, shot)))));
  }
  main.append(screen.said ? make("p", { class: "tr-said", role: "status" }, screen.said) : "",
    undoRow(screen), make("div", { class: "tr-go tr-go-two" },
      back(screen, "tr-main")), screen.foot());
  return main;
}

function listRow(screen, area, layer, stake, shot) {
  const { data } = screen;
  const { labels } = data;
  const found = shot && heldAgainst(data, shot);
  const told = found ? verdictOf(data, layer, found) : null;
  const words = told ? [...(shot.reading ? [shot.reading] : []), found.standing === "again"
    ? `${told.title}: ${offText(data, found.off)}` : told.title].join(", ") : labels.not_shot;
  const parts = [make("b", {}, stake.name), make("span", { class: "tr-sign" }, told?.sign ?? "○"), make("span", {}, words)];
  return make("li", {}, screenKey(parts, `row ${area.name} ${stake.name}`, () => {
    screen.to(area, stake);
    screen.layer = layer;
    screen.remember();
    screen.go(layer.built && screen.height !== null ? "shot" : "rods");
  }, `tr-line tr-${found?.standing ?? "none"}`, `${filled(labels.go_to, { stake: stake.name })}: ${words}`));
}

/** The shots as a text to copy or to save, and one taken in. */
export function giveScreen(screen) {
  const { data, kept, store } = screen;
  const { labels } = data;
  const text = asText(data, kept);
  const count = shotsOf(kept).length;
  const area = make("textarea", { readonly: true, rows: 8, class: "tr-text", wrap: "off",
    "aria-label": labels.shots, "data-key": "text" });
  area.value = text;
  const out = make("p", { class: "tr-said", role: "status" }, screen.said);
  const copy = async () => {
    out.textContent = (await copyText(text, area)) ? labels.copied : labels.not_copied;
  };
  const save = () => {
    const file = `shots-${data.number}.csv`;
    give(file, text, "text/csv");
    out.textContent = filled(labels.saved, { file });
  };
  const pasted = make("textarea", { rows: 4, class: "tr-text", "aria-label": labels.take_long,
    "data-key": "pasted" });
  const take = () => {
    const found = fromText(data, pasted.value);
    const said = [found.count ? filled(labels.taken, { count: found.count }) : labels.taken_none];
    if (found.others.length) {
      const number = [...new Set(found.others)].join(", ");
      said.push(filled(labels.taken_other, { count: found.others.length, number }));
    }
    if (found.count) {
      screen.keep(found.kept, said.join(" "));
      return;
    }
    screen.said = said.join(" ");
    screen.show();
  };
  return make("div", { class: "tr-screen" },
    make("h2", { class: "tr-title" }, labels.give),
    count ? make("p", {}, labels.give_long) : make("p", {}, labels.no_shots),
    count ? area : "",
    count ? make("div", { class: "tr-go tr-even" }, screenKey(labels.copy, "copy", copy, "tr-main"),
      screenKey(labels.save, "save", save, "")) : "",
    out,
    make("p", { class: "tr-quiet" }, store.where === "desk" ? labels.kept_desk
      : filled(labels.kept_here, { number: data.number })),
    make("h2", { class: "tr-title" }, labels.take), make("p", {}, labels.take_long), pasted,
    screenKey(labels.take, "take", take),
    make("div", { class: "tr-go tr-go-two" },
      back(screen, "tr-main")));
}
