"""What is said to hold a raised edge is what was built for that, and nothing else built there."""

from __future__ import annotations

import pytest
from make.plans.raised_yard import yard

from grading.answers.led import led
from viz.words.screen.told import said_of


def edge_words(made):
    (told,) = [each for each in led(made).looks if each.rule == "raised-edge"]
    return said_of(told, made).partition(": ")[2]


@pytest.mark.parametrize(
    ("high", "hold", "words"),
    [
        (12, (), "wall of patio holds it"),
        (12, ({"kind": "steps"},), "steps all round hold it"),
        # Only a membrane and an underdrain are built there: a wall so high is an engineer's.
        (80, (), "say what holds that edge (--full)"),
    ],
)
def test_what_was_built_for_it_holds_an_edge(high, hold, words):
    made = yard(high, *hold, base="open")
    kinds = [one.kind for area in made.order.areas for one in area.takeoffs["open"].structures]
    assert "underdrain" in kinds
    assert edge_words(made) == words


def test_what_holds_its_sides_is_named_together_the_longest_first():
    front = {"kind": "block wall", "at": [[0, 14], [16, 14]]}
    sides = [{"kind": "grass slope", "at": [[x, 0], [x, 14]]} for x in (0, 16)]
    made = yard(12, front, *sides)
    assert edge_words(made) == "wall of patio, slope 1 of patio and slope 2 of patio hold it"
