"""What stands in the model's place where a browser cannot draw in space: a cut, and a still."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from pathlib import Path

from grading.errors import CannotDraw
from grading.pipeline import Plan
from viz.file_names import area_slugs
from viz.page.still import HIGH, WIDE, cut_drawn
from viz.pictures.band import banded
from viz.pictures.explained import composed, stage_of
from viz.pictures.render import stills
from viz.pictures.stills import shot_of
from viz.scene.model import Scene
from viz.scene.parts import parts_of
from viz.scene.slicing import sliced
from viz.scene.staging import stage
from viz.signature import not_for_signature

_ROW = 38
"""From one line of the legend to the next. [pixels]"""


def write_stills(plan: Plan, folder: Path, say: Callable[[str], None]) -> list[Path]:
    """Write the cut through the middle of every area and a still of it, on the base planned on.

    Parameters
    ----------
    plan : Plan
    folder : Path
        `<area>-cut.svg` and `<area>-layers.png` are written there, and returned; the cuts alone
        where this machine cannot draw in space either.
    say : callable
        Told how far it is.
    """
    say("drawing the cut ...")
    written, scenes = [], []
    for area, name in zip(plan.areas, area_slugs(plan), strict=True):
        scene = sliced(stage(plan, area, area.chosen))
        scenes.append((name, scene))
        path = folder / f"{name}-cut.svg"
        path.write_text(_with_legend(scene), encoding="utf-8")
        written.append(path)
    say("drawing the still ...")
    size = stage_of("layers")[2:]
    shots = [shot_of(scene, parts_of([scene]), 0, "layers", size) for _, scene in scenes]
    try:
        pictures = stills(shots)
    except CannotDraw:
        return written
    for (name, scene), picture, (_, eye, _) in zip(scenes, pictures, shots, strict=True):
        path = folder / f"{name}-layers.png"
        banded(composed(scene, picture, eye), not_for_signature(plan)).save(path)
        written.append(path)
    return written


def _with_legend(scene: Scene) -> str:
    """Return the cut, and below it what the numbers on its layers mean."""
    rows = [
        f'<text x="8" y="{HIGH + _ROW * place}" font-family="sans-serif" font-size="28" '
        f'fill="#1f2b2a">{entry.number}  {escape(entry.name)}: {escape(entry.words)}</text>'
        for place, entry in enumerate(scene.legend, start=1)
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDE}" '
        f'height="{HIGH + _ROW * (len(rows) + 1)}"><svg height="{HIGH}">{cut_drawn(scene)}</svg>'
        f"{''.join(rows)}</svg>"
    )
