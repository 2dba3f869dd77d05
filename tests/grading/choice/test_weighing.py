"""What the bases that remain take stands beside each other, and weighs."""

import re

import pytest
from make.plans.advised import advised, patio, rules
from make.plans.jobs import crew, level_yard, priced
from make.sites.situations import planned as stated
from msgspec.structs import replace

from grading.order.model import order_of
from grading.records.advice import advice_record
from grading.records.plan import record
from grading.units import HOUR
from viz.paper.page import page_for
from viz.sheets.head import Job
from viz.sheets.homeowner.reasons import why
from viz.words.advice import area_lines


def named(verdict):
    """Return the names of the rules that speak of a base."""
    return {reason.rule for reason in verdict.reasons}


def at_prices(plan, panels):
    """Return a plan of a crew with other prices."""
    return replace(plan, crew=crew(prices={"panels": panels}))


def test_what_each_takes_is_what_the_order_counts():
    plan = level_yard(base="panel")
    one = plan.advice.area("patio")
    jobs = order_of(plan, plan.crew).areas[0].bases
    assert [each.base for each in one.weighed] == list(jobs)
    for each in one.weighed:
        job = jobs[each.base]
        assert (each.cut, each.trips) == (job.cut, job.haul.trips)
        assert each.time == job.time.mean
        assert each.cost == job.cost.total
    said = "\n".join(area_lines(priced(plan).advice, "patio", "ft"))
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
    advice = at_prices(level_yard(base="panel", **way_in), panels=panels).advice
    cost = {each.base: each.cost for each in advice.area("patio").weighed}
    assert (cost["panel"] / min(cost["dense"], cost["open"]) - 1 > 0.1) is dearer
    assert ("more-cost" in rules(advice, "panel")) is dearer
    assert ("least-dig" in rules(advice, "panel")) is not dearer
    assert advice.area("patio").base.advised.option.name == first
    assert ("panel base costs" in advice.area("patio").dearer) is (dearer and first == "panel")


def test_the_dearer_is_advised_with_how_much_and_why():
    plan = at_prices(level_yard(base="panel", gate="36 in", path="85 ft"), panels=55.0)
    one = plan.advice.area("patio")
    assert one.base.advised.option.name == "panel"
    cost = {each.base: each.cost for each in one.weighed}
    more = 100 * (cost["panel"] / min(cost.values()) - 1)
    assert more > 1
    assert one.dearer.startswith(f"panel base costs {more:.0f} % more than ")
    assert "it is advised all the same" in one.dearer
    # What outweighs the cost stands among the reasons, and is said there once.
    assert one.dearer.endswith("for what speaks for it")
    assert one.base.leading.reason.rule == "panel-tight-access"
    job = Job(plan, order_of(plan, plan.crew), page_for("ft"))
    # Who pays hears which would come cheaper: what a job costs its crew is the crew's.
    told = " ".join(row["words"] for row in why(job, plan.areas[0]))
    assert "would come cheaper; panel base is advised all the same" in told
    assert not re.search(r"\bcosts?\b|\d %", told)


def test_without_prices_no_base_is_told_in_money():
    """What the built-in prices weigh is said in parts, beside the cheapest, and said to be so."""
    plan = level_yard(base="dense")
    one = plan.advice.area("patio")
    least, most = (pick(each.cost for each in one.weighed) for pick in (min, max))
    lines = list(area_lines(plan.advice, "patio", "ft"))
    said = "\n".join(lines)
    assert "$" not in said
    assert "the least" in said
    assert f"{100 * (most / least - 1):.0f} % more" in said
    dearer = [each for each in lines if "dearer than" in each]
    assert dearer
    assert all("by prices that are built in" in each for each in dearer)
    assert "by prices that are built in" not in "\n".join(
        area_lines(priced(plan).advice, "patio", "ft")
    )


def test_what_outweighs_the_cost_is_named_as_what_it_speaks_of():
    yard = {"gate": "36 in", "path": "80 ft", "use": "front walkway", "from_house": 6}
    met = {"name": "drive", "kind": "driveway", "base": "dense"}
    one = stated({**yard, "meets": met}).advice.areas[0]
    assert one.base.advised.option.name == "dense"
    assert one.dearer.startswith("dense-graded base costs ")
    assert one.dearer.endswith("for what speaks against panel base")
    assert any(reason.level == "against" for reason in one.base.of("panel").reasons)


