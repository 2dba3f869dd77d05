"""Every reason for and against a base reaches whoever reads, the worst first, none left out."""

import re
from html import escape

import numpy as np
import pytest
from make.plans.advised import AT_THE_WALL, patio, planned
from measure.printed import Printed
from msgspec.structs import replace

from grading.catalogue.verdicts import LEVELS, Choice, Option, Reason, Verdict
from grading.errors import CannotDraw
from grading.order.model import order_of
from grading.site.model import GroundSpec
from viz.drawings.answers.under import reason_of, words_of
from viz.page.bases import reasons_told
from viz.paper.page import page_for
from viz.sheets.head import Job
from viz.sheets.homeowner.reasons import others, why
from viz.sheets.homeowner.told import stands_told
from viz.sheets.write import write_sheets
from viz.words.advice import area_lines
from viz.words.plain import stopped, table

YOUNG = {"walls": [[-1, 0], [11, 0]], "inside": [5, -3], "age": 3}
WALL = {"name": "bench by the lilac", "kind": "seat wall", "at": [5, 2.5], "size": [4, 0.3],
        "height": 0.5}  # fmt: skip
TUB = {"name": "hot tub", "kind": "hot tub", "at": [7.5, 3], "size": [1.5]}


def much_against(base="panel"):
    """Plan a patio of which much is said: topsoil, backfill, a wall, a tub, a gate, a winter."""
    return planned(
        [patio(base=base, use="walkway")], house=YOUNG, features=[WALL, TUB], access={"gate": 0.9},
        frost={"index": 800, "mean": 7, "season": 120}, ground=GroundSpec(organics=0.2),
    )  # fmt: skip


def all_against():
    """Plan a patio with deep topsoil, where stone is held to a base thicker than the crew's."""
    return planned(ground=GroundSpec(organics=0.2), limits={"base-thickness-foot": 0.2})


def job(plan):
    return Job(plan, order_of(plan, plan.crew), page_for("m"))


def leads(rows):
    order = [table("level")[level] for level in LEVELS]
    return [order.index(row["lead"]) for row in rows]


def test_the_homeowner_is_told_every_reason_of_the_base_built_the_worst_first():
    plan = much_against()
    verdict = plan.advice.area("patio").base.of("panel")
    assert (verdict.count("against"), verdict.count("care")) >= (2, 3)
    assert verdict.count("for") >= 1
    rows = why(job(plan), plan.areas[0])
    said = " ".join(row["words"] for row in rows)
    for reason in verdict.reasons:
        assert stopped(reason.plain) in said
    first_choice, *reasons = rows
    assert "would be first choice" in first_choice["words"]
    assert len(reasons) == len(verdict.reasons)
    assert leads(reasons) == sorted(leads(reasons))


def test_the_homeowner_is_told_every_reason_of_every_other_base():
    spare = [
        {"name": f"mine {k}", "layers": [{"name": "paver", "thickness": 0.06},
                                         {"name": "base", "thickness": 0.05 + k / 100}]}
        for k in range(3)
    ]  # fmt: skip
    plan = planned([patio(base="dense")], house=YOUNG, features=[WALL, TUB], bases=spare,
                   ground=GroundSpec(organics=0.2))  # fmt: skip
    found = others(job(plan), plan.areas[0])
    titles = [each["title"] for each in found]
    assert titles == [dig.system.called for name, dig in plan.areas[0].digs.items()
                      if name != "dense"]  # fmt: skip
    for name, each in zip([n for n in plan.areas[0].digs if n != "dense"], found, strict=True):
        reasons = plan.advice.area("patio").base.of(name).reasons
        assert len(each["reasons"]) == max(len(reasons), 1)
        assert leads(each["reasons"]) == sorted(leads(each["reasons"]))


def test_an_advised_base_with_something_against_it_says_that_every_base_has():
    plan = all_against()
    choice = plan.advice.area("patio").base
    best = choice.advised
    assert best.level == "against"
    assert choice.caveat.startswith("every base has something against it here")
    for one in choice.verdicts:
        count = one.count("against")
        counted = f"{count} reason{'s' if count > 1 else ''} against {one.option.title.lower()}"
        assert counted in choice.caveat
    built = planned([patio(base=best.option.name)], ground=GroundSpec(organics=0.2),
                    limits={"base-thickness-foot": 0.2})  # fmt: skip
    first = why(job(built), built.areas[0])[0]
    assert first["words"].startswith("To be said of it: every base has something against it here")
    assert choice.caveat in "\n".join(area_lines(plan.advice, "patio", "m"))
    assert choice.caveat in reasons_told(best.option.name, plan.advice.area("patio"))
    assert "To be said of it: every base has something against it" in words_of(
        built, built.areas[0]
    )


def test_nothing_of_the_kind_is_said_where_the_advised_base_has_nothing_against_it():
    assert planned().advice.area("patio").base.caveat == ""
    drive = planned([patio(use="driveway", base=None)]).advice.area("patio")
    assert drive.base.of("panel").level == "rules out"
    assert drive.base.caveat == ""


def test_the_page_shows_every_reason_of_a_base():
    plan = much_against()
    for verdict in plan.advice.area("patio").base.verdicts:
        told = reasons_told(verdict.option.name, plan.advice.area("patio"))
        assert told.count('class="reason"') == max(len(verdict.reasons), 1)
        assert all(escape(reason.plain) in told for reason in verdict.reasons)


