"""How long it takes to show a plan: all of `plan --out`, and each kind of output by itself.

    PYTHONPATH=. OPENBLAS_NUM_THREADS=1 python tests/benchmarks/bench_show.py [SITE ...]

Times are of the processor, children counted, so that a machine that is shared tells as much as one
that is free. Of the whole command the best of three runs is told, and how many times NumPy and
shapely imported alone that is, in the same round; then each stage of it in the order in which it
comes, which pays for what later ones have for nothing. The faces of a cut are compared with
trimesh's sections of the same solids.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np

import grading
import sample_sites
from viz.drawings.drawing_set import write_drawings
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

BARE = "import numpy, shapely"


def used() -> float:
    """Processor time of this process and of its children that have ended. [s]"""
    told = os.times()
    return told.user + told.system + told.children_user + told.children_system


def seconds(job: Callable[[], object], times: int = 1) -> float:
    taken = []
    for _ in range(times):
        end_waiting()
        start = used()
        job()
        # A child that draws is counted when it has ended.
        end_waiting()
        taken.append(used() - start)
    return min(taken)


def run(*command: str, kept: str = "") -> None:
    environment = os.environ | {"FALLAWAY_CACHE": kept}
    subprocess.run([sys.executable, *command], env=environment, capture_output=True, check=True)


def whole(name: str) -> None:
    """Tell what the command takes: what is handed over, with details, and each once more."""
    site = str(sample_sites.path(name))
    bare = seconds(lambda: run("-c", BARE), 3)
    print(f"{name}: {BARE} {bare:.2f} s")
    for words, more in (("what is handed over", ()), ("with details", ("--details",))):
        first, again = [], []
        for _ in range(3):
            with tempfile.TemporaryDirectory() as folder:
                command = ("-m", "viz.cli", "plan", site, "--out", f"{folder}/out", *more)
                kept = f"{folder}/kept"
                first.append(seconds(lambda c=command, k=kept: run(*c, kept=k)))
                again.append(seconds(lambda c=command, k=kept: run(*c, kept=k)))
        print(
            f"  {words}: {min(first):.1f} s ({min(first) / bare:.0f} times that), "
            f"with the stills kept {min(again):.1f} s ({min(again) / bare:.0f} times)"
        )


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


def stages(name: str) -> None:
    """Tell what each stage takes, in the order of the command."""
    os.environ["FALLAWAY_CACHE"] = ""
    plan = grading.plan(grading.read_site(sample_sites.path(name)))

    def told(words: str, job: Callable[[], object]) -> None:
        print(f"  {words}: {seconds(job):.2f} s")

    told("the record", lambda: grading.record(plan))
    told(
        "staged, every base",
        lambda: [stage(plan, area, b) for area in plan.areas for b in area.digs],
    )
    scenes = [stage(plan, area, base) for area in plan.areas for base in area.digs]
    told("cut open both ways", lambda: [sliced(scene, lengthwise=True) for scene in scenes])
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder)
        told("the rest of the page", lambda: write_page(plan, target / "yard.html"))
        print(f"  the page weighs {(target / 'yard.html').stat().st_size / 1e6:.2f} MB")
        told("finished and today, rendered", lambda: before_and_after(plan))
        for kind in HANDED:
            ((_, make),) = sheets_made(plan, target, lambda _: None, (kind,))
            told(f"the {kind}'s paper", make)
        told("drawings, SVG", lambda: write_drawings(plan, target, ("svg",)))
        told("drawings, PNG", lambda: write_drawings(plan, target, ("png",)))
        told("stills", lambda: pictures_begun(plan)(target))
        told("film", lambda: film_begun(plan, every=False, alone=True)(target))
        told("exports", lambda: export(plan, target, tuple(FORMATS)))
    scene = scenes[0]
    ours = seconds(lambda: slicing._cut_open.__wrapped__(scene), 3)  # not the one that is kept
    theirs = seconds(lambda: by_trimesh(scene))
    gap = abs(of_ours(sliced(scene)) / by_trimesh(scene) - 1)
    print(
        f"  cut at {len(scene.slices.stations)} places with labels {ours:.2f} s; "
        f"sections by trimesh {theirs / ours:.1f} times that; areas differ by {gap:.0e}"
    )


if __name__ == "__main__":
    for each in sys.argv[1:] or ("back-patio", "flush-walk"):
        whole(each)
        stages(each)
