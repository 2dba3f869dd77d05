"""The picture in three dimensions before and after: one place, one eye, one light."""

from __future__ import annotations

import io
from typing import Any

import numpy as np

from grading.pipeline import Plan
from viz.paper.lettering import extent
from viz.pictures.camera import Eye, eye_for
from viz.pictures.picture import placed
from viz.pictures.render import stills
from viz.pictures.sight import labels_in_sight
from viz.scene.model import Scene
from viz.scene.parts import only, parts_of
from viz.scene.staging import stage
from viz.sheets.compile import printable
from viz.words.edging import RAISED

SIZE = (1150, 680)
"""Width and height of a picture. [pixels]"""

VIEWS = ("today", "finished")
_LETTER = 25.0  # pixels: size of a label's lettering as it comes out on paper


def before_and_after(plan: Plan) -> list[dict[str, Any]]:
    """Return for every area its two pictures, the labels on each, and what is said of heights.

    Parameters
    ----------
    plan : Plan

    Raises
    ------
    CannotDraw
        This machine has no OpenGL.
    """

    scenes = [stage(plan, area, area.chosen) for area in plan.areas]
    parts = parts_of(scenes)
    shots, eyes = [], []
    for index, scene in enumerate(scenes):
        seen = [only(parts, (index, view)) for view in VIEWS]
        points = np.concatenate([part.points for each in seen for part in each])
        eye = eye_for(scene.cameras[0].direction, points, SIZE[0] / SIZE[1])
        eyes.append(eye)
        shots += [(each, eye, SIZE) for each in seen]
    made = stills(shots)
    return [
        {
            "pictures": [_png(made[2 * k]), _png(made[2 * k + 1])],
            "labels": [_labels(scene, eye, view) for view in VIEWS],
            "heights": scene.heights_words(VIEWS[-1]),
        }
        for k, (scene, eye) in enumerate(zip(scenes, eyes, strict=True))
    ]


def _png(pixels: Any) -> bytes:
    from PIL import Image

    kept = io.BytesIO()
    Image.fromarray(pixels).save(kept, "PNG")
    return kept.getvalue()


def _labels(scene: Scene, eye: Eye, view: str) -> list[dict[str, Any]]:
    """Return words with where they stand, as shares of the picture from its top left."""

    named = [
        label
        for label in scene.labels
        if view in label.shown and (label.kind == "house" or label.brief == RAISED)
    ]
    found = labels_in_sight(scene, named, view, eye)
    if not found:
        return []
    # The first line: its name today, its step when all is finished.
    words = [label.text.split("\n")[0] for label in found]
    points = np.array([scene.place(label, view) for label in found])
    pixels = eye.pixels(points, SIZE)
    sizes = [(extent(each, _LETTER)[0] * 1.06 + 22, _LETTER * 1.9) for each in words]
    boxes = placed(pixels, sizes, [], (4, 4, SIZE[0] - 4, SIZE[1] - 4))
    return [
        {
            "words": printable(each, 60),
            "x": box[0] / SIZE[0], "y": box[1] / SIZE[1],
            "width": (box[2] - box[0]) / SIZE[0], "height": (box[3] - box[1]) / SIZE[1],
            "at": [float(at[0]) / SIZE[0], float(at[1]) / SIZE[1]],
        }
        for each, at, box in zip(words, pixels, boxes, strict=True)
        if box is not None
    ]  # fmt: skip
