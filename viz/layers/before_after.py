"""The yard as it is and as it will be, side by side, from one place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from viz.layers.picture import (
    CARD,
    INK,
    LEADER,
    MARGIN,
    QUIET,
    SIZE,
    fitted,
    fold,
    font,
    labels_in,
    placed,
)
from viz.layers.render import BACKGROUND

if TYPE_CHECKING:
    from PIL import Image

    from viz.layers.camera import Eye
    from viz.layers.scene import Scene

TOP = 190
TITLES = {"today": "Before: as surveyed", "finished": "After: as planned"}


def paired(scene: Scene, before: Any, after: Any, eye: Eye, size: tuple[int, int]) -> Image.Image:
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

    picture = Image.new("RGB", SIZE, BACKGROUND)
    draw = ImageDraw.Draw(picture)
    title, face = fitted(scene.site, 40, SIZE[0] - 2 * MARGIN, True)
    draw.text((MARGIN, 52), title, fill=INK, font=face, anchor="lm")
    words = f"{scene.area[:1].upper()}{scene.area[1:]}  ·  {scene.size}  ·  seen from one place"
    subtitle, face = fitted(words, 26, SIZE[0] - 2 * MARGIN)
    draw.text((MARGIN, 98), subtitle, fill=QUIET, font=face, anchor="lm")
    width, height = size
    for left, view, still in (
        (MARGIN - 10, "today", before),
        (SIZE[0] // 2 + 10, "finished", after),
    ):
        picture.paste(Image.fromarray(still), (left, TOP))
        draw.text((left + 10, TOP - 28), TITLES[view], fill=INK, font=font(28, True), anchor="lm")
        _named(draw, scene, view, eye, (left, TOP, width, height))
    y = TOP + height + 40
    for row in fold(f"{scene.fall} {scene.exaggeration_words}", font(22), SIZE[0] - 2 * MARGIN):
        draw.text((MARGIN, y), row, fill=INK, font=font(22), anchor="lm")
        y += 32
    for row in fold(scene.caution, font(18), SIZE[0] - 2 * MARGIN):
        draw.text((MARGIN, y + 8), row, fill=QUIET, font=font(18), anchor="lm")
        y += 26
    return picture


def _named(draw: Any, scene: Scene, view: str, eye: Eye, room: tuple[int, int, int, int]) -> None:
    """Write what stands at the house and on the paving; spots would crowd so small a picture."""
    left, top, width, height = room
    kinds = ("house",) if view == "today" else ("house", "level")
    shown = [label for label in labels_in(scene, view) if label.kind in kinds]
    shown.sort(key=lambda label: label.rank)
    if not shown:
        return
    points = np.array([scene.place(label, view) for label in shown])
    pixels = eye.pixels(points, (width, height)) + np.array([left, top])
    face, line = font(18), 23
    rows = [label.text.split("\n") for label in shown]
    sizes = [(max(map(face.getlength, each)) + 16, line * len(each) + 8.0) for each in rows]
    boxes = placed(pixels, sizes, [], (left, top, left + width, top + height))
    for each, (x, y), box in zip(rows, pixels, boxes, strict=True):
        if box is None:
            continue
        end = (float(np.clip(x, box[0] + 8, box[2] - 8)), float(np.clip(y, box[1], box[3])))
        draw.line([(x, y), end], fill=CARD, width=5)
        draw.line([(x, y), end], fill=LEADER, width=2)
        draw.ellipse((x - 5, y - 5, x + 5, y + 5), fill=INK, outline=CARD, width=2)
        draw.rounded_rectangle(box, 6, fill=CARD, outline=LEADER)
        for row, words in enumerate(each):
            middle = box[1] + 4 + line * (row + 0.5)
            draw.text(((box[0] + box[2]) / 2, middle), words, fill=INK, font=face, anchor="mm")
