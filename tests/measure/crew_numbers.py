"""What looks at the numbers of the crew's paper: each is one of the JSON of its plan.

Tapes and rods by the table "rods" of the JSON, all else by areas, order, checks and limits.
"""

from __future__ import annotations

import re

import numpy as np
from measure.rod_numbers import ROD, TAPE, rod_of, rods_read, taped
from measure.told_numbers import (
    AREA,
    COUNT,
    INCH,
    LENGTH,
    VOLUME,
    Reader,
    count,
    cubic,
    metres,
    near,
    pavers_of,
    unheld_edges,
)

from grading.answers.halfway_words import left_words
from grading.answers.site import joins_words, site_answer
from grading.conditions.level_words import beside_words
from grading.worded import of_yard
from viz.words.lookouts import lookouts, stops


def crew(told: Reader, record: dict, plan) -> None:
    """Look at every number of the crew's paper."""
    told.fact(r"page \d+ / \d+|rod, 1st end rod, 2nd end|points as in 1", lambda f: True)
    told.fact(r"\b[1-5] (?=Set out|Levels:|Dig, stone|Build:|Order, hours)", lambda f: True)
    _said(told, plan)
    taped(told, record, plan)
    rods_read(told, record)
    _levels_set(told, plan)
    _edges(told, record)
    unheld_edges(told, record)
    for area in record["areas"]:
        _layers(told, record, area, plan)
    _built(told, record)
    _ordered(told, record, plan)
    _hours(told, record)
    _carried(told, record, plan)


def _said(told: Reader, plan) -> None:
    """Sentences that the plan itself makes: look-outs and stop rules, each once and numbered."""
    for number, words in enumerate(lookouts(plan), 1):
        told.fact(rf"{number} {re.escape(words)}", lambda f: True, least=1)
    limits = plan.limits
    told.fact(rf"at the start, within (?P<n>{LENGTH})", lambda f: metres(f["n"]) <= 0.5 * INCH)
    told.fact(
        rf"reads more than (?P<dug>{LENGTH}) off, or the base more than (?P<base>{LENGTH})",
        lambda f: (
            near(f["dug"], limits["built-subgrade"]) and near(f["base"], limits["built-base"])
        ),
        least=1,
    )
    steps = {check.where: check.value for check in plan.checks if check.rule == "door-step"}
    for name, step in steps.items():
        told.fact(
            rf"The finish at {re.escape(name)} would not come out (?P<n>{LENGTH}) below its sill",
            lambda f, step=step: near(f["n"], step), ("step", name), least=1,
        )  # fmt: skip
    told.strings(words for words in stops(plan) if "finish at" not in words)
    told.strings([*joins_words(site_answer(plan), plan.site.unit), *left_words(plan)])


def _levels_set(told: Reader, plan) -> None:
    """What stands level: the rod and the sand at each corner, by the plan's own levels."""
    for thing in plan.advice.levels:
        for corner in thing.corners:
            known = [x for x in (corner.sand, corner.base_below, corner.lost, corner.shows)
                     if x is not None]  # fmt: skip
            told.fact(
                rf"{re.escape(corner.name)} {re.escape(corner.where)} {ROD} "
                rf"(?P<cells>(?:{LENGTH} ?)+)",
                lambda f, known=known: all(
                    any(near(words, x) for x in known) for words in re.findall(LENGTH, f["cells"])
                ),
            )
    if plan.advice.levels:
        told.strings(of_yard(words) for thing in plan.advice.levels
                     for words in beside_words(thing, plan.site.unit))  # fmt: skip


