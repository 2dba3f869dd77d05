"""Mutants of our own code: drawn by a seed, evenly over floors, made by cosmic-ray's operators."""

from __future__ import annotations

import ast
import json
import random
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

HERE = Path(__file__).resolve().parents[2]

FLOORS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "dig": (("grading/dig",), ("tests/grading/dig",)),
    "drainage": (("grading/dig/drainage.py",), ("tests/grading/dig",)),
    "checks": (
        ("grading/checks",),
        (
            "tests/grading/checks/test_areas.py",
            "tests/grading/checks/test_doors.py",
            "tests/grading/checks/test_ground.py",
            "tests/grading/checks/test_levels.py",
            "tests/grading/checks/test_steps.py",
            "tests/grading/checks/test_survey_told.py",
            "tests/grading/catalogue/test_suitability.py",  # where one chosen is told
            "tests/grading/design/test_uncertainty.py",  # where what hangs on the ground is checked
            "tests/grading/dig/test_edge_and_joint.py",  # where what is laid along edges is
            "tests/grading/structures/test_lawn_regraded.py",  # and what lies beside them
            "tests/grading/ground/test_whole_book.py",  # where set-ups that disagree are checked
            "tests/grading/structures/holding/test_holds.py",  # and what holds edges
            "tests/grading/checks/test_unused_words.py",
            "tests/grading/structures/drains/test_built.py",  # where drains and wells are checked
            "tests/grading/water",  # where what is said of the water is checked
            "tests/grading/conditions",  # and of what paving stands in, and what stands on it
        ),
    ),
    "units": (("grading/units",), ("tests/grading/units", "tests/properties/test_units.py")),
    "finish": (("grading/finish",), ("tests/grading/finish",)),
    "water": (
        ("grading/water",),
        (
            "tests/grading/water",
            "tests/published/water/test_drains.py",
        ),  # what channels and pipes carry
    ),
    "money": (("grading/order/money.py",), ("tests/grading/order/test_money.py",)),
}
"""What of the code a floor is, and which tests are its own."""

KINDS = (
    {"Add", "Sub", "Mul", "Div", "FloorDiv", "Mod", "Pow"},
    {"BitOr", "BitAnd", "BitXor"},
    {"RShift", "LShift"},
    {"Eq", "NotEq", "Lt", "LtE", "Gt", "GtE"},
    {"Is", "IsNot"},
    {"In", "NotIn"},
)
"""An operator is replaced by one of its own kind: the shift of two floats is an error, which any
test finds that comes by, and whether equal words are one object is for Python to choose."""


@dataclass(frozen=True)
class Mutant:
    """One change of one place of one file: nothing else of it differs."""

    floor: str
    file: str
    line: int
    operator: str
    occurrence: int
    before: str
    after: str

    @property
    def told(self) -> str:
        """The place and the change, as the list of equivalents writes it."""
        return f"{self.file}: {self.before} -> {self.after}"


def _files(floor: str) -> list[Path]:
    found: list[Path] = []
    for place in FLOORS[floor][0]:
        path = HERE / place
        found += [path] if path.is_file() else sorted(path.rglob("*.py"))
    if floor == "dig":  # has a floor of its own
        found.remove(HERE / "grading/dig/drainage.py")
    return found


class _Bare(ast.NodeTransformer):
    """Leaves out what is never run: annotations (`from __future__ import annotations`)."""

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.AST:
        self.generic_visit(node)
        node.returns = None
        return node

    def visit_arg(self, node: ast.arg) -> ast.AST:
        node.annotation = None
        return node

    def visit_AnnAssign(self, node: ast.AnnAssign) -> ast.AST:
        self.generic_visit(node)
        node.annotation = ast.Constant(None)
        return node


def _run_of(text: str) -> str | None:
    try:
        return ast.dump(_Bare().visit(ast.parse(text)))
    except SyntaxError:
        return None


def _of_a_kind(operator: str) -> bool:
    if "BinaryOperator" not in operator and "ComparisonOperator" not in operator:
        return "Variable" not in operator
    one, other = operator.rsplit("_", 2)[1:]
    return any({one, other} <= kind for kind in KINDS)


@cache
def _operators() -> dict[str, object]:
    from cosmic_ray.plugins import get_operator, operator_names

    return {name: get_operator(name)() for name in operator_names() if _of_a_kind(name)}


