"""What materials are called on a building site."""

from __future__ import annotations

_CALLED = {
    "dense-graded": "stone with fines",
    "open-graded": "clean stone",
    "drain stone": "clean stone",
    "chips": "stone chips",
    "backfill": "soil placed",
    "turf": "grass",
}


def material_words(material: str) -> str:
    """Return what a material is called; its own name where that is plain.

    Parameters
    ----------
    material : str
    """
    return _CALLED.get(material, material)
