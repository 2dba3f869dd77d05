"""Tables that are built in, read once: limits, bases, soils, loads, rates, with their sources."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any


@cache
def table(folder: str, name: str) -> Mapping[str, Any]:
    """Return a table of a folder of this package, by its name without its ending.

    Parameters
    ----------
    folder : str
        As "catalogue".
    name : str
        As "soils".
    """
    file = files("grading").joinpath(folder, f"{name}.toml")
    return tomllib.loads(file.read_text(encoding="utf-8"))
