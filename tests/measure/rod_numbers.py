"""What looks at tapes and rods of the crew's paper: each is one of the table "rods" of the JSON."""

from __future__ import annotations

import re
from itertools import combinations

import numpy as np
from measure.told_numbers import COUNT, INCH, LENGTH, VOLUME, Reader, count, cubic, metres, near

ROD = r"(?:\d+' \d+(?: \d+/\d+)?|\d+\.\d{3})"
TAPE = rf"-?{LENGTH}"
NAME = r"[A-Za-z]{1,2}\d?|\d+"


def taped(told: Reader, record: dict, plan) -> None:
    rods, areas = record["rods"], record["rods"]["areas"]
    told.fact(
        r"Square\? (?P<a>\S+(?: m)?) along one line and (?P<b>\S+(?: m)?) along the other: "
        r"(?P<c>\S+(?: m)?) between",
        lambda f: len({round(_first(f[key]) / part, 6) for key, part in
                       (("a", 3), ("b", 4), ("c", 5))}) == 1,
        least=1,
    )  # fmt: skip
    for each in rods["references"]:
        told.fact(rf"{each['name']} {re.escape(each['where'])}", lambda f: True)
    told.fact(r"\d+(?:/\d+)? in = 1 ft|1:\d+", lambda f: True)
    over = [area.chosen_dig.system.over_dig(plan.limits) for area in plan.areas]
    told.fact(rf"Dig line (?P<n>{LENGTH}) outside", lambda f: any(near(f["n"], x) for x in over),
              least=len(areas))  # fmt: skip
    strings = [string for area in areas for string in area["strings"]]
    beyond = [end["beyond"] for string in strings for end in string["ends"]]
    told.fact(rf"Hubs (?P<n>{LENGTH}) past", lambda f: any(near(f["n"], x) for x in beyond))
    told.fact(rf"Strings (?P<n>{LENGTH}) over the finish",
              lambda f: any(near(f["n"], string["over_finish"]) for string in strings))  # fmt: skip
    stakes = [stake for area in areas for stake in area["stakes"]]
    apart = {round(abs(a[key] - b[key]), 4) for area in areas
             for a, b in combinations([s for s in area["stakes"] if s["kind"] == "grid"], 2)
             for key in ("along", "out")}  # fmt: skip
    told.fact(rf"Grid (?P<n>{LENGTH}), along", lambda f: any(near(f["n"], x) for x in apart)
              or len(apart) < 2)  # fmt: skip
    diagonals = {tuple(d["corners"]): [] for area in areas for d in area["diagonals"]}
    for area in areas:
        for each in area["diagonals"]:
            diagonals[tuple(each["corners"])].append(each["length"])
    told.fact(
        rf"(?P<a>\w+)-(?P<b>\w+) (?P<n>{LENGTH})(?=[;.])",
        lambda f: any(near(f["n"], x) for x in diagonals.get((f["a"], f["b"]), [])),
    )
    by_name: dict[str, list[dict]] = {}
    for stake in stakes:
        by_name.setdefault(stake["name"], []).append(stake)
    names = "|".join(re.escape(each["name"]) for each in rods["references"]) or "(?!)"

    def tied(found):
        parts = re.findall(rf"({names}) ({LENGTH})", found["ties"])
        return any(
            len(parts) == len(stake["ties"])
            and all(to == tie["to"] and near(far, tie["length"])
                    for (to, far), tie in zip(parts, stake["ties"], strict=True))
            and (not found["angle"] or abs(float(found["angle"]) - stake["angle"]) <= 0.5 + 1e-9)
            for stake in by_name.get(found["name"], [])
        )  # fmt: skip

    told.fact(
        rf"\b(?!(?:{names}) )(?P<name>{NAME}) (?P<ties>(?:(?:{names}) {LENGTH} ?)+)"
        r"(?:(?P<angle>\d+)°|wall)?",
        tied,
    )
    told.fact(rf"\b(?P<name>{NAME}) at (?:{names}) wall", lambda f: f["name"] in by_name)

    def strung(found):
        for string in strings:
            ends = [rod_of(words) for words in (found["r1"], found["r2"])]
            if (
                string["name"] == found["name"]
                and near(found["n"], string["length"])
                and all(
                    abs(one - end["rod"]) <= _fine(found["r1"])
                    for one, end in zip(ends, string["ends"], strict=True)
                )
            ):
                return True
        return False

    told.fact(rf"(?P<name>\w+-\w+) (?P<n>{LENGTH}) (?P<r1>{ROD}) (?P<r2>{ROD})", strung,
              least=len(strings))  # fmt: skip
    curves = [curve for area in areas for curve in area["curves"]]

    def bent(found):
        offs = re.findall(COUNT, found["offs"])
        return any(
            found["a"] == curve["from"] and found["b"] == curve["to"]
            and near(found["n"], curve["length"]) and len(offs) == len(curve["marks"])
            and all(abs(_fine_length(off, record) - mark["off"]) <= INCH / 16 + 1e-9
                    for off, mark in zip(offs, curve["marks"], strict=True))
            for curve in curves
        )  # fmt: skip

    told.fact(
        rf"(?P<a>\w+)-(?P<b>\w+) (?P<n>{LENGTH}) (?:outward|inward) "
        rf"(?P<offs>(?:(?:{COUNT})(?! Levels| Dig| Build) ?)+)",
        bent, least=len(curves),
    )  # fmt: skip
    marks = {round(mark["along"], 4) for curve in curves for mark in curve["marks"]}
    far = r"(?:\d+'|\d+(?:\.\d+)? m)"
    told.fact(rf"off it, (?:in|mm), at (?P<n>{far}(?: {far})*)",
              lambda f: all(any(abs(_first(x) - mark) < 1e-3 for mark in marks)
                            for x in re.findall(r"\d+'|\d+(?:\.\d+)? m", f["n"])))  # fmt: skip
    _plans(told, rods, stakes)


