"""Make a still into a picture that explains itself: title, names of layers, levels, figures."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from grading.geometry.arrays import Floats
from viz.paper.lettering import font_file, rows_that_fit
from viz.pictures.camera import Eye, plan_axes
from viz.pictures.lights import BACKGROUND
from viz.pictures.pointed import BEND, COLUMN, STAGE, Point, Rows, pointed
from viz.pictures.render import Pixels
from viz.pictures.sight import labels_in_sight
from viz.scene.model import IN_WORDS, VIEWS, Label, Scene

if TYPE_CHECKING:
    from PIL import Image, ImageDraw, ImageFont

SIZE = (1600, 1100)
"""Width and height of a picture. [pixels]"""

WIDE = (20, 124, 1560, 800)
"""Where it lies in a picture without a column of layers. [pixels]"""

MARGIN = 40
INK = "#1f2b2a"
QUIET = "#5c625d"
LEADER = "#2c3a39"
CARD = "#fffdf8"

Box = tuple[float, float, float, float]


@cache
def font(size: int, bold: bool = False) -> ImageFont.FreeTypeFont:
    """Return the lettering of pictures, which comes with matplotlib, in a size. [pixels]"""

    from PIL import ImageFont

    return ImageFont.truetype(str(font_file(bold)), size)


def fold(words: str, face: ImageFont.FreeTypeFont, width: float) -> list[str]:
    """Break words into lines no wider than `width`. [pixels]"""
    return rows_that_fit(words, lambda row: face.getlength(row) <= width)


def fitted(
    words: str, size: int, width: float, bold: bool = False
) -> tuple[str, ImageFont.FreeTypeFont]:
    """Return words and the lettering in which they fit `width`; cut short at the smallest."""
    while font(size, bold).getlength(words) > width and size > 16:
        size -= 1
    face = font(size, bold)
    if face.getlength(words) > width:
        while words and face.getlength(words + "…") > width:
            words = words[:-1]
        words += "…"
    return words, face


def _overlap(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def placed(
    anchors: Floats, sizes: list[tuple[float, float]], taken: list[Box], frame: Box
) -> list[Box | None]:
    """Find room for boxes beside their anchors, none over another.

    Parameters
    ----------
    anchors : (n, 2) float
        In order of precedence. [pixels]
    sizes : list of (width, height)
    taken : list of boxes
        Room that is not free.
    frame : box
        Left, top, right, bottom of the room there is.

    Returns
    -------
    list of box or None
        None where there is no room.
    """
    occupied = list(taken)
    found: list[Box | None] = []
    for (x, y), (w, h) in zip(anchors, sizes, strict=True):
        choice = None
        for gap in (16, 40, 70):
            for dx, dy in ((0, -1), (0, 1), (-1, -1), (1, -1), (-1, 0), (1, 0), (-1, 1), (1, 1)):
                left = x - w / 2 + dx * (w / 2 + gap)
                top = y - h / 2 + dy * (h / 2 + gap)
                box = (left, top, left + w, top + h)
                inside = (
                    box[0] >= frame[0] and box[1] >= frame[1]
                    and box[2] <= frame[2] and box[3] <= frame[3]
                )  # fmt: skip
                if inside and not any(_overlap(box, other) for other in occupied):
                    choice = box
                    break
            if choice:
                break
        found.append(choice)
        if choice:
            occupied.append(choice)
    return found


def _leader(draw: ImageDraw.ImageDraw, points: list[tuple[float, float]]) -> None:
    draw.line(points, fill=CARD, width=5, joint="curve")
    draw.line(points, fill=LEADER, width=2, joint="curve")


def _dot(draw: ImageDraw.ImageDraw, x: float, y: float, radius: float, colour: str) -> None:
    draw.ellipse(
        (x - radius, y - radius, x + radius, y + radius), fill=colour, outline=CARD, width=2
    )


def _badge(draw: ImageDraw.ImageDraw, x: float, y: float, number: int) -> None:
    draw.ellipse((x - 17, y - 17, x + 17, y + 17), fill=INK)
    draw.text((x, y), str(number), fill=CARD, font=font(20, True), anchor="mm")


def _column(
    draw: ImageDraw.ImageDraw, scene: Scene, anchors: dict[int, Point], rows: Rows
) -> list[Box]:
    """Write the layers in a column at the right, a leader from each to where it is seen.

    Gives the room that the leaders take.
    """
    entries = scene.legend if anchors else ()
    width = SIZE[0] - MARGIN - COLUMN - 92
    if entries:
        words = "From the top down"
        draw.text((COLUMN, rows.top - 18), words, fill=QUIET, font=font(19), anchor="ls")
    taken: list[Box] = []
    for row, entry in enumerate(entries):
        y = rows.middle(row)
        if entry.number in anchors:
            x0, y0 = anchors[entry.number]
            bend = (BEND, y)
            _leader(draw, [(COLUMN - 6, y), bend, (x0, y0)])
            _dot(draw, x0, y0, 7, INK)
            along = np.linspace((x0, y0), bend, 40)
            taken += [(px - 5, py - 5, px + 5, py + 5) for px, py in along]
        _badge(draw, COLUMN + 16, y, entry.number)
        draw.rounded_rectangle(
            (COLUMN + 44, y - 17, COLUMN + 78, y + 17), 5, fill=entry.colour, outline=INK
        )
        name, face = fitted(entry.name, 24, width, True)
        draw.text((COLUMN + 92, y - 13), name, fill=INK, font=face, anchor="lm")
        words, face = fitted(entry.words, 21, width)
        draw.text((COLUMN + 92, y + 15), words, fill=INK, font=face, anchor="lm")
    y = rows.middle(len(entries)) - rows.step / 2 + 18
    draw.line((COLUMN, y, SIZE[0] - MARGIN, y), fill=LEADER, width=2)
    for row, (name, value) in enumerate(scene.figures):
        line = y + 30 + row * 36
        draw.text((COLUMN, line), name, fill=QUIET, font=font(21), anchor="lm")
        words, face = fitted(value, 21, 240, True)
        draw.text((SIZE[0] - MARGIN, line), words, fill=INK, font=face, anchor="rm")
    return taken


def notes(
    draw: ImageDraw.ImageDraw, labels: list[Label], anchors: Floats, taken: list[Box],
    room: tuple[int, int, int, int], size: int = 19,
) -> None:  # fmt: skip
    """Write levels and sills beside their points; where there is no room, leave one out.

    room is left, top, width and height of the still, size that of the lettering. [pixels]
    """
    face, line = font(size), size + 6
    rows = [label.text.split("\n") for label in labels]
    sizes = [(max(map(face.getlength, each)) + 20, line * len(each) + 10.0) for each in rows]
    left, top, width, height = room
    boxes = placed(anchors, sizes, taken, (left, top, left + width, top + height))
    found = [
        (each, float(x), float(y), box)
        for each, (x, y), box in zip(rows, anchors, boxes, strict=True)
        if box is not None
    ]
    # All leaders before all words, so that none runs over what another says.
    for _, x, y, box in found:
        end = (float(np.clip(x, box[0] + 8, box[2] - 8)), float(np.clip(y, box[1], box[3])))
        _leader(draw, [(x, y), end])
        _dot(draw, x, y, 5, INK)
    for each, _, _, box in found:
        draw.rounded_rectangle(box, 6, fill=CARD, outline=LEADER)
        for row, words in enumerate(each):
            middle = box[1] + 5 + line * (row + 0.5)
            draw.text(((box[0] + box[2]) / 2, middle), words, fill=INK, font=face, anchor="mm")


def _axes(draw: ImageDraw.ImageDraw, eye: Eye, at: tuple[float, float]) -> None:
    """Draw how the plan's x and y run in this picture."""
    for name, step in zip("xy", plan_axes(eye, 48), strict=True):
        tip = (at[0] + float(step[0]), at[1] + float(step[1]))
        draw.line([at, tip], fill=INK, width=3)
        long = float(np.hypot(*step))
        side = np.array([-step[1], step[0]]) / long * 6
        back = np.array(tip) - step / long * 13
        draw.polygon([tip, tuple(back + side), tuple(back - side)], fill=INK)
        place = np.array(tip) + step / long * 15
        draw.text((float(place[0]), float(place[1])), name, fill=INK, font=font(20), anchor="mm")


