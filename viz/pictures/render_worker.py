"""Drawing with VTK, alone in a process of its own.

VTK ends the whole process where there is no OpenGL, which may not happen to the process of the
command. Started by `viz.pictures.child` as `python -m viz.pictures.render_worker FOLDER`, where
the job lies.
"""

from __future__ import annotations

import os
import pickle
import sys
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from threading import Thread
from typing import Any

from viz.pictures.camera import ANGLE, Eye
from viz.pictures.lights import AMBIENT, DIFFUSE, lights_of
from viz.scene.parts import Part

SAMPLES = 1
"""Looks at each pixel, where nothing else is asked for.

Every pixel that is kept is the mean of four that are drawn. With eight looks at each of those the
stills of a site take 1.8 times the processor time, for a mean difference of 0.35 of 255.
"""


@dataclass(frozen=True)
class Job:
    """What to draw: still pictures, each of (parts, eye, size).

    samples is how often each pixel is looked at on top of that; 1 is several times faster where
    the processor draws.
    """

    stills: tuple[tuple[Sequence[Part], Eye, tuple[int, int]], ...]
    background: str
    samples: int = SAMPLES


def _plotter(
    parts: Sequence[Part],
    eye: Eye | None,
    size: tuple[int, int],
    background: str,
    samples: int = SAMPLES,
) -> tuple[Any, list[Any]]:
    """Return a plotter with the parts in it, and the actor of each."""
    import numpy as np
    import pyvista as pv
    from vtkmodules.vtkCommonCore import vtkObject

    vtkObject.GlobalWarningDisplayOff()
    plotter = pv.Plotter(off_screen=True, lighting="none", window_size=list(size))
    plotter.render_window.SetMultiSamples(samples)
    plotter.set_background(background)
    actors = []
    for part in parts:
        mesh = pv.PolyData()
        mesh.points = np.asarray(part.points, np.float32)
        count = part.cells.shape[1]
        cells = np.column_stack([np.full(len(part.cells), count), part.cells]).ravel()
        if part.width:
            mesh.lines = cells
            actor = plotter.add_mesh(mesh, color=part.colour, line_width=part.width, lighting=False)
        else:
            mesh.faces = cells
            actor = plotter.add_mesh(
                mesh, color=part.colour, specular=0.0, smooth_shading=False, show_edges=False,
                ambient=0.0 if part.cap else AMBIENT, diffuse=1.0 if part.cap else DIFFUSE,
                lighting=not part.cap,
            )  # fmt: skip
        if part.clip is not None:
            _clip(actor.mapper, *part.clip)
        actors.append(actor)
    if eye is not None:
        for place, strength in lights_of(eye):
            light = pv.Light(light_type="scene light", intensity=strength)
            light.positional = False
            light.position = tuple(place)
            light.focal_point = tuple(eye.target)
            plotter.add_light(light)
        plotter.camera.position = tuple(eye.position)
        plotter.camera.focal_point = tuple(eye.target)
        plotter.camera.up = tuple(eye.up)
        plotter.camera.view_angle = ANGLE
        plotter.reset_camera_clipping_range()
    return plotter, actors


def _clip(mapper: Any, direction: Any, low: float, high: float) -> None:
    """Keep what lies between two upright planes, given by their distances along a direction."""
    from vtkmodules.vtkCommonDataModel import vtkPlane

    for distance, sign in ((low, 1.0), (high, -1.0)):
        if abs(distance) < float("inf"):
            plane = vtkPlane()
            plane.SetOrigin(direction[0] * distance, direction[1] * distance, 0.0)
            plane.SetNormal(direction[0] * sign, direction[1] * sign, 0.0)
            mapper.AddClippingPlane(plane)


def _stills(job: Job) -> Iterator[Any]:
    """Draw pictures one after the other.

    Those in a row that are seen from one eye in one size share a plotter, and what they have in
    common is handed to it once: only what is seen changes.
    """
    for _, group in groupby(job.stills, key=lambda still: (id(still[1]), still[2])):
        shots = list(group)
        every = {id(part): part for parts, _, _ in shots for part in parts}
        _, eye, size = shots[0]
        plotter, actors = _plotter(list(every.values()), eye, size, job.background, job.samples)
        drawn = dict(zip(every, actors, strict=True))
        for parts, _, _ in shots:
            seen = {id(part) for part in parts}
            for key, actor in drawn.items():
                actor.SetVisibility(key in seen)
            # What is near and far is that of this picture alone, as if it were drawn by itself.
            plotter.reset_camera_clipping_range()
            plotter.render()
            yield plotter.screenshot(return_img=True)
        plotter.close()


def main(folder: Path) -> None:
    """Do the job in a folder, and leave there its result, and its pieces as they come."""
    import numpy as np

    job = pickle.loads((folder / "job").read_bytes())
    for number, still in enumerate(_stills(job)):
        new = folder / f"{number}.npy"
        np.save(new, still)
        # Under its name it is there whole or not at all.
        new.replace(folder / "pieces" / new.name)
    sys.stdout.flush()
    # Leaving at once: some drivers crash while they are unloaded, when all is done.
    os._exit(0)


def _end_with_who_started_us() -> None:
    """End when the other end of standard input is closed, as it is when its holder is gone."""

    def watch() -> None:
        with suppress(OSError):
            while os.read(0, 1024):
                pass
        os._exit(1)

    Thread(target=watch, daemon=True).start()


if __name__ == "__main__":
    _end_with_who_started_us()
    main(Path(sys.argv[1]))
