"""One HTML file: the scene of every area and base system, its layers, its table of volumes."""

from __future__ import annotations

import re
from html import escape
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np

from grading.design.area import AreaPlan
from grading.geometry.arrays import Floats
from grading.pipeline import Plan
from viz.one_file import one_file, one_script
from viz.page.bases import areas_told
from viz.page.packing import packed
from viz.page.still import cut_drawn
from viz.pictures.camera import box_corners, eye_for
from viz.pictures.lights import lit
from viz.pictures.pointed import seen_first
from viz.pictures.stills import file_name
from viz.scene.model import BEHIND, TRUE_SCALE, VIEWS, Label, Scene, Slices
from viz.scene.parts import Part, only, parts_of
from viz.scene.slicing import LENGTHWISE, sliced
from viz.scene.staging import stage
from viz.signature import not_for_signature
from viz.words.cautions import PICTURE

WEB = "desk/web/"

SPACE = ("three", "eye", "space", "cut", "hands", "labels", "save")

MODULES = (
    f"{WEB}dom.js",
    *(f"{WEB}space/{name}.js" for name in SPACE),
    "page/parts.js",
    "page/yard.js",
)
"""What draws in the browser, each after those that it imports: what turns the model of the desk."""

STYLES = (f"{WEB}space/space.css", "page/page.css")

MILLIMETRES = 3
"""Decimals of coordinates that are written. [m]"""


def write_page(plan: Plan, path: Path) -> Path:
    """Write one HTML file that shows every area on every base system, and return its path.

    Parameters
    ----------
    plan : Plan
    path : Path
        The file.

    Notes
    -----
    What draws in the browser is three (MIT), vendored, with what the desk draws its model by, and
    is copied into the file. The page forbids its browser any connection, so it works from a file
    and tells nobody that it was opened.
    """
    chosen = [(index, area, base) for index, area in enumerate(plan.areas) for base in area.digs]
    scenes = [stage(plan, area, base) for _, area, base in chosen]
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(_page(plan, chosen, scenes), encoding="utf-8")
    return path


def _page(plan: Plan, chosen: list[tuple[int, AreaPlan, str]], scenes: list[Scene]) -> str:
    parts = parts_of(scenes, faces=True)
    first = next(i for i, (_, area, base) in enumerate(chosen) if base == area.chosen)
    band = not_for_signature(plan)
    data = {
        "site": plan.site.name,
        "first": first,
        "lit": lit(scenes[0].cameras[0].direction),
        "caution": PICTURE,
        "band": band,
        "behind": BEHIND,
        "trueScale": sorted(TRUE_SCALE),
        "scenes": [
            _scene(index, base == area.chosen, i, scene, parts)
            for i, ((index, area, base), scene) in enumerate(zip(chosen, scenes, strict=True))
        ],
        "packed": packed(parts),
    }
    values = {
        "TITLE": escape(plan.site.name),
        "SUBTITLE": escape(_subtitle(scenes[first])),
        "VIEWS": _buttons(VIEWS),
        "WAYS": _buttons({"slice": "Across", LENGTHWISE: "Along"}),
        "CAMERAS": _buttons({camera.name: camera.title for camera in scenes[first].cameras}),
        "BAND": f'<p class="band" role="alert">{escape(band)}</p>' if band else "",
        "STILLS": "".join(
            f'<div data-still="{i}"{"" if i == first else " hidden"}>{cut_drawn(scene)}</div>'
            for i, scene in enumerate(map(sliced, scenes))
        ),
        "AREAS": areas_told(plan, chosen, scenes),
        "CAUTION": escape(PICTURE),
    }
    body = re.sub(r"%%([A-Z]+)%%", lambda found: values[found[1]], _text("page/page.html"))
    style = "\n".join(map(_text, STYLES))
    return one_file(plan.site.name, body, style, one_script(MODULES), data)


def _text(name: str) -> str:
    return files("viz").joinpath(*name.split("/")).read_text(encoding="utf-8")


def _subtitle(scene: Scene) -> str:
    return f"{scene.area} · {scene.base_title} · {scene.size}"


def _scene(index: int, chosen: bool, place: int, scene: Scene, parts: list[Part]) -> dict[str, Any]:
    hulls: dict[str, list[list[float]]] = {}
    painted: dict[str, list[list[list[float]]]] = {view: [] for view in VIEWS}
    for body in scene.bodies:
        if body.material == "paint":
            for view in body.shown & set(VIEWS):
                drawn = scene.drawn(body.vertices, body.stands, view)
                painted[view].append(_rounded(_hull(drawn, 2)))
    for view in VIEWS:
        seen = only(parts, (place, view))
        hulls[view] = _rounded(_hull(np.concatenate([part.points for part in seen])))
    names = {entry.number: entry.name for entry in scene.legend}
    points = np.concatenate([part.points for part in only(parts, (place, "layers"))])
    first = eye_for(scene.cameras[0].direction, points, 1.5)
    ways = (scene.slices, scene.lengthwise)
    return {
        "area": index,
        "chosen": chosen,
        "subtitle": _subtitle(scene),
        "fall": scene.fall,
        "heights": {view: scene.heights_words(view) for view in VIEWS},
        "factor": scene.exaggeration,
        "file": f"{file_name(scene.area, index)}-{file_name(scene.base, 0)}.png",
        "hulls": hulls,
        "painted": painted,
        "near": [float(part) for part in scene.near],
        "slices": [_slices(slices) for slices in ways],
        "cameras": [
            {
                "name": camera.name,
                "eye": _few(camera.direction),
                "tall": _few(camera.direction if camera.tall is None else camera.tall),
                "points": _rounded(box_corners(camera.box)) if camera.close else None,
            }
            for camera in scene.cameras
        ],
        "labels": [
            _label(scene, label, names)
            for label in sorted(seen_first(scene, "layers", first), key=lambda label: label.rank)
        ],
        "legend": [
            {"number": e.number, "name": e.name, "words": e.words, "colour": e.colour}
            for e in scene.legend
        ],
    }


def _slices(slices: Slices) -> dict[str, Any]:
    return {
        "name": slices.name,
        "direction": _few(slices.direction),
        "stations": [round(float(each), 5) for each in slices.stations],
        "words": slices.words,
        "eye": _few(slices.eye),
        "tall": _few(slices.tall),
    }


def _label(scene: Scene, label: Label, names: dict[int, str]) -> dict[str, Any]:
    said: dict[str, Any] = {
        "text": names.get(label.number, label.text),
        "kind": label.kind,
        "number": label.number,
        "views": sorted(label.shown),
        "at": _rounded(scene.place(label, "apart")[None])[0],
    }
    if scene.factor("yard") != scene.exaggeration and label.shown & TRUE_SCALE:
        said["real"] = _rounded(scene.place(label, "yard")[None])[0]
    if label.brief:
        said["brief"] = label.brief
    return said


def _few(direction: Floats) -> list[float]:
    return [round(float(part), 6) for part in direction]


def _hull(points: Floats, axes: int = 3) -> Floats:
    """Return the corners of the convex hull, in space or in plan: all that fills a picture."""
    from scipy.spatial import ConvexHull

    return points[ConvexHull(points[:, :axes]).vertices]


def _rounded(points: Floats) -> list[list[float]]:
    return [[round(float(part), MILLIMETRES) for part in point] for point in points]


def _buttons(named: dict[str, str]) -> str:
    return "".join(
        f'<button type="button" data-name="{escape(name)}">{escape(title)}</button>'
        for name, title in named.items()
    )