@cache
def _places(file: Path) -> list[tuple[tuple[int, int], list[tuple[str, int]]]]:
    """Return every place of a file that can be changed, with the changes that it allows."""
    from cosmic_ray.ast import ast_nodes, get_ast

    places: dict[tuple[int, int], list[tuple[str, int]]] = {}
    counts: dict[str, int] = {}
    binary = {name for name in _operators() if "BinaryOperator" in name}
    for node in ast_nodes(get_ast(file.read_text(encoding="utf-8"))):
        for name, operator in _operators().items():
            if name in binary and node.type != "operator":
                continue  # saves most of the looking
            for start, _ in operator.mutation_positions(node):  # type: ignore[attr-defined]
                places.setdefault(start, []).append((name, counts.get(name, 0)))
                counts[name] = counts.get(name, 0) + 1
    return sorted(places.items())


def changed(file: Path, operator: str, occurrence: int) -> tuple[str, str] | None:
    """Return the line that a change is seen at, before and after; None where there is none."""
    after = mutated(file, operator, occurrence)
    lines = file.read_text(encoding="utf-8").splitlines()
    pairs = zip(lines, (after or "").splitlines(), strict=False)
    return next(((one.strip(), other.strip()) for one, other in pairs if one != other), None)


def found_again(mutant: Mutant) -> Mutant | None:
    """Return a mutant where its change is now in its file, the nearest; None where it is gone."""
    file, told = HERE / mutant.file, (mutant.before, mutant.after)
    if not file.exists():
        return None
    if changed(file, mutant.operator, mutant.occurrence) == told:
        return mutant
    same = [
        (abs(line - mutant.line), line, occurrence)
        for (line, _), changes in _places(file)
        for operator, occurrence in changes
        if operator == mutant.operator and changed(file, operator, occurrence) == told
    ]
    if not same:
        return None
    _, line, occurrence = min(same)
    return replace(mutant, line=line, occurrence=occurrence)


def kept(seed: int) -> Path:
    """Return where the mutants that were drawn by a seed stand: the code moves on, and these stay.

    One a line. One whose line is written anew is gone, and the next of its floor takes its place.
    """
    return Path(__file__).parent / f"drawn-{seed}.jsonl"


def mutated(file: Path, operator: str, occurrence: int) -> str | None:
    """Return the text of a file with one change."""
    from cosmic_ray.mutating import mutate_code

    text: str | None = mutate_code(
        file.read_text(encoding="utf-8"), _operators()[operator], occurrence
    )
    return text


def _drawn(floor: str, seed: int) -> Iterator[Mutant]:
    """Yield mutants of a floor: one change of every place by lot, then another of each."""
    lot = random.Random(f"{seed} {floor}")
    places = [(file, place) for file in _files(floor) for place in _places(file)]
    lot.shuffle(places)
    turns = [
        (file, line, lot.sample(changes, len(changes))) for file, ((line, _), changes) in places
    ]
    most = max(len(changes) for *_, changes in turns)
    for turn, (file, line, changes) in ((turn, each) for turn in range(most) for each in turns):
        if turn >= len(changes):
            continue
        operator, occurrence = changes[turn]
        text = file.read_text(encoding="utf-8")
        after = mutated(file, operator, occurrence)
        if after is None or _run_of(after) in (None, _run_of(text)):
            continue
        if "frozen=" in text.splitlines()[line - 1]:  # a promise to ourselves, which no run shows
            continue
        lines, others = text.splitlines(), after.splitlines()
        pairs = enumerate(zip(lines, others, strict=False))
        first = next(number for number, (one, other) in pairs if one != other)
        yield Mutant(
            floor, str(file.relative_to(HERE)), line, operator, occurrence,
            lines[first].strip(), others[first].strip(),
        )  # fmt: skip


def drawn(count: int, seed: int) -> list[Mutant]:
    """Return mutants by turns, one of each floor, until there are enough.

    Those that were drawn by this seed before come first, where their lines still stand.
    """
    lots = {floor: _drawn(floor, seed) for floor in FLOORS}
    found: list[Mutant] = []
    if kept(seed).exists():
        rows = kept(seed).read_text(encoding="utf-8").splitlines()
        before = [Mutant(**json.loads(row)) for row in rows][:count]
        told = {each.told for each in before}
        for each in before:
            another = (one for one in lots[each.floor] if one.told not in told)
            now = found_again(each) or next(another)
            told.add(now.told)
            found.append(now)
    while lots and len(found) < count:
        for floor in list(lots):
            one = next(lots[floor], None)
            if one is None:
                del lots[floor]
            elif len(found) < count and one not in found:
                found.append(one)
    return found
