"""What the page is told of a site, without the page: a folder or a changed document looked at."""

from __future__ import annotations

import copy
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import sample_sites
from grading.files.toml_text import toml_of
from grading.reading.site_edit import Edit, put
from viz.desk.seen import Asked, Seen
from viz.desk.server.look import Looking

SAMPLES = tuple(
    sorted(each.name for each in Path(sample_sites.__file__).parent.iterdir()
           if (each / "site.toml").is_file())
)  # fmt: skip


def copied(name: str, to: Path) -> Path:
    """Copy a sample site into a folder, and return where it is."""
    return Path(shutil.copytree(sample_sites.path(name), to / name))


def priced(name: str, to: Path) -> Path:
    """Copy a sample site into a folder with a crew that gives a price, as high as that built in."""
    folder = copied(name, to)
    with (folder / "crew.toml").open("a", encoding="utf-8") as file:
        file.write("\n[prices]\npanels = 19\n")
    return folder


def looked(folder: Path, *edits: Edit, whole: bool = True, **asked: Any) -> Seen:
    """Return what is seen of a site's folder, with edits made of its document."""
    document = toml_of((folder / "site.toml").read_text(encoding="utf-8"), "site.toml")
    written = copy.deepcopy(document)
    for edit in edits:
        put(written, edit)
    files = {
        each.name: each.read_text(encoding="utf-8")
        for each in folder.iterdir()
        if each.suffix in (".csv", ".toml") and each.name != "site.toml"
    }
    looking = Looking(folder, folder)
    seen = looking.first(looking.read(written), files, Asked(**asked), 1)
    if whole and seen.site is not None and not seen.conflict and not seen.problems:
        seen = looking.rest()
    return seen


def every_block(blocks: Any):
    """Yield every block of a step, those within others too."""
    for block in blocks:
        yield block
        if hasattr(block, "blocks"):
            yield from every_block(block.blocks)
        for item in getattr(block, "items", ()):
            yield from every_block(item.blocks)


KEY_OF_A_FILE = re.compile(r"`|\[\[?[a-z_]+\]|\w\.toml\b|\bhours\.csv\b|(?<!\w)--[a-z]")
MEANT = "They are written into crew.toml of this site"
"""Where it is told in which file a thing lies; files of a survey were named by a person."""


def _shown(told: Any) -> Iterator[str]:
    if isinstance(told, str):
        yield told
    elif isinstance(told, dict):
        for key, each in told.items():
            if key not in ("at", "to", "value", "module", "changes", "document", "href"):
                yield from _shown(each)
    elif isinstance(told, list | tuple):
        for each in told:
            yield from _shown(each)


def keys_shown(told: Any) -> list[str]:
    """Return the words of what the page is told that name a key of a file, or an option.

    Ways to keys, and what a person wrote, are not shown.
    """
    words = (each for each in _shown(told) if MEANT not in each)
    return [each for each in words if KEY_OF_A_FILE.search(each)]
