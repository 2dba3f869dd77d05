"""A film and a strip of how an area is built, all base systems side by side and in step."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace

from grading.geometry.arrays import Floats
from grading.order.sequence import PAVER_STEPS, build_ups
from grading.pipeline import Plan
from viz.building.in_step import in_step
from viz.building.stages import staged, view
from viz.file_names import area_slugs
from viz.pictures.band import banded
from viz.pictures.camera import Eye, eye_for, plan_axes
from viz.pictures.film_frame import HIGHEST, LOWEST, WIDTH, Show, frame_board, strip_board
from viz.pictures.render import Pixels, stills_begun
from viz.scene.backdrop import Backdrop, backdrop_of, ruler_of
from viz.scene.model import Scene
from viz.scene.parts import Part, only, parts_of
from viz.signature import not_for_signature

if TYPE_CHECKING:
    from PIL import Image

Shot = tuple[list[Part], Eye, tuple[int, int]]
"""What is seen in a still, from where, and its size. [pixels]"""

SECONDS = 1.2
"""How long a step is shown. [s]"""

LAST = 4.0
"""How long the last one is. [s]"""

ROOM = 1.03

COUNTED = (
    "Depth is the greatest. Barrows, bins and trucks are those of this area by itself, each "
    "counted when it is begun."
)

AXIS = 26.0
"""Length of the longer of the axes drawn. [pixels]"""

MOST = 3_000_000
"""What a film may weigh, so that it can be sent. [bytes]"""

PRINT = 300
"""Dots to an inch of the strip on paper."""


def shows_begun(plan: Plan, every: bool = True) -> Callable[[], tuple[Show, ...]]:
    """Start drawing how every area is built, in a child process; return what waits for it.

    It raises CannotDraw where this machine has no OpenGL, and says what to install.

    Parameters
    ----------
    plan : Plan
    every : bool
        Whether on every base system in step, or on the one chosen.
    """
    shows, shots = planned(plan, every)
    drawn = stills_begun(shots, "The film of the build-up", samples=1)
    return lambda: with_stills(shows, drawn().whole())


def with_stills(shows: Sequence[Show], drawn: Iterable[Pixels]) -> tuple[Show, ...]:
    """Return shows with their stills, which come one after the other as `planned` asks for them."""
    rest = iter(drawn)
    return tuple(
        replace(show, stills=tuple(tuple(islice(rest, len(each.steps))) for each in show.built))
        for show in shows
    )


def planned(plan: Plan, every: bool = True) -> tuple[list[Show], list[Shot]]:
    """Return how every area is built, without its stills, and what is to be drawn for them.

    Parameters
    ----------
    plan, every : as for `shows_begun`
    """
    unit = plan.site.unit
    shows: list[Show] = []
    shots: list[Shot] = []
    for area in plan.areas:
        back = backdrop_of(plan, area)
        bands = back.cutaway.bands(area.outline, PAVER_STEPS)
        built = build_ups(plan.order, area, bands, unit, None if every else (area.chosen,))
        scenes = [staged(each, back) for each in built]
        parts = parts_of(scenes)
        points = np.concatenate([part.points[np.unique(part.cells)] for part in parts])
        eye, size = _eye(back.cutaway.direction, points)
        for k, each in enumerate(built):
            shots += [(only(parts, (k, view(n))), eye, size) for n in range(len(each.steps))]
        show = Show(
            site=plan.site.name,
            area=area.area.name,
            unit=unit,
            notes=f"{scenes[0].heights_words('layers')} {back.cutaway.words} {COUNTED}",
            chosen=area.chosen,
            built=built,
            frames=in_step(built),
            size=size,
            axes=plan_axes(eye, AXIS),
            ruler=_ruler(back, eye, size),
            stills=(),
            places=tuple(_places(each, eye, size) for each in scenes),
        )
        shows.append(show)
    return shows, shots


def _places(scene: Scene, eye: Eye, size: tuple[int, int]) -> dict[int, tuple[float, float]]:
    """Return where in its still the work of each step is seen, by the step's number. [pixels]"""
    found = {}
    for label in scene.labels:
        x, y = eye.pixels(scene.drawn(label.at[None]), size)[0]
        found[label.number - 1] = (float(x), float(y))
    return found