def _edges(told: Reader, record: dict) -> None:
    above = [area["edge"]["above"] for area in record["areas"]]
    told.fact(rf"stands highest(?: clear of steps and drains)?, (?P<n>{LENGTH}) over the lawn",
              lambda f: metres(f["n"]) <= max(above) + INCH / 8)  # fmt: skip
    # The drawing below it: layers, refill, and what is built by its own sentence.
    layers = [layer["thickness"] for area in record["areas"] for base in area["bases"].values()
              for layer in base["layers"]]  # fmt: skip
    said = " ".join(one["said"] for area in record["areas"] for one in area["structures"])
    sizes = [metres(words) for words in re.findall(LENGTH, said)]
    deep = max(area["bases"][area["base"]]["max_dig"] for area in record["areas"])
    for found in re.finditer(r"(?:dashes: ground today)(.*?)(?=Layers on|: layers on|: edge where)",
                             told.text):  # fmt: skip
        start = found.start(1)
        for each in re.finditer(rf"(?<![\d/])(?P<n>{LENGTH})", found[1]):
            told.seen.append((start + each.start(), start + each.end()))
            one = metres(each["n"])
            free = "stone fill" in found[1] or "clean stone" in found[1]
            if not any(abs(one - x) <= INCH / 16 for x in (*layers, *sizes)) and not (
                free and one <= deep + 0.3
            ):
                told.wrong.append(f"no layer: {each[0]}")
        for each in re.finditer(r"lift \d+|, \d+ of ", found[1]):
            told.seen.append((start + each.start(), start + each.end()))


def _layers(told: Reader, record: dict, area: dict, plan) -> None:
    digs = [each["bases"][each["base"]] for each in record["areas"]]
    dig = area["bases"][area["base"]]
    limits = plan.limits
    tolerances = [limits[rule] for rule in ("built-subgrade", "built-base", "built-bedding",
                                            "built-surface")]  # fmt: skip
    names = {layer["name"] for one in digs for layer in one["layers"]}
    called = "|".join(re.escape(each["name"]) for each in record["areas"])
    for layer in dig["layers"]:
        # Bedding is no chip bedding.
        longer = [each.removesuffix(layer["name"]) for each in names
                  if each.endswith(f" {layer['name']}")]  # fmt: skip
        apart = "".join(f"(?<!{re.escape(each)})" for each in longer)
        told.fact(
            rf"{apart}{re.escape(layer['name'])} (?P<n>{LENGTH})"
            rf"(?: (?P<count>\d+) of (?P<lift>{LENGTH})"
            rf"| one)? (?P<much>(?:{VOLUME}|{AREA})(?: (?:{VOLUME}|{AREA}))*) "
            rf"(?:(?P<below>{LENGTH})|is the top)"
            rf"(?: ±(?P<tol>{LENGTH}))?",
            # Areas that are laid alike share a row, with an amount each.
            lambda f, name=layer["name"]: all(
                any(
                    _is_layer(f, much, one, each, above, tolerances)
                    for one in digs
                    for each, above in zip(one["layers"], _tops(one), strict=True)
                    if each["name"] == name
                )
                for much in re.findall(f"{VOLUME}|{AREA}", f["much"])
            ),
            least=1,
        )
    told.fact(
        rf"stone fill to (?P<n>{LENGTH}) (?:(?P<lift>{LENGTH}) at most|one) "
        rf"(?P<much>(?:under )?{VOLUME}) (?P<below>{LENGTH}) ±(?P<tol>{LENGTH})",
        lambda f: any(
            (near(f["much"], one["fill"]) if "under" not in f["much"]
             else one["fill"] < cubic(f["much"].removeprefix("under ")))
            and near(f["below"], one["build_up"])
            for one in digs
        ) and near(f["tol"], limits["built-subgrade"]),
    )  # fmt: skip
    told.fact(
        rf"(?:to the rods:|(?<=deepest);) (?:(?:{called}) )?(?P<n>{VOLUME}) in the bank over "
        rf"(?P<wide>{AREA}), (?P<deep>{LENGTH}) at the deepest",
        lambda f: any(
            near(f["n"], one["cut"]) and near(f["wide"], one["dig_area"])
            and near(f["deep"], one["max_dig"], INCH / 16)
            for one in digs
        ), least=1,
    )  # fmt: skip


def _tops(dig: dict) -> list[float]:
    """Return how far the top of each layer lies below the finish. [m]"""
    return np.cumsum([0.0, *(layer["thickness"] for layer in dig["layers"])])[:-1].tolist()


def _is_layer(
    found, much: str, dig: dict, layer: dict, top: float, tolerances: list[float]
) -> bool:
    # As it is laid and ordered, which is less than the hole where a drain or a wall stands.
    lines = [line for line in dig["quantities"]["lines"]
             if line["title"].split(",")[0].rstrip("s") == layer["name"].rstrip("s")]  # fmt: skip
    laid = sum(line["compacted"] for line in lines)
    same = (
        any(f"over {much}" in line["how"] for line in lines)
        if "²" in much
        else abs(cubic(much) - laid) <= 0.05 * 0.9144**3 + 1e-6
    )
    lifts = found["count"] is None or near(found["lift"], layer["thickness"] / int(found["count"]))
    below = (found["below"] is None and top < 1e-9) or (
        found["below"] is not None and near(found["below"], float(top))
    )
    held = found["tol"] is None or any(near(found["tol"], x) for x in tolerances)
    return near(found["n"], layer["thickness"]) and same and lifts and below and held