def _plans(told: Reader, rods: dict, stakes: list[dict]) -> None:
    """The plans seen from above: every length is one between points, or a tape."""
    points = [np.array(each["at"]) for each in (*stakes, *rods["references"])]
    known = [tie["length"] for stake in stakes for tie in stake["ties"]]
    for stake in stakes:
        known += [stake["along"], stake["out"]]
    for a, b in combinations(points, 2):
        known += [float(np.hypot(*(a - b))), *map(abs, (a - b).tolist())]
    for a, b in combinations(stakes, 2):
        known += [abs(a["along"] - b["along"]), abs(a["out"] - b["out"])]
    known_ = np.array(known)
    offs = [mark["off"] for area in rods["areas"] for curve in area["curves"]
            for mark in curve["marks"]]  # fmt: skip
    for found in re.finditer(r"(?:as you face the house|true scale)(.*?)Dig line", told.text):
        start = found.start(1)
        for each in re.finditer(rf"(?<![\d.])(?P<n>{LENGTH}|\d+\.\d{{3}} m)", found[1]):
            told.seen.append((start + each.start(), start + each.end()))
            # How paving falls stands in it too, which is no length between points.
            if found[1][each.end() :].startswith((" = 1 ft", " per")):
                continue
            if "falls" in found[1][max(each.start() - 8, 0) : each.start()]:
                continue
            if np.abs(known_ - metres(each["n"])).min() > INCH / 16:
                told.wrong.append(f"no length of the plan: {each[0]}")
        for each in re.finditer(rf"(?<![\w'/.])(?:{COUNT})(?![\w'/.])", found[1]):
            if any(abs(_fine_length(each[0], {"rods": rods}) - x) < INCH / 16 for x in offs):
                told.seen.append((start + each.start(), start + each.end()))
        # Numbers of points stand one beside another, and those of a grid are under thirty.
        for each in re.finditer(r"(?<![\w'/.])\d+(?![\w'/.]| (?:in|mm|m)\b)", found[1]):
            told.seen.append((start + each.start(), start + each.end()))


def _first(words: str) -> float:
    """Return 9' as metres, or 3 m."""
    return float(words[:-1]) * 0.3048 if words.endswith("'") else float(words.split()[0])


def rod_of(words: str) -> float:
    if "'" in words:
        feet, inches = words.split("' ")
        return int(feet) * 0.3048 + count(inches) * INCH
    return float(words)


