"""Mutants, each held against the tests of its own floor: how many live?

    PYTHONPATH=.:tests python tests/mutation/run.py --count 400 --seed 11

Only tests that come by the changed line are run, the quickest first, until one fails: what each
comes by is found once (`--look`) and kept beside the results, as the mutants drawn are. What does
not import the changed file is imported once, and each mutant has a process of its own that starts
from there. A run that was ended goes on where it stood; `--again` tries those that lived.
"""

from __future__ import annotations

import argparse
import ast
import importlib
import importlib.abc
import importlib.util
import json
import os
import resource
import sys
import time
import tomllib
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from mutation.mutants import FLOORS, HERE, Mutant, drawn, mutated

EQUIVALENT = Path(__file__).parent / "equivalent.toml"
QUIET = ("-n", "0", "-q", "-x", "-p", "no:cacheprovider", "--no-header",
         "-W", "ignore::pytest.PytestAssertRewriteWarning")  # fmt: skip


class _Look:
    """Writes down which lines each test comes by, and how long it takes."""

    def __init__(self) -> None:
        import coverage

        self.coverage = coverage.Coverage(data_file=None, config_file=False,
                                          source=[str(HERE / "grading")])  # fmt: skip
        self.seconds: dict[str, float] = {}

    def pytest_runtest_logreport(self, report: Any) -> None:
        self.seconds[report.nodeid] = self.seconds.get(report.nodeid, 0.0) + report.duration

    def pytest_runtest_logstart(self, nodeid: str, location: Any) -> None:
        self.coverage.switch_context(nodeid)


def look(floors: Sequence[str], kept: Path) -> None:
    """Run the tests of floors once, and keep which line of which file they come by."""
    import pytest

    tests = sorted({test for floor in floors for test in FLOORS[floor][1]})
    for folder in tests:
        notes = json.loads(kept.read_text()) if kept.exists() else {}
        if folder in notes:
            continue
        pid = os.fork()
        if pid:
            os.waitpid(pid, 0)
            continue
        seen = _Look()
        seen.coverage.start()
        pytest.main([*(word for word in QUIET if word != "-x"), str(HERE / folder)], plugins=[seen])
        seen.coverage.stop()
        data = seen.coverage.get_data()
        lines: dict[str, dict[str, list[int]]] = {}
        for file in data.measured_files():
            name = str(Path(file).relative_to(HERE))
            for line, contexts in data.contexts_by_lineno(file).items():
                for context in contexts:
                    lines.setdefault(context, {}).setdefault(name, []).append(line)
        notes[folder] = {"seconds": seen.seconds, "lines": lines}
        kept.write_text(json.dumps(notes))
        os._exit(0)


def tests_of(mutant: Mutant, notes: dict[str, Any]) -> list[str]:
    """Return the tests of its floor that come by its line, the quickest first."""
    timed: list[tuple[float, str]] = []
    for folder in FLOORS[mutant.floor][1]:
        lines, seconds = notes[folder]["lines"], notes[folder]["seconds"]
        at_import = mutant.line in lines.get("", {}).get(mutant.file, ())
        timed += [
            (seconds[test], test)
            for test in seconds
            if at_import or _near(mutant, lines.get(test, {}).get(mutant.file, ()))
        ]
    return [test for _, test in sorted(timed)]


def _near(mutant: Mutant, lines: Sequence[int]) -> bool:
    """Whether a line of the statement is among them: coverage tells of its first line alone."""
    return any(line in lines for line in _statement(mutant.file, mutant.line))


def _statement(file: str, line: int) -> range:
    inner = range(line, line + 1)
    for node in ast.walk(ast.parse((HERE / file).read_text(encoding="utf-8"))):
        if isinstance(node, ast.stmt) and not hasattr(node, "body"):
            whole = range(node.lineno, (node.end_lineno or node.lineno) + 1)
            inner = whole if line in whole else inner
    return inner


def _name_of(file: str) -> str:
    return file.removesuffix(".py").removesuffix("/__init__").replace("/", ".")


def _dependents(changed: str) -> set[str]:
    """Return the modules of ours that import a module, by however many steps."""
    uses: dict[str, set[str]] = {}
    for path in (HERE / "grading").rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        names: set[str] = set()
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module:
                names |= {node.module, *(f"{node.module}.{each.name}" for each in node.names)}
            elif isinstance(node, ast.Import):
                names |= {each.name for each in node.names}
        uses[_name_of(str(path.relative_to(HERE)))] = names
    found = {changed}
    while True:
        more = {name for name, names in uses.items() if names & (found - {"grading"})} | found
        if more == found:
            return found
        found = more


