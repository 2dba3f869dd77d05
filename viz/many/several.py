"""Whether one site is meant or several: all that the plan of one site asks of this folder."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from grading.reading.written import FILE


def is_many(paths: Sequence[Path]) -> bool:
    """Whether several sites are meant: more than one path, or a folder that is none and holds some.

    Parameters
    ----------
    paths : sequence of Path
    """
    if len(paths) != 1:
        return True
    (path,) = paths
    try:
        return path.is_dir() and not (path / FILE).is_file() and bool(inside(path))
    except OSError:
        return False  # what is wrong with it is said where it is read


def inside(path: Path) -> list[Path]:
    """Return the site folders in a folder by name; those that are hidden are nobody's sites."""
    names = sorted(name for name in os.listdir(path) if not name.startswith("."))
    return [path / name for name in names if (path / name / FILE).is_file()]
