"""A window of VTK in which pictures are drawn one after the other, off screen.

Only the child of `viz.pictures.child` loads this: VTK ends the whole process without OpenGL. Of
VTK no more is loaded than is drawn with: all of it takes as long to load as the pictures of a site
take to draw.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import vtkmodules.vtkRenderingOpenGL2  # noqa: F401 - what draws on this system puts itself in place
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
        self._window.OffScreenRenderingOn()
        if hasattr(self._window, "SetConnectContextToNSView"):
            # On a Mac it would open a window of the desktop all the same.
            self._window.SetConnectContextToNSView(False)
        self._window.SetMultiSamples(samples)
        self._scene = vtkRenderer()
        self._scene.AutomaticLightCreationOff()
        self._window.AddRenderer(self._scene)
        self._actors: dict[int, tuple[Part, vtkActor]] = {}

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
        self._scene.SetBackground(*_tone(background))
        self._window.SetSize(size)
        camera = self._scene.GetActiveCamera()
        camera.SetPosition(*eye.position)
        camera.SetFocalPoint(*eye.target)
        camera.SetViewUp(*eye.up)
        camera.SetViewAngle(ANGLE)
        # What is near and far is that of this picture alone, as if it were drawn by itself.
        self._scene.ResetCameraClippingRange()
        self._window.Render()
        return _taken(self._window, size)

    def _show(self, parts: Sequence[Part]) -> None:
        shown: dict[int, tuple[Part, vtkActor]] = {}
        for part in parts:
            shown[id(part)] = self._actors.get(id(part)) or (part, _actor(part))
        self._scene.RemoveAllViewProps()
        for _, actor in shown.values():
            self._scene.AddActor(actor)
        self._actors = shown

    def _light(self, eye: Eye) -> None:
        self._scene.RemoveAllLights()
        for place, strength in lights_of(eye):
            light = vtkLight()
            light.SetLightTypeToSceneLight()
            light.SetPosition(*place)
            light.SetFocalPoint(*eye.target)
            light.SetIntensity(strength)
            self._scene.AddLight(light)


def _tone(colour: str) -> tuple[float, ...]:
    """Return a colour "#rrggbb" as shares of red, green and blue."""
    return tuple(part / 255 for part in bytes.fromhex(colour.removeprefix("#")))


def _taken(window: vtkRenderWindow, size: tuple[int, int]) -> NDArray[np.uint8]:
    """Return what a window shows, without having it drawn a second time."""
    taken = vtkWindowToImageFilter()
    taken.SetInput(window)
    taken.ShouldRerenderOff()
    taken.ReadFrontBufferOff()
    taken.SetInputBufferTypeToRGB()
    taken.Update()
    pixels = vtk_to_numpy(taken.GetOutput().GetPointData().GetScalars())
    # VTK counts its rows from below.
    return np.ascontiguousarray(pixels.reshape(size[1], size[0], 3)[::-1])


def _actor(part: Part) -> vtkActor:
    points, cells, mesh = vtkPoints(), vtkCellArray(), vtkPolyData()
    points.SetData(numpy_to_vtk(np.ascontiguousarray(part.points, np.float32), deep=True))
    corners = np.ascontiguousarray(part.cells, np.int64).ravel()
    cells.SetData(part.cells.shape[1], numpy_to_vtkIdTypeArray(corners, deep=True))
    mesh.SetPoints(points)
    actor, mapper = vtkActor(), vtkPolyDataMapper()
    look = actor.GetProperty()
    look.SetColor(*_tone(part.colour))
    look.SetInterpolationToFlat()
    if part.width:
        mesh.SetLines(cells)
        look.SetLineWidth(part.width)
    else:
        mesh.SetPolys(cells)
    if part.width or part.cap:
        look.LightingOff()
    else:
        look.SetAmbient(AMBIENT)
        look.SetDiffuse(DIFFUSE)
    mapper.SetInputData(mesh)
    if part.clip is not None:
        _clip(mapper, *part.clip)
    actor.SetMapper(mapper)
    return actor


def _clip(mapper: Any, direction: Any, low: float, high: float) -> None:
    """Keep what lies between two upright planes, given by their distances along a direction."""
    for distance, sign in ((low, 1.0), (high, -1.0)):
        if abs(distance) < float("inf"):
            plane = vtkPlane()
            plane.SetOrigin(direction[0] * distance, direction[1] * distance, 0.0)
            plane.SetNormal(direction[0] * sign, direction[1] * sign, 0.0)
            mapper.AddClippingPlane(plane)
