"""Tables that are built in, read once: limits, bases, soils, loads, rates, with their sources."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

_PACKAGE = Path(__file__).parents[1]  # importlib.resources would load the readers of archives


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
    file = _PACKAGE / folder / f"{name}.toml"
    return tomllib.loads(file.read_text(encoding="utf-8"))
