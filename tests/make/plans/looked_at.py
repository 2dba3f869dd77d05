"""What the page is told of a site, without the page: a folder or a changed document looked at."""

from __future__ import annotations

import copy
import shutil
from pathlib import Path
from typing import Any

import sample_sites
from grading.files.toml_file import toml_of
from grading.reading.site_edit import Edit, put
from viz.desk.model.bodies import Stand, bodies_of, stand_for
from viz.desk.model.frame import Model
from viz.desk.model.telling import bare_model, looked_at, told_model
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


def model_of(seen: Seen, last: Stand | None = None) -> tuple[Model, Stand] | None:
    """Return the model of what a window looks at, and where it stands.

    Before there is a plan it is of what there is: the ground as it was shot, spots and house. None
    where there is nothing of these.

    Parameters
    ----------
    seen : Seen
    last : Stand, optional
        Where the model before it stood: what has not changed then is the same to the last bit.
    """
    found = looked_at(seen)
    if found is None or seen.plan is None:
        return bare_model(seen, last)
    area, base = found
    stand = stand_for(seen.plan, area, last)
    return told_model(bodies_of(seen.plan, area, base, stand), seen), stand