def _built(told: Reader, record: dict) -> None:
    """The parts of what is built: rods by nothing but that the bottom reads more than the top."""

    def above(found):
        low, high = (list(map(rod_of, re.findall(ROD, found[key]))) for key in ("low", "high"))
        return max(low) >= min(high) - 1e-6

    told.fact(
        rf"(?:\d+ x )?(?P<what>[a-z][a-z ]+) {TAPE}, {TAPE}(?: to {TAPE}, {TAPE})? "
        rf"(?P<low>{ROD}(?: to {ROD})?) (?P<high>{ROD}(?: to {ROD})?)(?![\d/])",
        above,
    )


def _ordered(told: Reader, record: dict, plan) -> None:
    """The order list: each row by its supply."""
    supplies = record["cost"]["bases"]["chosen"]["supplies"]
    titles = [supply.title for supply in plan.order.total.supplies]
    assert len(titles) == len(supplies)
    for title, supply in zip(titles, supplies, strict=True):

        def right(found, supply=supply):
            if abs(float(found["n"]) - supply["order"]) > 1e-3:
                return False
            if found["loose"]:
                return abs(cubic(found["loose"]) - supply["loose_order"]) < 0.06
            if found["pallets"]:
                return int(found["pallets"]) == supply["pallets"]
            return _amount(found["is"], supply["amount"], supply["measure"])

        told.fact(
            rf"{re.escape(title)} (?P<n>\d+(?:\.\d+)?)(?: [a-z]+)? (?:(?P<loose>{VOLUME}) loose"
            r"|(?P<pallets>\d+) pallets?|for (?P<is>\d+(?:\.\d+)?(?: (?:ft²|m²|ft|m|lb|kg|tons?|"
            r"tonnes?))?))",
            right, least=1,
        )  # fmt: skip


_UNITS = {"ft": 0.3048, "m": 1.0, "ft²": 0.3048**2, "m²": 1.0, "lb": 0.45359237, "kg": 1.0,
          "yd³": 0.9144**3, "m³": 1.0, "ton": 907.18474, "tons": 907.18474, "tonne": 1000.0,
          "tonnes": 1000.0}  # fmt: skip


def _amount(words: str, value: float, measure: str) -> bool:
    """Say whether 248.6 ft² is a value in SI, rounded to its last place; counted ones are whole."""
    number, _, unit = words.partition(" ")
    if measure == "each" or not unit:
        return int(float(number)) == int(np.ceil(value - 1e-6))
    decimals = len(number.partition(".")[2])
    one = _UNITS[unit]
    # What is over ten thousand, or a trailing nought, is told to fewer places.
    last = 0.5 * 10.0**-decimals if decimals else 0.55
    return abs(float(number) * one - value) <= last * one + 1e-6 or (
        abs(float(number) * one - value) <= 5e-3 * value
    )


def _hours(told: Reader, record: dict) -> None:
    chosen = record["cost"]["bases"]["chosen"]
    for task in chosen["tasks"]:
        told.fact(
            rf"{re.escape(task['task'])} (?:(?P<much>\d+(?:\.\d+)?(?: (?:ft²|m²|yd³|m³|ft|m|lb|"
            r"kg))?) )?(?P<n>\d+\.\d)(?![\d.])",
            lambda f, task=task: (
                abs(float(f["n"]) - task["mean"] / 3600) <= 0.05 + 1e-9
                and (not f["much"] or _amount(f["much"], task["amount"], task["measure"]))
            ),
            least=1,
        )
    told.fact(r"all tasks (?P<n>\d+\.\d)",
              lambda f: abs(float(f["n"]) - chosen["time"]["mean"] / 3600) <= 0.05 + 1e-9,
              "hours", least=1)  # fmt: skip
    days = record["cost"]["days"]
    told.fact(
        rf"About (?P<n>{COUNT}) days? for (?P<people>\d+) (?:people|person); eight such jobs in "
        rf"ten take (?P<low>{COUNT})(?: to (?P<high>{COUNT}))?",
        lambda f: (count(f["n"]), count(f["people"]), count(f["low"]), count(f["high"] or f["low"]))
        == (days["mean"], days["people"], days["low"], days["high"]),
        "days", least=1,
    )  # fmt: skip
    factor = record["cost"]["factor"]
    told.fact(r"all of it together, (?P<n>\d+) %",
              lambda f: abs(int(f["n"]) / 100 - factor["scale"]) < 0.005)  # fmt: skip


