"""What looks at the numbers of the paper of a change: those of `compare --json`, and of each plan.

Layers drawn are held to the JSON of the plan before and after, payments to that of its price.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from measure.quote_numbers import MONEY, amount
from measure.told_numbers import COUNT, INCH, LENGTH, VOLUME, Reader, count, finest, metres, near

RATE = rf"{LENGTH} per (?:10 ft|metre)"
_DUG, _SET = INCH / 16, INCH / 32
"""Half of what a depth of soil and a height of paving are told to in feet. [m]"""


def change(told: Reader, found: dict, before: dict, after: dict, last: float | None) -> None:
    """Look at every number of the paper of a change.

    Parameters
    ----------
    told : Reader
    found, before, after : dict
        The JSON of the comparison and of both plans.
    last : float or None
        The last payment of the price that was agreed; None where no price is made.
    """
    told.fact(r"page \d+ / \d+|Change \d+(?: to the job|:)|plan [0-9a-f]{6}", lambda f: True)
    # The scale bar and what it says: of the drawing, no figure of the job.
    told.fact(
        rf"\b0 (?:{LENGTH}) (?:(?:{COUNT}) in = 1 ft \(1:\d+\)|1:\d+), true scale", lambda f: True
    )
    figures = {(one["area"], one["key"]): one for one in found["figures"]}
    parts = list(_tables(told.text, [*(a["name"] for a in after["areas"]), "the whole job"]))
    for name, start, end in parts:
        area = None if name == "the whole job" else name
        _rows(told, (start, end), [one for (of, _), one in figures.items() if of == area])
    _said(told, figures, last)
    height = {"measure": "height"}
    told.fact(
        rf"moves by up to (?P<n>{LENGTH})", lambda f: _is(f["n"], height, found["moved"]), "moved"
    )
    for at, record in ((0, before), (1, after)):
        _layers(told, at, record)


def _tables(text: str, names: list[str]) -> Iterator[tuple[str, int, int]]:
    """Yield each table by what it is of, and where it stands in the text."""
    heads = sorted(
        (found.start(), name) for name in names
        for found in re.finditer(rf"{re.escape(name)} as agreed now difference", text)
    )  # fmt: skip
    ends = [*(start for start, _ in heads[1:]), len(text)]
    for (start, name), end in zip(heads, ends, strict=True):
        yield name, start, end


def _rows(told: Reader, within: tuple[int, int], figures: list[dict]) -> None:
    """Every row of a table: before, now and the difference of the figure that it is called by."""
    start, end = within
    value = rf"(?:{RATE}|{VOLUME}|{LENGTH}|{MONEY.replace('(?P<n>', '(?:')}|{COUNT})"
    for one in figures:
        if isinstance(one["before"], str) or isinstance(one["after"], str):
            continue
        row = re.compile(
            rf"{re.escape(one['title'])} (?P<b>{value}) (?P<a>{value}) "
            rf"(?P<m>none|[+-] {value})", re.IGNORECASE,
        )  # fmt: skip
        for each in row.finditer(told.text, start, end):
            told.seen.append(each.span())
            told.told.setdefault((one["area"], one["key"]), set()).add(each[0].casefold())
            right = _is(each["b"], one, one["before"]) and _is(each["a"], one, one["after"])
            if not right or not _differs(each, one):
                told.wrong.append(f"not as in the comparison: {each[0]}")


def _is(words: str, one: dict, value: float) -> bool:
    match one["measure"]:
        case "slope":
            long, _, per = words.partition(" per ")
            one_of, half = (0.3048, _SET) if per == "foot" else (1.0, finest(long))
            return abs(metres(long) / one_of - value) <= half / one_of + 1e-6
        case "depth" | "height":
            half = _DUG if one["measure"] == "depth" else _SET
            return abs(metres(words) - value) <= (half if "in" in words else 5e-4) + 1e-6
        case "volume":
            return near(words, value, 1e-6)
        case "money":
            return abs(amount(re.search(r"[\d,]+", words)[0]) - value) <= 0.5
        case _:
            return count(words) == round(value * 2) / 2


def _differs(row: re.Match, one: dict) -> bool:
    """Who subtracts one told figure from the other finds the difference that is told."""
    if row["m"] == "none":
        return row["b"] == row["a"]

    def number(words: str) -> float:
        if one["measure"] in ("depth", "height"):
            return metres(words)
        return float(count(re.search(COUNT + r"|[\d.,]+", words.replace(",", ""))[0])
                     if one["measure"] in ("days", "count")
                     else re.search(r"[\d.]+", words.replace(",", ""))[0])  # fmt: skip

    more = number(row["m"][2:]) * (-1 if row["m"][0] == "-" else 1)
    return abs(number(row["a"]) - number(row["b"]) - more) < 1e-6


def _said(told: Reader, figures: dict, last: float | None) -> None:
    days = figures[None, "days"]
    told.fact(
        rf"(?P<n>{COUNT}) days? of work in all", lambda f: _is(f["n"], days, days["after"]), "days",
        least=1,
    )  # fmt: skip
    told.fact(
        rf"(?P<sign>[+-]) (?P<n>{COUNT}) days?\b",
        lambda f: (
            count(f["n"]) * (-1 if f["sign"] == "-" else 1)
            == (round(2 * days["after"]) - round(2 * days["before"])) / 2
        ),
    )
    soil = [one for (_, key), one in figures.items() if key == "topsoil"]
    told.fact(
        rf"is (?P<a>{LENGTH}) deep on average, not (?P<b>{LENGTH})",
        lambda f: any(_is(f["a"], one, one["after"]) and _is(f["b"], one, one["before"])
                      for one in soil),
    )  # fmt: skip
    price = figures.get((None, "price"))
    if price is None:
        return
    told.fact(rf"[+-] {MONEY} the price; it becomes",
              lambda f: abs(amount(f["n"]) - abs(price["more"])) <= 0.5)  # fmt: skip
    told.fact(rf"it becomes {MONEY}, tax and all",
              lambda f: abs(amount(f["n"]) - price["after"]) <= 0.5, "price", least=1)  # fmt: skip
    told.fact(rf"the last payment, which becomes {MONEY}",
              lambda f: abs(amount(f["n"]) - last - price["more"]) <= 0.5)  # fmt: skip


def _layers(told: Reader, at: int, record: dict) -> None:
    """What is drawn of an area: layers of the plan as agreed, then of that now."""
    for area in record["areas"]:
        dig = area["bases"][area["base"]]
        known = [layer["thickness"] for layer in dig["layers"]]
        deep = dig["refill"]["greatest"] if dig.get("refill") else dig["max_dig"]
        drawn = (
            rf"{re.escape(area['name'])}, cut through (?P<one>.*? firm soil) (?P<two>.*? firm soil)"
        )
        for each in re.finditer(drawn, told.text):
            group = ("one", "two")[at]
            start, words = each.start(group), each[group]
            for found in re.finditer(rf"(?P<what>[a-z -]+), (?P<up>up to )?(?P<n>{LENGTH})", words):
                told.seen.append((start + found.start(), start + found.end()))
                value = metres(found["n"])
                fits = (
                    value <= deep + _DUG if found["up"]
                    else any(abs(value - thick) <= _SET + 5e-4 for thick in known)
                )  # fmt: skip
                if not fits:
                    told.wrong.append(f"no layer of {area['name']}: {found[0]}")
