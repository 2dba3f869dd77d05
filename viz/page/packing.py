"""The scene of a page in the viewer's own form: one index of what there is, and its arrays.

The form is that in which vtk.js is sent a scene: instances with their properties, what they stand
on and what is called on them, and arrays by their hash. PyVista and trame write the same, in a
process that takes some five seconds and names everything by where it lay in memory; here a name is
a count, so that the same plan gives the same file.
"""

from __future__ import annotations

import base64
import hashlib
import io
import json
import zipfile
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from viz.pictures.camera import Eye
from viz.pictures.lights import AMBIENT, DIFFUSE, lights_of
from viz.pictures.render import BACKGROUND
from viz.scene.parts import Part
from viz.scene.shell import Floats

FINE = 1024
"""Steps in a metre that coordinates are rounded to: a millimetre, which packs well."""

INDEX = "index.json"

Array = NDArray[np.float32] | NDArray[np.int32]
"""Points (n, 3) [m], or cells (n, k + 1), each with how many corners it has before them."""

_TYPES = {"f": "Float32Array", "i": "Int32Array"}
_IDENTITY = [float(row == column) for row in range(4) for column in range(4)]


def packed(parts: Sequence[Part], eye: Eye, *, steps: bool) -> bytes:
    """Return parts as a scene for the viewer: a zip file with one index.

    Parameters
    ----------
    parts : sequence of Part
        An actor each, in this order.
    eye : Eye
        Where the viewer stands at first.
    steps : bool
        Whether arrays are written as steps down their columns, as `unfold.js` reads them, or in
        base64, as the viewer does.

    Notes
    -----
    Neighbouring points and cells differ by little, and base64 hides that from the zip: written
    as differences down each column, the same scene takes less than half the room. No number
    changes.
    """
    arrays: dict[str, dict[str, Any]] = {}
    scene = _window([_actor(part, number, arrays, steps) for number, part in enumerate(parts)],
                    np.concatenate([part.points for part in parts]), eye)  # fmt: skip
    text = json.dumps({"hashes": arrays, "scene": scene}, separators=(",", ":"))
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        archive.writestr(zipfile.ZipInfo(INDEX), text, zipfile.ZIP_DEFLATED, 9)
    return file.getvalue()


def _instance(
    name: str, kind: str, parent: str, properties: Mapping[str, Any],
    calls: Sequence[tuple[str, str]] = (), needs: Sequence[Mapping[str, Any]] = (),
) -> dict[str, Any]:  # fmt: skip
    """Return one instance; each call has the instance that it is called with."""
    return {
        "parent": parent, "id": name, "type": kind, "properties": dict(properties),
        "calls": [[call, [f"instance:${{{other}}}"]] for call, other in calls],
        "dependencies": list(needs),
    }  # fmt: skip


def _window(actors: list[dict[str, Any]], points: Floats, eye: Eye) -> dict[str, Any]:
    depth = (eye.position - points) @ eye.axes[2]
    camera = _instance("camera", "vtkCamera", "renderer", {
        "focalPoint": eye.target.tolist(), "position": eye.position.tolist(),
        "viewUp": eye.up.tolist(),
        "clippingRange": [max(0.9 * float(depth.min()), 0.01), 1.1 * float(depth.max())],
    })  # fmt: skip
    lights = [
        _instance(f"light-{number}", "vtkLight", "renderer", {
            "switch": 1, "intensity": strength, "color": [1.0, 1.0, 1.0],
            "position": place.tolist(), "focalPoint": eye.target.tolist(), "positional": 0,
            "exponent": 1.0, "coneAngle": 30.0, "attenuationValues": [1.0, 0.0, 0.0],
            "lightType": "SceneLight", "shadowAttenuation": 1.0,
        })
        for number, (place, strength) in enumerate(lights_of(eye))
    ]  # fmt: skip
    renderer = _instance("renderer", "vtkRenderer", "window", {
        "background": _rgb(BACKGROUND), "viewport": [0.0, 0.0, 1.0, 1.0], "twoSidedLighting": 1,
        "lightFollowCamera": 1, "layer": 0, "preserveColorBuffer": 0, "preserveDepthBuffer": 0,
        "nearClippingPlaneTolerance": 0.001, "clippingRangeExpansion": 0.5, "useShadows": 0,
        "useDepthPeeling": 0, "occlusionRatio": 0.0, "maximumNumberOfPeels": 4, "interactive": 1,
    }, [
        ("setActiveCamera", "camera"),
        *(("addViewProp", str(actor["id"])) for actor in actors),
        *(("addLight", str(light["id"])) for light in lights),
    ], [camera, *actors, *lights])  # fmt: skip
    window = _instance(
        "1", "vtkRenderWindow", "0x0", {"numberOfLayers": 2}, [("addRenderer", "renderer")],
        [renderer],
    )  # fmt: skip
    told = {"vtkRefId": "window", "centerOfRotation": eye.target.tolist(), "camera": "camera"}
    return window | {"mtime": 1, "extra": told}


