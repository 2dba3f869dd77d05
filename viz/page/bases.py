"""What the page says beside its picture: bases and the reasons for them, layers, volumes."""

from __future__ import annotations

import re
from html import escape

from grading.choice.advice import AreaAdvice
from grading.design.area import AreaPlan
from grading.dig.hole import Dig
from grading.pipeline import Plan
from grading.units import Unit, size, volume
from viz.scene.model import LegendEntry, Scene
from viz.words.advice import LEVEL_WORDS
from viz.words.figures import small


def areas_told(plan: Plan, chosen: list[tuple[int, AreaPlan, str]], scenes: list[Scene]) -> str:
    """Return the buttons of every area and base, with reasons, layers and volumes.

    Parameters
    ----------
    plan : Plan
    chosen : list of (int, AreaPlan, str)
        For each scene the number of its area, the area, and the base system.
    scenes : list of Scene
    """
    rows = []
    advice = [plan.advice.area(area.area.name) for area in plan.areas]
    if len(plan.areas) > 1:
        buttons = "".join(
            f'<button type="button" data-to-area="{index}">{escape(area.area.name)}</button>'
            for index, area in enumerate(plan.areas)
        )
        rows.append(
            f'<h2>Area</h2><div class="buttons" role="group" aria-label="Area">{buttons}</div>'
        )
    for index, area in enumerate(plan.areas):
        own = [i for i, (of, _, _) in enumerate(chosen) if of == index]
        hidden = "" if index == 0 else " hidden"
        rows.append(f'<div class="area" data-area="{index}"{hidden}>')
        rows.append(f"<h2>Base for the {escape(area.area.name)}</h2>")
        rows.append('<div class="bases" role="group" aria-label="Base system">')
        rows += [_choose(i, area, scenes[i], advice[index]) for i in own]
        rows.append("</div>")
        for i in own:
            hidden = "" if chosen[i][2] == area.chosen else " hidden"
            layers = _layers(scenes[i], plan.site.unit)
            reason = reasons_told(scenes[i].base, advice[index])
            rows.append(f'<div class="base" data-scene="{i}"{hidden}>{reason}{layers}</div>')
        table = f"volumes-{index}"
        rows.append(_table(table, area, own, scenes, plan.site.unit))
        rows.append(
            f'<button type="button" class="copy" data-copy="{table}">Copy table</button></div>'
        )
    return "\n".join(rows)


def _choose(i: int, area: AreaPlan, scene: Scene, advice: AreaAdvice) -> str:
    """Return the button of a base: its name, what it is, and whether it is planned or advised."""
    best = advice.base.advised
    marks = [
        mark
        for mark, holds in (
            ("planned", scene.base == area.chosen),
            ("advised", best is not None and best.option.name == scene.base),
        )
        if holds
    ]
    plain = area.digs[scene.base].system.plain
    return (
        f'<button type="button" class="choose" data-scene="{i}">'
        f"<b>{escape(short_title(scene))}</b>"
        + "".join(f' <span class="mark">{mark}</span>' for mark in marks)
        + (f' <span class="plain">{escape(plain)}</span>' if plain else "")
        + "</button>"
    )


def reasons_told(base: str, advice: AreaAdvice) -> str:
    """Return every reason against a base and for it, the worst first."""
    verdict, choice = advice.base.of(base), advice.base
    said = [(LEVEL_WORDS[reason.level], reason.plain) for reason in verdict.reasons]
    if verdict is choice.advised and choice.caveat:
        said.insert(0, ("advised", choice.caveat))
    if not said:
        return f'<p class="reason">N{escape(choice.passed_over(base)[1:])}.</p>'
    return "".join(
        f'<p class="reason"><b>{escape(lead[:1].upper() + lead[1:])}:</b> {escape(text)}.</p>'
        for lead, text in said
    )


def short_title(scene: Scene) -> str:
    """Return the title of a base system as a button says it."""
    if scene.base_title == scene.base:
        return scene.base  # a site's own, by its own name
    return re.sub(r"(-graded)?\s+base$", "", scene.base_title)


def _layers(scene: Scene, unit: Unit) -> str:
    items = "".join(_layer(entry) for entry in scene.legend)
    return (
        f'<h2>Layers, from the top down</h2><ul class="layers">{items}</ul>'
        f'<p class="total">Build-up {escape(small(scene.build_up, unit))}</p>'
        f'<p class="fall">{escape(scene.fall)} {escape(scene.exaggeration_words)}</p>'
    )


def _layer(entry: LegendEntry) -> str:
    return (
        f'<li><span class="space-number">{entry.number}</span>'
        f'<svg class="swatch"><rect width="30" height="30" fill="{entry.colour}"/></svg>'
        f"<span><b>{escape(entry.name)}</b>{escape(entry.words)}</span></li>"
    )


def _table(name: str, area: AreaPlan, own: list[int], scenes: list[Scene], unit: Unit) -> str:
    """Return the volumes of every base system: bare numbers, their units in the first column."""
    digs = [area.digs[scenes[i].base] for i in own]
    head = "".join(
        f'<th scope="col" data-of="{i}">{escape(short_title(scenes[i]))}'
        f"{' ✓' if scenes[i].base == area.chosen else ''}</th>"
        for i in own
    )
    body = []
    for title, values in _measures(digs, unit):
        cells = "".join(
            f'<td data-of="{i}">{escape(value)}</td>' for i, value in zip(own, values, strict=True)
        )
        body.append(f'<tr><th scope="row">{escape(title)}</th>{cells}</tr>')
    return (
        '<h2>Volumes</h2><p class="quiet">The whole dig, with over-dig and stripped organics. '
        '✓ marks the base of the plan.</p><div class="scroll">'
        f'<table id="{name}">'
        f'<thead><tr><th scope="col">Base</th>{head}</tr></thead>'
        f"<tbody>{''.join(body)}</tbody></table></div>"
    )


def _measures(digs: list[Dig], unit: Unit) -> list[tuple[str, list[str]]]:
    def bare(words: str) -> str:
        return words.rpartition(" ")[0]

    mark = volume(0.0, unit).rpartition(" ")[2]
    fine = "in" if unit == "ft" else "mm"
    return [
        (f"Build-up, {fine}", [bare(size(dig.build_up, unit)) for dig in digs]),
        (f"Deepest dig, {fine}", [bare(size(dig.max_dig, unit, 8)) for dig in digs]),
        (f"Dig, {mark}", [bare(volume(dig.cut, unit)) for dig in digs]),
        (f"Refill, {mark}", [bare(volume(dig.fill, unit)) for dig in digs]),
        (f"Spoil, loose, {mark}", [bare(volume(dig.spoil_loose, unit)) for dig in digs]),
    ]
