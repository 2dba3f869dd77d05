"""What looks at the numbers of a quote: each is one of the JSON that `quote --json` prints."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta

from measure.told_numbers import (
    AREA,
    COUNT,
    FOOT2,
    INCH,
    LENGTH,
    YARD3,
    Reader,
    count,
    metres,
    near,
    pavers_of,
)

MONEY = r"(?:\$|US\$|[A-Z]{3})\s?(?P<n>[\d,]+(?:\.\d\d)?)"
_A = {"ft²": FOOT2, "m²": 1.0, "yd³": YARD3, "m³": 1.0, "person-hour": 3600.0, "each": 1.0}


def amount(words: str) -> float:
    """Return 1,350 as 1350."""
    return float(words.replace(",", ""))


def quote(told: Reader, record: dict, plan) -> None:
    """Look at every number of the quote."""
    _whole(told, record, plan)
    _lines(told, record)
    _instead(told, record)
    _ground(told, record, plan)
    _held(told, record, plan)
    _paid(told, record)


def _whole(told: Reader, record: dict, plan) -> None:
    price, days = record["price"], record["cost"]["days"]
    told.fact(rf"Price in all {MONEY}", lambda f: amount(f["n"]) == price["total"], "total",
              least=1)  # fmt: skip
    told.fact(rf"tax (?:of|on)[^$]*{MONEY}", lambda f: amount(f["n"]) == price["tax"])
    told.fact(
        rf"(?P<n>{COUNT}) working days? for (?P<people>\d+) (?:people|person)",
        lambda f: (count(f["n"]), count(f["people"])) == (days["mean"], days["people"]),
        "days", least=1,
    )  # fmt: skip
    told.fact(r"good for (?P<n>\d+) days", lambda f: int(f["n"]) == price["valid_days"], least=1)
    told.fact(
        r"the first (?P<n>\d+) business days", lambda f: int(f["n"]) == plan.crew.pricing.cancel
    )
    told.fact(r"(?P<n>\d+) blanks? to fill in", lambda f: int(f["n"]) == len(price["blanks"]))
    told.fact(
        r"for a first look: (?P<named>.*?) and (?P<n>\d+) more\.",
        lambda f: len(f["named"].split(", ")) + int(f["n"]) == len(price["built_in"]),
    )
    told.fact(r"(?:[Qq]uote|plan|as) [0-9a-f]{6}(?:[0-9a-f]{58})?\b", lambda f: True)
    told.fact(r"page \d+ / \d+", lambda f: True)
    _dates(told, price)


def _dates(told: Reader, price: dict) -> None:
    """The day that a quote is of, and the last on which it is good: all others are no dates."""
    if price["date"] is None:
        return
    first = date.fromisoformat(price["date"])
    days = {first, first + timedelta(days=price["valid_days"])}
    told.fact(r"\d{1,2} [A-Z][a-z]+ \d{4}",
              lambda f: datetime.strptime(f[0], "%d %B %Y").date() in days, least=2)  # fmt: skip


def _lines(told: Reader, record: dict) -> None:
    """What is built: each line's area and price, the sizes by those of the plan."""
    areas = {area["name"]: area for area in record["areas"]}
    wide = {round(line["amount"], 6): line["price"] for line in record["price"]["lines"]
            if line["amount"] is not None}  # fmt: skip
    told.fact(
        rf"(?P<area>{AREA}) {MONEY}",
        lambda f: any(near(f["area"], a) and amount(f["n"]) == p for a, p in wide.items()),
        least=len(wide),
    )
    prices = {line["price"] for line in record["price"]["lines"]}
    told.fact(rf"\. {MONEY}(?! a )", lambda f: amount(f["n"]) in prices)
    digs = [area["bases"][area["base"]] for area in areas.values()]
    told.fact(rf"on average (?P<n>{LENGTH})",
              lambda f: any(near(f["n"], dig["mean_dig"]) for dig in digs))  # fmt: skip
    layers = [layer["thickness"] for dig in digs for layer in dig["layers"]]
    told.fact(rf"(?:base|sand|bedding|panel|chips|stone) (?P<n>{LENGTH})",
              lambda f: any(near(f["n"], each) for each in layers))  # fmt: skip
    deepest = max(dig["max_dig"] for dig in digs) + INCH / 16
    told.fact(rf"stone fill up to (?P<n>{LENGTH})", lambda f: metres(f["n"]) <= deepest)
    sizes, joints = pavers_of(record)
    told.fact(r"(?P<a>\d+) × (?P<b>\d+) (?:in|mm)",
              lambda f: frozenset((int(f["a"]), int(f["b"]))) in sizes, least=1)  # fmt: skip
    told.fact(rf"joints (?P<n>{LENGTH}),", lambda f: f["n"] in joints)