LAYERED = ("layers", "apart", "slice", "dig")
"""The views with a column of layers and figures."""


def stage_of(view: str) -> tuple[int, int, int, int]:
    """Return where the still of a view lies in its picture: left, top, width, height."""
    return STAGE if view.partition(":")[0] in LAYERED else WIDE


def labels_in(scene: Scene, view: str) -> list[Label]:
    """Return the labels of a view; of a cut, those on what is left of the scene."""
    kind, _, at = view.partition(":")
    shown = [label for label in scene.labels if label.shown & {view, kind}]
    if kind != "slice":
        return shown
    station = float(scene.slices.stations[int(at)]) + 0.01
    return [label for label in shown if label.at[:2] @ scene.slices.direction <= station]


def painted(scene: Scene, view: str, eye: Eye, room: tuple[int, int, int, int]) -> list[Box]:
    """Return the room that is painted on in a still: words and arrows, what the scale says."""
    left, top, width, height = room
    boxes: list[Box] = []
    for body in scene.bodies:
        words = body.material == "paint" or body.name.endswith(IN_WORDS)
        if words and view in body.shown:
            points = scene.drawn(body.vertices, body.stands, view)
            seen = eye.pixels(points, (width, height)) + np.array([left, top])
            (x0, y0), (x1, y1) = seen.min(axis=0), seen.max(axis=0)
            boxes.append((float(x0), float(y0), float(x1), float(y1)))
    return boxes


