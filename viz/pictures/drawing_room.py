"""A window of PyVista in which pictures are drawn one after the other, off screen.

Only the child of `viz.pictures.child` loads this: VTK ends the whole process without OpenGL.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pyvista as pv
from numpy.typing import NDArray
from vtkmodules.vtkCommonCore import vtkObject
from vtkmodules.vtkCommonDataModel import vtkPlane
from vtkmodules.vtkRenderingCore import vtkWindowToImageFilter

from viz.pictures.camera import ANGLE, Eye
from viz.pictures.lights import AMBIENT, DIFFUSE, lights_of
from viz.scene.parts import Part


class DrawingRoom:
    """One window for all pictures: what a driver compiles for the first serves the rest.

    Parameters
    ----------
    samples : int
        How often each pixel is looked at.
    """

    def __init__(self, samples: int) -> None:
        vtkObject.GlobalWarningDisplayOff()
        self._window = pv.Plotter(off_screen=True, lighting="none")
        self._window.render_window.SetMultiSamples(samples)
        self._actors: dict[int, tuple[Part, pv.Actor]] = {}

    def drawn(
        self, parts: Sequence[Part], eye: Eye, size: tuple[int, int], background: str
    ) -> NDArray[np.uint8]:
        """Return a picture, (height, width, 3).

        Parameters
        ----------
        parts : sequence of Part
            What is seen. What the picture before this one had too is handed over once.
        eye : Eye
        size : (int, int)
            Width and height. [pixels]
        background : str
            "#rrggbb"
        """
        window = self._window
        self._show(parts)
        self._light(eye)
        window.set_background(background)
        window.window_size = list(size)
        window.camera.position = tuple(eye.position)
        window.camera.focal_point = tuple(eye.target)
        window.camera.up = tuple(eye.up)
        window.camera.view_angle = ANGLE
        # What is near and far is that of this picture alone, as if it were drawn by itself.
        window.reset_camera_clipping_range()
        window.render_window.Render()
        return _taken(window.render_window, size)

    def _show(self, parts: Sequence[Part]) -> None:
        shown: dict[int, tuple[Part, pv.Actor]] = {}
        for part in parts:
            shown[id(part)] = self._actors.get(id(part)) or (part, _actor(part))
        scene = self._window.renderer
        scene.RemoveAllViewProps()
        for _, actor in shown.values():
            scene.AddActor(actor)
        self._actors = shown

    def _light(self, eye: Eye) -> None:
        self._window.remove_all_lights()
        for place, strength in lights_of(eye):
            light = pv.Light(
                position=tuple(place), focal_point=tuple(eye.target), intensity=strength,
                light_type="scene light",
            )  # fmt: skip
            light.positional = False
            self._window.add_light(light)


def _taken(window: Any, size: tuple[int, int]) -> NDArray[np.uint8]:
    """Return what a window shows. `Plotter.screenshot` would have it drawn a second time."""
    taken = vtkWindowToImageFilter()
    taken.SetInput(window)
    taken.ShouldRerenderOff()
    taken.ReadFrontBufferOff()
    taken.SetInputBufferTypeToRGB()
    taken.Update()
    pixels = pv.wrap(taken.GetOutput()).active_scalars
    # VTK counts its rows from below.
    return np.ascontiguousarray(np.asarray(pixels).reshape(size[1], size[0], 3)[::-1])


def _actor(part: Part) -> pv.Actor:
    count = part.cells.shape[1]
    cells = np.column_stack([np.full(len(part.cells), count), part.cells]).ravel()
    points = np.ascontiguousarray(part.points, np.float32)
    kind = {"lines" if part.width else "faces": cells}
    look = pv.Property(
        color=part.colour, interpolation="Flat", specular=0.0,
        lighting=not (part.width or part.cap), line_width=part.width or None,
        ambient=AMBIENT if not (part.width or part.cap) else 0.0,
        diffuse=DIFFUSE if not (part.width or part.cap) else 1.0,
    )  # fmt: skip
    mapper = pv.DataSetMapper(pv.PolyData(points, **kind))
    if part.clip is not None:
        _clip(mapper, *part.clip)
    return pv.Actor(mapper=mapper, prop=look)


def _clip(mapper: Any, direction: Any, low: float, high: float) -> None:
    """Keep what lies between two upright planes, given by their distances along a direction."""
    for distance, sign in ((low, 1.0), (high, -1.0)):
        if abs(distance) < float("inf"):
            plane = vtkPlane()
            plane.SetOrigin(direction[0] * distance, direction[1] * distance, 0.0)
            plane.SetNormal(direction[0] * sign, direction[1] * sign, 0.0)
            mapper.AddClippingPlane(plane)
