"""The tones of materials in three dimensions: natural, matt, our own."""

from __future__ import annotations

from msgspec import Struct


class Material(Struct, frozen=True):
    """How a material looks: its colour, the tones of its grains, and the size of a grain [m].

    grains is empty where the surface is plain; share is how much of it grains cover.
    """

    colour: str
    grains: tuple[str, ...] = ()
    size: float = 0.0
    share: float = 0.0


MATERIALS: dict[str, Material] = {
    "paver": Material("#8f7d68", ("#c0aa8e", "#b69d80", "#c8b499", "#ad967a")),
    "other paver": Material("#a3937e", ("#cfbfa9", "#c6b49c")),
    "bedding sand": Material("#e3c68b", ("#cfae6e", "#f0dcae"), 0.035, 0.10),
    "chips": Material("#c9c5b6", ("#aaa697", "#e0ddd0", "#918d80"), 0.05, 0.30),
    "dense-graded": Material("#a09c93", ("#827e76", "#bfbbb2", "#6c6860"), 0.07, 0.28),
    "open-graded": Material("#8e9aa3", ("#6d7982", "#b3bdc4", "#566069"), 0.10, 0.42),
    "panel": Material("#5c5c5c", ("#6f6f6f",)),  # a plain grey: no maker's colour
    "geotextile": Material("#e2dfd9"),
    "refill": Material("#80776a", ("#696156", "#989080"), 0.08, 0.25),
    "backfill": Material("#7c5c3e", ("#694c32", "#8d6d4e"), 0.06, 0.15),
    "soil": Material("#7a5a3d", ("#694c32", "#8d6d4e"), 0.06, 0.15),
    "turf": Material("#8aa65c", ("#7b984e", "#98b36b"), 0.10, 0.16),
    "topsoil": Material("#5a4430"),
    "subsoil": Material("#94704e"),
    "subgrade": Material("#a5825c", ("#957350", "#b5926c"), 0.07, 0.12),
    "foundation": Material("#c4c1ba"),
    "siding": Material("#f3ecdd"),
    "door": Material("#5b6b78"),
    "sill": Material("#cfc8b9"),
    "edge restraint": Material("#2b2f31"),
    "concrete": Material("#b9b7b0"),
    "block": Material("#a89f92"),
    "cap": Material("#c9c1b3"),
    "step unit": Material("#b4afae"),
    "drain stone": Material("#71868b", ("#5f7075", "#a3b1b5", "#4d5d62"), 0.08, 0.40),
    "pipe": Material("#2f3d46"),
    "grate": Material("#4d5458"),
    "membrane": Material("#23282b"),
    "channel": Material("#8b9092"),
    "embers": Material("#3b3835"),
    "timber": Material("#8a6a47"),
    "tub": Material("#5f8796"),
    "ink": Material("#21302f"),
    "paint": Material("#0f5f66"),
    "water": Material("#08519c"),
    "standing water": Material("#6baed6"),
}

EDGE = "#40372d"
SPOT = "#8c2d19"


def material(name: str) -> Material:
    """Return how a material looks; one that is not known looks like dense-graded base."""
    return MATERIALS.get(name, MATERIALS["dense-graded"])
