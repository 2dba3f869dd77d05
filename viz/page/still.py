"""The cut through the middle of the paving, drawn flat: where nothing can be drawn in space."""

from __future__ import annotations

from html import escape

import numpy as np

from grading.geometry.arrays import Floats
from viz.scene.model import Scene
from viz.scene.parts import CAP

WIDE, HIGH = 1000, 520
"""Size that the drawing is made for; it is shown as wide as there is room. [drawn units]"""


def cut_drawn(scene: Scene) -> str:
    """Return the faces of the middle cut across a scene as one SVG element, edge on.

    Parameters
    ----------
    scene : Scene
        Cut open (`sliced`).

    Notes
    -----
    The faces are those of the view "slice", in their colours and as high as it draws them; what is
    behind the cut is not shown.
    """
    slices = scene.slices
    station = float(slices.stations[len(slices.stations) // 2])
    across = np.array([-slices.direction[1], slices.direction[0]])
    turn = np.array([[across[0], 0.0], [across[1], 0.0], [0.0, 1.0]])
    faces: list[tuple[float, str, Floats]] = []
    for body in scene.bodies:
        if not body.cap or slices.name not in body.shown or not len(body.faces):
            continue
        reach = body.vertices[:, :2] @ slices.direction - station
        if abs(float(reach.mean())) > CAP:
            continue
        points = scene.drawn(body.vertices, body.stands, "slice")
        faces.append((float(reach.mean()), body.colour, (points @ turn)[body.faces]))
    if not faces:
        return ""
    whole = np.concatenate([triangles.reshape(-1, 2) for *_, triangles in faces])
    low, high = whole.min(axis=0), whole.max(axis=0)
    scale = min(WIDE / (high[0] - low[0]), HIGH / (high[1] - low[1]))
    size = (high - low) * scale
    # What stands nearer to the eye is drawn over what it lies in.
    faces.sort(key=lambda each: each[0])
    paths = [_path(colour, (triangles - low) * scale, size[1]) for _, colour, triangles in faces]
    numbers = [
        _number(label.number, (scene.place(label, "slice") @ turn - low) * scale, size[1])
        for label in scene.labels
        if label.number and f"{slices.name}:{len(slices.stations) // 2}" in label.shown
    ]
    words = f"{scene.area}, cut {slices.words[len(slices.stations) // 2]}"
    return (
        f'<svg viewBox="-4 -4 {size[0] + 8:.0f} {size[1] + 8:.0f}" role="img" '
        f'aria-label="{escape(words, quote=True)}">{"".join([*paths, *numbers])}</svg>'
    )


def _path(colour: str, triangles: Floats, height: float) -> str:
    """Return triangles (n, 3, 2) as one path: its outline is drawn once more, so no seam shows."""
    parts = []
    for triangle in triangles:
        corners = " ".join(f"{x:.1f} {height - y:.1f}" for x, y in triangle)
        parts.append(f"M{corners}Z")
    return f'<path d="{"".join(parts)}" fill="{colour}" stroke="{colour}" stroke-width="0.8"/>'


def _number(number: int, at: Floats, height: float) -> str:
    """Return the number of a layer on its face."""
    x, y = f"{at[0]:.1f}", f"{height - at[1]:.1f}"
    return (
        f'<circle cx="{x}" cy="{y}" r="14" fill="#1f2b2a" stroke="#fffdf8" stroke-width="2"/>'
        f'<text x="{x}" y="{y}" fill="#fffdf8" font-size="16" font-weight="700" '
        f'text-anchor="middle" dominant-baseline="central">{number}</text>'
    )
