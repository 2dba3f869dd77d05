"""A site as one answer: what stands on what and why, area by area, where bases meet, and the order.

Nothing is counted here: what it takes is the order's, where bases meet the advice's.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from grading.catalogue.verdicts import Leading
from grading.choice.advice import AreaAdvice
from grading.conditions.joins import Join
from grading.conditions.seats import Seat
from grading.order.model import Job
from grading.order.telling import Telling, telling_of
from grading.pipeline import Plan
from grading.units import Unit, run

TOTAL = "the whole job"
"""What the last row of the table is called: all areas, with setting out and cleaning up."""


class Takes(Struct, frozen=True):
    """What something takes: dug in the bank [m3], trips with soil and stone, bins, time [s], cost.

    Attributes
    ----------
    cut : float
    trips, bins : int
    time : float
        Of one person.
    cost : float
        [money]
    """

    cut: float
    trips: int
    bins: int
    time: float
    cost: float


class AreaAnswer(Struct, frozen=True):
    """What one area is laid on, and why.

    Attributes
    ----------
    area : str
    use : str
    base : str
        The base system that it is planned on.
    title : str
        Of that base system, within a sentence.
    why, why_plain : str
        The one reason that leads, in the words of the trade and in everyday ones; where the site
        chose another base than the one advised, that, with the site's own reason.
    leading : Leading or None
        The reason, where the base is the one advised.
    standing : tuple of Seat
        What stands on it.
    takes : Takes
        The area alone, setting out and cleaning up not counted.
    """

    area: str
    use: str
    base: str
    title: str
    why: str
    why_plain: str
    leading: Leading | None
    standing: tuple[Seat, ...]
    takes: Takes


class SiteAnswer(Struct, frozen=True):
    """The whole site: its areas, where bases meet, and all that it takes, set up and cleaned up."""

    areas: tuple[AreaAnswer, ...]
    joins: tuple[Join, ...]
    takes: Takes
    telling: Telling

    @property
    def mixed(self) -> bool:
        """Whether it is more than one area on one base: two areas, or a join, or a base apart."""
        apart = any(seat.stands == "own base" for one in self.areas for seat in one.standing)
        return len(self.areas) > 1 or bool(self.joins) or apart


def _takes(job: Job) -> Takes:
    return Takes(job.cut, job.haul.trips, job.haul.bins.count, job.time.mean, job.cost.total)


def _why(advice: AreaAdvice) -> tuple[str, str]:
    """Return why an area is laid on its base, for the trade and for a homeowner."""
    best, leading = advice.base.advised, advice.base.leading
    if best is None:
        return ("every base is ruled out",) * 2
    if best.option.name == advice.built:
        if leading is None:
            return ("nothing speaks against it, and it takes the least",) * 2
        return leading.text, leading.plain
    said = f": {advice.reason}" if advice.reason else ", and no reason is given"
    chosen = f"chosen where {best.option.called} would be advised{said}"
    return chosen, f"C{chosen[1:]}"


def site_answer(plan: Plan) -> SiteAnswer:
    """Return a site as one answer.

    Parameters
    ----------
    plan : Plan
    """
    order = plan.order
    areas = []
    for each in order.areas:
        area = each.area
        advice = plan.advice.of(area)
        best = advice.base.advised
        why, plain = _why(advice)
        areas.append(
            AreaAnswer(
                area=area.name,
                use=area.use,
                base=area.chosen,
                title=area.chosen_dig.system.called,
                why=why,
                why_plain=plain,
                leading=advice.base.leading
                if best is not None and best.option.name == area.chosen
                else None,
                standing=tuple(seat for seat in plan.advice.features if seat.area == area.name),
                takes=_takes(each.chosen),
            )
        )
    return SiteAnswer(tuple(areas), plan.advice.joins, _takes(order.total), telling_of(order))


def standing_words(answer: AreaAnswer) -> str:
    """Say what stands on an area and on what; empty where nothing does.

    Parameters
    ----------
    answer : AreaAnswer
    """
    return "; ".join(
        f"{seat.name} on {'a base of its own' if seat.stands == 'own base' else 'bedding'}"
        for seat in answer.standing
    )


def join_words(number: int, join: Join, unit: Unit) -> str:
    """Say which two bases meet where, and what is built there.

    Parameters
    ----------
    number : int
        Of the join, as the plan marks it.
    join : Join
    unit : "ft" or "m"
    """
    one, other = (f"{area} ({base})" for area, base in zip(join.areas, join.bases, strict=True))
    there = ", which is there already," if join.there else ""
    return (
        f"Join {number}: {one} meets {other}{there} over {run(join.length, unit)}, {join.where}: "
        f"{join.detail}"
    )


def join_plain(join: Join) -> str:
    """Say what a homeowner sees of a join.

    Parameters
    ----------
    join : Join
    """
    one, other = join.areas
    at = "the change is made at the step" if join.at_step else "a border row marks the change"
    return f"Where they meet, {one} and {other} stand on different bases: {at}"


def joins_words(answer: SiteAnswer, unit: Unit) -> Iterator[str]:
    """Give a sentence for each join, in the order of their numbers."""
    for number, join in enumerate(answer.joins, start=1):
        yield join_words(number, join, unit)
