"""A patio by a house of seven shots, of which two can be had wrong."""

SITE = """name = "Seven Elms"
unit = "ft"
spots = "spots.csv"

[ground]
soil = "loam"
organics = "4 in"

[house]
walls = [[0, 0], [24, 0]]
inside = [12, -6]

[[door]]
name = "back door"
at = [10, 0]
sill = 100.6

[[area]]
name = "patio"
outline = [[4, 0], [20, 0], [20, 14], [4, 14]]
"""
SPOTS = """x,y,z,id
-2,-1,100.00,S1
26,-1,99.99,S2
26,18,99.62,S3
-2,18,99.64,S4
12,7,{},S5
12,1,100.02,S6
6,12,{},S7
"""
"""Of S5 and S7 the levels are filled in."""

DOUBTFUL, LOW = (98.81, 99.76), (99.81, 99.20)
"""Levels of S5 and S7: a foot lower than all around it, and a yard that is low at one corner."""
