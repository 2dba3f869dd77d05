"""What the bases that remain take stands beside each other, and weighs."""

from dataclasses import replace

import pytest
from advised import advised, patio, rules
from jobs import crew, level_yard

from grading.advice import advice_of
from grading.advicerecord import advice_record
from grading.order import order_of
from grading.record import record
from grading.units import HOUR
from viz.advice_report import area_lines
from viz.drawings.paper import page_for
from viz.sheets.head import Job
from viz.sheets.homeowner import _table
from viz.sheets.reasons import why


def at_prices(plan, panels):
    """Return a plan of a crew with other prices."""
    return replace(plan, crew=crew(prices={"panels": panels}))


def test_what_each_takes_is_what_the_order_counts():
    plan = level_yard(base="panel")
    one = advice_of(plan).area("patio")
    jobs = order_of(plan, plan.crew).areas[0].bases
    assert [each.base for each in one.weighed] == list(jobs)
    for each in one.weighed:
        job = jobs[each.base]
        assert (each.cut, each.trips) == (job.cut, job.haul.trips)
        assert each.time == job.time.mean
        assert each.cost == job.cost.total
    said = "\n".join(area_lines(plan.advice, "patio", "ft"))
    for each in one.weighed:
        row = next(line for line in said.splitlines() if line.startswith(f"{each.base} "))
        for figure in (f"{each.trips}", f"{each.time / HOUR:.0f}", f"${each.cost:,.0f}"):
            assert figure in row.split()
    assert advice_record(plan.advice, "patio")["weighed"][0]["cost"] == one.weighed[0].cost


def test_what_is_ruled_out_is_not_set_beside_the_others():
    one = advised([patio(use="driveway", base=None)]).area("patio")
    assert [each.base for each in one.weighed] == ["dense", "open"]


@pytest.mark.parametrize(
    ("panels", "way_in", "dearer", "first"),
    [
        (25.0, {}, False, "panel"),
        (65.0, {}, True, "dense"),
        (65.0, {"gate": "36 in", "path": "85 ft"}, True, "panel"),
    ],
)
def test_what_a_base_costs_weighs(panels, way_in, dearer, first):
    """Common practice, no source: what digs less for more money needs another reason for it."""
    advice = advice_of(at_prices(level_yard(base="panel", **way_in), panels=panels))
    cost = {each.base: each.cost for each in advice.area("patio").weighed}
    assert (cost["panel"] / min(cost["dense"], cost["open"]) - 1 > 0.1) is dearer
    assert ("more-cost" in rules(advice, "panel")) is dearer
    assert ("least-dig" in rules(advice, "panel")) is not dearer
    assert advice.area("patio").base.advised.option.name == first
    assert ("panel base costs" in advice.area("patio").dearer) is (dearer and first == "panel")


def test_the_dearer_is_advised_with_how_much_and_why():
    plan = at_prices(level_yard(base="panel", gate="36 in", path="85 ft"), panels=55.0)
    one = advice_of(plan).area("patio")
    assert one.base.advised.option.name == "panel"
    cost = {each.base: each.cost for each in one.weighed}
    more = 100 * (cost["panel"] / min(cost.values()) - 1)
    assert more > 1
    assert one.dearer.startswith(f"panel base costs {more:.0f} % more than ")
    assert "it is advised all the same" in one.dearer
    held = one.base.of(min(cost, key=cost.get)).reasons
    speaks_for = [reason.plain for reason in one.base.advised.reasons if reason.level == "for"]
    against = [reason.plain for reason in held if reason.level == "against"]
    assert one.dearer.endswith((against or speaks_for)[0])
    job = Job(plan, order_of(plan, plan.crew), page_for("ft"))
    assert any(f"costs {more:.0f} % more" in row["words"] for row in why(job, plan.areas[0]))


def test_nothing_is_said_where_the_one_advised_is_the_cheapest():
    assert advice_of(level_yard(base="panel")).area("patio").dearer == ""


def test_the_homeowner_sees_money_only_where_the_crew_shows_it():
    plan = level_yard(base="panel")
    for shown in (False, True):
        card = plan.crew.card.model_copy(update={"show_prices": shown})
        mine = replace(plan, crew=replace(plan.crew, card=card))
        order = order_of(mine, mine.crew)
        rows = _table(Job(mine, order, page_for("ft")), order.areas[0])["rows"]
        assert any(row["name"].startswith("Cost") for row in rows) is shown
        assert ("$" in str(rows)) is shown


def test_what_is_weighed_is_counted_once_with_the_order(monkeypatch):
    counted = []

    def counting(plan, own):
        counted.append(plan)
        return order_of(plan, own)

    monkeypatch.setattr("grading.order.order_of", counting)
    plan = level_yard(base="panel")
    record(plan)
    assert plan.advice.area("patio").weighed
    assert counted == [plan]