def head(draw: ImageDraw.ImageDraw, scene: Scene, words: str) -> None:
    """Write the site over a picture, and words about it under that."""
    title, face = fitted(scene.site, 40, SIZE[0] - 2 * MARGIN, True)
    draw.text((MARGIN, 52), title, fill=INK, font=face, anchor="lm")
    subtitle, face = fitted(words, 26, SIZE[0] - 2 * MARGIN)
    draw.text((MARGIN, 98), subtitle, fill=QUIET, font=face, anchor="lm")


def foot(draw: ImageDraw.ImageDraw, scene: Scene, y: float, view: str) -> None:
    """Write the fall, how high a view is drawn and the caution, from y down. [pixels]"""
    words = f"{scene.fall} {scene.heights_words(view)}"
    for row in fold(words, font(22), SIZE[0] - 2 * MARGIN):
        draw.text((MARGIN, y), row, fill=INK, font=font(22), anchor="lm")
        y += 32
    y += 8
    for row in fold(scene.caution, font(18), SIZE[0] - 2 * MARGIN):
        draw.text((MARGIN, y), row, fill=QUIET, font=font(18), anchor="lm")
        y += 26


def composed(scene: Scene, still: Pixels, eye: Eye, view: str = "layers") -> Image.Image:
    """Return the finished picture of a scene.

    Parameters
    ----------
    scene : Scene
    still : (height, width, 3) uint8
        What the renderer drew, of the size of `STAGE`.
    eye : Eye
        Where it was drawn from.
    view : str
        Which view of the scene it shows; "slice:3" is the view "slice" at its fourth station.
    """
    from PIL import Image, ImageDraw

    kind, _, station = view.partition(":")
    picture = Image.new("RGB", SIZE, BACKGROUND)
    room = stage_of(view)
    left, top, width, height = room
    picture.paste(Image.fromarray(still), (left, top))
    draw = ImageDraw.Draw(picture)

    words = f"{scene.area}  ·  {scene.base_title}  ·  {scene.size}"
    if kind == "slice":
        words += f"  ·  cut {scene.slices.words[int(station)]}"
    elif kind != "layers":
        words += f"  ·  {VIEWS[kind].lower()}"
    head(draw, scene, words)

    labels = labels_in(scene, view)
    layers = [label for label in labels if label.kind == "layer"]
    others = [label for label in labels if label.kind != "layer"]
    shown = labels_in_sight(scene, others, view, eye)
    points = np.array([scene.place(label, kind) for label in shown]).reshape(-1, 3)
    pixels = eye.pixels(points, (width, height)) + np.array([left, top])
    numbered, rows = pointed(scene, layers, view, eye)
    taken = _column(draw, scene, numbered, rows) if kind in LAYERED else []
    order = sorted(range(len(shown)), key=lambda i: shown[i].rank)
    taken += [(x - 14, y - 14, x + 14, y + 14) for x, y in numbered.values()]
    taken += painted(scene, kind, eye, room)
    notes(draw, [shown[i] for i in order], pixels[order], taken, room)

    _axes(draw, eye, (left + 90, top + height - 40))
    foot(draw, scene, STAGE[1] + STAGE[3] + 40, kind)
    return picture
