"""The yard as it is and as it will be, side by side, from one place."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from viz.pictures.camera import Eye
from viz.pictures.explained import INK, MARGIN, SIZE, font, foot, head, labels_in, notes, painted
from viz.pictures.lights import BACKGROUND
from viz.pictures.render import Pixels
from viz.pictures.sight import labels_in_sight
from viz.scene.model import Scene

if TYPE_CHECKING:
    from PIL import Image, ImageDraw


TOP = 190
FOOT = 190
TITLES = {"today": "Before: as surveyed", "finished": "After: as planned"}


def paired(
    scene: Scene, before: Pixels, after: Pixels, eye: Eye, size: tuple[int, int]
) -> Image.Image:
    """Return one picture of two stills, with the step at each door written on both.

    Parameters
    ----------
    scene : Scene
    before, after : (h, w, 3) uint8
        The stills of its views "today" and "finished".
    eye : Eye
        Where both are seen from.
    size : (2,) int
        Their width and height. [pixels]
    """
    from PIL import Image, ImageDraw

    picture = Image.new("RGB", (SIZE[0], TOP + size[1] + FOOT), BACKGROUND)
    draw = ImageDraw.Draw(picture)
    words = f"{scene.area}  ·  {scene.size}  ·  seen from one place"
    head(draw, scene, words)
    width, height = size
    for left, view, still in (
        (MARGIN - 10, "today", before),
        (SIZE[0] // 2 + 10, "finished", after),
    ):
        picture.paste(Image.fromarray(still), (left, TOP))
        draw.text((left + 10, TOP - 28), TITLES[view], fill=INK, font=font(28, True), anchor="lm")
        _named(draw, scene, view, eye, (left, TOP, width, height))
    foot(draw, scene, TOP + height + 40, "finished")
    return picture


def _named(
    draw: ImageDraw.ImageDraw, scene: Scene, view: str, eye: Eye, room: tuple[int, int, int, int]
) -> None:
    """Write what stands at the house and on the paving; spots would crowd so small a picture."""
    left, top, width, height = room
    kinds = ("house",) if view == "today" else ("house", "level")
    named = [label for label in labels_in(scene, view) if label.kind in kinds]
    shown = labels_in_sight(scene, named, view, eye)
    shown.sort(key=lambda label: label.rank)
    points = np.array([scene.place(label, view) for label in shown]).reshape(-1, 3)
    pixels = eye.pixels(points, (width, height)) + np.array([left, top])
    notes(draw, shown, pixels, painted(scene, view, eye, room), room, 18)
