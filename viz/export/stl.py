"""The solids of a dig as STL, one closed solid in each file, in millimetres.

STL has no unit of its own. Programs that print take a number for a millimetre, so that is what
it is, and the name of every file says so. The origin is a round point in the middle of the dig.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np

from grading.design.area import AreaPlan
from grading.geometry.arrays import Floats
from viz.file_names import slug
from viz.scene.shell import Solid, between
from viz.scene.solids import hole_of, slab

PER_METRE = 1000
"""Units of the file in a metre."""

_HEADER = 80  # bytes, by the format


def solids_of(area: AreaPlan, base: str) -> tuple[Floats, list[tuple[str, Solid]]]:
    """Return the origin of a dig's solids (3,) [m], and each with its name, in order of work.

    Each is one closed skin: the steps of a fraction of a millimetre that a warped finish has
    beyond the edges of the paving are drawn out flat, which moves a few cubic centimetres.
    """
    dig, finish = area.digs[base], area.finish.surface
    origin, hole = hole_of(area, base)
    earth = between(hole.sheet, hole.ground, hole.floor)
    named = [("earth to dig", earth), ("refill", hole.refill)]
    for layer, top in reversed(list(zip(dig.system.layers, dig.system.tops(), strict=True))):
        over = dig.polygon if layer.spreads else area.outline
        named.append((layer.name, slab(over, finish, top, layer.thickness, origin)))
    ring = slab(dig.beside, finish, 0.0, dig.system.above_edge, origin)
    named.append(("backfill beside", ring))
    return origin, [(name, solid) for name, solid in named if len(solid.faces)]


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
    # Corners a hair apart become one so: a face that has two of them is none, and its neighbours
    # meet along what it was.
    a, b, c = (vertices[solid.faces[:, k]] for k in range(3))
    same = (a == b).all(axis=1) | (b == c).all(axis=1) | (c == a).all(axis=1)
    mesh = trimesh.Trimesh(vertices, solid.faces[~same], process=False)
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
    origin, solids = solids_of(area, base)
    place = " ".join(f"{each:g}" for each in origin)
    for number, (name, solid) in enumerate(solids, 1):
        # A header must not start with the word that starts the text form of the format.
        about = f"mm about {place} m; {name}; {base}; {area.area.name}; fallaway"
        yield f"{number}-{slug(name)}", stl_bytes(solid, about)
