"""Write the pictures of every area: its layers, apart and cut across, the dig, before and after."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from grading.errors import CannotDraw
from grading.pipeline import Plan
from viz.file_names import area_slugs, slug
from viz.pictures.band import banded
from viz.pictures.before_after import paired
from viz.pictures.camera import Eye, eye_for
from viz.pictures.explained import composed, stage_of
from viz.pictures.render import Pixels, stills_begun
from viz.scene.model import Scene
from viz.scene.parts import Part, only, parts_of
from viz.scene.slicing import sliced
from viz.scene.staging import stage
from viz.signature import not_for_signature

ENDINGS = {
    "layers": "layers",
    "apart": "layers-apart",
    "slice": "cut-across",
    "dig": "dig-depth",
    "yard": "whole-yard",
}
"""The view of each picture, and the end of its file's name."""

PACKED = 3
"""How hard a PNG is packed, of 9: the usual 6 takes three times as long for a tenth of the size."""

PAIR = (760, 560)
"""Width and height of each of the two stills of before and after. [pixels]"""


def file_name(area: str, index: int) -> str:
    """Return the start of a file's name for an area: its own name where that can be one."""
    return slug(area, f"area-{index + 1}")


def shot_of(
    scene: Scene, parts: Sequence[Part], place: int, view: str, size: tuple[int, int]
) -> tuple[list[Part], Eye, tuple[int, int]]:
    """Return what is seen in a view of a scene, from where, and the size, for `render.stills`.

    Parameters
    ----------
    scene : Scene
    parts : sequence of Part
        Of this and perhaps other scenes.
    place : int
        The scene's place among those.
    view : str
        "slice:3" is the view "slice" at its fourth station.
    size : (2,) int
        Width and height. [pixels]
    """
    kind, _, at = view.partition(":")
    seen = only(parts, (place, kind), scene.slices, int(at or 0))
    points = np.concatenate([part.points for part in seen])
    camera = scene.cameras[0]
    if kind == "slice":
        camera = next(each for each in scene.cameras if each.name == "side")
        over = points[:, :2] @ scene.slices.direction - scene.slices.stations[int(at)]
        points[:, :2] -= np.maximum(over, 0.0)[:, None] * scene.slices.direction
    return seen, eye_for(camera.direction, points, size[0] / size[1]), size


def pictures_begun(plan: Plan) -> Callable[[Path], list[Path]]:
    """Start drawing every area on its chosen base; return what finishes and writes the pictures.

    It is given a folder, where `<area>-layers.png` and its kin are written, and returns the files.
    It raises CannotDraw where this machine has no OpenGL, and says what to install: nothing is
    written then; or where some were not drawn, which are named: the others are written.

    Parameters
    ----------
    plan : Plan
    """
    scenes = [sliced(stage(plan, area_plan, area_plan.chosen)) for area_plan in plan.areas]
    parts = parts_of(scenes)
    shots, views = [], []
    for index, scene in enumerate(scenes):
        for view in ENDINGS:
            at = f"{view}:{len(scene.slices.stations) // 2}" if view == "slice" else view
            views.append((index, view, at))
            shots.append(shot_of(scene, parts, index, views[-1][2], stage_of(view)[2:]))
        before = shot_of(scene, parts, index, "today", PAIR)
        after = shot_of(scene, parts, index, "finished", PAIR)
        # Both are seen from one place, or they would not compare.
        for view, shot in (("today", before), ("finished", after)):
            views.append((index, view, view))
            shots.append((shot[0], after[1], PAIR))
    drawn = stills_begun(shots)

    def written(folder: Path) -> list[Path]:
        names, words = area_slugs(plan), not_for_signature(plan)
        files, lacking = [], []
        held: dict[int, Pixels | None] = {}
        found = drawn()
        for (index, kind, view), still, shot in zip(views, found.pictures, shots, strict=True):
            scene = scenes[index]
            if kind == "today":
                held[index] = still
                continue
            ending = "before-and-after" if kind == "finished" else ENDINGS[kind]
            file = Path(folder) / f"{names[index]}-{ending}.png"
            before = held.get(index)
            if still is None or (kind == "finished" and before is None):
                lacking.append(file.name)
                continue
            if kind == "finished" and before is not None:
                picture = paired(scene, before, still, shot[1], PAIR)
            else:
                picture = composed(scene, still, shot[1], view)
            banded(picture, words).save(file, compress_level=PACKED)
            files.append(file)
        if lacking:
            raise CannotDraw(f"Not drawn: {', '.join(lacking)}. {found.why}")
        return files

    return written