class _Changed(importlib.abc.MetaPathFinder, importlib.abc.SourceLoader):
    """Imports one module from a text that is not on disk."""

    def __init__(self, name: str, path: Path, text: str) -> None:
        self.name, self.path, self.text = name, path, text

    def find_spec(self, fullname: str, path: Any, target: Any = None) -> Any:
        if fullname != self.name:
            return None
        return importlib.util.spec_from_file_location(
            fullname, self.path, loader=self,
            submodule_search_locations=[str(self.path.parent)]
            if self.path.name == "__init__.py" else None,
        )  # fmt: skip

    def get_filename(self, fullname: str) -> str:
        return str(self.path)

    def get_data(self, path: str) -> bytes:
        return self.text.encode()

    def path_stats(self, path: str) -> Any:
        raise OSError  # no cache of bytecode


def _child(mutant: Mutant, tests: list[str], seconds: float) -> None:
    """Run tests against a mutant, and end with pytest's own status. Never returns."""
    silence = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silence, 1)
    os.dup2(silence, 2)
    resource.setrlimit(resource.RLIMIT_CPU, (int(seconds), int(seconds) + 1))
    resource.setrlimit(resource.RLIMIT_AS, (6 << 30, 6 << 30))
    status = 1
    try:
        import pytest

        name, path = _name_of(mutant.file), HERE / mutant.file
        text = mutated(path, mutant.operator, mutant.occurrence)
        assert text is not None
        for each in _dependents(name) - {"grading"}:
            sys.modules.pop(each, None)
        sys.meta_path.insert(0, _Changed(name, path, text))
        importlib.reload(sys.modules["grading"])
        status = int(pytest.main([*QUIET, *tests]))
    except BaseException:
        status = 1
    finally:
        os._exit(status)


def _held(mutant: Mutant, notes: dict[str, Any]) -> tuple[str, float]:
    tests = tests_of(mutant, notes)
    if not tests:
        return "not run by any test", 0.0
    started = time.process_time() + sum(os.times()[2:4])
    allowed = 60 + 4 * sum(notes[folder]["seconds"].get(test, 0.0)
                           for folder in FLOORS[mutant.floor][1] for test in tests)  # fmt: skip
    pid = os.fork()
    if not pid:
        _child(mutant, tests, allowed)
    _, status = os.waitpid(pid, 0)
    took = time.process_time() + sum(os.times()[2:4]) - started
    return ("lives" if status == 0 else "killed"), took


def equivalents() -> dict[str, str]:
    """Return the mutants that no test could kill, with the reason."""
    told: dict[str, str] = tomllib.loads(EQUIVALENT.read_text(encoding="utf-8"))
    return told


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--count", type=int, default=400)
    ask.add_argument("--seed", type=int, default=11)
    ask.add_argument("--from", dest="first", type=int, default=0, help="go on at this mutant")
    ask.add_argument("--floors", nargs="*", default=list(FLOORS))
    ask.add_argument("--results", type=Path, default=Path("mutants.jsonl"))
    ask.add_argument("--look", action="store_true", help="only find what each test comes by")
    ask.add_argument("--again", action="store_true", help="only those that lived")
    words = ask.parse_args()
    kept = words.results.with_suffix(".looked.json")
    look(words.floors, kept)
    if words.look:
        return
    notes = json.loads(kept.read_text())
    _import_all()
    words.results.touch()
    before = map(json.loads, words.results.read_text(encoding="utf-8").splitlines())
    done = {row["number"]: row for row in before}
    known = equivalents()
    for number, mutant in enumerate(_lots(words.count, words.seed, words.results)):
        if number < words.first or mutant.floor not in words.floors:
            continue
        past = done.get(number, {}).get("result")
        if past and not (words.again and past not in ("killed", "equivalent")):
            continue
        if mutant.told in known:
            result, took = "equivalent", 0.0
        else:
            result, took = _held(mutant, notes)
        told = {"number": number, "result": result, "seconds": round(took, 1)}
        done[number] = told | asdict(mutant)
        with words.results.open("a", encoding="utf-8") as file:
            file.write(json.dumps(done[number]) + "\n")
        if result not in ("killed", "equivalent"):
            print(f"{number} {result}, line {mutant.line}: {mutant.told}", flush=True)
    counts: dict[str, int] = {}
    for row in done.values():
        counts[row["result"]] = counts.get(row["result"], 0) + 1
    print(len(done), "mutants:", ", ".join(f"{count} {result}" for result, count in counts.items()))


def _lots(count: int, seed: int, results: Path) -> list[Mutant]:
    """Return the mutants of a seed: drawn once for these results, for the code may move on."""
    kept = results.with_suffix(".drawn.json")
    if kept.exists():
        return [Mutant(**row) for row in json.loads(kept.read_text())]
    mutants = drawn(count, seed)
    kept.write_text(json.dumps([asdict(mutant) for mutant in mutants]))
    return mutants


def _import_all() -> None:
    """Import what every mutant needs, so that its process starts with it."""
    for name in ("numpy", "scipy.optimize", "scipy.spatial", "scipy.interpolate", "scipy.sparse",
                 "shapely", "pydantic", "hypothesis", "pytest", "hypothesis.extra.numpy",
                 "grading"):  # fmt: skip
        importlib.import_module(name)


if __name__ == "__main__":
    main()
