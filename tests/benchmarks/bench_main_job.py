"""How long the main job takes beside general-purpose roads to the same numbers.

Nothing is asserted; the error is that of an answer against ours.

The ground is 24 by 15 m with a concave patio that has a rounded side, a notch and a round hole,
turned off the axes. The triangles are given to our clip and to both kinds of solids; the raster
builds its own. Each road then gives cut and fill for three base systems under one finish.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path

import numpy as np
import shapely
from make.sites.on_a_plane import spots_csv, written
from measure.solids import earth_mesh, manifold, prism_mesh, slab_mesh
from measuring import Row, peak, spent
from shapely.affinity import rotate

from grading.catalogue.bases import base_systems
from grading.finish.cutting import clip
from grading.geometry.plane import Plane
from grading.ground.model import Ground, surface
from grading.site.model import Site

Answer = list[tuple[float, float]]  # cut and fill of each base system [m3]
FINISH = Plane(0.47, -0.02, 0.012)  # cut and fill under every base system


@cache
def outline() -> shapely.Polygon:
    """Return the patio: about 150 m2."""
    whole = shapely.box(4, 3, 19, 12).union(shapely.Point(19, 7.5).buffer(2.5))
    notch = shapely.box(9, 10, 11.5, 12.5)
    return rotate(whole - notch - shapely.Point(8, 6).buffer(0.8), 17, origin=(12, 7.5))


WKB = shapely.to_wkb(outline())


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
    pieces = clip(ground, shapely.from_wkb(WKB))  # with nothing that shapely keeps of an outline
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


def by_pyvista(ground: Ground) -> Callable[[], Answer]:
    """Solids in VTK: the earth above each plane, and what it lacks below."""
    import pyvista

    low, high = (-3.0, 0.0, 0.0), (3.0, 0.0, 0.0)
    earth = pyvista.PolyData.from_regular_faces(
        *earth_mesh(ground, float(ground.points[:, 2].min()) - low[0])
    )
    planes = [(plane.z0, plane.dzdx, plane.dzdy) for plane in formations()]
    slabs = [
        [
            pyvista.PolyData.from_regular_faces(*slab_mesh(outline(), *ends))
            for ends in ((plane, high), (low, plane))
        ]
        for plane in planes
    ]

    def run() -> Answer:
        answer = []
        for above, below in slabs:
            cut, fill = earth.boolean_intersection(above), below.boolean_difference(earth)
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


SIZES = (20, 200, 10_000, 1_000_000)
LARGEST = {"PyVista booleans": 200, "raster of 1 cm": 10_000}  # beyond they take minutes


def measure(count: int) -> Iterable[Row]:
    """Give the rows of one size."""
    ground = surface(spots(count), warn=False)
    times = 15 if count < 10_000 else 3
    what = "outline cut out once, three bases"
    ours = spent(lambda: exactly(ground), times)
    most, reference = peak(), exactly(ground)
    pieces, low = clip(ground, outline()), formations()[0]
    more = spent(lambda: pieces.volumes(low.z0, low.dzdx, low.dzdy), 9)
    columns = [np.ascontiguousarray(each) for each in (*pieces.xy.T, pieces.ground.T)]
    reading = spent(lambda: [each.sum() for each in columns], 9)
    what_more = "one more plane under the same outline"
    yield Row(what_more, count, more, "reading its pieces from memory", reading, limit=True)
    cut = spent(_cutting_alone(ground), times)
    yield Row(what, count, ours, "the polygon library cutting its triangles", cut, limit=True)
    roads: list[tuple[str, Callable[[], Callable[[], Answer]]]] = [
        ("manifold3d booleans", lambda: by_manifold(ground)),
        ("trimesh booleans", lambda: by_trimesh(ground)),
        ("raster of 5 cm", lambda: by_raster(ground, 0.05)),
        ("raster of 1 cm", lambda: by_raster(ground, 0.01)),
        ("PyVista booleans", lambda: by_pyvista(ground)),  # last: it may end the process
    ]
    for name, made in roads:
        if count > LARGEST.get(name, count):
            continue  # minutes
        try:
            run = made()
            answer = run()
            error = float(np.abs(np.array(answer) / np.array(reference) - 1).max())
        except Exception as failed:  # a library that cannot cut these solids says so as it likes
            print(f"{name}: {failed}", file=sys.stderr)
            continue
        theirs = spent(run, 3 if count < 10_000 else 1)
        yield Row(what, count, ours, name, theirs, most, error)


def _cutting_alone(ground: Ground) -> Callable[[], object]:
    """Return what the polygon library alone does of it: triangles on the boundary cut."""
    patio = shapely.from_wkb(shapely.to_wkb(outline()))
    triangles = shapely.polygons(ground.points[ground.triangles][:, :, :2])
    shapely.prepare(patio)
    met = triangles[shapely.intersects(patio, triangles) & ~shapely.covers(patio, triangles)]
    return lambda: shapely.intersection(met, patio)


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
