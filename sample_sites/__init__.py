"""Invented sites that ship with the program, each a folder that a person can copy and change."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

__all__ = ["names", "path"]


def names() -> tuple[str, ...]:
    """Return the names of the sample sites, the demonstration's first and then by name."""
    found = sorted(site.name for site in _home().iterdir() if (site / "site.toml").is_file())
    return tuple(sorted(found, key=lambda name: name != "back-patio"))


def path(name: str) -> Path:
    """Return the folder of a sample site.

    Parameters
    ----------
    name : str
        One of `names()`.

    Raises
    ------
    KeyError
        No sample site has this name.
    """
    if name not in names():
        raise KeyError(f"no sample site is called {name!r}: there are {', '.join(names())}")
    return _home() / name


def _home() -> Path:
    return Path(str(files(__name__)))