def _carried(told: Reader, record: dict, plan) -> None:
    haul = record["cost"]["bases"]["chosen"]["haul"]
    told.strings([f"Moved {haul['how']}"])

    def load(found, loose, mass, trips):
        own = loose is None or abs(cubic(found["loose"]) - haul[loose]) < 0.06
        return (
            own
            and int(found["n"]) == haul[trips]["count"]
            and (mass is None or abs(float(found["tons"]) * _UNITS[found["t"]] - haul[mass]) < 6.0)
        )

    weight = r"(?P<tons>[\d.]+) (?P<t>tons|tonnes) (?P<n>\d+)"
    told.fact(rf"soil out (?P<loose>{VOLUME}) loose, {weight}",
              lambda f: load(f, "spoil_loose", "spoil_mass", "trips_out"), least=1)  # fmt: skip
    told.fact(
        rf"stone, sand in (?P<loose>{VOLUME}) loose, {weight}",
        lambda f: load(f, "stone_loose", "stone_mass", "trips_in"), least=1,
    )  # fmt: skip
    told.fact(r"pavers in (?P<tons>[\d.]+) (?P<t>tons|tonnes) (?P<n>\d+)",
              lambda f: load(f, None, None, "trips_pavers"), least=1)  # fmt: skip
    told.fact(r"panels in (?P<tons>[\d.]+) (?P<t>tons|tonnes) (?P<n>\d+)",
              lambda f: load(f, None, None, "trips_panels"))  # fmt: skip
    told.fact(r"end of that way: (?P<n>\d+)", lambda f: int(f["n"]) == haul["bins"]["count"])
    told.fact(r"deliveries: (?P<n>\d+)", lambda f: int(f["n"]) == haul["deliveries"]["count"])
    # Steps to take in order: as many lifts of as much as the layers have.
    told.fact(r"\b\d\d? (?=Dig to the rods|Dig, topsoil|Build what|Geotextile|Stone fill up|Place|"
              r"Screed|Lay |Joints|Finished)", lambda f: int(f[0]) <= 12)  # fmt: skip
    layers = [layer for area in record["areas"]
              for layer in area["bases"][area["base"]]["layers"]]  # fmt: skip
    told.fact(rf"Place (?P<what>[^:]+): (?:(?P<n>\d+) lifts|one lift) of (?P<lift>{LENGTH})",
              lambda f: any(layer["name"] == f["what"]
                            and near(f["lift"], layer["thickness"] / int(f["n"] or 1))
                            for layer in layers))  # fmt: skip
    told.fact(rf"(?:Screed|Lay) (?P<what>[^,:]+?)s?, (?P<n>{LENGTH})",
              lambda f: any(f["what"].startswith(layer["name"].rstrip("s"))
                            and near(f["n"], layer["thickness"]) for layer in layers))  # fmt: skip
    told.fact(r"up to the base, in (?P<n>\d+) lifts", lambda f: 1 < int(f["n"]) < 12)
    sizes, joints = pavers_of(record)
    told.fact(r"Lay pavers (?P<a>\d+) × (?P<b>\d+) (?:in|mm)",
              lambda f: frozenset((int(f["a"]), int(f["b"]))) in sizes, least=1)  # fmt: skip
    told.fact(rf", joint (?P<n>{LENGTH});", lambda f: f["n"] in joints)
    lifts = [entry for name, entry in plan.crew.materials.items() if name.endswith("-lift")]
    told.fact(rf"thickest lift: (?P<n>{LENGTH}) \([^)]*\)",
              lambda f: any(near(f["n"], entry.likely) for entry in lifts))  # fmt: skip
    for area in record["areas"]:
        own = plan.advice.area(area["name"])
        told.strings([own.stacks.words, f"Edge: {own.holding}"])
