"""Run the core of the suite with the lowest, or the newest, versions that are allowed.

    python tests/versions.py lowest
    python tests/versions.py newest --python python3.13

An environment is made, fallaway is installed into it from this checkout with every dependency of
`pyproject.toml` at its lower bound (or at the newest that there is), the core is run, and the plans
of all sample sites are held against those of this interpreter to nine digits. The core is files
that come by every dependency; all the rest of them run where the suite runs.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]

CORE = (
    "tests/contract/test_scripts.py",
    "tests/grading/geometry",
    "tests/grading/finish/test_convex.py",
    "tests/grading/reading/test_site_file.py",
    "tests/grading/reading/test_site_edit.py",
    "tests/grading/survey/sources/readers/test_broken_files.py",
    "tests/grading/logbook/test_chain.py",
    "tests/viz/export/test_glb.py",
    "tests/viz/export/test_landxml.py",
    "tests/viz/export/test_tables.py",
    "tests/viz/pictures/test_render.py",
    "tests/viz/sheets/test_names.py",
    "tests/viz/terminal/test_progress.py",
    "tests/viz/desk/server/test_serve.py",
)
TESTED_WITH = (
    "pytest", "pytest-xdist", "hypothesis", "lxml", "networkx", "pypdf", "pdfplumber", "pypdfium2",
    "pygltflib", "playwright", "usd-core", "manifold3d", "scikit-image", "pyogrio", "formulas",
)  # fmt: skip

DIGITS = 1e-9
"""Share by which two versions of a library may differ in a number of a plan."""

_PLANS = """
import json, grading, sample_sites
from grading.records.plan import record
plans = {n: grading.plan(grading.read_site(sample_sites.path(n))) for n in sample_sites.names()}
print(json.dumps({name: record(plan) for name, plan in plans.items()}))
"""


def bounds() -> list[str]:
    """Return every dependency at its lower bound."""
    told = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    return [each.replace(">=", "==") for each in told["project"]["dependencies"]]


def unlike(one: object, other: object, way: str = "") -> Iterator[str]:
    """Yield the ways at which two plans differ by more than `DIGITS`."""
    if isinstance(one, dict) and isinstance(other, dict) and one.keys() == other.keys():
        for key in one:
            yield from unlike(one[key], other[key], f"{way}/{key}")
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        for place, (mine, theirs) in enumerate(zip(one, other, strict=True)):
            yield from unlike(mine, theirs, f"{way}/{place}")
    elif isinstance(one, float) and isinstance(other, int | float):
        if not math.isclose(one, other, rel_tol=DIGITS, abs_tol=DIGITS):
            yield f"{way}: {one!r} and {other!r}"
    elif one != other:
        yield f"{way}: {str(one)[:200]} and {str(other)[:200]}"


def installed(home: Path, python: str, lowest: bool) -> Path:
    """Make an environment with fallaway in it; return its Python."""
    subprocess.run([python, "-m", "venv", home], check=True)
    own = home / ("Scripts" if os.name == "nt" else "bin") / "python"
    asked = [f"{ROOT}", *TESTED_WITH, *(bounds() if lowest else [])]
    pip = [own, "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    subprocess.run([*pip, *(() if lowest else ("--upgrade",)), *asked], check=True)
    return own


def plans(python: str | Path) -> dict[str, object]:
    """Return the plans of all sample sites, made by an interpreter."""
    done = subprocess.run(
        [python, "-c", _PLANS], cwd=ROOT, check=True, stdout=subprocess.PIPE, text=True
    )
    return json.loads(done.stdout)


def main() -> int:
    ask = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    ask.add_argument("which", choices=("lowest", "newest"))
    ask.add_argument("--python", default=sys.executable, help="which interpreter")
    ask.add_argument("--into", type=Path, help="the environment, kept (default: thrown away)")
    told = ask.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        home = told.into or Path(scratch) / "environment"
        own = installed(home, told.python, told.which == "lowest")
        # Older libraries are deprecated by newer ones that they stand on: no concern of ours.
        words = [own, "-m", "pytest", "-q", "-n", "2", "-o", "filterwarnings=", *CORE]
        tests = subprocess.run(words, cwd=ROOT, check=False)
        differ = list(unlike(plans(sys.executable), plans(own)))
    print("\n".join(differ[:50]) or "every number of every sample site is the same to nine digits")
    return max(int(bool(differ)), min(tests.returncode, 1))


if __name__ == "__main__":
    sys.exit(main())
