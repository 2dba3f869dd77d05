"""How long it takes to show a plan: cuts, stills, the page, the film, the sheets, the exports.

    PYTHONPATH=. python tests/benchmarks/bench_show.py [SITE]

The faces of a cut are compared with trimesh's sections of the same solids in the same run; of the
rest the seconds are told, with the aims beside them: a still in 2 s, a set of sheets in 15 s, a
page of 3 MB.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path
from statistics import median

import numpy as np

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


def seconds(job, times=1):
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        job()
        taken.append(time.perf_counter() - start)
    return median(taken)


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


def main(name):
    plan = grading.plan(grading.read_site(sample_sites.path(name)))
    area = plan.areas[0]
    scene = stage(plan, area, area.chosen)
    print(f"{name}: stage one scene {seconds(lambda: stage(plan, area, area.chosen), 3):.2f} s")

    ours, theirs = seconds(lambda: sliced(scene), 3), seconds(lambda: by_trimesh(scene))
    gap = abs(of_ours(sliced(scene)) / by_trimesh(scene) - 1)
    print(
        f"cuts at {len(scene.slices.stations)} places with their labels: {ours:.2f} s; "
        f"sections by trimesh {theirs / ours:.1f} times that; areas differ by {gap:.0e}"
    )

    cut = sliced(scene)
    parts = parts_of([cut])
    shot = shot_of(cut, parts, 0, "layers", (1150, 800))
    print(f"one still, a process of its own: {seconds(lambda: stills([shot]), 3):.2f} s (aim 2)")
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder)
        page = target / "yard.html"
        print(
            f"page: {seconds(lambda: write_page(plan, page)):.1f} s, "
            f"{page.stat().st_size / 1e6:.2f} MB (aim 3)"
        )
        print(f"film: {seconds(lambda: write_film(plan, target)):.1f} s")
        sheets = seconds(lambda: write_sheets(plan, target, lambda _: None))
        print(f"both sheets: {sheets:.1f} s (aim 15)")
        print(f"exports: {seconds(lambda: export(plan, target, tuple(FORMATS))):.1f} s")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "back-patio")
