"""How long it takes to show a plan: cuts, stills, the page, the film, the sheets, the exports.

The faces of a cut are compared with trimesh's sections of the same solids in the same run; of the
rest the time alone is told.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterable
from pathlib import Path

import numpy as np
from measuring import Row, peak, spent

import grading
import sample_sites
from viz.export import FORMATS
from viz.export.formats import export
from viz.page.html import write_page
from viz.pictures.film import write_film
from viz.pictures.render import stills
from viz.pictures.stills import shot_of
from viz.scene.parts import parts_of
from viz.scene.slicing import sliced
from viz.scene.staging import stage
from viz.sheets.write import write_sheets


def by_trimesh(scene):
    """Cut the same closed bodies at the same places by a general-purpose library."""
    import trimesh

    direction = np.append(scene.slices.direction, 0.0)
    area = 0.0
    for body in scene.bodies:
        if body.pattern or "slice" not in body.shown:
            continue
        mesh = trimesh.Trimesh(body.vertices, body.faces, process=False)
        for station in scene.slices.stations:
            cut = mesh.section(plane_normal=direction, plane_origin=direction * station)
            if cut is not None:
                area += cut.to_2D()[0].area
    return area


def of_ours(scene):
    area = 0.0
    for body in scene.bodies:
        if body.cap:
            a, b, c = np.moveaxis(body.vertices[body.faces], 1, 0)
            area += float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2)
    return area


SIZES = (None,)


def measure(_: None) -> Iterable[Row]:
    """Give the rows of a sample site."""
    plan = grading.plan(grading.read_site(sample_sites.path("back-patio")))
    area = plan.areas[0]
    scene = stage(plan, area, area.chosen)
    yield Row("one scene staged", None, spent(lambda: stage(plan, area, area.chosen), 3))
    cuts, theirs = spent(lambda: sliced(scene), 3), spent(lambda: by_trimesh(scene))
    gap = abs(of_ours(sliced(scene)) / by_trimesh(scene) - 1)
    what = f"cut at {len(scene.slices.stations)} places, with labels"
    yield Row(what, None, cuts, "trimesh's sections", theirs, error=gap)
    cut = sliced(scene)
    shot = shot_of(cut, parts_of([cut]), 0, "layers", (1150, 800))
    yield Row("one still, a process of its own", None, spent(lambda: stills([shot])))
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder)
        yield Row("the page", None, spent(lambda: write_page(plan, target / "yard.html")))
        yield Row("the film of every base", None, spent(lambda: write_film(plan, target)))
        sheets = spent(lambda: write_sheets(plan, target, lambda _: None))
        yield Row("both sheets", None, sheets)
        exports = spent(lambda: export(plan, target, tuple(FORMATS)))
        yield Row("every export", None, exports, peak=peak())
