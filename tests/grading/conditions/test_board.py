"""A panel's stiffness: a plate and a strip on springs, against routes of another kind."""

from math import pi, sqrt

import numpy as np
import pytest
from make.plans.advised import advised, patio, planned
from scipy.integrate import quad
from scipy.special import j1

from grading.catalogue.bases import base_systems
from grading.conditions.load import Board, board_of, board_words, loads, stress
from grading.site.base_tables import BaseSystemSpec
from grading.units import INCH

FOAM = Board(thickness=0.019, modulus=5e6, poisson=0.15, subgrade=48e6)


def on_boards(**more):
    layers = [
        {"name": "paver", "thickness": "2 3/8 in"},
        {"name": "panel", "thickness": "3/4 in", "modulus": "5 MPa"},
        {"name": "bedding", "thickness": "1 in"},
    ]
    return {"name": "board", "source": "sheet 4", "layers": layers} | more


def system_of(table):
    return base_systems([BaseSystemSpec.model_validate(table)])[table["name"]]


@pytest.mark.parametrize("share", [0.05, 0.3, 1.0, 2.5, 4.0])
def test_the_plate_is_the_integral_of_its_waves(share):
    """Each wave of a round load bends a plate on springs by itself: Hankel's transform."""
    found, _ = quad(lambda x: j1(share * x) / (1 + x**4), 0, 400, limit=4000)
    assert FOAM.amid(share * FOAM.reach) == pytest.approx(share * found, abs=2e-6)


@pytest.mark.parametrize("share", [0.2, 1.0, 2.2, 6.0])
def test_the_strip_is_the_beam_of_finite_differences(share):
    """A beam of 2,000 pieces and 20 reaches, its end free: EI w'''' + k w = q."""
    n, long = 2000, 20.0
    h = long / n
    stiff = np.zeros((n + 1, n + 1))
    # The energy of bending, piece by piece, so that a free end needs no row of its own.
    bend = np.zeros((n - 1, n + 1))
    rows = np.arange(n - 1)
    for column, weight in ((0, 1.0), (1, -2.0), (2, 1.0)):
        bend[rows, rows + column] = weight / h**2
    stiff += bend.T @ bend * h
    lumps = np.full(n + 1, h)
    lumps[[0, -1]] = h / 2
    x = np.arange(n + 1) * h
    loaded = np.clip((share - (x - h / 2)) / h, 0, 1) * h
    loaded[0] = min(h / 2, share)
    w = np.linalg.solve(stiff + np.diag(lumps), loaded)
    assert FOAM.at_edge(share * FOAM.reach) == pytest.approx(w[0], rel=4e-3)


def test_a_stiff_board_spreads_and_a_limp_one_does_not():
    load = 0.1
    limp, stiff = (Board(0.02, e, 0.15, 48e6) for e in (1e2, 1e12))
    assert limp.amid(load) == pytest.approx(1, abs=1e-3)
    assert limp.at_edge(load) == pytest.approx(1, abs=1e-3)
    assert stiff.amid(load) < 0.05
    assert stiff.at_edge(load) < 0.5


def test_without_a_modulus_nothing_is_said_of_stiffness():
    advice = advised([patio()])
    assert all(one.board is None for one in advice.loads)
    assert advice.area("patio").boards == ()


def test_with_a_modulus_both_places_are_told():
    plan = planned([patio(base="board")], bases=[on_boards()])
    advice = plan.advice
    (said,) = advice.area("patio").boards
    one = next(o for o in advice.loads if (o.base, o.load) == ("board", "loaded wheelbarrow"))
    board = board_of(system_of(on_boards()).board, plan.site.ground.soil)
    barrow = next(load for load in loads() if load.name == one.load)
    below_paver = barrow.spread(2.375 * INCH)
    radius, side = sqrt(below_paver / pi), sqrt(below_paver)
    assert one.board.amid == pytest.approx(one.two_to_one * board.amid(radius))
    assert one.board.at_edge == pytest.approx(one.two_to_one * board.at_edge(side))
    assert "sheet 4" in said
    assert "free edge" in said


def test_a_foam_board_spreads_by_less_than_its_thickness_and_some():
    """A board of foam, 3/4 in thick, on clay: some 3/4 in beside the load, and no more."""
    board = board_of(system_of(on_boards()).board, "clay")
    assert 0.5 * INCH < board.reach < 1.0 * INCH


def test_a_stiff_board_is_not_relied_on():
    """Whatever the modulus, the check is held to the stress that no board takes off."""
    limp, stiff = (
        system_of(on_boards(layers=[
            {"name": "paver", "thickness": "2 3/8 in"},
            {"name": "panel", "thickness": "3/4 in", "modulus": modulus},
            {"name": "bedding", "thickness": "1 in"}]))
        for modulus in ("1 MPa", "5000 MPa")
    )  # fmt: skip
    for load in loads():
        bare = stress("patio", system_of(on_boards()), load, "clay")
        for system in (limp, stiff):
            one = stress("patio", system, load, "clay")
            assert one.greatest >= max(bare.boussinesq, bare.two_to_one)
    foot = stress("patio", stiff, loads()[0], "clay")
    assert foot.board.amid < 0.5 * foot.two_to_one


def test_on_stone_a_board_bends_over_less():
    on_soil, on_stone = (
        system_of(on_boards(layers=[*on_boards()["layers"], *more]))
        for more in ([], [{"name": "dense-graded base", "thickness": "3 in"}])
    )
    reaches = [stress("a", each, loads()[0], "clay").board.reach for each in (on_soil, on_stone)]
    assert reaches[0] > reaches[1]


def test_the_words_leave_out_what_it_may_not_carry():
    system = system_of(on_boards())
    stresses = [stress("patio", system, load, "clay") for load in loads()]
    assert "car wheel" not in board_words(stresses, system, "ft")
    rated = system_of(on_boards(wheels=True))
    stresses = [stress("patio", rated, load, "clay") for load in loads()]
    assert "car wheel" in board_words(stresses, rated, "ft")
