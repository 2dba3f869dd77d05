"""An area whose base is left open is planned on the base that is advised."""

from types import SimpleNamespace

import pytest
from make.plans.advised import patio, planned
from msgspec.structs import replace

from grading.catalogue.verdicts import Choice, Option, Verdict
from grading.choice.advised import on_advised_bases
from grading.records.plan import record

OPEN = {key: value for key, value in patio().items() if key not in ("base", "plane")}
DRIVE = {**OPEN, "use": "driveway"}


def advised_on(plan, area="patio"):
    return plan.advice.area(area).base.advised.option.name


def test_a_driveway_without_a_base_is_planned_on_what_is_advised_and_fitted_for_it():
    found = planned([DRIVE], features=[{"kind": "other", "at": [5, 2], "size": ["1 m", "1 m"]}])
    (area,) = found.areas
    assert area.chosen == area.finish.system == advised_on(found) == "dense"
    assert area.base_from == "advised"
    given = planned([{**DRIVE, "base": "dense"}])
    assert area.finish.moved == pytest.approx(given.areas[0].finish.moved)
    assert area.finish.plane == given.areas[0].finish.plane
    assert found.advice.features[0].base == found.advice.area("patio").built == "dense"
    # A panel edge would be screwed to panels that are not laid.
    assert "screw" not in found.advice.area("patio").edge.advised.option.title


def test_the_json_says_how_the_base_was_chosen():
    told = record(planned([DRIVE]))["areas"][0]
    assert (told["base"], told["base_from"], told["advice"]["chosen"]) == ("dense", "advised", None)
    told = record(planned([{**DRIVE, "base": "dense"}]))["areas"][0]
    assert (told["base_from"], told["advice"]["chosen"]) == ("given", "dense")


def test_areas_solved_together_are_each_on_their_own_advice():
    beside = {"name": "drive", "use": "driveway", "outline": [[9, 0], [11, 0], [11, 5], [9, 5]]}
    found = planned([{**OPEN, "base": "panel"}, beside])
    assert [(area.chosen, area.base_from) for area in found.areas] == [
        ("panel", "given"),
        (advised_on(found, "drive"), "advised"),
    ]
    assert found.areas[1].chosen != "panel"


def test_a_site_that_gives_its_bases_is_planned_without_advice(monkeypatch):
    def never(plan):
        raise AssertionError

    monkeypatch.setattr("grading.choice.advice.advice_of", never)
    (area,) = planned([patio()]).areas
    assert (area.chosen, area.base_from) == ("panel", "given")


def test_where_every_base_is_ruled_out_the_area_stays_on_the_least_work(monkeypatch):
    monkeypatch.setattr(Choice, "advised", property(lambda choice: None))
    (area,) = planned([DRIVE]).areas
    assert area.base_from == "least dig and refill"
    work = {name: planned([{**DRIVE, "base": name}]).areas[0].finish.work for name in area.digs}
    assert area.chosen == area.finish.system == min(work, key=lambda name: work[name])
    (area,) = planned([DRIVE], finish={"objective": "least earth"}).areas
    assert area.base_from == "least earth"


def circling(first, wanted):
    """Return a plan on each base whose advice is for another: a reason more against each."""

    def against(name):
        return SimpleNamespace(level="against" if name == "dense" else "care", strong=False)

    def on(name):
        verdicts = [
            Verdict(Option(base, base, frozenset()), (against(base),), (), ())
            for base in sorted(wanted, key=lambda base: base != wanted[name])
        ]
        choice = Choice("base", tuple(verdicts))
        made = replace(first, areas=(replace(first.areas[0], chosen=name),))
        made.__dict__["advice"] = SimpleNamespace(
            of=lambda _: SimpleNamespace(base=choice), area=lambda _: SimpleNamespace(base=choice)
        )
        return made

    return on


def test_where_the_advice_goes_round_the_base_with_the_least_against_it_is_kept_and_told():
    on = circling(planned([OPEN]), {"panel": "dense", "dense": "panel"})
    found = on_advised_bases(
        on("panel"), lambda bases: on(bases["patio"]), lambda plan: plan.advice
    )
    assert found.areas[0].chosen == "panel"
    assert any("hinges on its finish" in warning for warning in found.warnings)
