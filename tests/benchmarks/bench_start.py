"""What it takes to start: the command and the library as processes of their own, cold.

Beside what nothing gets below: the libraries that they load, imported alone.
"""

from __future__ import annotations

from collections.abc import Iterable

from measuring import ROOT, Row, cold

SIZES = (None,)


def measure(_: None) -> Iterable[Row]:
    """Give the rows."""
    sample = str(ROOT / "sample_sites" / "back-patio")
    alone = [
        (words, cold(["-c", f"import {words}"])[0])
        for words in (
            "numpy, shapely",
            "numpy, shapely, pydantic",
            "numpy, shapely, pydantic, scipy.special, scipy.spatial, scipy.sparse.csgraph",
        )
    ]
    names = ["numpy, shapely", "numpy, shapely, pydantic", "numpy, shapely, pydantic, SciPy"]
    library, most = cold(["-c", "import grading"])
    yield Row("import grading", None, library, f"import {names[1]}", alone[1][1], most, limit=True)
    for what, words in (
        ("cold fallaway plan, sample site", ["-m", "viz.cli", "plan", sample]),
        ("cold fallaway --help", ["-m", "viz.cli", "--help"]),
    ):
        ours, most = cold(words)
        yield Row(what, None, ours, f"import {names[0]}", alone[0][1], most)
        if "--help" not in words:
            yield Row(what, None, ours, f"import {names[2]}", alone[2][1], limit=True)
