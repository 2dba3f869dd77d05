"""[limits]: limits of a site's own in the place of those of the rules."""

from __future__ import annotations

from typing import Any

import numpy as np

from grading.catalogue.rules import RULES, Limit, Limits, Rule
from grading.files.fields import INCHES_NEED_A_UNIT, UnfitError
from grading.files.toml_text import shown_value
from grading.reading.written import Written
from grading.units import Unit, UnitError, length, read_length, read_slope, size

MOST_TIMES = 8.0
"""A limit of a site's own is hardly so many times that of the rule: inches read as feet are 12
times. Common practice, no source."""

LEAST_BOUND = 0.1
"""Limits up to this are taken whatever that of the rule is. [m]"""

_IN_ORDER = (("lawn-least", "lawn-most"), ("lawn-most", "lawn-shoulder"))
"""Limits of which one may not be more than the other."""


def limits_of(site: Written) -> Limits:
    """Return every limit that holds in a site as it was written, its own before the built-in.

    Parameters
    ----------
    site : Written
        Told what is wrong in them.
    """
    return Limits(own_limits(site), site.unit, site.unit)


def own_limits(site: Written) -> dict[str, Limit]:
    """Return the limits that a site file has of its own, by the name of the rule. [ratio or m]

    Parameters
    ----------
    site : Written
        Told what is wrong in them.
    """
    raw = site.written.get("limits", {})
    if not isinstance(raw, dict):
        site.wrong("limits", shown_value(raw), "a table [limits]")
        return {}
    rules = {name: rule for name, rule in RULES.items() if rule.limit is not None}
    own: dict[str, Limit] = {}
    for name, value in raw.items():
        rule = rules.get(name)
        if rule is None:
            one_of = "a rule with a limit: " + ", ".join(f"`{known}`" for known in rules)
            site.unknown(name, one_of, rules, "limits.")
            continue
        try:
            own[name] = _limit(value, rule, site.unit)
        except (UnitError, UnfitError) as error:
            found = error.found or shown_value(value)
            site.wrong(f"limits.{name}", found, error.expected, error.mend)
    for least, most in _IN_ORDER:
        written = next((name for name in (least, most) if name in own), "")
        first, last = (own.get(name, RULES[name].limit) for name in (least, most))
        if written and isinstance(first, float) and isinstance(last, float) and first > last:
            site.wrong(
                f"limits.{written}",
                f"`{least}` of {size(first, site.unit)} over `{most}` of {size(last, site.unit)}",
                "the lower limit below the higher one",
                "Write both, or leave it out.",
            )
    return own


def _limit(value: Any, rule: Rule, unit: Unit) -> Limit:
    if not isinstance(rule.limit, tuple):
        return _quantity(value, rule, unit)
    if not isinstance(value, list) or len(value) != 2:
        raise UnfitError("the least and the greatest as [least, greatest]")
    least, greatest = (_quantity(part, rule, unit) for part in value)
    if least > greatest:
        raise UnfitError("the least first")
    return least, greatest


def _quantity(value: Any, rule: Rule, unit: Unit) -> float:
    if rule.unit == "ratio":
        slope = read_slope(value)
        if slope <= 0:
            raise UnfitError("a slope greater than zero")
        return slope
    metres = read_length(value, unit)
    if metres < 0:
        raise UnfitError("zero or more")
    most = max(MOST_TIMES * float(np.max(rule.limit or 0.0)), LEAST_BOUND)
    if metres > most:
        expected = f"at most {length(most, unit)}"
        raise UnfitError(expected, INCHES_NEED_A_UNIT, found=length(metres, unit))
    return metres
