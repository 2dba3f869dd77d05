"""What leads: every rule has its words, and the worst is told first."""

from __future__ import annotations

import ast
import re
import shutil
import string
from pathlib import Path

import pytest
from make.plans.sampled import sampled
from make.sites.juniper import SITE, spots

import grading
import sample_sites
from grading.answers.led import led, told_of
from grading.catalogue.tables import table
from grading.checks.maker import Check
from grading.records.seal import DIGITS, number_of, seal_of
from viz.words.screen.led import brief

ROOT = Path(grading.__file__).parent


def rules_of_checks():
    """Return every rule that some file of checks names, read off the code and not by running it."""
    found = set()
    for file in (ROOT / "checks").glob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            rule = None
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
                rule = node.args[0] if node.func.attr == "check" and node.args else None
            elif isinstance(node, ast.Assign):
                # Alone, or with what it is told in: rule, unit = "step-place", make.unit.
                target, rule = node.targets[0], node.value
                if isinstance(target, ast.Tuple) and isinstance(rule, ast.Tuple):
                    target, rule = target.elts[0], rule.elts[0]
                rule = rule if ast.unparse(target) == "rule" else None
            if isinstance(rule, ast.Constant) and isinstance(rule.value, str):
                found.add(rule.value)
    return found


def test_every_rule_that_a_check_names_has_words_for_the_first_screen():
    said = table("answers", "led")["said"]
    found = rules_of_checks()
    assert len(found) > 20
    assert found - set(said) == set()


def test_words_ask_only_for_what_is_known():
    known = {"value", "limit", "by", "away", "falling", "share", "where", "holds", "refill", "own",
             "misread", "full"}  # fmt: skip
    for rule, words in table("answers", "led")["said"].items():
        for kind, pattern in words.items():
            assert kind in ("fail", "look", "unknown", "below", "short"), rule
            asked = {name for _, name, _, _ in string.Formatter().parse(pattern) if name}
            assert asked <= known, (rule, asked)


def check(rule, status="warn", area="patio", value=None, limit=None, where=""):
    return Check(rule=rule, area=area, status=status, value=value, limit=limit, unit="m",
                 source="", text=f"{rule}.", where=where)  # fmt: skip


def test_checks_of_one_rule_are_told_in_one_line_with_the_worst_figure():
    told = told_of([check("door-step", "fail", value=0.21, limit=0.197, where="a"),
                    check("door-step", "fail", value=0.30, limit=0.197, where="b"),
                    check("door-step", "pass", value=0.15, limit=0.197, where="c")])  # fmt: skip
    (one,) = told
    assert one.worst.where == "b"
    assert [each.where for each in one.checks] == ["b", "a"]


def test_what_wets_a_house_is_told_before_what_is_only_awkward():
    told = told_of([check("joint-weather", "fail"), check("test-holes", "unknown"),
                    check("ground-water"), check("foundation-water", "fail")])  # fmt: skip
    assert [each.rule for each in told] == [
        "foundation-water", "joint-weather", "ground-water", "test-holes",
    ]  # fmt: skip


@pytest.mark.parametrize("name", sample_sites.names())
def test_the_reason_for_a_base_is_one_of_the_advice(name):
    plan = sampled(name)
    told = led(plan)
    for one in told.answer.areas:
        words = brief(told, one)
        assert words
        assert len(words) <= 90 or "advised" in words


def test_the_seal_is_of_what_is_built_and_not_of_how_it_is_written(tmp_path):
    home = sample_sites.path("back-patio")
    plan = grading.plan(grading.read_site(home))
    folder = tmp_path / "copy"
    shutil.copytree(home, folder)
    file = folder / "site.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(f"# a remark\n{text}", encoding="utf-8")
    assert seal_of(grading.plan(grading.read_site(folder))) == seal_of(plan)
    assert re.fullmatch(r"[0-9a-f]{64}", seal_of(plan))
    assert number_of(plan) == seal_of(plan)[:DIGITS]


THINGS = """
[[feature]]
kind = "seat wall"
name = "bench"
at = [12, 8]
size = ["5 ft", "18 in"]
height = "18 in"

[[feature]]
kind = "pergola post"
name = "post"
at = [5, 8]
size = "8 in"
"""


def test_another_fall_place_or_height_is_another_seal_and_another_order_of_tables_is_none(tmp_path):
    def sealed(text):
        folder = tmp_path / str(len(list(tmp_path.iterdir())))
        folder.mkdir()
        (folder / "site.toml").write_text(text, encoding="utf-8")
        (folder / "spots.csv").write_text(spots(), encoding="utf-8")
        return seal_of(grading.plan(grading.read_site(folder)))

    agreed = SITE + THINGS
    bench, post = THINGS.split("\n\n")
    assert sealed(f"{SITE}{post}\n{bench}\n") == sealed(agreed)
    others = [
        agreed.replace('"2 %"', '"2.5 %"'),
        agreed.replace("at = [12, 8]", "at = [11, 8]"),
        agreed.replace('height = "18 in"', 'height = "20 in"'),
        agreed.replace('size = "8 in"', 'size = "6 in"'),
        agreed.replace("at   = [12, 0]", "at   = [14, 0]"),
    ]
    assert len({sealed(each) for each in (agreed, *others)}) == 1 + len(others)
