"""`grading` imports its own modules at the top of a file: there is no circle to hide from."""

import ast
from pathlib import Path

import grading

FOLDER = Path(grading.__file__).parent
FILES = sorted(FOLDER.rglob("*.py"))


def own(node):
    """Say whether a statement imports a module of this package."""
    if isinstance(node, ast.Import):
        return any(each.name.split(".")[0] == "grading" for each in node.names)
    return isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "grading"


def test_there_are_imports_to_look_at():
    tops = [node for path in FILES for node in ast.parse(path.read_text("utf-8")).body]
    assert sum(own(node) for node in tops) > len(FILES)


def test_own_modules_are_imported_at_the_top_and_for_types_too():
    inside = []
    for path in FILES:
        tree = ast.parse(path.read_text("utf-8"))
        top = set(map(id, tree.body))
        found = [node for node in ast.walk(tree) if own(node) and id(node) not in top]
        inside += [f"{path.relative_to(FOLDER)}:{node.lineno}" for node in found]
    assert not inside