def _fine(words: str) -> float:
    """Return half of what a rod is told to the nearest of, at the coarsest."""
    return INCH / 16 + 1e-9 if "'" in words else 2.5e-3 + 1e-9


def _fine_length(words: str, record: dict) -> float:
    return count(words) * (INCH if record["rods"]["rod"].startswith("ft") else 1e-3)


def rods_read(told: Reader, record: dict) -> None:
    rods = record["rods"]
    reading = rods["benchmark"]["reading"]
    told.fact(rf"Made for (?P<n>{ROD})\"? read on the benchmark:",
              lambda f: abs(rod_of(f["n"]) - reading) < 1e-6, "stated", least=1)  # fmt: skip
    told.fact(rf"less (?P<n>{ROD})\"? =", lambda f: abs(rod_of(f["n"]) - reading) < 1e-6, "stated")
    told.fact(rf"(?:: |, )(?:.{{1,60}}?), (?P<n>{LENGTH}); the line of sight",
              lambda f: near(f["n"], rods["benchmark"]["z"]), least=1)  # fmt: skip
    told.fact(rf"line of sight stands at (?P<n>{LENGTH})", lambda f: near(f["n"], rods["hi"]),
              least=1)  # fmt: skip
    stakes = [stake for area in rods["areas"] for stake in area["stakes"] if stake["layers"]]

    def row(found):
        return any(stake["name"] == found["name"] and _fits(found, stake, record)
                   for stake in stakes)  # fmt: skip

    told.fact(
        rf"\b(?!to )(?P<name>{NAME}) (?P<along>{TAPE}), (?P<out>{TAPE}) (?P<rods>(?:{ROD} ){{2,6}})"
        rf"(?P<cut>\?|(?:fill )?(?:{COUNT}))",
        row, least=len(stakes),
    )  # fmt: skip
    worst = [max(s["existing_either_way"] or 0.0 for s in area["stakes"]) for area in rods["areas"]]
    told.fact(rf"the ground is known to ±(?P<n>{LENGTH})",
              lambda f: any(near(f["n"], x, INCH / 8) for x in worst))  # fmt: skip
    digs = [area["bases"][area["base"]] for area in record["areas"]]

    def half(low, high):
        return [abs(dig[high] - dig[low]) / 2 for dig in digs if dig.get(low) is not None]

    for word, what in (("dig", "cut"), ("refill", "fill")):
        ends = half(f"{what}_low", f"{what}_high")
        told.fact(
            rf"the {word} to (?:±|under )(?P<n>{VOLUME})",
            lambda f, ends=ends: any(abs(cubic(f["n"]) - x) < 0.06 for x in ends),
        )
    told.fact(rf"the deepest of it to ±(?P<n>{LENGTH})",
              lambda f: any(abs(metres(f["n"]) - x) < INCH / 4 for x in
                            half("max_dig_low", "max_dig_high")))  # fmt: skip
    sd = record["ground"]["uncertainty"]
    told.fact(
        rf"under it typically to ±(?P<n>{LENGTH})",
        lambda f: sd is not None and metres(f["n"]) < 3 * sd["sd_median"] + INCH / 8,
    )


def _fits(found, stake: dict, record: dict) -> bool:
    printed = [rod_of(words) for words in re.findall(ROD, found["rods"])]
    layers = stake["layers"]
    exact = [layer["rod"] for layer in layers]
    whole = [exact[0], *exact[1:]]
    if layers[0]["name"] == "subgrade" and len(printed) == len(exact) + 1:
        whole = [exact[0], *exact]  # not filled here: the bottom of the hole is the top of no fill
    if len(printed) != len(whole):
        return False
    cut = found["cut"]
    if (cut == "?") != (stake["cut"] is None):
        return False
    if cut != "?":
        dug = _fine_length(cut.removeprefix("fill "), record) * (-1 if "fill" in cut else 1)
        if abs(dug - stake["cut"]) > INCH / 8 + 1e-9:
            return False
    return (
        near(found["along"].lstrip("-"), abs(stake["along"]), INCH / 32)
        and near(found["out"].lstrip("-"), abs(stake["out"]), INCH / 32)
        and all(abs(a - b) <= _fine(found["rods"]) for a, b in zip(printed, whole, strict=True))
    )
