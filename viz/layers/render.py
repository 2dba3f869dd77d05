"""Have VTK draw in a child process, and say so where this machine cannot."""

from __future__ import annotations

import errno
import os
import pickle
import subprocess
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from grading.errors import CannotDraw
from viz.layers.camera import Eye
from viz.layers.parts import Part
from viz.scratch import scratch_folder

BACKGROUND = "#f4f1ea"

SECONDS = 300
"""How long a child may take. [s]"""

NO_PAGE = (
    "The page that turns in a browser was not made: the drawing library stopped. All numbers and "
    "the drawings are there without it. On Debian or Ubuntu install what it needs with: apt-get "
    "install libx11-6 libxrender1 libxcursor1 libxft2 libegl1 libgl1-mesa-dri."
)

NO_OPENGL = (
    "The picture of the layers was not drawn: this machine has no OpenGL. All numbers, the "
    "drawings and the page that turns in a browser are there without it. On Debian or Ubuntu "
    "install it with: apt-get install libegl1 libgl1-mesa-dri; elsewhere install a graphics "
    "driver or Mesa."
)


class ChildFailed(RuntimeError):
    """The child stopped with a message of its own: a fault in the program."""


def _run(job: Any) -> Any:
    """Do a job in a child and return its result, None where the child was killed by a crash."""
    with scratch_folder() as folder:
        job_file, result_file = folder / "job", folder / "result"
        job_file.write_bytes(pickle.dumps(job))
        # The child imports what we import, wherever it stands: -P keeps the current folder out.
        # Libraries of the viewer make a cache at home, which a service may not have.
        root = str(Path(__file__).resolve().parents[2])
        paths = [root, *(path for path in sys.path if path)]
        environment = os.environ | {"PYTHONPATH": os.pathsep.join(paths), "HOME": str(folder)}
        command = [
            sys.executable,
            "-P",
            "-m",
            "viz.layers.render_worker",
            str(job_file),
            str(result_file),
        ]
        child = subprocess.Popen(
            command, env=environment, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE, text=True, errors="replace",
        )  # fmt: skip
        _CHILDREN.add(child)
        try:
            said = child.communicate(timeout=SECONDS)[1]
        except subprocess.TimeoutExpired as error:
            raise CannotDraw(f"Drawing did not end within {SECONDS} s and was stopped.") from error
        finally:
            _CHILDREN.discard(child)
            child.kill()
            child.wait()
        if child.returncode == 0 and result_file.exists():
            return pickle.loads(result_file.read_bytes())
        if child.returncode < 0 or child.returncode > 2:
            return None
        if os.strerror(errno.ENOSPC) in said:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        raise ChildFailed(said.strip() or f"the child ended with {child.returncode}")


_CHILDREN: set[subprocess.Popen[str]] = set()
"""Those at work: more than one where a scene is handed over meanwhile."""


def _new_queue() -> ThreadPoolExecutor:
    """Return a queue of one: a child takes a processor to itself, beside who set it to work."""
    return ThreadPoolExecutor(max_workers=1, thread_name_prefix="drawing")


_queue = _new_queue()


def begun(job: Any) -> Callable[[], Any]:
    """Start a job in a child, after those begun before it; return what waits for its result."""
    return _queue.submit(_run, job).result


def abandon() -> None:
    """End every child, and begin none of the jobs that wait: whoever wanted them was stopped."""
    global _queue
    left, _queue = _queue, _new_queue()
    left.shutdown(wait=False, cancel_futures=True)
    for child in tuple(_CHILDREN):
        child.kill()


def stills_begun(
    shots: Sequence[tuple[Sequence[Part], Eye, tuple[int, int]]],
    smoother: int = 2,
    samples: int | None = None,
) -> Callable[[], list[NDArray[np.uint8]]]:
    """Start drawing still pictures in a child process; return what waits for them.

    Parameters
    ----------
    shots, smoother, samples : as for `stills`, which tells what they are and what is raised
    """
    from viz.layers.render_worker import SAMPLES, Job

    large = tuple((parts, eye, (w * smoother, h * smoother)) for parts, eye, (w, h) in shots)
    drawn = begun(Job(large, None, BACKGROUND, samples or SAMPLES))

    def waited() -> list[NDArray[np.uint8]]:
        from PIL import Image

        pictures = drawn()
        if pictures is None or any(np.ptp(picture) == 0 for picture in pictures):
            raise CannotDraw(NO_OPENGL)
        return [
            np.asarray(Image.fromarray(picture).resize(size, Image.Resampling.BOX))
            for picture, (_, _, size) in zip(pictures, shots, strict=True)
        ]

    return waited


def stills(
    shots: Sequence[tuple[Sequence[Part], Eye, tuple[int, int]]],
    smoother: int = 2,
    samples: int | None = None,
) -> list[NDArray[np.uint8]]:
    """Draw still pictures, all in one child process.

    Parameters
    ----------
    shots : sequence of (parts, eye, (width, height))
        What is seen, from where, and the size. [pixels]
    smoother : int
        Every pixel is the mean of this many drawn each way, which smooths edges on any driver.
    samples : int, optional
        How often each of those is looked at; 1 is several times faster, its edges a little
        rougher. As often as the worker thinks right where none is given.

    Raises
    ------
    CannotDraw
        There is no OpenGL here; says what to install.
    """
    return stills_begun(shots, smoother, samples)()


def handed_over(parts: Sequence[Part], eye: Eye) -> bytes:
    """Return parts as a scene for the viewer in a browser; needs no OpenGL.

    Raises
    ------
    CannotDraw
        The exporter stopped.
    """
    from viz.layers.render_worker import Job

    result = _run(Job(((parts, eye, (400, 300)),), parts, BACKGROUND))
    if result is None:
        raise CannotDraw(NO_PAGE)
    return bytes(result)
