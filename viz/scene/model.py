"""One description of a picture in three dimensions, for any renderer: what is where, no more.

Lengths are metres about the scene's own origin, at true height. A renderer multiplies every
height by `Scene.exaggeration`, but in the views of `TRUE_SCALE`; `Scene.drawn` does that.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from grading.geometry.arrays import Floats, Ints
from viz.words.cautions import PICTURE

VIEWS = {
    "layers": "Layers",
    "apart": "Layers apart",
    "slice": "Cut across",
    "dig": "Dig depth",
    "today": "Before",
    "finished": "After",
    "yard": "Whole yard",
}
"""What can be seen of one area, and what the choice is called."""

TRUE_SCALE = frozenset({"today", "finished", "yard"})
"""The views whose heights are drawn at true scale: what will be there, beside what is there now."""

IN_WORDS = " in words"
"""How the name of what is painted ends where it is letters."""

BEHIND = ":behind"
"""How the name of a view ends for letters that are read from behind: from the house."""


def heights_words(factor: float, standing: bool) -> str:
    """Return how high a picture is drawn, as a sentence.

    Parameters
    ----------
    factor : float
        How many times larger heights are drawn than lengths.
    standing : bool
        Whether anything stands on the paving.
    """
    if factor == 1:
        return "Heights are drawn at true scale."
    words = f"Heights are drawn {factor:g} times larger than lengths"
    if standing:
        words += "; what stands on the paving is at its true height"
    return words + "."


class Body(Struct, frozen=True):
    """A surface or closed solid: vertices (n, 3) [m], triangles (m, 3), and how it looks.

    shown names the views it belongs to; pattern marks what lies on another body's surface; lift
    is how far it floats above its place in the view "apart", in drawn space [m]; cap marks a
    face of the cut in the view "slice", of which one station is seen at a time. What stands on
    the paving is drawn at its true height above the level `stands` [m]. What lies in other bodies
    has its face in a cut drawn before theirs, in as many steps as `before` says.
    """

    name: str
    material: str
    vertices: Floats
    faces: Ints
    colour: str
    shown: frozenset[str]
    pattern: bool = False
    lift: float = 0.0
    cap: bool = False
    stands: float | None = None
    before: int = 0


class Lines(Struct, frozen=True):
    """Straight segments (k, 2) between points (n, 3) [m], of one colour and width [pixels]."""

    name: str
    points: Floats
    segments: Ints
    colour: str
    width: float
    shown: frozenset[str]
    lift: float = 0.0
    cap: bool = False
    stands: float | None = None


class Label(Struct, frozen=True):
    """Words at a point (3,) [m]; number is the layer's in the legend, or 0.

    kind is "layer", "level", "depth", "house", "ground" or "spot"; where two collide, the lower
    `rank` stays. lift is as for `Body`; a view "slice:3" is the view "slice" at its fourth station.
    Where there is little room, brief is said instead of text.
    A layer may be pointed at at any of the points spread (k, 3) [m] too, which lie on it.
    """

    text: str
    at: Floats
    kind: str
    shown: frozenset[str]
    number: int = 0
    rank: int = 0
    lift: float = 0.0
    stands: float | None = None
    brief: str = ""
    spread: Floats | None = None


class Camera(Struct, frozen=True):
    """A place to look from: a unit vector (3,) to the eye, and the box (2, 3) to be seen.

    Both are in drawn space, heights exaggerated. close says that the box is only a part of
    what there is; otherwise the renderer frames what it shows. tall is the direction from higher
    up that fills a picture about as high as it is wide.
    """

    name: str
    title: str
    direction: Floats
    box: Floats
    close: bool = False
    tall: Floats | None = None


class Slices(Struct, frozen=True):
    """An upright plane and the stations it is moved to.

    direction is a unit vector (2,) in plan, from the cut to who looks at it; stations are
    distances along it from the scene's origin [m], from the far end to the near one; words say
    where each is. Its faces and labels are shown in the view that name says; the cut is looked at
    edge on from eye, a unit vector (3,), or from tall in a picture about as high as wide.
    """

    direction: Floats
    stations: Floats
    words: tuple[str, ...]
    eye: Floats
    tall: Floats
    name: str = "slice"


class LegendEntry(Struct, frozen=True):
    """A material that is seen, from the top down; thickness [m], or nan where it has none."""

    number: int
    name: str
    colour: str
    thickness: float
    words: str


class Scene(Struct, frozen=True, eq=False, dict=True, weakref=True):
    """Everything a renderer needs to draw one area on one base system; equal to itself alone.

    near is the unit vector (2,) from the house, or from uphill, to whoever looks at it; slices
    says where it may be cut across, lengthwise where it may be cut along the house.
    """

    site: str
    area: str
    base: str
    base_title: str
    size: str
    fall: str
    unit: str
    origin: Floats
    exaggeration: float
    bodies: tuple[Body, ...]
    lines: tuple[Lines, ...]
    labels: tuple[Label, ...]
    cameras: tuple[Camera, ...]
    legend: tuple[LegendEntry, ...]
    figures: tuple[tuple[str, str], ...]
    build_up: float
    near: Floats
    slices: Slices
    lengthwise: Slices
    caution: str = PICTURE

    def factor(self, view: str) -> float:
        """Return how many times larger heights are drawn in a view; "slice:3" is a "slice"."""
        return 1.0 if view.partition(":")[0] in TRUE_SCALE else self.exaggeration

    def drawn(self, points: Floats, stands: float | None = None, view: str = "layers") -> Floats:
        """Return points (n, 3) as high as a view draws them, up to the level `stands` [m]."""
        factor = self.factor(view)
        lost = 0.0 if stands is None else (factor - 1) * (points[:, 2] - stands)
        high = factor * points[:, 2] - np.maximum(lost, 0.0)
        return np.column_stack([points[:, :2], high])

    def place(self, label: Label, view: str) -> Floats:
        """Return where a label points in a view, (3,), in drawn space."""
        up = label.lift if view == "apart" else 0.0
        return np.asarray(self.drawn(label.at[None], label.stands, view)[0] + [0.0, 0.0, up])

    def heights_words(self, view: str) -> str:
        """Return how high a view is drawn, as a sentence."""
        standing = any(body.stands is not None for body in self.bodies)
        return heights_words(self.factor(view), standing)

    @property
    def exaggeration_words(self) -> str:
        """How high all of its views are drawn, as a sentence."""
        words = self.heights_words("layers")
        if self.exaggeration == 1:
            return words
        titles = [title for view, title in VIEWS.items() if view in TRUE_SCALE]
        return f"{words[:-1]}. {titles[0]}, {titles[1]} and {titles[2]} are at true scale."
