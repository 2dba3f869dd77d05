"""What is shown was computed by `grading`: none of it makes limits of its own."""

from __future__ import annotations

import ast
import gc
from functools import cache
from pathlib import Path

import pytest

import viz

FILES = sorted(Path(viz.__file__).parent.rglob("*.py"))


@cache
def tree_of(path):
    """Return a file parsed, with no looking for circles meanwhile.

    Where code runs from there, Python 3.11 loses count of its depth in the tree (SystemError,
    "AST constructor recursion depth mismatch").
    """
    looking = gc.isenabled()
    gc.disable()
    try:
        return ast.parse(path.read_text(encoding="utf-8"))
    finally:
        if looking:
            gc.enable()


@pytest.mark.parametrize("path", FILES, ids=lambda path: "/".join(path.parts[-2:]))
def test_no_limit_is_made_where_it_is_shown(path):
    """A limit that a site gives is read off the plan, which has one table of them."""
    made = [
        node.lineno
        for node in ast.walk(tree_of(path))
        if isinstance(node, ast.Call)
        and getattr(node.func, "id", getattr(node.func, "attr", "")) == "Limits"
    ]
    assert not made


@pytest.mark.parametrize(
    "path", [each for each in FILES if "drawings" in each.parts], ids=lambda path: path.stem
)
def test_a_drawing_takes_what_it_imports_at_its_head(path):
    inside = [
        (each.name, node.lineno)
        for each in ast.walk(tree_of(path))
        if isinstance(each, ast.FunctionDef)
        for node in ast.walk(each)
        if isinstance(node, ast.Import | ast.ImportFrom)
    ]
    assert not inside
