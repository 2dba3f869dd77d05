"""A window of VTK in which pictures are drawn one after the other, off screen.

Only the child of `viz.pictures.child` loads this: VTK ends the whole process without OpenGL.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import vtkmodules.vtkRenderingOpenGL2
from numpy.typing import NDArray
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray, vtk_to_numpy
from vtkmodules.vtkCommonCore import vtkObject, vtkPoints
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPlane, vtkPolyData
from vtkmodules.vtkRenderingCore import (
    vtkActor,
    vtkLight,
    vtkPolyDataMapper,
    vtkRenderer,
    vtkRenderWindow,
    vtkWindowToImageFilter,
)

from viz.pictures.camera import ANGLE, Eye
from viz.pictures.lights import AMBIENT, DIFFUSE, lights_of
from viz.scene.parts import Part

assert vtkmodules.vtkRenderingOpenGL2  # loaded for what it registers: who draws


class DrawingRoom:
    """One window for all pictures: what a driver compiles for the first serves the rest.

    Parameters
    ----------
    samples : int
        How often each pixel is looked at.
    """

    def __init__(self, samples: int) -> None:
        vtkObject.GlobalWarningDisplayOff()
        self._window = vtkRenderWindow()
        self._window.SetOffScreenRendering(1)
        self._window.SetMultiSamples(samples)
        self._scene = vtkRenderer()
        self._scene.SetAutomaticLightCreation(False)
        self._window.AddRenderer(self._scene)
        self._actors: dict[int, tuple[Part, Any]] = {}

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
        self._show(parts)
        self._light(eye)
        self._scene.SetBackground(*_rgb(background))
        self._window.SetSize(*size)
        camera = self._scene.GetActiveCamera()
        camera.SetPosition(*eye.position)
        camera.SetFocalPoint(*eye.target)
        camera.SetViewUp(*eye.up)
        camera.SetViewAngle(ANGLE)
        self._scene.ResetCameraClippingRange()
        self._window.Render()
        taken = vtkWindowToImageFilter()
        taken.SetInput(self._window)
        taken.ShouldRerenderOff()
        taken.ReadFrontBufferOff()
        taken.SetInputBufferTypeToRGB()
        taken.Update()
        pixels = vtk_to_numpy(taken.GetOutput().GetPointData().GetScalars())
        # VTK counts its rows from below.
        return np.ascontiguousarray(pixels.reshape(size[1], size[0], 3)[::-1])

    def _show(self, parts: Sequence[Part]) -> None:
        self._scene.RemoveAllViewProps()
        shown: dict[int, tuple[Part, Any]] = {}
        for part in parts:
            found = self._actors.get(id(part)) or (part, _actor(part))
            shown[id(part)] = found
            self._scene.AddActor(found[1])
        self._actors = shown

    def _light(self, eye: Eye) -> None:
        self._scene.RemoveAllLights()
        for place, strength in lights_of(eye):
            light = vtkLight()
            light.SetLightTypeToSceneLight()
            light.SetIntensity(strength)
            light.PositionalOff()
            light.SetPosition(*place)
            light.SetFocalPoint(*eye.target)
            self._scene.AddLight(light)


def _actor(part: Part) -> Any:
    points, cells, data = vtkPoints(), vtkCellArray(), vtkPolyData()
    points.SetData(numpy_to_vtk(np.ascontiguousarray(part.points, np.float32), deep=1))
    flat = np.ascontiguousarray(part.cells, np.int64).ravel()
    cells.SetData(part.cells.shape[1], numpy_to_vtkIdTypeArray(flat, deep=1))
    data.SetPoints(points)
    (data.SetLines if part.width else data.SetPolys)(cells)
    mapper, actor = vtkPolyDataMapper(), vtkActor()
    mapper.SetInputData(data)
    if part.clip is not None:
        _clip(mapper, *part.clip)
    actor.SetMapper(mapper)
    look = actor.GetProperty()
    look.SetColor(*_rgb(part.colour))
    look.SetInterpolationToFlat()
    look.SetSpecular(0.0)
    if part.width:
        look.SetLineWidth(part.width)
    else:
        look.SetAmbient(0.0 if part.cap else AMBIENT)
        look.SetDiffuse(1.0 if part.cap else DIFFUSE)
    look.SetLighting(not (part.width or part.cap))
    return actor


def _clip(mapper: Any, direction: Any, low: float, high: float) -> None:
    """Keep what lies between two upright planes, given by their distances along a direction."""
    for distance, sign in ((low, 1.0), (high, -1.0)):
        if abs(distance) < float("inf"):
            plane = vtkPlane()
            plane.SetOrigin(direction[0] * distance, direction[1] * distance, 0.0)
            plane.SetNormal(direction[0] * sign, direction[1] * sign, 0.0)
            mapper.AddClippingPlane(plane)


def _rgb(colour: str) -> tuple[float, float, float]:
    red, green, blue = (int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5))
    return red, green, blue