def test_a_drawing_with_room_for_one_reason_says_how_many_there_are_more():
    plan = much_against()
    verdict = plan.advice.area("patio").base.of("panel")
    said = reason_of(plan, plan.areas[0], "panel")
    # A homeowner reads it: the plain words, of which the trade's are not part here.
    assert verdict.reasons[0].plain in said
    assert verdict.reasons[0].text not in said
    told = {word: count for count, word in re.findall(r"(\d+) more (against it|to know|for it)",
                                                      said)}  # fmt: skip
    assert told
    assert told == {
        word: str(number)
        for word, number in (
            ("against it", verdict.count("against") - 1), ("to know", verdict.count("care")),
            ("for it", verdict.count("for")),
        ) if number
    }  # fmt: skip


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_homeowners_paper_holds_them_all(tmp_path, monkeypatch, paper):
    def cannot(_):
        raise CannotDraw("this machine has no means")

    monkeypatch.setattr("viz.sheets.homeowner.stills.before_and_after", cannot)
    plan = much_against()
    file, *_ = write_sheets(plan, tmp_path, lambda _: None, ["homeowner"], paper)
    text = Printed(file).text
    for name in plan.areas[0].digs:
        reasons = plan.advice.area("patio").base.of(name).reasons
        against = [reason for reason in reasons if reason.level != "for"]
        # Of what speaks for the base that is built the first; of another all that is against it.
        first = [reason for reason in reasons if reason.level == "for"][:1]
        for reason in against + (first if name == "panel" else []):
            words = re.sub(r"\s+", " ", stopped(reason.plain)).replace("\u200b", "")
            assert words in text, (name, reason.rule)
    # Nothing runs off a page: the last word stands within the paper.
    for words, (_, tall) in zip(Printed(file).words, Printed(file).sizes, strict=True):
        assert np.max([word["bottom"] for word in words]) < tall


DOORS = [{"name": f"door {k}", "at": [x, 0], "sill": 30.55} for k, x in enumerate((2, 5, 8))]


def test_a_page_with_much_to_say_stays_one_page(tmp_path):
    """One sheet of paper for an area: its face, and its back with the signatures."""
    plan = planned(
        [patio(base="panel", plane={**AT_THE_WALL, "z": 30.4})], house=YOUNG, features=[WALL, TUB],
        access={"gate": 0.9}, frost={"index": 800, "mean": 7, "season": 120},
        ground=GroundSpec(soil="clay", organics=0.08), doors=DOORS,
    )  # fmt: skip
    file, *_ = write_sheets(plan, tmp_path, lambda _: None, ["homeowner"])
    face, back = (" ".join(word["text"] for word in page) for page in Printed(file).words)
    assert "of work, 3 people" in face
    assert "For the homeowner" in back or "No signature here yet" in back


def test_why_a_base_that_nothing_speaks_against_is_not_laid():
    left, right = (Verdict(Option(name, f"{name} base", frozenset()), (), (), ())
                   for name in ("one", "other"))  # fmt: skip
    spoken_for = Verdict(left.option, (Reason("a", "for", "it is", "", "", "", ""),), (), ())
    alike = Choice("base", (left, right))
    assert alike.passed_over("other") == "nothing speaks against it here, but one base takes less"
    assert alike.passed_over("one") == "nothing speaks against it here"
    better = Choice("base", (spoken_for, right))
    said = "nothing speaks against it here, but more speaks for one base"
    assert better.passed_over("other") == said
    plan = planned()
    (advice,) = plan.advice.areas
    told = replace(plan.advice, areas=(replace(advice, base=better),))
    assert f"  other: not advised\n    {said}" in "\n".join(area_lines(told, "patio", "m"))
    assert f"N{said[1:]}." in reasons_told("other", told.areas[0])


def test_a_fire_too_near_to_the_house_is_on_the_homeowners_page():
    """Common practice, no source: 10 ft, unless the code or the maker's sheet says another."""
    fire = {"name": "fire pit", "kind": "wood fire", "at": [5, 2], "size": [1.2]}
    plan = planned([patio(base="dense")], features=[fire])
    (check,) = [one for one in plan.checks if one.rule == "fire-distance"]
    assert check.status == "warn"
    assert "nearer than the usual 3.05 m" in check.text
    assert stands_told(job(plan)) == [stopped(check.text)]
    far = planned([patio(base="dense")], features=[{**fire, "at": [5, 4]}])
    assert stands_told(job(far)) == []


def test_what_cannot_be_built_has_nothing_told_that_speaks_for_it():
    drive = planned([patio(use="driveway", base=None)]).advice.area("patio")
    assert {reason.level for reason in drive.base.of("panel").reasons} <= {
        "rules out", "against", "care",
    }  # fmt: skip


def test_a_base_that_nothing_speaks_for_alone_is_told_by_what_is_against_the_other():
    """A young house: stone settles with its backfill too, but panels do not bridge it."""
    plan = planned([patio(base=None)], house=YOUNG, ground=GroundSpec(organics=0.12))
    leading = plan.advice.area("patio").base.leading
    assert leading.of_other
    rows = why(job(plan), plan.areas[0])
    assert rows[-1]["words"].startswith(f"{leading.about.title} has more against it. ")
    assert stopped(leading.reason.plain) in rows[-1]["words"]
