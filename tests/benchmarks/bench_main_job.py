"""How long the main job takes beside general-purpose roads to the same numbers.

Run `PYTHONPATH=.:tests python tests/benchmarks/bench_main_job.py`; read the ratios, which one
machine in one run makes comparable, rather than the milliseconds. Nothing is asserted; the error
is that of an answer against ours.

The ground is 24 by 15 m with a concave patio that has a rounded side, a notch and a round hole,
turned off the axes. The triangles are given to our clip and to both kinds of solids; the raster
builds its own. Each road then gives cut and fill for three base systems under one finish.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from statistics import median
from time import perf_counter

import numpy as np
import shapely
from shapely.affinity import rotate
from sites import spots_csv, written
from solids import earth_mesh, manifold, prism_mesh, slab_mesh

import sample_sites
from grading.catalogue.bases import base_systems
from grading.finish.cutting import clip
from grading.geometry.plane import Plane
from grading.ground.model import Ground, surface, survey_to_ground
from grading.pipeline import plan
from grading.reading.site_file import read_site
from grading.site.model import Site

Answer = list[tuple[float, float]]  # cut and fill of each base system [m3]
FINISH = Plane(0.47, -0.02, 0.012)  # cut and fill under every base system


def outline() -> shapely.Polygon:
    """Return the patio: about 150 m2."""
    whole = shapely.box(4, 3, 19, 12).union(shapely.Point(19, 7.5).buffer(2.5))
    notch = shapely.box(9, 10, 11.5, 12.5)
    return rotate(whole - notch - shapely.Point(8, 6).buffer(0.8), 17, origin=(12, 7.5))


def spots(count: int) -> np.ndarray:
    """Return about so many spots (n, 3) on a rolling yard, on a grid that was not kept to. [m]"""
    rng = np.random.default_rng(7)
    across = round((count * 24 / 15) ** 0.5)
    down = round(count / across)
    x, y = np.meshgrid(np.linspace(0, 24, across), np.linspace(0, 15, down))
    xy = np.column_stack([x.ravel(), y.ravel()])
    strayed = xy + rng.uniform(-0.4, 0.4, xy.shape) * [24 / across, 15 / down]
    xy = strayed.clip([0, 0], [24, 15])
    z = 0.12 * np.sin(xy[:, 0] / 3) + 0.02 * xy[:, 1] + rng.normal(0, 0.01, len(xy))
    return np.column_stack([xy, z])


def formations() -> list[Plane]:
    """Return what the lowest layer of each base system sits on."""
    return [FINISH.lowered(system.build_up) for system in base_systems(()).values()]


def exactly(ground: Ground) -> Answer:
    """Clip once, then one array expression for each base system."""
    pieces = clip(ground, outline())
    moved = [pieces.volumes(low.z0, low.dzdx, low.dzdy) for low in formations()]
    return [(volumes.cut, volumes.fill) for volumes in moved]


def by_manifold(ground: Ground) -> Callable[[], Answer]:
    """Solids in double precision: earth and air in the outline, cut by each formation."""
    low, high = -3.0, 3.0
    meshes = earth_mesh(ground, float(ground.points[:, 2].min()) - low)
    column_mesh = prism_mesh(outline(), low, high)

    def run() -> Answer:
        column = manifold(column_mesh)
        earth = manifold(meshes) ^ column
        air = column - earth
        answer = []
        for plane in formations():
            normal = np.array([-plane.dzdx, -plane.dzdy, 1.0])
            offset = plane.z0 / float(np.linalg.norm(normal))
            above = earth.trim_by_plane(tuple(normal), offset)
            below = air.trim_by_plane(tuple(-normal), -offset)
            answer.append((float(above.volume()), float(below.volume())))
        return answer

    return run


def by_trimesh(ground: Ground) -> Callable[[], Answer]:
    """Solids in single precision: the earth above each plane, and what it lacks below."""
    import trimesh

    low, high = (-3.0, 0.0, 0.0), (3.0, 0.0, 0.0)
    vertices, faces = earth_mesh(ground, float(ground.points[:, 2].min()) - low[0])
    planes = [(plane.z0, plane.dzdx, plane.dzdy) for plane in formations()]
    slabs = [
        (slab_mesh(outline(), plane, high), slab_mesh(outline(), low, plane)) for plane in planes
    ]

    def run() -> Answer:
        earth = trimesh.Trimesh(vertices, faces, process=False)
        answer = []
        for upper, lower in slabs:
            above, below = (trimesh.Trimesh(*mesh, process=False) for mesh in (upper, lower))
            cut = trimesh.boolean.intersection([earth, above], check_volume=False)
            fill = trimesh.boolean.difference([below, earth], check_volume=False)
            answer.append((float(cut.volume), float(fill.volume)))
        return answer

    return run


def by_raster(ground: Ground, cell: float) -> Callable[[], Answer]:
    """Heights at the middle of square cells, from SciPy's linear interpolator."""

    def run() -> Answer:
        from scipy.interpolate import LinearNDInterpolator

        patio = outline()
        read = LinearNDInterpolator(ground.points[:, :2], ground.points[:, 2])
        left, bottom, right, top = patio.bounds
        x, y = np.meshgrid(
            np.arange(left + cell / 2, right, cell), np.arange(bottom + cell / 2, top, cell)
        )
        inside = shapely.contains_xy(patio, x, y)
        points = np.column_stack([x[inside], y[inside]])
        z = read(points)
        answer = []
        for plane in formations():
            depth = z - plane.at(points)
            answer.append((cell**2 * depth.clip(min=0).sum(), cell**2 * (-depth).clip(min=0).sum()))
        return answer

    return run


