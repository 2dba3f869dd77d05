"""The whole job in two pictures: finished, and as it is today; one eye, one light, true heights."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from functools import cache

import numpy as np
import shapely
from msgspec import Struct

from grading.design.model import kept
from grading.geometry.arrays import Bools, Floats
from grading.pipeline import Plan
from viz.pictures.camera import Eye, eye_for
from viz.pictures.lights import BACKGROUND
from viz.pictures.render import Pixels, stills_begun
from viz.pictures.sight import in_sight
from viz.scene.frame import aside_of, frame_of
from viz.scene.parts import Part
from viz.scene.whole import FINISHED, TODAY, WholeJob, whole_job

WIDE = 1900
"""Width of the finished picture as it is drawn. [pixels]"""

INSET = 700
"""Width of the picture of today. [pixels]"""

_ASPECT = 1.78  # width over height that a picture is framed for
_UP = 34.0  # degrees that the eye stands over the ground
_TURNS = (0.62, 0.4, 0.9, -0.62, -0.4, -0.9)  # steps aside for one ahead, the first that shows all
_GRID = 0.6  # m between the places that have to be seen
_EDGE = 4  # pixels kept round what is drawn


class Shot(Struct, frozen=True, eq=False):
    """One picture, cropped to what is in it.

    Attributes
    ----------
    png : bytes
    size : (int, int)
        Width and height. [pixels]
    hull : (n, 2) float
        What is around all that is drawn, as shares of width and height from the top left.
    """

    png: bytes
    size: tuple[int, int]
    hull: Floats


class BeforeAfter(Struct, frozen=True, eq=False):
    """The job finished and as it is today, and where points of it lie in the first.

    Attributes
    ----------
    finished, today : Shot
    job : WholeJob
    eye : Eye
        Of the finished picture before it was cropped, in a picture of so many pixels.
    frame : (int, int)
    crop : (float, float)
        Where the finished picture was cut out of that: left and top. [pixels]
    """

    finished: Shot
    today: Shot
    job: WholeJob
    eye: Eye
    frame: tuple[int, int]
    crop: tuple[float, float]

    def place(self, at: Floats) -> Floats:
        """Return where points (n, 3) of the site lie in the finished picture, (n, 2), as shares."""
        pixels = self.eye.pixels(np.asarray(at, float) - self.job.origin, self.frame)
        return np.asarray((pixels - self.crop) / self.finished.size)

    def seen(self, at: Floats) -> Bools:
        """Return whether points (n, 3) of the site can be seen in the finished picture, (n,)."""
        near = np.asarray(at, float) - self.job.origin
        return in_sight(near, self.eye.position, self.job.triangles(FINISHED))


def before_and_after(plan: Plan) -> BeforeAfter:
    """Return the whole job of a plan finished, and as it is today.

    Parameters
    ----------
    plan : Plan

    Raises
    ------
    CannotDraw
        This machine has no OpenGL.
    """
    return before_and_after_begun(plan)()


@kept
def before_and_after_begun(plan: Plan) -> Callable[[], BeforeAfter]:
    """Start drawing the whole job, once for a plan; return what waits for both pictures.

    Parameters
    ----------
    plan : Plan
    """
    job = whole_job(plan)
    direction = _direction(plan, job)
    found = {view: _parts(job, view) for view in (FINISHED, TODAY)}
    points = np.concatenate([part.points for parts in found.values() for part in parts])
    eye = eye_for(direction, points, _ASPECT, room=1.01)
    large, small = ((wide, round(wide / _ASPECT)) for wide in (WIDE, INSET))
    drawn = stills_begun([(found[FINISHED], eye, large), (found[TODAY], eye, small)])

    @cache
    def waited() -> BeforeAfter:
        made = drawn().whole()
        finished, crop = _cropped(made[0], found[FINISHED], eye, large)
        today, _ = _cropped(made[1], found[TODAY], eye, small)
        return BeforeAfter(finished, today, job, eye, large, crop)

    return waited


def _parts(job: WholeJob, view: str) -> list[Part]:
    parts = [
        Part(body.vertices, body.faces, body.colour, 0.0, body.pattern, False, frozenset())
        for body in job.bodies
        if view in body.shown
    ]
    return parts + [
        Part(line.points, line.segments, line.colour, line.width, False, False, frozenset())
        for line in job.lines
        if view in line.shown
    ]


def _direction(plan: Plan, job: WholeJob) -> Floats:
    """Return the way to the eye from which the most of the paving is seen, (3,).

    What stands high hides what lies behind it; of ways that show as much the first is taken.
    """
    right = np.array([-job.near[1], job.near[0]])
    up = np.radians(_UP)
    places = _places(plan) - job.origin
    long = max((aside_of(frame_of(plan, area), area.outline) for area in plan.areas), default=0.62)
    best, most = None, -1.0
    for turn in _TURNS:
        flat = turn * min(long / 0.62, 1.5) * right + job.near
        flat = flat / np.hypot(*flat)
        way = np.append(flat * np.cos(up), np.sin(up))
        share = float(in_sight(places, way * 60.0, job.triangles(FINISHED)).mean())
        if share > most + 0.02:
            best, most = way, share
    assert best is not None
    return best


def _places(plan: Plan) -> Floats:
    """Return places on the finish of every area, (n, 3). [m]"""
    found = []
    for area in plan.areas:
        x0, y0, x1, y1 = area.outline.bounds
        grid = np.stack(np.meshgrid(np.arange(x0, x1, _GRID) + _GRID / 2,
                                    np.arange(y0, y1, _GRID) + _GRID / 2), -1)  # fmt: skip
        xy = grid.reshape(-1, 2)
        xy = xy[shapely.contains_xy(area.outline, xy)]
        xy = xy[:: max(len(xy) // 24, 1)]
        if not len(xy):
            xy = shapely.get_coordinates(area.outline.representative_point())
        found.append(np.column_stack([xy, area.finish.surface.at(xy)]))
    return np.concatenate(found)


def _cropped(
    pixels: Pixels, parts: Sequence[Part], eye: Eye, size: tuple[int, int]
) -> tuple[Shot, tuple[float, float]]:
    from PIL import Image

    seen = eye.pixels(np.concatenate([part.points for part in parts]), size)
    low = np.clip(np.floor(seen.min(axis=0)) - _EDGE, 0, size)
    high = np.clip(np.ceil(seen.max(axis=0)) + _EDGE, 0, size)
    picture = Image.fromarray(pixels).crop((int(low[0]), int(low[1]), int(high[0]), int(high[1])))
    # The paper shows through where nothing is drawn.
    ground = Image.new("RGB", picture.size, BACKGROUND)
    shown = Image.fromarray(
        (np.any(np.asarray(picture) != np.asarray(ground), axis=2) * 255).astype(np.uint8)
    )
    picture.putalpha(shown)
    written = io.BytesIO()
    # It is set into a paper, which packs it anew.
    picture.save(written, "PNG", compress_level=1)
    hull = shapely.MultiPoint((seen - low) / picture.size).convex_hull
    return Shot(written.getvalue(), picture.size, shapely.get_coordinates(hull)), (
        float(low[0]),
        float(low[1]),
    )
