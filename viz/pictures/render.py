"""Have VTK draw in a child process, and say so where this machine cannot."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from grading.errors import CannotDraw
from viz.pictures import kept_stills
from viz.pictures.camera import Eye
from viz.pictures.child import CHILDREN, Outcome, done
from viz.pictures.job import SAMPLES, Job
from viz.pictures.lights import BACKGROUND
from viz.scene.parts import Part

Pixels = NDArray[np.uint8]
"""A still picture, (height, width, 3)."""

SMOOTHER = 2
"""Pixels drawn each way for one that is kept."""

STALLED = (
    "Drawing came no further and was ended. Other work on this machine may hold it up: run it "
    "again when that is done."
)

STOPPED = "The drawing library stopped; run it again."

NO_OPENGL = (
    "was not drawn: this machine has no OpenGL. All numbers, the drawings and the page that turns "
    "in a browser are there without it. On Debian or Ubuntu install it with: apt-get install "
    "libegl1 libgl1-mesa-dri; elsewhere install a graphics driver or Mesa."
)

LAYERS = "The picture of the layers"
"""What is drawn, as it begins a sentence."""


def _new_queue() -> ThreadPoolExecutor:
    """Return a queue of one: a child takes a processor to itself, beside who set it to work."""
    return ThreadPoolExecutor(max_workers=1, thread_name_prefix="drawing")


_queue = _new_queue()


def begun(job: Job) -> Callable[[], Outcome]:
    """Start a job in a child, after those begun before it; return what waits for its outcome."""
    return _queue.submit(done, job).result


def abandon() -> None:
    """End every child, and begin none of the jobs that wait: whoever wanted them was stopped."""
    global _queue
    left, _queue = _queue, _new_queue()
    left.shutdown(wait=False, cancel_futures=True)
    for child in tuple(CHILDREN):
        child.kill()


class Stills(Struct, frozen=True):
    """Still pictures that were asked for.

    pictures : each (height, width, 3) uint8, None where it was not drawn.
    what : what they are of, as it begins a sentence.
    why : why some were not, if some were not.
    """

    pictures: tuple[Pixels | None, ...]
    what: str
    why: str = ""

    @property
    def missing(self) -> int:
        """How many were not drawn."""
        return sum(picture is None for picture in self.pictures)

    def whole(self) -> list[Pixels]:
        """Return the pictures; CannotDraw where one is missing, with what comes to nothing."""
        if self.missing:
            many = len(self.pictures)
            raise CannotDraw(
                f"{self.what} was not made: {self.missing} of the {many} pictures in it were not "
                f"drawn. {self.why}"
            )
        return [picture for picture in self.pictures if picture is not None]


def stills_begun(
    shots: Sequence[tuple[Sequence[Part], Eye, tuple[int, int]]],
    what: str = LAYERS,
    samples: int = SAMPLES,
) -> Callable[[], Stills]:
    """Start drawing still pictures in a child process; return what waits for them.

    Those that were drawn are given where the child comes to no good end; those that an earlier run
    kept (`kept_stills`) are not drawn again.

    Parameters
    ----------
    shots : as for `stills`, which tells what is raised
    what : str
        What they are of, as it begins a sentence: "The film of the build-up".
    samples : int
        How often each of those is looked at; 1 is several times faster, its edges a little
        rougher.
    """
    job = Job(tuple(shots), BACKGROUND, SMOOTHER, samples)
    kept = kept_stills.folder() is not None
    keys = [kept_stills.key_of(shot, job) if kept else "" for shot in shots]
    pictures: list[Pixels | None] = [
        kept_stills.found(key, size) if kept else None
        for key, (_, _, size) in zip(keys, shots, strict=True)
    ]
    lacking = [number for number, each in enumerate(pictures) if each is None]
    if not lacking:
        return lambda: Stills(tuple(pictures), what)
    drawn = begun(replace(job, stills=tuple(shots[number] for number in lacking)))

    def waited() -> Stills:
        outcome = drawn()
        for place, number in enumerate(lacking):
            piece = outcome.pieces.get(place)
            # What is of one tone all over was drawn by no OpenGL.
            if piece is not None and np.ptp(piece) != 0:
                pictures[number] = piece
                if kept:
                    kept_stills.keep(keys[number], piece)
        if all(each is None for each in pictures):
            raise CannotDraw(STALLED if outcome.stalled else f"{what} {NO_OPENGL}")
        return Stills(tuple(pictures), what, STALLED if outcome.stalled else STOPPED)

    return waited


def stills(shots: Sequence[tuple[Sequence[Part], Eye, tuple[int, int]]]) -> list[Pixels]:
    """Draw still pictures, all in one child process.

    Parameters
    ----------
    shots : sequence of (parts, eye, (width, height))
        What is seen, from where, and the size. [pixels]

    Raises
    ------
    CannotDraw
        There is no OpenGL here; says what to install. Or one of them was not drawn.
    """
    return stills_begun(shots)().whole()
