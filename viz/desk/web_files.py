"""The files that the browser is given, by their names below the folder `web`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable


@cache
def web_files() -> Mapping[str, Traversable]:
    """Return every file of the page by its name: "app.js", "plan/plan.js"."""
    return dict(_below(files("viz.desk").joinpath("web"), ""))


def web_text(name: str) -> str:
    """Return the text of a file of the page."""
    return web_files()[name].read_text(encoding="utf-8")


def _below(folder: Traversable, before: str) -> Iterator[tuple[str, Traversable]]:
    for each in folder.iterdir():
        if each.is_dir():
            yield from _below(each, f"{before}{each.name}/")
        else:
            yield f"{before}{each.name}", each
