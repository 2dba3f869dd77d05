"""One rule held against what was found, and the one maker of such checks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from grading.catalogue.rules import RULES, Limits
from grading.design.model import Design
from grading.design.places import Places
from grading.geometry.tolerances import SOLVED
from grading.units import Unit, percent, size
from grading.units.writing import rate_of
from grading.worded import Said, Worded, of_file, of_page, of_yard

Status = Literal["pass", "warn", "fail", "unknown"]


class Check(Struct, frozen=True):
    """One rule applied to one area.

    value and limit are in `unit`: "ratio" for slopes, "m" for lengths, "" where the rule is a
    yes or a no. text says it in a sentence to who writes the site's file, with every way to mend
    it, the first of which is mend; page says the same to who writes it by the page, yard to who
    stands in the yard, with the first way alone; where names the wall, door or edge.
    """

    rule: str
    area: str
    status: Status
    value: float | None
    limit: float | None
    unit: str
    source: str
    text: str
    where: str = ""
    page: str = ""
    yard: str = ""
    mend: str = ""


class Maker(Struct, frozen=True):
    """Makes checks of a site, or of one area of it, in the site's limits and unit.

    Attributes
    ----------
    limits : Limits
        Those of the site.
    places : Places
        Says where things are, in the unit that the sentences are written in.
    area : str
        The area that the checks are of; empty where they are of the site.
    """

    limits: Limits
    places: Places
    area: str = ""

    @property
    def unit(self) -> Unit:
        """What the sentences are written in."""
        return self.places.unit

    def of(self, area: str) -> Maker:
        """Return the maker of checks of one area."""
        return replace(self, area=area)

    def say(self, rule: str, value: float) -> str:
        """Say what a rule bounds, as its unit has it."""
        return percent(value, 2) if RULES[rule].unit == "ratio" else size(value, self.unit)

    def rate(self, fall: float, decimals: int = 1) -> Worded:
        """Say a slope: in per cent to who plans it, as it is taped to who stands in the yard."""
        return rate_of(fall, self.unit, decimals)

    def reaches(self, rule: str, value: float) -> bool:
        """Say whether a value is no less than the rule's limit, rounding left out."""
        return value >= self.limits[rule] - SOLVED

    def passes(self, rule: str, value: float) -> bool:
        """Say whether a value is beyond the rule's limit, rounding left out."""
        return value > self.limits[rule] + SOLVED

    def judged(
        self, rule: str, fine: bool, worse: Status, value: float, text: Said, more: Said = "", *,
        where: str = "", unit: str | None = None, mend: Said | Sequence[Said] = "",
    ) -> Check:  # fmt: skip
        """Return a check that passes where all is fine, held to the rule's own limit.

        Parameters
        ----------
        rule, value, text : as for `check`
        fine : bool
        worse : Status
            What it is where it is not fine.
        more : str or Worded
            What the sentence goes on to say then.
        where, unit : as for `check`
        mend : as for `check`, of what is not fine
        """
        limit = self.limits[rule]
        if fine:
            return self.check(rule, "pass", value, text, limit=limit, where=where, unit=unit)
        return self.check(
            rule, worse, value, text + more, limit=limit, where=where, unit=unit, mend=mend
        )

    def check(
        self, rule: str, status: Status, value: float | None, text: Said, *,
        limit: float | None = None, where: str = "", unit: str | None = None,
        mend: Said | Sequence[Said] = "", source: str = "",
    ) -> Check:  # fmt: skip
        """Return a check of a rule.

        Parameters
        ----------
        rule : str
        status : Status
        value : float or None
            What was found.
        text : str or Worded
            It in a sentence, without its full stop.
        limit : float or None
            What it is held to.
        where : str
            The wall, door, edge or thing.
        unit : str, optional
            Of the value, where it is not the rule's own.
        mend : str or Worded, or several
            How to mend it, as a sentence that goes on from there; one way or another of several.
        source : str
            Where the limit comes from, where that is not the rule's.
        """
        unit = RULES[rule].unit if unit is None else unit
        ways = [mend] if isinstance(mend, str | Worded) else list(mend)
        file, page, yard, first = of_file(text), of_page(text), of_yard(text), ""
        if any(ways):
            file = f"{file}. To mend it: {'; or '.join(map(of_file, ways))}"
            page = f"{page}. To mend it: {'; or '.join(map(of_page, ways))}"
            yard, first = f"{yard}: {of_yard(ways[0])}", of_file(ways[0])
        source = source or self.limits.source(rule)
        return Check(
            rule, self.area, status, value, limit, unit, source, file, where, page, yard, first
        )


def maker_of(plan: Design) -> Maker:
    """Return what makes the checks of a plan."""
    return Maker(plan.limits, plan.places)
