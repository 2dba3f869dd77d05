"""The names of layers: on the strip that the opening bares of each, and in front where apart."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from grading.geometry.arrays import Floats
from viz.scene.frame import Opening, aside_of
from viz.scene.layers.stack import OPENED, lift_of
from viz.scene.layers.treads import Tread, parted
from viz.scene.model import Label, LegendEntry
from viz.scene.setting import Setting
from viz.scene.shell import Height, Shape
from viz.scene.solids import Hole

SEEN_FROM = 33.0
"""How far above the level the first camera looks from. [degrees]"""

_ALONG = (0.7, 0.55, 0.85, 0.4, 0.25, 0.1, 0.95)
"""Where along the near edge of a layer that is apart its number may stand, the first best."""

SPREAD = 7
"""Places on each leg of a bared strip where its number may stand."""


def _middle_of_tread(seen: Shape, opening: Opening, step: int) -> Floats:
    """Return where the bared strip of a layer is pointed at: in its middle, at the right."""
    frame, bared = opening.frame, opening.bared(step)
    tread = float(np.abs(opening.corners[-1] - opening.corners[0]).max()) / len(opening.corners)
    # A line across the strip: to the right in a corner, else across the long paving.
    way = np.array([1.0, 0.0]) if opening.along.all() else 1.0 - opening.along
    ends = bared + np.array([[-1.0], [1.0]]) * opening.reach * way
    line = seen.intersection(shapely.LineString(frame.site(ends)))
    if line.is_empty:
        return np.asarray(shapely.get_coordinates(seen.representative_point())[0])
    local = frame.local(shapely.get_coordinates(line))
    if opening.along.all():
        right = local[:, 0].max() - min(0.35 * tread, float(np.ptp(local[:, 0])) / 2)
        return np.asarray(frame.site(np.array([[right, bared[1]]]))[0])
    return np.asarray(frame.site(local[[0, -1]].mean(axis=0)[None])[0])


def _along_strip(seen: Shape, opening: Opening, step: int) -> Floats:
    """Return points in the middle of the bared strip of a layer, along its legs, (k, 2). [m]"""
    frame, bared = opening.frame, opening.bared(step)
    found = [np.zeros((0, 2))]
    for way in np.eye(2)[opening.along[::-1] > 0]:
        ends = bared + np.array([[-1.0], [1.0]]) * opening.reach * way
        line = seen.intersection(shapely.LineString(frame.site(ends)))
        for part in shapely.get_parts(line):
            if part.geom_type == "LineString":
                at = part.length * (np.arange(SPREAD) + 0.5) / SPREAD
                found.append(shapely.get_coordinates(shapely.line_interpolate_point(part, at)))
    return np.concatenate(found)


def layer_labels(
    on: Setting, treads: Sequence[Tread], legend: tuple[LegendEntry, ...], hole: Hole
) -> list[Label]:
    """Return a label on the bared strip of each layer, where it is nearest the right."""
    labels, opening, origin = [], on.opening, on.origin
    entries = {entry.number: entry for entry in legend}
    # A layer is pointed at where it lies, and not at the shoulder that takes its place.
    for step, tread in enumerate(next(parted(tread, on.laid)) for tread in treads):
        seen: Shape = tread.footprint
        if seen.is_empty:
            continue
        if step:
            seen = seen.intersection(opening.cut(step - 1))
        if tread.kind != "subgrade":
            seen = seen.difference(opening.cut(step))
        if seen.is_empty:
            # A base of something's own takes all of its strip: it is pointed at where it goes on.
            seen = tread.footprint
        at = _middle_of_tread(seen, opening, step)
        xy = (at - origin[:2])[None]
        on_floor = np.isnan(tread.thickness) and tread.kind != "refill"
        height = hole.dug_at if on_floor else on.found.level(on.finish, tread.top)
        words = f"{entries[tread.number].name}, {entries[tread.number].words}"
        place = np.append(xy[0], height(xy)[0])
        spread = _along_strip(seen, opening, step) - origin[:2]
        spread = np.column_stack([spread, height(spread)])
        shown = frozenset(OPENED)
        labels.append(Label(words, place, "layer", shown, tread.number, step, spread=spread))
        lift = lift_of(on, treads, step)
        gap = lift_of(on, treads, max(step - 1, 0)) - lift
        # How high the front edge of the hole stands before its floor, in drawn space.
        hidden = on.factor * on.dig.max_dig if tread.kind == "subgrade" else 0.0
        places = _apart_places(on, tread, height, hidden + 0.35 * (gap - hidden))
        shown = frozenset({"apart"})
        labels.append(
            Label(words, places[0], "layer", shown, tread.number, step, lift, spread=places[1:])
        )
    return labels


def _apart_places(on: Setting, tread: Tread, height: Height, clear: float) -> Floats:
    """Return where a layer is pointed at where they are apart, (k, 3): on what is seen in front.

    clear is how far down the strip at its near edge is bared, as it is drawn. [m]
    """
    frame, origin = on.frame, on.origin
    r0, n0, r1, n1 = frame.bounds(tread.footprint)
    reach = r1 - r0 + n1 - n0
    # Of a layer under another, seen from `SEEN_FROM` above, a strip at its near edge is bared.
    ahead = 1 / float(np.hypot(1.0, aside_of(frame, tread.footprint)))
    strip = ahead * clear / np.tan(np.radians(SEEN_FROM))
    found = []
    for share in _ALONG:
        right = r0 + share * (r1 - r0)
        ends = np.array([[right, n0 - reach], [right, n1 + reach]])
        line = tread.footprint.intersection(shapely.LineString(frame.site(ends)))
        if not line.is_empty:
            along = frame.local(shapely.get_coordinates(line))[:, 1]
            near = along.max() - min(strip, 0.5 * float(np.ptp(along)))
            found.append(frame.site(np.array([[right, near]]))[0])
    at = found or [shapely.get_coordinates(tread.footprint.representative_point())[0]]
    xy = np.array(at) - origin[:2]
    return np.column_stack([xy, height(xy)])
