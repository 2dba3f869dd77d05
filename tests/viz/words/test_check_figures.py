"""What is said of paving that falls to some walls and hardly from others."""

import pytest
from make.plans.sampled import sampled

from grading.answers.led import Told
from grading.checks.maker import Check
from viz.words.check_figures import figures, pattern_of

WORDS = {"fail": "falls {falling}: {by} less than the {limit} asked"}


def said(*falls):
    checks = tuple(
        Check("fall-away", "terrace", "fail", fall, 0.02, "ratio", "own", "it falls",
              where=f"wall {number}")
        for number, fall in falls
    )  # fmt: skip
    told = Told("fall-away", "terrace", "fail", checks)
    return pattern_of(WORDS, told).format(**figures(WORDS, told, sampled("garden-court")))


ASKED = "less than the 20 mm per metre asked"


@pytest.mark.parametrize(
    ("falls", "words"),
    [
        ([(1, -0.01)], "10 mm per metre BACK to wall 1: 30 mm per metre"),
        ([(1, -0.01), (3, -0.002)], "10 mm per metre BACK to walls 1 and 3: 30 mm per metre"),
        ([(1, -0.01), (3, 0.0), (2, 0.004)],
         "10 mm per metre BACK to wall 1, and too little away from walls 3 and 2: 30 mm per metre"),
        ([(3, 0.005), (2, 0.004)],
         "5 mm per metre away from walls 3 and 2: 15 mm per metre"),
    ],
)  # fmt: skip
def test_only_walls_that_paving_falls_to_are_named_as_such(falls, words):
    assert said(*falls) == f"falls {words} {ASKED}"
