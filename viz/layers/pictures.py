"""Write a picture of the layers of every area."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from grading.pipeline import Plan


def file_name(area: str, index: int) -> str:
    """Return the start of a file's name for an area: its own name where that can be one."""
    plain = re.sub(r"[^a-z0-9]+", "-", area.lower()).strip("-")
    return plain[:60] or f"area-{index + 1}"


def write_pictures(plan: Plan, folder: Path) -> list[Path]:
    """Draw the layers of every area on its chosen base, one PNG each, and return the files.

    Parameters
    ----------
    plan : Plan
    folder : Path
        Where `<area>-layers.png` is written.

    Raises
    ------
    CannotDraw
        This machine has no OpenGL; says what to install. Nothing is written then.
    """
    import numpy as np

    from viz.layers.camera import eye_for
    from viz.layers.parts import only, parts_of
    from viz.layers.picture import STAGE, composed
    from viz.layers.render import stills
    from viz.layers.staging import stage

    scenes = [stage(plan, area_plan, area_plan.chosen) for area_plan in plan.areas]
    parts = parts_of(scenes)
    size = STAGE[2:]
    shots = []
    for index, scene in enumerate(scenes):
        seen = only(parts, (index, "layers"))
        points = np.concatenate([part.points for part in seen])
        eye = eye_for(scene.cameras[0].direction, points, size[0] / size[1])
        shots.append((seen, eye, size))
    written, used = [], set()
    for index, (scene, still, shot) in enumerate(zip(scenes, stills(shots), shots, strict=True)):
        name = file_name(scene.area, index)
        if name in used:
            name = f"{name}-{index + 1}"
        used.add(name)
        file = Path(folder) / f"{name}-layers.png"
        composed(scene, still, shot[1]).save(file, optimize=True)
        written.append(file)
    return written
