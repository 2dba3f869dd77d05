"""Shots given back by a page that was taken away: read, kept, and held to the plan as it is now."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
from msgspec import Struct

from grading.asbuilt.layers import LAYERS, LayerName, depth_of_layer
from grading.asbuilt.model import AsBuilt, as_built, shots_of_areas
from grading.asbuilt.shots import BuiltShots, read_shots
from grading.design.area import AreaPlan
from grading.errors import Problem, SiteError
from grading.files.toml_text import nearest, shown_value
from grading.geometry.tolerances import TAPED, TOLD_LEVEL
from grading.pipeline import Plan
from grading.setout.instrument import Instrument
from grading.setout.model import SetOut, set_out
from grading.setout.number import set_out_number
from grading.units import METRES, UnitError, run, size
from grading.units.rods import ROD_UNITS, RodUnit, read_rod
from viz.desk.field.kept_shots import Kept, nothing_kept, together
from viz.scratch import scratch_folder
from viz.words.field.away import BACK

FILE = "shots given back"
"""What the text is called in sentences."""

_LONGEST = 2_000_000  # letters
_COLUMNS = "area,stake,layer,x,y,z"
_BOOKED = ("reading", "rod marks", "benchmark", "benchmark z", "benchmark reading",
           "benchmark marks", "set up", "shot", "surface", "design")  # fmt: skip


class GivenBack(Struct, frozen=True, eq=False):
    """Shots that a text gives back.

    Attributes
    ----------
    shots : mapping of layer to BuiltShots
        As `grading.asbuilt.model.as_built` takes them, of each layer that was shot.
    kept : mapping of str to Kept
        What was booked, by the number of the plan that it was booked of; of rows that do not tell
        how they were read the levels, by that of the plan as it is.
    said : tuple of str
        Which plan they are of, and which of their stakes have moved since, a sentence each.
    """

    shots: Mapping[LayerName, BuiltShots]
    kept: Mapping[str, Kept]
    said: tuple[str, ...]


def shots_given_back(text: str, plan: Plan, now: str = "") -> GivenBack:
    """Read the text that a page taken away gives.

    Parameters
    ----------
    text : str
        Lines of csv: what stands before its header is passed over.
    plan : Plan
        As it is now.
    now : str
        When, as ISO 8601 has it: what rows that do not tell when they were shot are kept under.

    Raises
    ------
    SiteError
        Everything that is wrong with the text, each with its line.
    """
    lines = text.splitlines()
    header = next((k for k, line in enumerate(lines) if _is_header(line)), None)
    if header is None or len(text) > _LONGEST:
        mend = "Paste all of the text that the page gave, its first line too."
        what = "a text too long" if len(text) > _LONGEST else "no line that names its columns"
        raise SiteError([Problem(FILE, what, f"the columns {_COLUMNS}", mend)])
    # Lines keep their numbers, so that a sentence names the one that the person sees.
    body = "\n".join([*("#" for _ in lines[:header]), *lines[header:]])
    rows = list(csv.DictReader(io.StringIO("\n".join(lines[header:]), newline="")))
    found = set_out(plan)
    layers = _layers(rows, header + 1)
    shots = {}
    with scratch_folder() as folder:
        path = folder / FILE
        path.write_text(f"{body}\n", encoding="utf-8")
        for layer in layers:
            shots[layer] = read_shots(path, plan.site.unit, found, None, (layer,))
    kept = _booked(rows, plan)
    plain = {line for line, row in enumerate(rows, start=header + 2) if not _tells(row)}
    more = [
        _level(plan, area, own, k, layer, f"{now}#{line}")
        for layer in layers
        for area, own in shots_of_areas(plan, shots[layer])
        for k, line in enumerate(own.lines)
        if line in plain
    ]
    if more:
        number = set_out_number(found)
        before = kept.get(number, nothing_kept())
        kept[number] = together(before, {**nothing_kept(), "shots": more})
    return GivenBack(shots, kept, tuple(_said(rows, shots, plan, found)))


def _level(
    plan: Plan, area: AreaPlan, shots: BuiltShots, place: int, layer: LayerName, key: str
) -> dict[str, Any]:
    """Return a level as the page books it, of a shot that does not tell how it was read."""
    x, y, z = (float(v) for v in shots.xyz[place])
    finish = float(area.finish.surface.at(np.array([[x, y]]))[0])
    per = METRES[plan.site.unit]
    return {
        "id": key, "area": area.area.name, "stake": shots.names[place], "layer": layer,
        "built": layer, "reading": "", "marks": "mm", "setup": "", "at": [x / per, y / per],
        "z": z, "wanted": finish - depth_of_layer(area, layer),
    }  # fmt: skip


def as_built_of(plan: Plan, shots: Mapping[LayerName, BuiltShots]) -> tuple[AsBuilt, ...]:
    """Hold shots of several layers against a design, the subgrade first, each on the one below it.

    Parameters
    ----------
    plan : Plan
    shots : mapping of layer to BuiltShots

    Raises
    ------
    SiteError
        A shot off the hole, or of a layer that the base has not.
    """
    found = []
    below: dict[str, BuiltShots] = {}
    for layer in LAYERS:
        if layer not in shots:
            continue
        own = {area.area.name: (area, some) for area, some in shots_of_areas(plan, shots[layer])}
        found += [as_built(plan, area, some, layer, below.get(name))
                  for name, (area, some) in own.items()]  # fmt: skip
        below.update({name: some for name, (_, some) in own.items()})
    return tuple(found)


def held_of(
    plan: Plan, shots: Mapping[LayerName, BuiltShots]
) -> tuple[tuple[AsBuilt, ...], tuple[str, ...]]:
    """Hold what can be held against a design, and say of the other layers why they cannot.

    Parameters
    ----------
    plan : Plan
    shots : mapping of layer to BuiltShots
        A base that was changed since may have no such layer any more.
    """
    fit: dict[LayerName, BuiltShots] = {}
    wrong = []
    for layer, own in shots.items():
        try:
            for area, _ in shots_of_areas(plan, own):
                depth_of_layer(area, layer)
        except SiteError as error:
            wrong.append(str(error))
        else:
            fit[layer] = own
    return as_built_of(plan, fit), tuple(wrong)


def shots_kept(kept: Sequence[Mapping[str, Any]], plan: Plan) -> dict[LayerName, BuiltShots]:
    """Return shots that were booked on the page, of each layer that was shot.

    Parameters
    ----------
    kept : sequence of mappings
        As `viz.desk.field.kept_shots.standing` gives them.
    plan : Plan
        Shots of areas that it has no more are left out.
    """
    per, known = METRES[plan.site.unit], [area.area.name for area in plan.areas]
    found: dict[LayerName, BuiltShots] = {}
    for layer in LAYERS:
        own = [each for each in kept if each["built"] == layer and each["area"] in known]
        if own:
            found[layer] = BuiltShots(
                names=tuple(each["stake"] for each in own),
                areas=tuple(each["area"] for each in own),
                xyz=np.array([[*(v * per for v in each["at"]), each["z"]] for each in own]),
                rods=np.array([_metres(each["reading"], each["marks"]) for each in own]),
                notes=("",) * len(own),
                photos=("",) * len(own),
                lines=tuple(range(1, len(own) + 1)),
                file="the shots of the page",
            )
    return found


def moved_words(
    told: Sequence[tuple[str, str, LayerName, tuple[float, float], float]],
    plan: Plan,
    found: SetOut,
) -> Iterator[str]:
    """Give what moved of stakes since they were shot, a phrase for each stake.

    Parameters
    ----------
    told : sequence of (area, stake, layer, (x, y), level)
        Where each stood and what its level was to be. [m]
    plan : Plan
    found : SetOut
        Its stakes.
    """
    unit, several = plan.site.unit, len(plan.areas) > 1
    areas = {each.area.area.name: each.area for each in found.areas}
    stakes = {
        (each.area.area.name, stake.name): stake.at for each in found.areas for stake in each.stakes
    }
    said: dict[tuple[str, str], list[str]] = {}
    for area, stake, layer, at, level in told:
        lettered = stake.isalpha()
        if area not in areas or (lettered and (area, stake) not in stakes):
            said[area, stake] = [BACK["gone"]]
            continue
        own, parts = areas[area], said.setdefault((area, stake), [])
        # Numbers are those of a grid, which a person may have had spaced in another way.
        here = stakes[area, stake] if lettered else np.asarray(at)
        away = float(np.hypot(*(here - at)))
        if away > TAPED and not parts:
            parts.append(BACK["aside"].format(size=run(away, unit)))
        try:
            depth = depth_of_layer(own, layer)
        except SiteError:
            continue  # what the base has no more is said where it is held
        z = float(own.finish.surface.at(here[None])[0]) - depth
        if abs(z - level) > TOLD_LEVEL:
            way = BACK["higher" if z > level else "lower"]
            parts.append(way.format(layer=layer, size=size(abs(z - level), unit)))
    for (area, stake), parts in said.items():
        if parts:
            name = f"{stake} of {area}" if several else stake
            yield BACK["moved_one"].format(stake=name, how=", ".join(dict.fromkeys(parts)))


def since_words(number: str, now: str, moved: Sequence[str]) -> str:
    """Say of which plan shots are, and what moved since.

    Parameters
    ----------
    number, now : str
        Of their plans, and of the plan as it is.
    moved : sequence of str
        As `moved_words` gives it.
    """
    words = BACK["moved" if moved else "stayed"]
    return words.format(number=number, now=now, stakes="; ".join(moved))


def _is_header(line: str) -> bool:
    cells = {cell.strip().strip('"').lower() for cell in line.replace(";", ",").split(",")}
    return {"stake", "layer"} <= cells


def _layers(rows: Sequence[Mapping[str, Any]], first: int) -> list[LayerName]:
    """Return the layers that were shot; SiteError of one that shots are not held against."""
    problems = []
    for number, row in enumerate(rows, start=first + 1):
        layer = str(row.get("layer") or "").strip()
        if layer not in LAYERS:
            expected = f"one of {', '.join(LAYERS)}"
            where = f"{FILE}, line {number}, layer"
            problems.append(Problem(where, shown_value(layer), expected, nearest(layer, LAYERS)))
    if not rows:
        problems.append(Problem(FILE, "a header and no shots", "one or more"))
    if problems:
        raise SiteError(problems)
    held = {str(row["layer"]).strip() for row in rows}
    return [layer for layer in LAYERS if layer in held]


def _booked(rows: Sequence[Mapping[str, Any]], plan: Plan) -> dict[str, Kept]:
    """Return what rows tell of how they were read, by the number of their plan."""
    per = METRES[plan.site.unit]
    found: dict[str, Kept] = {}
    for row in rows:
        if not _tells(row):
            continue
        cells = {name: str(row.get(name) or "").strip() for name in (*_BOOKED, "plan")}
        setup = {
            "id": cells["set up"], "benchmark": cells["benchmark"],
            "z": float(cells["benchmark z"]) * per, "reading": cells["benchmark reading"],
            "marks": cells["benchmark marks"],
        }  # fmt: skip
        shot = {
            "id": cells["shot"], "area": row["area"].strip(), "stake": row["stake"].strip(),
            "layer": cells["surface"], "built": row["layer"].strip(),
            "reading": cells["reading"], "marks": cells["rod marks"], "setup": cells["set up"],
            "at": [float(row["x"]), float(row["y"])], "z": float(row["z"]) * per,
            "wanted": float(cells["design"]) * per,
        }  # fmt: skip
        more = {**nothing_kept(), "setups": [setup], "shots": [shot]}
        found[cells["plan"]] = together(found.get(cells["plan"], nothing_kept()), more)
    return found


def _tells(row: Mapping[str, Any]) -> bool:
    """Whether a row tells of which plan it is, how it was read and where it stood."""
    if not all(str(row.get(name) or "").strip() for name in (*_BOOKED, "plan", "area", "stake")):
        return False
    try:
        for name in ("benchmark z", "design", "x", "y", "z"):
            float(row[name])
    except (KeyError, TypeError, ValueError):
        return False
    return True


def _said(
    rows: Sequence[Mapping[str, Any]], shots: Mapping[LayerName, BuiltShots], plan: Plan,
    found: SetOut,
) -> Iterator[str]:  # fmt: skip
    """Give which plan the shots are of, and what moved since."""
    count = sum(len(each.names) for each in shots.values())
    of = list(dict.fromkeys(str(row.get("plan") or "").strip() for row in rows))
    now = set_out_number(found)
    yield BACK["count"].format(count=count, shots="shot" if count == 1 else "shots")
    if of == [now]:
        yield BACK["same"].format(number=now)
        return
    told = ", ".join(filter(None, of))
    moved = list(moved_words(list(_stood(rows, plan)), plan, found))
    yield since_words(told, now, moved) if told else BACK["none"].format(now=now)


def _stood(
    rows: Sequence[Mapping[str, Any]], plan: Plan
) -> Iterator[tuple[str, str, LayerName, tuple[float, float], float]]:
    """Give where the stakes of rows stood and what was wanted there, of rows that tell it. [m]"""
    per = METRES[plan.site.unit]
    for row in rows:
        try:
            x, y, design = (float(row[name]) * per for name in ("x", "y", "design"))
        except (KeyError, TypeError, ValueError):
            continue
        layer: LayerName = row["layer"].strip()
        yield str(row.get("area") or "").strip(), str(row["stake"]).strip(), layer, (x, y), design


def last_sight(last: Mapping[str, Any] | None, plan: Plan) -> Instrument | None:
    """Return the instrument of a set-up that was booked, None where none was.

    Parameters
    ----------
    last : mapping or None
        As the page books it.
    plan : Plan
    """
    if last is None:
        return None
    reading = _metres(last["reading"], last["marks"])
    return Instrument(last["benchmark"], last["z"], reading, plan.limits["rod-length"])


def _metres(reading: str, marks: str) -> float:
    """Return a reading as it was booked; NaN of one that no rod has. [m]"""
    for own in ROD_UNITS:
        if own == marks:
            unit: RodUnit = own
            try:
                return float(read_rod(reading, unit))
            except UnitError:
                break
    return float("nan")
