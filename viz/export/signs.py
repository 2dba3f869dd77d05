"""Labels as geometry: upright signs over what they name, and a plate on the ground in front.

A model that is opened somewhere else brings no lettering of ours along, so words are meshes.
All lengths are metres in the model's own axes: x to the right of whoever looks, y up, z near.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

import numpy as np
from msgspec import Struct

from grading.geometry.arrays import Floats
from grading.units import FOOT, Unit
from viz.paper.lettering import rows_that_fit
from viz.scene.grain import lettering
from viz.scene.shell import Mesh

CARD, INK, POST, PLATE = "#fffdf8", "#21302f", "#40372d", "#f3ecdd"

LINE = 1.45
"""From one line of a card to the next, of the height of the letters."""

_UNIT = r"(?:[^\W\d]{1,4}[²³]?|%)(?!\w)\S*"
_UNBROKEN = re.compile(
    r"\([^)]*\)"  # what stands in brackets is one figure
    rf"|(?:\d+ )?\d+/\d+(?: {_UNIT})?|\d[\d.,]* {_UNIT}"  # a number, its fraction and its unit
    r"|\d+' \d+(?: \d+/\d+)?\"\S*"  # feet and inches
    r"|\S+"
)
"""What stays on one line: a figure with all that belongs to it, and any other word."""
_OFF = 0.0015  # m: letters stand off their card by this, so that neither flickers through
_TALLEST = 0.16  # m: letters of a plate
_LONGEST = 48  # of those letters: a longer line is lost on the way back
_WIDEST = 22  # letters of a line of a card


class Sign(Struct, frozen=True):
    """A card over a point: its lines of words, foot (3,), and the card's box.

    box is least x, least y, greatest x and greatest y. [m]
    """

    lines: tuple[str, ...]
    foot: Floats
    box: tuple[float, float, float, float]
    letter: float

    @property
    def z(self) -> float:
        """How near the card stands. [m]"""
        return float(self.foot[2])


def wrapped(words: str, widest: int = _WIDEST) -> tuple[str, ...]:
    """Break words into lines: where they say so, after a comma or colon, and where they fit."""
    lines: list[str] = []
    for part in words.split("\n"):
        if len(part) > widest:
            part = re.sub(r"(?<=[,:]) ", "\n", part, count=1)
        for clause in part.split("\n"):
            row = ""
            for word in _UNBROKEN.findall(clause):
                if row and len(row) + 1 + len(word) > widest:
                    lines.append(row)
                    row = word
                else:
                    row = f"{row} {word}" if row else word
            lines.append(row)
    return tuple(lines)


def width_of(words: str, letter: float) -> float:
    """Return how wide a line of words is. [m]"""
    points, _ = lettering(words, letter)
    return float(np.ptp(points[:, 0]))


def signs_of(
    words: Sequence[str], feet: Floats, letter: float, clear: float, above: float
) -> list[Sign]:
    """Place a card over each point so that from the front none covers another.

    Parameters
    ----------
    words : sequence of str
    feet : (n, 3) float
        What each names. [m]
    letter : float
        Height of the letters. [m]
    clear : float
        Least distance from a point up to its card. [m]
    above : float
        Level that no card reaches below. [m]

    Notes
    -----
    The nearest is placed first, and each one behind it above all that stand before it: so no
    post runs across a card that is farther away.
    """
    found: dict[int, Sign] = {}
    gap = 0.5 * letter
    for i in np.lexsort((feet[:, 0], -feet[:, 2])):
        lines = wrapped(words[i])
        wide = max(width_of(line, letter) for line in lines) + 1.4 * letter
        high = (len(lines) * LINE + 0.5) * letter
        x = float(feet[i, 0])
        left, right = x - wide / 2, x + wide / 2
        low = max(float(feet[i, 1]) + clear, above)
        for other in found.values():
            if other.box[0] - gap < right and left < other.box[2] + gap:
                low = max(low, other.box[3] + gap)
        found[int(i)] = Sign(lines, feet[i], (left, low, right, low + high), letter)
    return [found[i] for i in range(len(words))]


def sign_meshes(signs: Iterable[Sign]) -> dict[str, list[Mesh]]:
    """Return the meshes of signs by colour: posts, cards, and letters on both sides of each."""
    meshes: dict[str, list[Mesh]] = {POST: [], CARD: [], INK: []}
    for sign in signs:
        left, low, right, high = sign.box
        thin, x, z = 0.09 * sign.letter, float(sign.foot[0]), sign.z
        meshes[POST].append(
            box((x - thin, float(sign.foot[1]), z - thin), (x + thin, low, z + thin))
        )
        meshes[CARD].append(box((left, low, z - thin), (right, high, z + thin)))
        for row, line in enumerate(sign.lines):
            xy, faces = lettering(line, sign.letter)
            y = high - (0.25 + LINE * (row + 0.5)) * sign.letter
            flat = np.zeros(len(xy))
            for side in (1, -1):
                # The back is the front turned half round the post.
                place = np.column_stack(
                    [x + side * xy[:, 0], y + xy[:, 1], z + side * (thin + _OFF) + flat]
                )
                meshes[INK].append((place, faces))
    return meshes


def box(low: tuple[float, float, float], high: tuple[float, float, float]) -> Mesh:
    """Return a closed box between two corners."""
    share = np.array([[x, y, z] for z in (0, 1) for y in (0, 1) for x in (0, 1)], float)
    vertices = np.asarray(low) + share * (np.asarray(high) - np.asarray(low))
    quads = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
    faces = [corner for a, b, c, d in quads for corner in ((a, b, c), (a, c, d))]
    return vertices, np.array(faces, np.int64)


def plate_meshes(
    title: Sequence[str],
    words: str,
    ground: tuple[float, float, float],
    depth: float,
    unit: Unit,
) -> dict[str, list[Mesh]]:
    """Return a plate that lies in front of a model: title, scale bar and caution.

    Parameters
    ----------
    title : sequence of str
        Lines, the first the largest.
    words : str
        The caution, broken into lines as it fits.
    ground : (3,) float
        Least and greatest x that the plate may have, and how near its far edge lies. [m]
    depth : float
        Its thickness; it lies on y = 0. [m]
    unit : "ft" or "m"
        What the scale bar counts.
    """
    left, right, far = ground
    letter = min((right - left) / 34, _TALLEST)
    right = min(right, left + _LONGEST * letter)
    wide = right - left
    margin = 0.8 * letter
    meshes: dict[str, list[Mesh]] = {PLATE: [], INK: [], CARD: []}
    z = far + margin
    sizes = [1.35, *[1.0] * (len(title) - 1)]
    for line, size in zip(title, sizes, strict=True):
        own = size * letter
        own *= min(1.0, (wide - 2 * margin) / width_of(line, own))
        z += 0.75 * own * LINE
        meshes[INK].append(_lying(line, own, left + margin, z, depth))
        z += 0.75 * own * LINE
    z += 0.4 * letter
    _scale(meshes, left + margin, z, 0.5 * (wide - 2 * margin), letter, depth, unit)
    z += 2.9 * letter
    small = 0.72 * letter
    room = wide - 2 * margin
    for line in rows_that_fit(words, lambda row: width_of(row, small) <= room):
        z += 0.5 * small * LINE
        meshes[INK].append(_lying(line, small, left + margin, z, depth))
        z += 0.5 * small * LINE
    meshes[PLATE].append(box((left, 0.0, far), (right, depth, z + margin)))
    return meshes


def _lying(words: str, letter: float, left: float, z: float, high: float) -> Mesh:
    """Return words that lie on a plate, read from the front, starting at the left."""
    xy, faces = lettering(words, letter)
    x = xy[:, 0] - xy[:, 0].min() + left
    return np.column_stack([x, np.full(len(xy), high + _OFF), z - xy[:, 1]]), faces


def _scale(
    meshes: dict[str, list[Mesh]],
    left: float,
    z: float,
    longest: float,
    letter: float,
    high: float,
    unit: Unit,
) -> None:
    """Add a scale bar of whole feet or metres in dark and light, its figures in front of it."""
    step = FOOT if unit == "ft" else 1.0
    count = max([count for count in (1, 2, 3, 4, 5, 10, 20) if count * step <= longest] or [1])
    thick = 0.45 * letter
    for i in range(count):
        x = left + i * step
        tone = INK if i % 2 == 0 else CARD
        low = np.array([x, high + _OFF, z + thick])
        corners = low + np.array([[0, 0, 0], [step, 0, 0], [step, 0, -thick], [0, 0, -thick]])
        meshes[tone].append((corners, np.array([[0, 1, 2], [0, 2, 3]], np.int64)))
    for i, words in ((0, "0"), (count, f"{count} {unit}")):
        x = left + i * step
        mesh, faces = _lying(words, 0.8 * letter, x, z + thick + letter, high)
        if i:
            mesh[:, 0] -= 0.5 * np.ptp(mesh[:, 0])
        meshes[INK].append((mesh, faces))
