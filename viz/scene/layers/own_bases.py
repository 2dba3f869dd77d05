"""Bases of their own that level things stand on, where layers of the paving are left out."""

from __future__ import annotations

import shapely

from viz.scene.setting import Setting

_LOOKS = {"concrete": "foundation", "dense-graded": "dense-graded"}

_WHOLE = ("finished", "slice", "apart", "yard")


def add_own_bases(on: Setting) -> None:
    """Add each base of a thing's own where the layers below the pavers are left out for it.

    With what fills in round it, as wide as nothing of the paving is laid; what it goes deeper
    than the build-up lies in refill or soil, and is not seen. It is bared with the lowest layer
    where the layers are opened.
    """
    dig, opening = on.dig, on.opening
    bared = opening.cut(len(opening.corners) - 1)
    for seat in (seat for seat, own in on.seats() if own):
        pad = seat.feature.polygon if seat.own_base is None else seat.own_base.pad
        whole = shapely.intersection(pad, dig.polygon)
        for region, shown in ((whole, _WHOLE), (shapely.difference(whole, bared), ("layers",))):
            on.found.add_slab(
                f"base of {seat.name}", _LOOKS[seat.base_material], region, on.finish,
                (on.paver, dig.build_up - on.paver), shown,
            )  # fmt: skip
