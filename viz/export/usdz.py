"""The model of an area on a base system as USDZ: metres, true scale, y up, for the other phones.

The same meshes as in the GLB beside it. usd-core, because it is the format's own library and writes
the packed, aligned archive that viewers ask for; it is an extra, for it is large.
"""

from __future__ import annotations

import re
import tempfile
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from grading.design.area import AreaPlan
from grading.errors import Problem, SiteError
from grading.pipeline import Plan
from viz.export.glb import VIEWS, Node, extras_of, linear, nodes_of
from viz.scene.model import Scene
from viz.scene.staging import stage

ROUGH = 1.0

EXTRA = "fallaway[usdz]"

_DATE = bytes([0x00, 0x00, 0x21, 0x00])  # 1980-01-01, 00:00: the least that a zip can hold
_LOCAL, _CENTRAL = b"PK\x03\x04", b"PK\x01\x02"


def installed() -> bool:
    """Say whether the library that writes the format is installed."""
    return find_spec("pxr") is not None


def require_usd() -> None:
    """Raise SiteError where the library that writes the format is not installed."""
    if not installed():
        raise SiteError(
            [
                Problem(
                    "--as usdz", "the library usd-core is not installed",
                    f"it to be there: pip install '{EXTRA}'",
                    "Or leave usdz out: the GLB holds the same model.",
                )
            ]
        )  # fmt: skip


def write_packed_models(plan: Plan, area: AreaPlan, base: str, stem: Path) -> None:
    """Write the model of an area on one base system, its layers opened and as it is finished.

    Parameters
    ----------
    plan, area : Plan, AreaPlan
    base : str
        Name of one of the area's base systems.
    stem : Path
        The file without its ending.

    Raises
    ------
    SiteError
        usd-core is not installed.
    """
    require_usd()
    scene = stage(plan, area, base)
    for view, ending in VIEWS.items():
        stem.with_name(f"{stem.name}{ending}.usdz").write_bytes(packed_model(scene, view))


def packed_model(scene: Scene, view: str) -> bytes:
    """Return one view of a scene as USDZ; the same bytes for the same scene."""
    from pxr import Sdf, Usd, UsdUtils

    layer = Sdf.Layer.CreateAnonymous(".usdc")
    stage_of_it = Usd.Stage.Open(layer)
    _fill(stage_of_it, scene, view)
    with tempfile.TemporaryDirectory() as folder:
        inner, outer = Path(folder) / "model.usdc", Path(folder) / "model.usdz"
        layer.Export(str(inner))
        if not UsdUtils.CreateNewUsdzPackage(str(inner), str(outer)):
            raise RuntimeError("usd-core did not pack the model")
        return _undated(outer.read_bytes())


def _fill(made: Any, scene: Scene, view: str) -> None:
    from pxr import UsdGeom, UsdShade

    UsdGeom.SetStageUpAxis(made, UsdGeom.Tokens.y)
    UsdGeom.SetStageMetersPerUnit(made, 1.0)
    root = UsdGeom.Xform.Define(made, "/model")
    made.SetDefaultPrim(root.GetPrim())
    extras = extras_of(scene, view)
    made.GetRootLayer().customLayerData = {
        key.replace(" ", "_"): str(value) for key, value in extras.items()
    }
    root.GetPrim().SetDisplayName(f"{scene.area}, {scene.base_title}")
    looks: dict[str, Any] = {}
    name = _names()
    for node in nodes_of(scene, view):
        mesh = UsdGeom.Mesh.Define(made, f"/model/{name(node.name)}")
        mesh.GetPrim().SetDisplayName(node.name)
        _shape(mesh, node)
        look = f"{node.material} {node.colour}"
        if look not in looks:
            looks[look] = _look(made, f"/model/looks/{name(look)}", node.colour)
        UsdShade.MaterialBindingAPI.Apply(mesh.GetPrim()).Bind(looks[look])
        mesh.GetPrim().SetCustomDataByKey("material", node.material)
        mesh.GetPrim().SetCustomDataByKey("colour", node.colour)


def _shape(mesh: Any, node: Node) -> None:
    from pxr import UsdGeom, Vt

    points, faces = node.vertices, node.faces
    mesh.CreatePointsAttr(Vt.Vec3fArray.FromNumpy(points.astype("float32")))
    mesh.CreateFaceVertexCountsAttr(Vt.IntArray([3] * len(faces)))
    mesh.CreateFaceVertexIndicesAttr(Vt.IntArray.FromNumpy(faces.astype("int32").ravel()))
    mesh.CreateSubdivisionSchemeAttr(UsdGeom.Tokens.none)
    low, high = points.min(axis=0).astype("float32"), points.max(axis=0).astype("float32")
    mesh.CreateExtentAttr(Vt.Vec3fArray([tuple(map(float, low)), tuple(map(float, high))]))


def _look(made: Any, path: str, colour: str) -> Any:
    from pxr import Gf, Sdf, UsdShade

    material = UsdShade.Material.Define(made, path)
    shader = UsdShade.Shader.Define(made, f"{path}/surface")
    shader.CreateIdAttr("UsdPreviewSurface")
    shader.CreateInput("diffuseColor", Sdf.ValueTypeNames.Color3f).Set(Gf.Vec3f(*linear(colour)))
    shader.CreateInput("roughness", Sdf.ValueTypeNames.Float).Set(ROUGH)
    shader.CreateInput("metallic", Sdf.ValueTypeNames.Float).Set(0.0)
    material.CreateSurfaceOutput().ConnectToSource(shader.ConnectableAPI(), "surface")
    return material


def _names() -> Callable[[str], str]:
    """Return what makes a name that the format allows, and none twice: a letter, then few signs."""
    taken: set[str] = set()

    def name(words: str) -> str:
        plain = re.sub(r"\W+", "_", words, flags=re.ASCII).strip("_") or "part"
        plain = f"n{plain}" if plain[0].isdigit() else plain
        number, made = 1, plain
        while made in taken:
            number += 1
            made = f"{plain}_{number}"
        taken.add(made)
        return made

    return name


def _undated(packed: bytes) -> bytes:
    """Return a zip archive with the times of its files put to the least that it can hold.

    usd-core writes when the file was made into it; nothing else in it depends on when or where. The
    files are stored as they are, and no length changes, so that they stay aligned.
    """
    data = bytearray(packed)
    end = data.rindex(b"PK\x05\x06")
    count = int.from_bytes(data[end + 10 : end + 12], "little")
    at = int.from_bytes(data[end + 16 : end + 20], "little")
    for _ in range(count):
        assert data[at : at + 4] == _CENTRAL
        data[at + 12 : at + 16] = _DATE
        local = int.from_bytes(data[at + 42 : at + 46], "little")
        assert data[local : local + 4] == _LOCAL
        data[local + 10 : local + 14] = _DATE
        lengths = (int.from_bytes(data[at + k : at + k + 2], "little") for k in (28, 30, 32))
        at += 46 + sum(lengths)
    return bytes(data)
