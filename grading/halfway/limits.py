"""What is done beyond what any base of a plan takes is refused: it is a slip, or another plan."""

from __future__ import annotations

from grading.catalogue.items import TITLES
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.design.over_topsoil import topsoil_of
from grading.errors import Problem, SiteError
from grading.geometry.tolerances import ROUNDING, WHOLE
from grading.halfway.left import dug_in, dug_of, parts_of, sold_as
from grading.order.model import Order
from grading.site.done_tables import Done
from grading.units import INCH, percent, size, volume

_DIRT = INCH / 8  # m: nobody digs finer


def refuse_done(plan: Design, order: Order) -> None:
    """Refuse what is done beyond what any base of the plan takes.

    Parameters
    ----------
    plan : Design
    order : Order
        What it takes.

    Raises
    ------
    SiteError
        More dug, bought or standing there than on the base that takes most of it.
    """
    done = plan.site.done
    if done is None:
        return
    problems = [
        *(problem for area in plan.areas for problem in _too_much_dug(plan, done, area)),
        *_too_much_bought(order, done),
    ]
    if problems:
        raise SiteError(problems)


def _too_much_dug(plan: Design, done: Done, area: AreaPlan) -> list[Problem]:
    unit, name = plan.site.unit, area.name
    problems = []
    deepest = max(dig.max_dig for dig in area.digs.values())
    most = max(dig.cut for dig in area.digs.values())
    _, topsoil = topsoil_of(plan)
    mend = (
        f"Where the topsoil goes deeper than {size(topsoil, unit, 8)}, say so: [ground] organics."
    )
    for place, dug in dug_in(done, area):
        key = f"site.toml, key done.dug[{place}]"
        if dug.depth > deepest + _DIRT:
            problems.append(
                Problem(
                    f"{key}.depth",
                    f"{size(dug.depth, unit, 8)} dug in {name}",
                    f"at most {size(deepest, unit, 8)}, the deepest that any base digs there",
                    mend,
                )
            )
    if problems:
        return problems
    parts = parts_of(done, area)
    where = "site.toml, key done.dug"
    share, volume_dug = sum(part.share for part in parts), dug_of(area, parts)
    if share > 1 + WHOLE:
        problems.append(
            Problem(
                where,
                f"{volume(volume_dug, unit)} dug, {percent(share, 0)} of the hole of {name}",
                "at most all of it, to the depth that is given",
                "Each part is dug once: give the depth that it has now.",
            )
        )
    elif volume_dug > most + _DIRT * area.chosen_dig.dig_area:
        problems.append(
            Problem(
                where,
                f"{volume(volume_dug, unit)} dug in {name}",
                f"at most {volume(most, unit)}, what the base that digs most takes out there",
                mend,
            )
        )
    return problems


def _too_much_bought(order: Order, done: Done) -> list[Problem]:
    jobs = order.alike.values()
    problems = []
    for item, count in done.counts.items():
        place = next(k for k, one in enumerate(done.bought, start=1) if one.item == item)
        counts = [each.count for job in jobs for each in job.supplies if each.item == item]
        title, most = TITLES[item], max(counts, default=0.0)
        if count > most + ROUNDING:
            sold = sold_as(order, item)
            of = "" if sold is None or sold.package.word in title else f" {sold.package.word}s of"
            expected = (
                f"at most {most:g}{of} {title}, what the areas take" if most
                else "something that a base of this site takes"
            )  # fmt: skip
            problems.append(
                Problem(
                    f"site.toml, key done.bought[{place}].count",
                    f"{count:g}{of} {title}",
                    expected,
                    "Count what is meant for this site alone.",
                )
            )
    most_bins = max((job.haul.bins.count for job in jobs), default=0)
    if done.bins > most_bins:
        problems.append(
            Problem(
                "site.toml, key done.bins",
                f"{done.bins}",
                f"at most {most_bins}, what the base that digs most fills",
                "Count the bins that are paid for and stand there.",
            )
        )
    return problems
