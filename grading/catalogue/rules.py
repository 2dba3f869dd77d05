"""The limits that checks and the fit hold to, each with its source, as data."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

from msgspec import Struct

from grading.catalogue.tables import table
from grading.units import Unit, built_size, nominals, read_length, read_slope

LimitUnit = Literal["ratio", "m", ""]
Limit = float | tuple[float, float]


class Rule(Struct, frozen=True):
    """One rule: its name, title, limit in SI (a pair is least and greatest) and source.

    A rule that is a yes or a no, or that compares two things of the site, has no limit. Sizes in
    the source stand in {braces}, in inches and feet. Where wishes conflict, an offer may ease the
    limit no farther than `floor`, or `move` what it is about no farther than that [m], in the way
    that `mend` says; `give` is where these come from. `metric` is the same size as it is built
    where sizes are round in millimetres: 150 mm for 6 in. Every size that is common practice has
    one; of what is published only what the table gives one. `clause` is what a sentence names for
    it, with the edition that was read.
    """

    name: str
    title: str
    limit: Limit | None
    unit: LimitUnit
    kind: str
    source: str
    floor: Limit | None = None
    move: float | None = None
    mend: str = ""
    give: str = ""
    metric: Limit | None = None
    clause: str = ""

    def source_in(self, unit: Unit) -> str:
        """Say where it comes from, with sizes in the site's unit, and as published beside them."""
        return nominals(self.source, unit, beside=self.kind == "published")


def _limit(written: object) -> tuple[Limit | None, LimitUnit]:
    """Return a limit as written, in SI, with its unit."""
    match written:
        case None:
            return None, ""
        case [str() as least, str() as greatest]:
            return (read_length(least, "m"), read_length(greatest, "m")), "m"
        case str() if "%" in written or ":" in written or "in/ft" in written:
            return read_slope(written), "ratio"
        case str():
            return read_length(written, "m"), "m"
    raise TypeError(written)


def _read(name: str, entry: Mapping[str, Any]) -> Rule:
    limit, unit = _limit(entry.get("limit"))
    floor, _ = _limit(entry.get("floor"))
    move = read_length(entry["move"], "m") if "move" in entry else None
    mend, give = entry.get("mend", ""), entry.get("give", "")
    metric, _ = _limit(entry.get("metric"))
    if metric is None and unit == "m" and entry["kind"] != "published":
        metric = _built(entry["limit"], limit)
    return Rule(
        name, entry["title"], limit, unit, entry["kind"], entry["source"], floor, move, mend, give,
        metric, entry.get("clause", ""),
    )  # fmt: skip


def _built(written: Any, limit: Limit | None) -> Limit | None:
    """Return a limit of common practice where sizes are round in millimetres. [m]"""
    if isinstance(limit, tuple):
        least, most = (built_size(*each) for each in zip(written, limit, strict=True))
        return least, most
    return None if limit is None else built_size(written, limit)


RULES: Mapping[str, Rule] = {
    name: _read(name, entry) for name, entry in table("catalogue", "rules").items()
}


_FOLLOWS = {"every-foot-fall": "fall-away"}
"""Rules that look at the same thing as another, and hold it to that one's limit where a site has
a limit of its own for that one alone."""


class Limits:
    """The limits of one site: the defaults, with the site's own in their place.

    Parameters
    ----------
    own : mapping
        The site's own limits by rule name, in SI. [ratio or m]
    unit : "ft" or "m"
        What sources are written in.
    nominal : "ft" or "m"
        What sizes are round in where a rule has both.
    """

    def __init__(self, own: Mapping[str, Limit], unit: Unit = "ft", nominal: Unit = "ft") -> None:
        self._own, self._unit, self._nominal = dict(own), unit, nominal

    def __getitem__(self, name: str) -> float:
        """Return the limit of a rule that has one number. [ratio or m]"""
        limit = self._own.get(self._in_force(name), self._usual(name))
        if limit is None or isinstance(limit, tuple):
            raise KeyError(name)
        return limit

    def _usual(self, name: str) -> Limit | None:
        rule = RULES[name]
        return rule.metric if self._nominal == "m" and rule.metric is not None else rule.limit

    def _in_force(self, name: str) -> str:
        """Name the rule of the site's own table that a rule's limit is read from."""
        return name if name in self._own else _FOLLOWS.get(name, name)

    def pair(self, name: str) -> tuple[float, float]:
        """Return the least and the greatest of a rule that has both. [m]"""
        limit = self._own.get(name, self._usual(name))
        if not isinstance(limit, tuple):
            raise KeyError(name)
        return limit

    def clause(self, name: str) -> str:
        """Name the clause of a limit in force, to go into a sentence; empty where it has none.

        Of a limit of the site's own no clause is named: it says something else.
        """
        own = self._in_force(name) in self._own
        told = "" if own else RULES[name].clause
        return f" ({told})" if told else ""

    def source(self, name: str) -> str:
        """Say where the limit in force comes from."""
        own = self._in_force(name) in self._own
        return "the site's own limit" if own else RULES[name].source_in(self._unit)


def greatest_fall_rule(use: str) -> str:
    """Name the rule that bounds the fall of an area of this use."""
    return {"patio": "greatest-fall-patio", "driveway": "greatest-fall-driveway"}.get(
        use, "greatest-fall-walkway"
    )


def comfortable_fall_rule(use: str) -> str:
    """Name the rule for the fall that an area of this use keeps within on grade."""
    return greatest_fall_rule(use).replace("greatest", "comfortable")


CLEARANCE_RULES: Mapping[str, str] = {
    "siding": "siding-clearance",
    "weep holes": "weep-hole-clearance",
    "window well": "window-well-clearance",
    "vent": "vent-clearance",
    "other": "other-clearance",
}

EDGE_RULES: Mapping[str, str] = {
    "lawn": "lawn-edge",
    "swale": "swale-edge",
    "outlet": "outlet-edge",
    "other": "other-edge",
}