def _eye(direction: Floats, points: Floats) -> tuple[Eye, tuple[int, int]]:
    """Return the eye that sees points (n, 3) in a still's width, and the size of the still."""
    from scipy.spatial import ConvexHull

    # What is inside the hull is in the picture when the hull is.
    points = points[ConvexHull(points).vertices]
    high = HIGHEST
    eye = eye_for(direction, points, WIDTH / high, ROOM)
    needed = float(np.ptp(eye.pixels(points, (WIDTH, high))[:, 1])) * ROOM
    if needed < high:
        high = max(LOWEST, int(needed) + 12)
        eye = eye_for(direction, points, WIDTH / high, ROOM)
    return eye, (WIDTH, high)


def _ruler(back: Backdrop, eye: Eye, size: tuple[int, int]) -> tuple[Floats, str] | None:
    """Return the ruler below the cut face in a still [pixels], and what it stands for."""
    found = ruler_of(back, -back.cutaway.direction)
    if found is None:
        return None
    ends = eye.pixels(found.ends * np.array([1.0, 1.0, back.exaggeration]), size)
    return ends[np.argsort(ends[:, 0])] + np.array([0.0, 12.0]), found.words


def durations(count: int) -> list[int]:
    """Return how long each of so many frames is shown. [ms]"""
    return [round(1000 * SECONDS)] * (count - 1) + [round(1000 * LAST)]


def write_film(plan: Plan, folder: Path, every: bool = True) -> list[Path]:
    """Write `<area>-sequence` as film (WebP, GIF) and strip (PNG) for every area.

    Parameters
    ----------
    plan, every : as for `shows_begun`
    folder : Path

    Raises
    ------
    CannotDraw
        This machine has no OpenGL; says what to install. Nothing is written then.
    """
    return film_begun(plan, every)(folder)


def film_begun(plan: Plan, every: bool = True, alone: bool = False) -> Callable[[Path], list[Path]]:
    """Start drawing the film in a child process; return what finishes and writes it.

    Parameters
    ----------
    plan, every : as for `shows_begun`
    alone : bool
        Whether the film is all that is written, in one format, without strip and GIF.
    """
    shows = shows_begun(plan, every)

    def written(folder: Path) -> list[Path]:
        files: list[Path] = []
        words = not_for_signature(plan)
        for name, show in zip(area_slugs(plan), shows(), strict=True):
            files += _write(show, Path(folder) / f"{name}-sequence", words, alone)
        return files

    return written


def _write(show: Show, start: Path, words: str = "", alone: bool = False) -> list[Path]:
    from PIL import features

    frames = [banded(frame_board(show, k).picture, words) for k in range(len(show.frames))]
    shown, files, webp = durations(len(frames)), [], features.check("webp")
    if not alone:
        strip = start.with_suffix(".png")
        banded(strip_board(show).picture, words).save(strip, dpi=(PRINT, PRINT))
        files.append(strip)
    if webp:
        file = start.with_suffix(".webp")
        frames[0].save(
            file, save_all=True, append_images=frames[1:], duration=shown, loop=0, quality=80,
            method=2,
        )  # fmt: skip
        files.append(file)
    if not (alone and webp):
        file = start.with_suffix(".gif")
        _write_gif(frames, shown, file)
        files.append(file)
    return files


def _write_gif(frames: Sequence[Image.Image], shown: list[int], file: Path) -> None:
    """Write a GIF with one palette for all frames, smaller where it would weigh too much."""
    from PIL import Image

    for scale in (1.0, 0.75, 0.55):
        sized = [
            frame if scale == 1 else frame.resize(
                (round(frame.width * scale), round(frame.height * scale)), Image.Resampling.LANCZOS
            )
            for frame in frames
        ]  # fmt: skip
        # Colours that come and go are in the palette too: it is made from all frames together.
        every = Image.new("RGB", (sized[0].width, sized[0].height * len(sized)))
        for k, frame in enumerate(sized):
            every.paste(frame, (0, k * frame.height))
        palette = every.reduce(2).quantize(255, Image.Quantize.MEDIANCUT)
        flat = [frame.quantize(palette=palette, dither=Image.Dither.NONE) for frame in sized]
        flat[0].save(
            file, save_all=True, append_images=flat[1:], duration=shown, loop=0, optimize=False
        )
        if file.stat().st_size <= MOST:
            return