def _actor(
    part: Part, number: int, arrays: dict[str, dict[str, Any]], steps: bool
) -> dict[str, Any]:
    name, mapper = f"actor-{number}", f"mapper-{number}"
    points = (np.round(part.points * FINE) / FINE).astype(np.float32)
    count = part.cells.shape[1]
    cells = np.column_stack([np.full(len(part.cells), count), part.cells]).astype(np.int32)
    told = {
        "points": _array(points, arrays, steps, "vtkPoints", "Points"),
        "lines" if part.width else "polys": _array(cells, arrays, steps, "vtkCellArray", None),
        "fields": [],
    }
    dataset = _instance(f"{mapper}-dataset", "vtkPolyData", mapper, told)
    return _instance(name, "vtkActor", "renderer", {
        "visibility": 1, "pickable": 1, "dragable": 1, "useBounds": True,
        "origin": [0.0, 0.0, 0.0], "position": [0.0, 0.0, 0.0], "scale": [1.0, 1.0, 1.0],
        "orientation": [0.0, 0.0, 0.0], "forceOpaque": False, "forceTranslucent": False,
        "userMatrix": _IDENTITY,
    }, [("setMapper", mapper), ("setProperty", f"look-{number}")], [
        _instance(mapper, "vtkMapper", name, {
            "resolveCoincidentTopology": 0, "scalarVisibility": 0,
        }, [("setInputData", f"{mapper}-dataset")], [dataset]),
        _look(part, number),
    ])  # fmt: skip


def _look(part: Part, number: int) -> dict[str, Any]:
    """Return how a part is lit: what is cut open, and lines, in their own tone alone."""
    lit = not (part.cap or part.width)
    colour = _rgb(part.colour)
    return _instance(f"look-{number}", "vtkProperty", f"actor-{number}", {
        "representation": 2, "color": colour, "ambientColor": colour, "diffuseColor": colour,
        "specularColor": colour, "edgeColor": [0.0, 0.0, 0.0],
        "ambient": AMBIENT if lit else 0.0, "diffuse": DIFFUSE if lit else 1.0, "specular": 0.0,
        "specularPower": 100.0, "opacity": 1.0, "interpolation": 0, "edgeVisibility": 0,
        "backfaceCulling": 0, "frontfaceCulling": 0, "pointSize": 5.0,
        "lineWidth": float(part.width) or 1.0, "lighting": int(lit),
    })  # fmt: skip


def _rgb(colour: str) -> list[float]:
    """Return a colour written #rrggbb as shares of red, green and blue."""
    return [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]


def _array(
    values: Array, arrays: dict[str, dict[str, Any]], steps: bool, kind: str, name: str | None
) -> dict[str, Any]:
    """Put an array among the others, once, and return what its owner says of it."""
    kind_of = _TYPES[values.dtype.kind]
    content = np.ascontiguousarray(values).tobytes()
    key = f"{hashlib.sha256(content).hexdigest()[:32]}_{values.size}{kind_of[0].lower()}"
    if key not in arrays:
        written = _steps(values) if steps else {"content": base64.b64encode(content).decode()}
        arrays[key] = {"hash": key, "type": kind_of, "vtk": kind, **written}
    points = kind == "vtkPoints"
    columns = [*values.T, np.linalg.norm(values, axis=1)] if points else [values.ravel()]
    return {
        "hash": key, "vtkClass": kind, "name": name, "dataType": kind_of,
        "numberOfComponents": 3 if points else 1, "size": values.size,
        "ranges": [
            {"min": float(each.min()), "max": float(each.max()), "component": None}
            for each in columns if len(each)
        ],
    }  # fmt: skip


def _steps(values: Array) -> dict[str, Any]:
    """Return one array as steps down its columns, how many columns, and steps to a unit."""
    fine = FINE if values.dtype.kind == "f" else 1
    whole = np.round(values.astype(np.float64) * fine).astype(np.int64)
    steps = np.diff(whole, axis=0, prepend=np.zeros((1, whole.shape[1]), np.int64))
    return {"columns": whole.shape[1], "fine": fine, "steps": steps.T.ravel().tolist()}
