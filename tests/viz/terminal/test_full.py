"""All that `plan --full` prints, and parts of it with `--only`."""

from __future__ import annotations

import re

import pytest
from make.plans.sampled import sampled
from make.sites.juniper import SITE, spots

from grading.errors import SiteError
from viz import cli
from viz.terminal import first_screen, report

PARTS = ("checks", "water", "finish", "base", "dig", "ground", "survey", "money", "sources")


@pytest.fixture(scope="module", params=["raised-patio", "garden-court"])
def plan(request):
    return sampled(request.param)


@pytest.fixture(scope="module")
def text(plan):
    return report.text(plan, "sample")


@pytest.fixture
def site(tmp_path):
    (tmp_path / "site.toml").write_text(SITE, encoding="utf-8")
    (tmp_path / "spots.csv").write_text(spots(), encoding="utf-8")
    return tmp_path


def test_it_begins_with_the_first_screen(plan, text):
    assert text.startswith(first_screen.text(plan, "sample") + "\n\n")


def test_its_headings_come_in_their_order(text):
    found = [line for line, under in zip(text.splitlines(), text.splitlines()[1:], strict=False)
             if line.isupper() and under == "-" * len(line)]  # fmt: skip
    assert found == [
        "CHECKS", "WHERE THE WATER GOES", "THE FINISH", "WHICH BASE, AND WHY",
        "THE DIG ON EVERY BASE", "GROUND AND FROST", "THE SURVEY",
        "WHAT TO ORDER, MOVE, WORK AND PAY", "SOURCES",
    ]  # fmt: skip


def test_each_source_is_told_once_and_at_the_end(plan, text):
    body, _, sources = text.partition("\nSOURCES\n")
    listed = re.findall(r"^\[(\d+)\] (.+)$", sources, re.MULTILINE)
    assert [int(number) for number, _ in listed] == list(range(1, len(listed) + 1))
    assert len({source for _, source in listed}) == len(listed)
    # Every number in the text is one of the list, and each of the list is somewhere in the text.
    used = {int(number) for number in re.findall(r"\[(\d+)\]", body)}
    assert used == set(range(1, len(listed) + 1))
    own = {check.source for check in plan.checks}
    assert own <= {source for _, source in listed}
    # In full they stand nowhere else.
    assert not any(f"[{source}]" in body for _, source in listed)


def test_checks_that_fail_or_must_be_looked_at_stand_before_those_that_hold(text):
    block = text.partition("\nCHECKS\n")[2].partition("\nWHERE THE WATER GOES\n")[0]
    marks = re.findall(r"^(FAIL|LOOK|not known|ok) ", block, re.MULTILINE)
    order = ["FAIL", "LOOK", "not known", "ok"]
    assert marks == sorted(marks, key=order.index)
    assert "LOOK" in marks or "not known" in marks


def test_what_holds_is_one_line_to_a_rule_and_area_the_nearest_to_its_limit(plan):
    block = report.parts_text(plan, ["checks"])
    holding = [check for check in plan.checks if check.status == "pass"]
    assert len(re.findall(r"^ok ", block, re.MULTILINE)) == len(
        {(check.rule, check.area) for check in holding}
    )


@pytest.mark.parametrize("part", PARTS)
def test_each_part_can_be_asked_for_alone(plan, text, part):
    own = report.parts_text(plan, [part])
    assert own.strip() in text
    assert own.count("---") >= 1


def test_parts_come_in_the_order_of_the_report_however_they_are_named(site, capfd):
    assert cli.main(["plan", str(site), "--only", "water, checks"]) == cli.DONE
    out = capfd.readouterr().out
    assert out.startswith("CHECKS\n------\n")
    assert out.index("CHECKS") < out.index("WHERE THE WATER GOES")
    assert "THE FINISH" not in out
    assert "BUILD IT" not in out


def test_a_part_that_there_is_not_is_told_with_those_that_there_are():
    assert report.chosen_parts(",".join(PARTS)) == PARTS
    with pytest.raises(SiteError) as told:
        report.chosen_parts("checks,monney")
    (problem,) = told.value.problems
    assert (problem.where, problem.found) == ("--only", '"monney"')
    assert problem.expected == f"some of {','.join(PARTS)}"
    assert "money" in problem.mend
