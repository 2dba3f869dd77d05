"""A crew in a yard is told what to do in words: no paper for people says how a file is written."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest
from make.plans.mixed_yard import mixed
from make.plans.raised_yard import raised
from make.plans.sampled import sampled
from make.sites.seven_elms import DOUBTFUL, SITE, SPOTS
from make.sites.site_folder import write_site

import grading
import sample_sites
from grading.checks.maker import Check, maker_of
from grading.worded import SETTLED, Worded, in_plan
from viz.words.lookouts import forbidden, lookouts

ROOT = Path(__file__).parents[3] / "grading"

FILE = re.compile(r'\[\[?[a-z_-]+\]|`|\b[a-z_]+ = ["\d]|\.toml\b|\.csv\b|(?<!\w)--[a-z]')
"""Signs of a site's file and of a command."""

_IN_TWO_WORDINGS = {"Worded", "in_plan"}
_FOLDERS = ("checks", "structures", "water", "conditions")


def literals(file):
    """Yield what a file says with a sign of a site's file, and whether a yard is told otherwise."""
    tree = ast.parse(file.read_text(encoding="utf-8"))
    above = {id(child): node for node in ast.walk(tree) for child in ast.iter_child_nodes(node)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            around = [node]
            while id(around[-1]) in above:
                around.append(above[id(around[-1])])
            if isinstance(around[1], ast.Expr) or " " not in node.value:
                continue  # said of the code, or a word that no sentence is made of
            if FILE.search(node.value):
                calls = {getattr(each.func, "id", "") for each in around
                         if isinstance(each, ast.Call)}  # fmt: skip
                # A fault of a file is said of the file, to who wrote it.
                yield node.value, bool(calls & (_IN_TWO_WORDINGS | {"Problem"}))


def test_every_sentence_with_a_key_is_made_in_two_wordings():
    files = (file for folder in _FOLDERS for file in sorted((ROOT / folder).rglob("*.py")))
    found = [(file.name, *each) for file in files for each in literals(file)]
    assert len(found) > 30  # it looks: a folder that moved would be looked at by nobody
    assert not [each for each in found if not each[-1]]


def _with_a_key(words):
    parts = (each.value for each in ast.walk(words) if isinstance(each, ast.Constant))
    return any(FILE.search(each) for each in parts if isinstance(each, str))


def test_what_the_plan_mends_is_said_without_a_key_where_every_key_is_a_field():
    found = []
    for file in sorted((ROOT / "checks").rglob("*.py")):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "in_plan":
                found.append((file.name, *map(_with_a_key, node.args)))
    assert len(found) > 15
    for name, key, *page in found:
        assert page or not key, name
        assert not any(page), name


def test_a_check_says_every_way_to_who_plans_and_the_first_to_who_digs():
    make = maker_of(mixed({"name": "a", "outline": [[0, 0], [20, 0], [20, 16], [0, 16]]},
                          features=()))  # fmt: skip
    said = "it goes to " + Worded("[[outfall]] a", "a") + " there"
    mends = (in_plan("write `z`", "give its level"), "cut a swale")
    made = make.check("run-on", "warn", 1.0, said, mend=mends)
    assert made.text == "it goes to [[outfall]] a there. To mend it: write `z`; or cut a swale"
    assert made.page == "it goes to a there. To mend it: give its level; or cut a swale"
    assert made.yard == f"it goes to a there: {SETTLED}"
    assert made.mend == "write `z`"
    plain = make.check("run-on", "pass", 1.0, "none does")
    assert {plain.text, plain.page, plain.yard} == {"none does"}
    assert plain.mend == ""


def test_a_name_that_looks_like_a_key_stays_as_it_is_written():
    name = "the `old` [yard]"
    outline = [[0, 0], [20, 0], [20, 16], [0, 16]]
    plan = mixed({"name": name, "outline": outline}, features=())
    told = [check.yard for check in plan.checks if name in check.text]
    assert told
    assert all(name in each for each in told)


def told_in(plan):
    checks = [said for check in plan.checks for said in (check.yard, check.page)]
    return (*lookouts(plan), *forbidden(plan), *checks)


@pytest.mark.parametrize("name", sample_sites.names())
def test_nothing_that_a_plan_says_in_the_yard_names_a_key(name):
    plan = sampled(name)
    for said in told_in(plan):
        assert said
        assert not FILE.search(said), said


def test_nor_does_what_fails(tmp_path):
    spots = SPOTS.format(*DOUBTFUL)
    doubted = grading.plan(grading.read_site(write_site(tmp_path, SITE, spots=spots)))
    for plan in (raised(), doubted):
        assert any(isinstance(each, Check) and FILE.search(each.text) for each in plan.checks)
        for said in told_in(plan):
            assert not FILE.search(said), said
