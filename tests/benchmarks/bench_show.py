"""How long it takes to show a plan: all of `plan --out`, and each stage of it in its order.

A stage pays for what later ones have for nothing. The faces of a cut are compared with trimesh's
sections of the same solids in the same run; of the rest the time alone is told.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np
from measuring import ROOT, Row, peak, spent

import grading
import sample_sites
from viz.drawings.listed import write_drawings
from viz.export import FORMATS
from viz.export.formats import export
from viz.page.html import write_page
from viz.pictures.child import end_waiting
from viz.pictures.film import film_begun
from viz.pictures.stills import pictures_begun
from viz.scene import slicing
from viz.scene.slicing import sliced
from viz.scene.staging import stage
from viz.sheets.homeowner.stills import before_and_after
from viz.sheets.write import HANDED, sheets_made

SITE = "back-patio"
SIZES = (None,)


def seconds(job: Callable[[], object], times: int = 1) -> float:
    """Return what a job takes, with the child that draws for it. [s]"""

    def whole() -> None:
        job()
        # A child that draws is counted when it has ended.
        end_waiting()

    end_waiting()
    return spent(whole, times)


def run(*command: str, kept: str) -> None:
    """Run a command with its stills kept in a folder."""
    environment = os.environ | {"FALLAWAY_CACHE": kept, "PYTHONPATH": str(ROOT)}
    subprocess.run([sys.executable, *command], env=environment, capture_output=True, check=True)


def commands() -> Iterable[Row]:
    """Give the rows of the whole command: what is handed over, with details, and each once more."""
    site = str(sample_sites.path(SITE))
    for words, more in (("", ()), (" --details", ("--details",))):
        with tempfile.TemporaryDirectory() as folder:
            command = ("-m", "viz.cli", "plan", site, "--out", f"{folder}/out", *more)
            first = spent(lambda c=command, f=folder: run(*c, kept=f"{f}/kept"))
            again = spent(lambda c=command, f=folder: run(*c, kept=f"{f}/kept"))
        yield Row(f"plan --out{words}", None, first, "again, stills kept", again)


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


def measure(_: None) -> Iterable[Row]:
    """Give the rows of a sample site."""
    yield from commands()
    os.environ["FALLAWAY_CACHE"] = ""
    plan = grading.plan(grading.read_site(sample_sites.path(SITE)))
    every = [(area, base) for area in plan.areas for base in area.digs]
    yield Row("the record", None, seconds(lambda: grading.record(plan)))
    staged = seconds(lambda: [stage(plan, *each) for each in every])
    yield Row("every base staged", None, staged)
    scenes = [stage(plan, *each) for each in every]
    scene = scenes[0]
    # What is cut is kept: this asks for it anew.
    ours = seconds(lambda: slicing._cut_open.__wrapped__(scene), 3)
    theirs = seconds(lambda: by_trimesh(scene))
    gap = abs(of_ours(sliced(scene)) / by_trimesh(scene) - 1)
    what = f"a scene cut at {len(scene.slices.stations)} places, with labels"
    yield Row(what, None, ours, "trimesh's sections", theirs, error=gap)
    yield Row("every base cut", None, seconds(lambda: [sliced(each) for each in scenes]))
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder)
        stages: dict[str, Callable[[], object]] = {
            "the rest of the page": lambda: write_page(plan, target / "yard.html"),
            "finished and today, rendered": lambda: before_and_after(plan),
        }
        for kind in HANDED:
            ((_, make),) = sheets_made(plan, target, lambda _: None, (kind,))
            stages[f"the {kind}'s paper"] = make
        stages |= {
            "drawings, SVG": lambda: write_drawings(plan, target, ("svg",)),
            "drawings, PNG": lambda: write_drawings(plan, target, ("png",)),
            "stills": lambda: pictures_begun(plan)(target),
            "film": lambda: film_begun(plan, every=False, alone=True)(target),
            "exports": lambda: export(plan, target, tuple(FORMATS)),
        }
        for words, job in stages.items():
            yield Row(words, None, seconds(job), peak=peak())