LOADER = {"machine": "mini loader", "path": "80 ft"}


def test_a_gate_that_lets_a_machine_in_changes_the_hours_and_the_advice():
    """Common practice, no source: a machine digs and carries, and then the cost decides."""
    shut, let_in = (
        stated({"use": "patio", "gate": gate, **LOADER}).advice.areas[0]
        for gate in ("36 in", "10 ft")
    )
    assert [one.base.advised.option.name for one in (shut, let_in)] == ["panel", "dense"]
    hours = [{each.base: each.time for each in one.weighed} for one in (shut, let_in)]
    assert all(hours[1][base] < hours[0][base] for base in hours[0])
    # What digs the most gains the most, so that the hours come nearer to each other.
    assert hours[1]["dense"] - hours[1]["panel"] < 0.5 * (hours[0]["dense"] - hours[0]["panel"])
    said = {rule for verdict in let_in.base.verdicts for rule in named(verdict)}
    assert "machine-digs" in named(let_in.base.advised)
    assert not said & {"least-dig", "more-dig", "panel-tight-access", "least-cost"}


def test_where_a_machine_digs_the_cheapest_is_first_whatever_it_digs():
    for panels in (10.0, 90.0):
        plan = stated({"use": "patio", "gate": "10 ft", **LOADER})
        one = at_prices(plan, panels).advice.areas[0]
        left = {each.base: each.cost for each in one.weighed if each.base != "open"}
        assert one.base.advised.option.name == min(left, key=left.get)
        assert one.dearer == ""


def test_barrow_trips_speak_for_panels_only_where_panels_spare_them():
    shallow, deep = (
        stated({"use": "patio", "gate": "36 in", "path": "80 ft", "topsoil": topsoil})
        for topsoil in ("3 in", "9 in")
    )
    trips = {each.base: each.trips for each in shallow.advice.areas[0].weighed}
    (said,) = [
        one.plain
        for one in shallow.advice.areas[0].base.of("panel").reasons
        if one.rule == "panel-tight-access"
    ]
    assert f"{trips['panel']} trips of soil and stone, against {trips['open']} on" in said
    assert trips["open"] <= trips["dense"]
    # The hole is dug anyway: as many trips as on stone, and no reason for panels.
    assert "panel-tight-access" not in named(deep.advice.areas[0].base.of("panel"))


@pytest.mark.parametrize(("machine", "gate"), [("powered barrow", "36 in"), ("none", "36 in")])
def test_no_barrow_is_spoken_of_where_a_machine_carries(machine, gate):
    row = {"use": "patio", "gate": gate, "path": "80 ft", "machine": machine}
    said = named(stated(row).advice.areas[0].base.of("panel"))
    assert ("panel-tight-access" in said) is (machine == "none")


def test_a_third_more_speaks_against_a_base():
    plan = stated({"use": "walkway", "gate": "36 in", "path": "80 ft"})
    for panels, first in ((20.0, "panel"), (200.0, "dense")):
        one = at_prices(plan, panels).advice.areas[0]
        cost = {each.base: each.cost for each in one.weighed}
        dear = cost["panel"] > 1.33 * min(cost["dense"], cost["panel"])
        assert ("much-more-cost" in named(one.base.of("panel"))) is dear is (panels > 100)
        assert one.base.advised.option.name == first


def test_nothing_is_said_where_the_one_advised_is_the_cheapest():
    assert level_yard(base="panel").advice.area("patio").dearer == ""


def test_what_is_weighed_is_counted_once_with_the_order(monkeypatch):
    counted = []

    def counting(plan, own):
        counted.append(plan)
        return order_of(plan, own)

    monkeypatch.setattr("grading.pipeline.order_of", counting)
    plan = level_yard(base="panel")
    record(plan)
    assert plan.advice.area("patio").weighed
    # Plans over deeper topsoil have orders of their own.
    assert [each for each in counted if each is plan] == [plan]