def timed(run: Callable[[], object], times: int) -> tuple[float, object]:
    """Return the median of the seconds that a call takes, and what it gives."""
    seconds = []
    for _ in range(times):
        start = perf_counter()
        answer = run()
        seconds.append(perf_counter() - start)
    return median(seconds), answer


def compare(count: int, cells: Sequence[float]) -> list[list[str]]:
    """Time each road on so many spots; return rows of the table."""
    triangulating, ground = timed(lambda: surface(spots(count), warn=False), 1)
    assert isinstance(ground, Ground)
    roads: list[tuple[str, Callable[[], Answer]]] = [
        ("clip once, three bases", lambda: exactly(ground)),
        ("manifold3d, double precision", by_manifold(ground)),
        ("trimesh booleans", by_trimesh(ground)),
        *((f"raster of {100 * cell:g} cm", by_raster(ground, cell)) for cell in cells),
    ]
    rows = []
    ours, reference = timed(roads[0][1], 15 if count < 10_000 else 3)
    for name, run in roads:
        seconds, answer = timed(run, 3 if count < 10_000 else 1)
        if run is roads[0][1]:
            seconds = ours
        error = np.abs(np.array(answer) / np.array(reference) - 1).max()
        ratio = seconds / ours
        rows.append([f"{count:,}", name, f"{1000 * seconds:.4g}", f"{ratio:.3g}", f"{error:.1e}"])
    pieces = clip(ground, outline())
    low = formations()[0]
    one, _ = timed(lambda: pieces.volumes(low.z0, low.dzdx, low.dzdy), 9)
    clipping, _ = timed(lambda: clip(ground, outline()), 5 if count < 10_000 else 3)
    for name, seconds in [
        ("the clip alone", clipping),
        ("one more plane", one),
        ("the triangulation", triangulating),
    ]:
        rows.append([f"{count:,}", name, f"{1000 * seconds:.4g}", f"{seconds / ours:.3g}", ""])
    return rows


def large_site(count: int, folder: Path) -> Site:
    """Write a site of so many spots beside a wall, whose finish is to be fitted."""
    xyz = spots(count)
    xyz[:, 2] -= 0.04 * xyz[:, 1]  # the yard of the comparison rises; this one falls away
    toml = """
name = "benchmark"
unit = "m"
spots = "spots.csv"
[ground]
soil = "clay"
organics = 0.08
[house]
walls = [[0, 0.5], [24, 0.5]]
inside = [12, -5]
[[door]]
at = [12, 0.5]
sill = 0.25
[[floor]]
kind = "lawn"
at = [[6, 8], [18, 8]]
[[area]]
name = "patio"
use = "patio"
outline = [[6, 0.5], [18, 0.5], [18, 8], [6, 8]]
base = "dense"
"""
    return written(folder, toml, spots_csv(xyz))


def whole_jobs(folder: Path) -> list[list[str]]:
    """Time the fit with every base system, and what a person waits for."""
    site = large_site(200, folder)
    demo = sample_sites.path(sample_sites.names()[0])
    seconds = {
        "200 spots: fit, three bases, checks": timed(lambda: plan(site), 7)[0],
        "200 spots: of that, the ground": timed(lambda: survey_to_ground(site), 7)[0],
        "demonstration site: read": timed(lambda: read_site(demo), 7)[0],
        "demonstration site: plan": timed(lambda: plan(read_site(demo)), 7)[0],
        "cold: fallaway --help": _cold("--help"),
        "cold: fallaway plan, demonstration site": _cold("plan", str(demo)),
        "cold: python alone": timed(lambda: subprocess.run([sys.executable, "-c", ""]), 7)[0],
    }
    return [[name, f"{1000 * value:.4g}"] for name, value in seconds.items()]


def _cold(*words: str) -> float:
    code = "import sys; from viz.cli import main; sys.exit(main(sys.argv[1:]))"
    command = [sys.executable, "-c", code, *words]
    root = Path(__file__).parents[2]
    return timed(lambda: subprocess.run(command, cwd=root, capture_output=True, check=False), 7)[0]


def main(arguments: Sequence[str] | None = None) -> None:
    """Print both tables."""
    from tempfile import TemporaryDirectory

    from tabulate import tabulate

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--spots", type=int, nargs="+", default=[200, 500_000])
    parser.add_argument("--cells", type=float, nargs="+", default=[0.05, 0.01], help="raster [m]")
    chosen = parser.parse_args(arguments)
    rows = [row for count in chosen.spots for row in compare(count, chosen.cells)]
    headers = ["spots", "three base systems by", "ms", "times ours", "error"]
    print(
        tabulate(rows, headers, disable_numparse=True, colalign=("right", "left", *["right"] * 3))
    )
    with TemporaryDirectory() as folder:
        jobs = whole_jobs(Path(folder))
    print()
    print(tabulate(jobs, ["whole jobs", "ms"], disable_numparse=True, colalign=("left", "right")))


if __name__ == "__main__":
    main()
