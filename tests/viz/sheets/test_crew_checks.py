"""The crew's list of checks that do not pass: whole, and the worst first."""

from types import SimpleNamespace

from advised import planned
from handmade import PATIO

from grading.order.model import order_of
from viz.paper.page import page_for
from viz.sheets.crew import building_up, looking
from viz.sheets.head import Job


def listed(checks, warnings=()):
    made = SimpleNamespace(plan=SimpleNamespace(checks=checks, warnings=warnings))
    section = next(looking(made, None))
    return [[part for part, _ in row] for row in section.blocks[0]["rows"]]


def check(status, text):
    return SimpleNamespace(status=status, area="patio", text=text, source="common practice")


def test_the_crew_reads_a_check_to_its_end_where_its_mend_stands():
    text = "water stands on paving. To mend it: " + "raise the paving; " * 40 + "or set a drain"
    ((_, _, said, _),) = listed([check("fail", text)])
    assert said == text


def test_what_failed_stands_above_what_is_to_be_looked_at():
    rows = listed(
        [check("warn", "b"), check("unknown", "c"), check("pass", "d"), check("fail", "a")]
    )
    assert [row[2] for row in rows] == ["a", "b", "c"]
    assert [row[0] for row in rows] == ["FAIL", "LOOK", "NOT KNOWN"]


def test_the_lifts_of_a_site_in_metres_are_told_in_millimetres_with_their_source():
    plan = planned([{**PATIO, "base": "dense"}])
    (section,) = building_up(Job(plan, order_of(plan, plan.crew), page_for("m")), None)
    said = " ".join(block["text"] for block in section.blocks if block["kind"] == "words")
    assert "thickest lift: 102 mm" in said
    assert "76 to 102 mm under an ordinary plate, 152 mm under a reversible one" in said
    assert "{" not in said
