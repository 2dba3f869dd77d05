"""Juniper Court: one patio on a lawn that falls 2 % from its house, as scripts are held to it."""

from __future__ import annotations

SITE = """
name  = "Juniper Court, back patio"
unit  = "ft"
spots = "spots.csv"

[ground]
soil       = "clay"
organics   = "1 in"
breaklines = [[[0, 12], [32, 12]]]

[house]
walls  = [[0, 0], [32, 0]]
inside = [16, -8]

[[door]]
at   = [12, 0]
sill = 100.65

[[area]]
name    = "patio"
use     = "patio"
outline = [[2, 0], [30, 0], [30, 18], [2, 18]]
holes   = []
base    = "panel"
plane   = {at = [2, 0], z = 100.2, fall = "2 %", bearing = 0}

[[base]]
name   = "panel"
layers = [{name = "paver", thickness = "2 3/8 in"}, {name = "panel", thickness = "3/4 in"}, {name = "bedding", thickness = "1 in"}]
"""  # noqa: E501

FOOT = 0.3048


def spots() -> str:
    rows = ["x,y,z"]
    for x in range(-4, 37, 4):
        rows += [f"{x},{y},{100 - 0.02 * y:.3f}" for y in range(-4, 25, 4)]
    return "\n".join(rows)
