"""A job counted again with one figure changed, against the whole count done anew."""

from __future__ import annotations

import pytest
from make.plans.jobs import DEPTHS, level_yard, worked
from make.plans.sampled import sampled

from grading.crew.model import default_crew
from grading.order.hauling import way_of
from grading.order.model import job_of, order_of
from grading.order.recount import Recount
from grading.units import INCH

YARDS = {
    "worked": worked,
    "steep, far and deep": lambda: order_of(
        level_yard(bases=DEPTHS, organics=0.2, soil="loam", path=120, slope="9 %"), default_crew()
    ),
    "by loader": lambda: order_of(
        level_yard(path=120, gate="48 in", machine="mini loader"), default_crew()
    ),
    "two areas": lambda: sampled("garden-court").order,
}


@pytest.mark.parametrize("yard", YARDS)
def test_every_figure_gives_what_the_whole_count_gives(yard):
    """To the last digit: a step that is not taken again must be one that could not differ."""
    order = YARDS[yard]()
    site = order.plan.site
    moved = set()
    for base in order.areas[0].takeoffs:
        jobs = tuple(part.takeoffs[base] for part in order.areas)
        recount = Recount(jobs, site.access, order.crew, site.unit)
        assert recount.cost == order.site[base].cost
        for entry in order.crew.entries():
            for share in (0.85, 1.25):
                crew = order.crew.having(entry, share * entry.likely)
                way = way_of(site.access, crew, site.unit)
                anew = job_of(jobs, way, crew, site.unit, True).cost
                again = recount.having(entry, share * entry.likely)
                assert again == anew, (base, entry.name)
                if again != recount.cost:
                    moved.add((entry.book, entry.name))
    # Figures of all three books move it, or nothing was compared.
    assert {book for book, _ in moved} == {"materials", "rates", "prices"}
    assert len(moved) > 40


@pytest.mark.parametrize("depth", [0.0, 3 * INCH, 9 * INCH, 20 * INCH])
def test_other_take_offs_give_what_the_whole_count_gives(depth):
    """A yard counted over another yard's digs costs what that yard costs."""
    shallow, deep = (
        order_of(level_yard(bases=DEPTHS, organics=organics, soil="loam"), default_crew())
        for organics in (4 * INCH, depth)
    )
    site = shallow.plan.site
    moved = []
    for base, job in shallow.areas[0].takeoffs.items():
        recount = Recount((job,), site.access, shallow.crew, site.unit)
        again = recount.over((deep.areas[0].takeoffs[base],))
        assert again == deep.site[base].cost
        moved.append(again != recount.cost)
    assert any(moved)


def test_what_no_step_looks_up_is_not_counted_again(monkeypatch):
    order = worked()
    site = order.plan.site
    recount = Recount((order.areas[0].takeoffs["dense"],), site.access, order.crew, site.unit)
    assert recount.cost == order.alike["dense"].cost

    def never(*_):
        raise AssertionError("counted again")

    monkeypatch.setattr("grading.order.recount.by_item", never)
    monkeypatch.setattr("grading.order.recount.works_of", never)
    assert recount.having(order.crew.prices["panels"], 1.0) is recount.cost
