"""A crew in a yard is told what to do in words: no paper for people says how a file is written."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest
from make.plans.mixed_yard import mixed
from make.plans.raised_yard import raised

import grading
import sample_sites
from grading.checks.maker import Check
from viz.words.lookouts import forbidden, lookouts
from viz.words.on_paper import SETTLED, on_paper

ROOT = Path(__file__).parents[3]

FILE = re.compile(r'\[\[?[a-z_-]+\]|`|\b[a-z_]+ = ["\d]|\.toml\b|\.csv\b|(?<!\w)--[a-z]')
"""Signs of a site's file and of a command."""


def literals():
    """Yield every sentence of the code that speaks of a file, what it is filled with as "this"."""
    for folder in ("checks", "structures", "water", "conditions"):
        for file in sorted((ROOT / "grading" / folder).rglob("*.py")):
            tree = ast.parse(file.read_text(encoding="utf-8"))
            docs = {
                id(node.body[0].value)
                for node in ast.walk(tree)
                if isinstance(node, ast.FunctionDef | ast.ClassDef | ast.Module)
                and node.body
                and isinstance(node.body[0], ast.Expr)
            }
            inside = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr)
                      for part in node.values}  # fmt: skip
            for node in ast.walk(tree):
                if isinstance(node, ast.JoinedStr):
                    parts = (each.value if isinstance(each, ast.Constant) else "this"
                             for each in node.values)  # fmt: skip
                    said = "".join(map(str, parts))
                elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                    said = "" if id(node) in docs | inside else node.value
                else:
                    continue
                if " " in said and "\n" not in said and FILE.search(said):
                    yield said


def test_no_sentence_of_the_code_comes_onto_paper_with_a_key():
    found = set(literals())
    assert len(found) > 30  # it looks: a folder that moved would be looked at by nobody
    assert 'add [[step]] with area = "this" and to = "lawn"this' in found
    for said in found:
        told = on_paper(f"the edge is too high: {said}")
        assert not FILE.search(told), (said, told)
        assert told.startswith("the edge is too high")
        if ".toml" not in said:  # where a fault of a file lies is said of the file
            assert not FILE.search(on_paper(said)), (said, on_paper(said))


@pytest.mark.parametrize(
    ("said", "told"),
    [
        (
            "where its rain ends is not known: the site names no place for it: add an [[outfall]] "
            "where it is meant to end",
            "where its rain ends is not known: no place for it is named: settle one before you dig",
        ),
        (
            'steps are advised there: add [[step]] with area = "the [old] `lawn`" and to = "lawn"',
            "steps are advised there: have steps put into the plan before you dig",
        ),
        (
            'steps: add [[step]] with area = "a" and to = "lawn" and width = "1.2 m"',
            None,
        ),
        (
            "what comes to it is not known: give the storm's intensity, in [storm]",
            "what comes to it is not known: ask how hard it rains there, and have it counted "
            "before you dig",
        ),
        ("its tread is too short: write a `tread` of 10 in or more",
         f"its tread is too short: {SETTLED}"),
        ("it would go up. To mend it: write another `at`, or leave the step out",
         f"it would go up: {SETTLED}"),
        ("the age of the house is not given: [house] age", "the age of the house is not given"),
        ("dig to its bottom, not to a number", "dig to its bottom, not to a number"),
    ],
)  # fmt: skip
def test_what_is_done_is_told_in_words(said, told):
    if told is None:
        assert "steps 1.2 m wide" in on_paper(said)
        assert not FILE.search(on_paper(said))
    else:
        assert on_paper(said) == told


def test_a_name_that_looks_like_a_key_stays_as_it_is_written():
    name = "the `old` [yard]"
    outline = [[0, 0], [20, 0], [20, 16], [0, 16]]
    site = mixed({"name": name, "outline": outline}, features=()).site
    said = f"{name}: its tread is too short: write a `tread` of 10 in or more"
    assert on_paper(said, site) == f"{name}: its tread is too short: {SETTLED}"


@pytest.mark.parametrize("name", sample_sites.names())
def test_look_outs_and_what_forbids_building_name_no_key(name):
    plan = grading.plan(grading.read_site(sample_sites.path(name)))
    for said in (*lookouts(plan), *forbidden(plan)):
        assert not FILE.search(said), said


def test_what_fails_in_a_raised_yard_is_told_without_a_key():
    plan = raised()
    assert any(isinstance(each, Check) and FILE.search(each.text) for each in plan.checks)
    for said in (*lookouts(plan), *forbidden(plan)):
        assert not FILE.search(said), said