def _instead(told: Reader, record: dict) -> None:
    more = {(each["more"], each["days"]) for each in record["price"]["options"]}
    told.fact(
        rf"(?P<days>{COUNT}) days? in all (?P<sign>[+-]) {MONEY}",
        lambda f: (amount(f["n"]) * (-1 if f["sign"] == "-" else 1), count(f["days"])) in more,
        least=len(more),
    )


def _ground(told: Reader, record: dict, plan) -> None:
    price = record["price"]
    each = {one["title"]: one["price"] for one in price["allowances"]}
    extra = [one["price"] for one in price["extra"]]
    ground = price["ground"]

    def unit_price(found):
        one = amount(found["n"]) / _A[found["a"]]
        known = [*each.values(), *(x / _A[found["a"]] for x in extra)]
        if ground is not None:
            known += [ground["by_volume"] or 0.0, ground["hour"]]
        # To the cent or to the whole.
        last = (0.005 if "." in found["n"] else 0.5) / _A[found["a"]]
        return any(abs(one - value) <= last + 1e-9 for value in known)

    told.fact(rf"{MONEY} an? (?P<a>ft²|m²|yd³|m³|person-hour)", unit_price, least=2)
    told.fact(rf"{MONEY} (?P<a>each)", unit_price)
    if ground is None:
        return
    reckoned = record["topsoil"]["reckoned"]
    probes = plan.site.ground.probes

    def stripped(found):
        if reckoned is not None:
            return found["most"] is None and near(found["n"], reckoned)
        # Between the holes it is some of both.
        depths = [metres(found["n"]), metres(found["most"] or found["n"])]
        low, high = probes[:, 2].min() - INCH / 16, probes[:, 2].max() + INCH / 16
        return low <= depths[0] <= depths[1] <= high

    told.fact(rf"price is of topsoil (?P<n>{LENGTH})(?: to (?P<most>{LENGTH}))? deep", stripped,
              least=1)  # fmt: skip
    steps = ground["deeper"]
    told.fact(
        rf"Topsoil (?P<more>{LENGTH}) deeper all over \+ {MONEY}",
        lambda f: any(near(f["more"], one["more"]) and abs(one["price"] - amount(f["n"])) <= 0.5
                      for one in steps),
    )  # fmt: skip
    told.fact(
        rf"Topsoil up to (?P<more>{LENGTH}) deeper all over no more",
        lambda f: all(
            one["price"] < 0.5 for one in steps if one["more"] <= metres(f["more"]) + 1e-6
        ),
    )
    told.fact(rf"Topsoil (?P<n>{LENGTH}) deeper needs another bin",
              lambda f: ground["next_bin"] is not None
              and abs(metres(f["n"]) - ground["next_bin"]) < 0.0127)  # fmt: skip


def _held(told: Reader, record: dict, plan) -> None:
    falls = [wall["fall_away"] for area in record["areas"] for wall in area["walls"]]

    def least(found):
        # Rounded down, to 1/8 in or 1 mm of its run: no more is promised than is drawn.
        over, mark = (3.048, 0.0254 / 8) if found["over"] == "10 ft" else (1.0, 1e-3)
        return -0.01 <= (min(falls) * over - metres(found["n"])) / mark < 1

    told.fact(rf"from the house by (?P<n>{LENGTH}) per (?P<over>10 ft|metre)", least)
    told.fact(rf"lies within (?P<n>{LENGTH}) of the heights",
              lambda f: near(f["n"], plan.limits["built-surface"]), least=1)  # fmt: skip
    told.fact(rf"no more than (?P<n>{LENGTH}) under a straightedge of (?:10 ft|3 m)",
              lambda f: near(f["n"], plan.limits["straightedge"]), least=1)  # fmt: skip


def _paid(told: Reader, record: dict) -> None:
    dues = {each["when"]: each for each in record["price"]["payments"]}
    total = record["price"]["total"]
    assert abs(sum(each["amount"] for each in dues.values()) - total) < 0.01
    for when, due in dues.items():
        told.fact(
            rf"{re.escape(when)} (?P<share>\d+) % {MONEY}",
            lambda f, due=due: amount(f["n"]) == due["amount"]
            and int(f["share"]) == round(100 * due["share"]),
            ("due", when), least=1,
        )  # fmt: skip
