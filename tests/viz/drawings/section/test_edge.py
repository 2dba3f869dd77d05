"""The edge that is laid is the edge that is drawn: in sections and in three dimensions."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from make.plans.jobs import DEPTHS, level_yard

from grading.catalogue.rules import Limits
from grading.dig.edge_sections import edging_of
from grading.order.restrained import restrained_edges
from grading.units import CUBIC_FOOT
from viz.drawings.section.body import draw_edges
from viz.paper.drawing import Drawing
from viz.scene.shell import Solid
from viz.scene.staging import stage


@cache
def yard(edge, base="panel"):
    return level_yard(bases=DEPTHS, edge=edge, base=base)


def cut_of(edge, base="panel"):
    made = yard(edge, base)
    return made.sections.of(made.areas[0], "across")


def layers_drawn(edge, base="panel"):
    import shapely

    draw = Drawing("edge")
    draw_edges(draw, cut_of(edge, base), shapely.box(-1e3, -1e3, 1e3, 1e3))
    return {each.layer for each in draw.parts}


@pytest.mark.parametrize(
    ("edge", "base", "drawn"),
    [
        ("panel edge", "panel", {"edge restraint"}),
        ("spiked edge", "dense", {"edge restraint"}),
        ("dense shoulder", "open", {"edge restraint", "shoulder of the edge"}),
        ("concrete edge", "panel", {"edge of concrete"}),
        ("border", "dense", {"edge of concrete", "border unit"}),
        ("wall", "panel", {"holder"}),
    ],
)
def test_a_section_draws_what_is_laid(edge, base, drawn):
    assert layers_drawn(edge, base) == drawn


@pytest.mark.parametrize("edge", ["concrete edge", "border"])
def test_concrete_in_three_dimensions_is_that_of_the_order(edge):
    """By the volume of its solids; at each of two corners there is a square more than along."""
    made = yard(edge)
    area, scene = made.areas[0], stage(made, made.areas[0], "panel")
    bodies = [each for each in scene.bodies if each.name == "edge of concrete" and not each.cap]
    volume = sum(
        Solid(each.vertices, each.faces).volume for each in bodies if "finished" in each.shown
    )
    long = sum(line.length for line in restrained_edges(made, area))
    section = edging_of(area.chosen_dig.system, Limits({})).concrete
    assert volume == pytest.approx(long * section, rel=0.05)
    units = [each for each in scene.bodies if each.name == "border units"]
    assert bool(units) == (edge == "border")
    assert not [each for each in scene.bodies if each.name == "edge restraint"]
    deepest = min(float(each.vertices[:, 2].min()) for each in bodies) + scene.origin[2]
    finish = area.finish.plane.at(np.zeros((1, 2)))[0]
    assert finish - deepest == pytest.approx(area.chosen_dig.build_up, abs=1e-6)


def test_the_shoulder_in_three_dimensions_takes_the_place_of_open_stone():
    """A ring of 24 1/2 ft2 beside 280 ft2 of paving, 6 in high."""
    made = yard(None, "open")
    scene = stage(made, made.areas[0], "open")
    for name, wanted in (("shoulder of the edge", 24.5 / 2), ("open-graded base", 280 / 2)):
        solids = [
            Solid(each.vertices, each.faces)
            for each in scene.bodies
            if each.name == name and not each.pattern and "finished" in each.shown
        ]
        volume = sum(solid.volume for solid in solids) / CUBIC_FOOT
        assert volume == pytest.approx(wanted, rel=1e-6)


def test_a_wall_that_is_given_where_nothing_is_raised_is_refused_and_told():
    made = yard("wall")
    assert sum(line.length for line in made.areas[0].raised_edges) > 14
    (check,) = [each for each in made.checks if each.rule == "hold"]
    assert check.status == "fail"
    assert 'edge = "wall" is not used' in check.text
    assert "a wall shows 6 in at the least" in check.text
