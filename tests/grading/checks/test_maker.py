"""Checks have one maker: it looks the limit up, and says how to mend what does not hold alone."""

import ast
from pathlib import Path

import grading
from grading.catalogue.rules import RULES, Limits
from grading.checks.maker import Maker
from grading.design.places import Places
from grading.geometry.tolerances import SOLVED

FOLDER = Path(grading.__file__).parent
MAKE = Maker(Limits({"fall-away": 0.03}), Places("m", ()), "patio")


def test_nothing_else_makes_a_check():
    makers = {
        path.relative_to(FOLDER).as_posix()
        for path in FOLDER.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id == "Check"
    }
    assert makers == {"checks/maker.py"}


def test_what_is_fine_passes_and_is_not_told_how_to_be_mended():
    held = MAKE.reaches("fall-away", 0.03 - SOLVED / 2)
    check = MAKE.judged("fall-away", held, "fail", 0.03, "it falls", ": too little", mend="turn it")
    assert (check.status, check.text) == ("pass", "it falls")
    assert (check.limit, check.unit, check.source) == (0.03, "ratio", "the site's own limit")
    assert check.area == "patio"


def test_what_is_not_fine_says_what_is_wrong_and_how_to_mend_it():
    short = MAKE.of("walk").judged(
        "fall-away", MAKE.reaches("fall-away", 0.02), "fail", 0.02, "it falls", ": too little",
        where="wall 1", mend="turn it",
    )  # fmt: skip
    assert (short.status, short.area, short.where) == ("fail", "walk", "wall 1")
    assert short.text == "it falls: too little. To mend it: turn it"


def test_a_value_at_its_limit_does_not_pass_it():
    rule = "raised-edge"
    most = RULES[rule].limit
    assert not MAKE.passes(rule, most + SOLVED / 2)
    assert MAKE.passes(rule, most + 2 * SOLVED)
