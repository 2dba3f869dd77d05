"""The solids of a dig as STL, one closed solid in each file, in millimetres.

STL has no unit of its own. Programs that print take a number for a millimetre, so that is what
it is, and the name of every file says so. The origin is a round point in the middle of the dig.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from viz.drawings.drawing_set import slug
from viz.layers.solids import dig_solids

if TYPE_CHECKING:
    from grading.dig import Dig
    from grading.pipeline import AreaPlan
    from viz.layers.shell import Floats, Solid

PER_METRE = 1000
"""Units of the file in a metre."""

_HEADER = 80  # bytes, by the format


def solids_of(area: AreaPlan, dig: Dig) -> tuple[Floats, list[tuple[str, Solid]]]:
    """Return the origin of a dig's solids (3,) [m], and each with its name, in order of work."""
    solids = dig_solids(dig, area.finish.surface, area.outline)
    named = [("earth to dig", solids.earth), ("refill", solids.refill)]
    named += [(layer.name, solid) for layer, solid in reversed(solids.layers)]
    named.append(("backfill beside", solids.backfill))
    return solids.origin, [(name, solid) for name, solid in named if len(solid.faces)]


def stl_bytes(solid: Solid, about: str) -> bytes:
    """Return a solid as binary STL, its header saying what it is and in which unit.

    Parameters
    ----------
    solid : Solid
    about : str
        Cut off at 80 characters; others than ASCII are left out.
    """
    import trimesh
    from trimesh.exchange.stl import export_stl

    # Corners are rounded as the format rounds them before normals are taken.
    vertices = (solid.vertices * PER_METRE).astype(np.float32).astype(float)
    mesh = trimesh.Trimesh(vertices, solid.faces, process=False)
    words = about.encode("ascii", "ignore")[:_HEADER]
    return words.ljust(_HEADER, b" ") + bytes(export_stl(mesh))[_HEADER:]


def write_solids(area: AreaPlan, base: str, stem: Path) -> None:
    """Write every solid of an area's dig on one base system.

    Parameters
    ----------
    area : AreaPlan
    base : str
        Name of one of its base systems.
    stem : Path
        The files without what tells them apart.
    """
    for ending, content in _files(area, base):
        stem.with_name(f"{stem.name}-{ending}-mm.stl").write_bytes(content)


def _files(area: AreaPlan, base: str) -> Iterator[tuple[str, bytes]]:
    origin, solids = solids_of(area, area.digs[base])
    place = " ".join(f"{each:g}" for each in origin)
    for number, (name, solid) in enumerate(solids, 1):
        # A header must not start with the word that starts the text form of the format.
        about = f"mm about {place} m; {name}; {base}; {area.area.name}; fallaway"
        yield f"{number}-{slug(name)}", stl_bytes(solid, about)
