"""One HTML file: the scene of every area and base system, its layers, its table of volumes."""

from __future__ import annotations

import base64
import json
import re
from html import escape
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np

from grading.design.area import AreaPlan
from grading.geometry.arrays import Floats
from grading.pipeline import Plan
from viz.page.bases import areas_told
from viz.page.packing import packed
from viz.page.still import cut_drawn
from viz.pictures.camera import ANGLE, Eye, box_corners, eye_for
from viz.pictures.stills import file_name
from viz.scene.model import BEHIND, TRUE_SCALE, VIEWS, Label, Scene, Slices
from viz.scene.parts import CAP, Part, only, parts_of
from viz.scene.slicing import LENGTHWISE, sliced
from viz.scene.staging import stage
from viz.signature import not_for_signature
from viz.words.cautions import PICTURE

SCRIPTS = ("eye", "cut", "labels", "hands", "save", "start")

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
    What draws in the browser is three (MIT), vendored, and is copied into the file. The page
    forbids its browser any connection, so it works from a file and tells nobody that it was
    opened.
    """
    chosen = [(index, area, base) for index, area in enumerate(plan.areas) for base in area.digs]
    scenes = [sliced(stage(plan, area, base), lengthwise=True) for _, area, base in chosen]
    parts = parts_of(scenes)
    points = np.concatenate([part.points for part in parts])
    eye = eye_for(scenes[0].cameras[0].direction, points, 1.5)
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(_page(plan, chosen, scenes, parts, eye), encoding="utf-8")
    return path


def three() -> str:
    """Return what draws in space, as a script that leaves its names in `window.three`.

    It is the module that the desk is served; a page that is one file can load no module.
    """
    module = files("viz").joinpath("desk", "web", "model", "three.js").read_text(encoding="utf-8")
    body, _, names = module.rpartition("export{")
    given = [each.split(" as ") for each in names.strip().rstrip(";").rstrip("}").split(",")]
    told = ",".join(f"{outer}:{inner}" for inner, outer in given)
    return f'(function(){{"use strict";{body}window.three={{{told}}};}})();'


def script() -> str:
    """Return the page's own script: its parts share one scope and nothing else sees it."""
    here = files("viz.page")
    parts = [here.joinpath(f"{part}.js").read_text(encoding="utf-8") for part in SCRIPTS]
    return '(function () {\n"use strict";\n' + "\n".join(parts) + "})();"


def _page(
    plan: Plan,
    chosen: list[tuple[int, AreaPlan, str]],
    scenes: list[Scene],
    parts: list[Part],
    eye: Eye,
) -> str:
    here = files("viz.page")
    first = next(i for i, (_, area, base) in enumerate(chosen) if base == area.chosen)
    seen = [sorted(f"{scene}:{view}" for scene, view in part.seen) for part in parts]

    band = not_for_signature(plan)
    data = {
        "site": plan.site.name,
        "first": first,
        "angle": ANGLE,
        "caution": PICTURE,
        "band": band,
        "seen": seen,
        "house": [i for i, part in enumerate(parts) if part.house],
        "words": [i for i, part in enumerate(parts) if part.words],
        "behind": BEHIND,
        "factors": [part.factor for part in parts],
        "trueScale": sorted(TRUE_SCALE),
        "lifts": [round(part.lift, MILLIMETRES) for part in parts],
        "caps": [i for i, part in enumerate(parts) if part.cap],
        "cap": CAP,
        "scenes": [
            _scene(index, base == area.chosen, i, scene, parts)
            for i, ((index, area, base), scene) in enumerate(zip(chosen, scenes, strict=True))
        ],
    }
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    values = {
        "TITLE": escape(plan.site.name),
        "SUBTITLE": escape(_subtitle(scenes[first])),
        "STYLE": here.joinpath("page.css").read_text(encoding="utf-8"),
        "SCRIPT": script(),
        "VIEWS": _buttons(VIEWS),
        "WAYS": _buttons({"slice": "Across", LENGTHWISE: "Along"}),
        "CAMERAS": _buttons({camera.name: camera.title for camera in scenes[first].cameras}),
        "BAND": f'<p class="band" role="alert">{escape(band)}</p>' if band else "",
        "STILLS": "".join(
            f'<div data-still="{i}"{"" if i == first else " hidden"}>{cut_drawn(scene)}</div>'
            for i, scene in enumerate(scenes)
        ),
        "AREAS": areas_told(plan, chosen, scenes),
        "CAUTION": escape(PICTURE),
        "PLAN": text.replace("<", "\\u003c"),
        "PACKED": base64.b64encode(packed(parts, eye)).decode("ascii"),
        "THREE": three(),
        "SPACE": here.joinpath("space.js").read_text(encoding="utf-8"),
    }
    template = here.joinpath("page.html").read_text(encoding="utf-8")
    return re.sub(r"%%([A-Z]+)%%", lambda found: values[found[1]], template)


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
    ways = (scene.slices, scene.lengthwise)
    return {
        "area": index,
        "chosen": chosen,
        "subtitle": _subtitle(scene),
        "fall": scene.fall,
        "heights": {view: scene.heights_words(view) for view in VIEWS},
        "factor": scene.exaggeration,
        "file": f"{file_name(scene.area, index)}-{file_name(scene.base, 0)}.png",
        "reach": float(np.ptp(scene.cameras[0].box, axis=0).max()),
        "hulls": hulls,
        "painted": painted,
        "near": [float(part) for part in scene.near],
        "slices": [_slices(slices) for slices in ways],
        "cameras": [
            {
                "name": camera.name,
                "direction": _few(camera.direction),
                "tall": _few(camera.direction if camera.tall is None else camera.tall),
                "points": _rounded(box_corners(camera.box)) if camera.close else None,
            }
            for camera in scene.cameras
        ],
        "labels": [
            _label(scene, label, names)
            for label in sorted(scene.labels, key=lambda label: label.rank)
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
    if label.spread is not None:
        said["spread"] = _rounded(scene.drawn(label.spread, label.stands))
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
