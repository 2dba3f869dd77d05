"""Our own modules are imported at the top of a file: there is no circle to hide from.

`viz/cli.py` alone loads what a command needs when it is given, so that help comes at once.
"""

import ast
from pathlib import Path

import pytest

import grading
import viz

ROOT = Path(grading.__file__).parents[1]
OWN = {"grading", "viz", "sample_sites"}
AT_WORK = Path(viz.__file__).parent / "cli.py"


def files_of(package):
    return sorted(Path(package.__file__).parent.rglob("*.py"))


def imports(nodes):
    """Yield the statements among nodes that import a module of ours."""
    for node in nodes:
        if isinstance(node, ast.Import):
            if any(each.name.split(".")[0] in OWN for each in node.names):
                yield node
        elif isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] in OWN:
            yield node


def within_functions(tree):
    functions = (ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda)
    return [each for node in ast.walk(tree) if isinstance(node, functions)
            for each in imports(ast.walk(node))]  # fmt: skip


def read(file):
    return ast.parse(file.read_text(encoding="utf-8"))


def test_there_are_imports_to_look_at():
    files = files_of(grading)
    assert sum(len(list(imports(read(file).body))) for file in files) > len(files)
    assert within_functions(read(AT_WORK))


@pytest.mark.parametrize("package", [grading, viz], ids=lambda package: package.__name__)
def test_own_modules_are_imported_at_the_top(package):
    found = {
        f"{file.relative_to(ROOT)}:{node.lineno}"
        for file in files_of(package)
        if file != AT_WORK
        for node in within_functions(read(file))
    }
    assert not found


def test_what_is_computed_needs_no_import_for_types_alone():
    """In `grading` nothing is imported behind a condition: even a type comes from below."""
    found = []
    for file in files_of(grading):
        tree = read(file)
        top = set(map(id, tree.body))
        found += [f"{file.relative_to(ROOT)}:{node.lineno}"
                  for node in imports(ast.walk(tree)) if id(node) not in top]  # fmt: skip
    assert not found
