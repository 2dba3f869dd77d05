"""A survey file read: with ids, codes and notes, some of them quoted, beside its numbers alone.

And beside readers that know of no line that a fault is on: NumPy's, Python's own and pandas'.
"""

from __future__ import annotations

import csv
import tempfile
from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np
from measuring import Row, peak, spent

from grading.files.csv_points import read_points

SIZES = (200, 10_000, 1_000_000)
TEXTS = ("id", "code", "note")


def written(folder: Path, count: int) -> tuple[Path, Path, Path]:
    """Write the same survey as numbers alone, with plain texts, and with some notes quoted."""
    rows = np.random.default_rng(1).uniform(0, 300, (count, 3)).tolist()
    paths = tuple(folder / name for name in ("bare.csv", "plain.csv", "quoted.csv"))
    notes = ("near the oak", '"oak, near it"')
    with paths[0].open("w") as bare, paths[1].open("w") as plain, paths[2].open("w") as quoted:
        bare.write("x,y,z\n")
        for file in (plain, quoted):
            file.write("id,x,y,z,code,note\n")
        for number, (x, y, z) in enumerate(rows):
            numbers = f"{x:.3f},{y:.3f},{z:.3f}"
            bare.write(f"{numbers}\n")
            for file, note in ((plain, notes[0]), (quoted, notes[1])):
                file.write(f"P{number},{numbers},GRD,{note if number % 7 == 0 else ''}\n")
    return paths[0], paths[1], paths[2]


def measure(count: int) -> Iterable[Row]:
    """Give the rows of one size."""
    times = 5 if count <= 10_000 else 1
    with tempfile.TemporaryDirectory() as folder:
        bare, plain, quoted = written(Path(folder), count)

        def read(path: Path, texts: tuple[str, ...] = ()) -> Callable[[], object]:
            return lambda: read_points(path, path.name, "m", "xyz", texts)

        numbers = spent(read(bare), times)
        for what, path in (
            ("survey file with ids, codes, notes", plain),
            ("the same, one note in seven quoted", quoted),
        ):
            ours = spent(read(path, TEXTS), times)
            yield Row(what, count, ours, "its x, y, z alone", numbers, peak(), limit=True)

        def by_csv() -> None:
            with quoted.open(newline="") as file:
                list(csv.reader(file))

        yield Row(what, count, ours, "csv.reader, text alone", spent(by_csv, times))
        by_numpy = spent(lambda: np.loadtxt(bare, delimiter=",", skiprows=1), times)
        yield Row("survey file of x, y, z", count, numbers, "numpy.loadtxt", by_numpy)
        try:
            import pandas as pd
        except ImportError:
            return
        yield Row(what, count, ours, "pandas.read_csv", spent(lambda: pd.read_csv(quoted), times))
