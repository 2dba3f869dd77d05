"""Stakes: tapes place them, rods give the design back, and what is badly placed is told."""

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from make.sites.compared import GIVEN, folder

import grading
from grading.errors import SiteError
from grading.records.stakes import stakes_record
from grading.setout.instrument import Instrument, instrument_of, rod_words, rounded, rounding_of
from grading.setout.model import set_out, spacing_of
from grading.setout.ties import Held, Taping
from grading.site.house import House
from grading.site.model import Site, Spots
from grading.survey.taped import references_of
from grading.units import FOOT, INCH


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    return grading.plan(grading.read_site(folder(tmp_path_factory.mktemp("stakes") / "a")))


@pytest.fixture(scope="module")
def found(plan):
    return set_out(plan, instrument_of(plan.site, None, "1.2", 4.0, "m"), every=1.0)


def circles_meet(one, far, other, near):
    """Both places where two tapes meet, by the law of cosines."""
    base = np.hypot(*(other - one))
    along = (far**2 - near**2 + base**2) / (2 * base)
    out = math.sqrt(max(far**2 - along**2, 0.0))
    way = (other - one) / base
    side = np.array([-way[1], way[0]])
    return one + along * way + out * side, one + along * way - out * side


def test_two_tapes_meet_at_the_stake(found):
    at = {each.name: each.at for each in found.references}
    for stake in found.areas[0].stakes:
        one, other = stake.tied.ties  # the house has two corners here: there is no check
        places = circles_meet(at[one.to], one.length, at[other.to], other.length)
        assert min(np.hypot(*(place - stake.at)) for place in places) < 1e-6


def test_the_pair_that_crosses_best_is_taken_and_the_rest_is_the_check():
    site = _site_of([[0, 0], [10, 0], [10, 6]], [20, -5])
    references = held(site)
    assert [each.name for each in references] == ["H1", "H2", "H3"]
    at = np.array([6.0, 4.0])
    tied = Taping(site, references, 30.0).tied(at)
    angles = {}
    for i, one in enumerate(references):
        for other in references[i + 1 :]:
            a, b = one.at - at, other.at - at
            turn = abs(math.atan2(a[0] * b[1] - a[1] * b[0], a @ b))
            angles[one.name, other.name] = abs(turn - math.pi / 2)
    best = min(angles, key=angles.get)
    assert tuple(tie.to for tie in tied.ties[:2]) == best
    assert abs(tied.angle - math.pi / 2) == pytest.approx(angles[best])
    assert {tie.to for tie in tied.ties} == {"H1", "H2", "H3"}


def held(site):
    return [Held(name, at, "") for name, at in references_of(site.house, ()).items()]


def _site_of(walls, inside):
    house = House.model_validate({"walls": walls, "inside": inside})
    return Site(None, "yard", "m", Spots(np.zeros((0, 3))), house=house)


def test_no_tape_goes_through_the_house():
    # An outside corner: from the far end of one wall the other side of it is not seen.
    site = _site_of([[-8, 0], [0, 0], [0, -8]], [-4, -4])
    taping = Taping(site, held(site), 30.0)
    tied = taping.tied(np.array([3.0, -4.0]))
    assert {tie.to for tie in tied.ties} == {"H2", "H3"}
    beyond = taping.tied(np.array([3.0, 3.0]))
    assert {tie.to for tie in beyond.ties} == {"H1", "H2", "H3"}


def test_tapes_that_cross_flat_are_told_but_not_along_a_wall():
    site = _site_of([[0, 0], [10, 0]], [5, -4])
    taping = Taping(site, held(site), 30.0)
    assert taping.tied(np.array([5.0, 0.5])).poor
    at_wall = taping.tied(np.array([5.0, 0.0]))
    assert (at_wall.wall, at_wall.angle, at_wall.poor) == ("wall 1", None, False)
    # Half a right angle on either side of 30 degrees, at the top of an isosceles triangle.
    out = 5.0 / math.tan(math.radians(15.5))
    assert not taping.tied(np.array([5.0, out])).poor
    out = 5.0 / math.tan(math.radians(14.5))
    assert taping.tied(np.array([5.0, out])).poor


def test_a_tape_is_no_longer_than_it_is():
    site = _site_of([[0, 0], [10, 0]], [5, -4])
    taping = Taping(site, held(site), 8.0)
    tied = taping.tied(np.array([1.0, 3.0]))
    assert [tie.to for tie in tied.ties] == ["H1"]
    assert Taping(site, (Held("A", np.zeros(2), ""),), 8.0).has_references


@settings(max_examples=200)
@given(
    st.floats(90, 110), st.floats(0.2, 3.5), st.floats(95, 112),
    st.sampled_from([INCH / 16, INCH / 8, 1e-3, 5e-3]),
)  # fmt: skip
def test_a_rod_reduced_back_is_the_design_to_half_of_what_it_is_told_to(z, reading, target, step):
    sight = Instrument("hub", z, reading, 4.0)
    told = rounded(sight.at(target), step)
    assert abs(sight.height - told - target) <= step / 2 + 1e-9


def test_the_published_example_of_a_dig_day():
    # Common practice, no source: a sill at 100' 0", the rod on it 3' 2 1/2"; the finish 7 in below
    # it at the wall and 14 ft out at 1/4 in per foot; base top 3 3/8 in down, subgrade 9 3/8 in.
    sight = Instrument("sill", 100 * FOOT, (38 + 1 / 2) * INCH, 13 * FOOT)
    wall = 100 * FOOT - 7 * INCH
    for out, rods in (
        (0.0, ("3' 9 1/2\"", "4' 0 7/8\"", "4' 6 7/8\"")),
        (14.0, ("4' 1\"", "4' 4 3/8\"", "4' 10 3/8\"")),
    ):
        finish = wall - out * INCH / 4
        levels = (finish, finish - 3.375 * INCH, finish - 9.375 * INCH)
        assert tuple(rod_words(sight.at(z), "ft-in") for z in levels) == rods


def test_halves_go_up_and_each_figure_comes_from_its_own_value():
    assert rounded(2.5 * INCH / 16, INCH / 16) == pytest.approx(3 * INCH / 16)
    assert rounded(-2.5 * INCH / 16, INCH / 16) == pytest.approx(-2 * INCH / 16)
    # 0.96 in every 4 ft, told to a sixteenth each for itself, is nowhere off by more than half.
    for k in range(1, 21):
        exact = k * 0.96 * INCH
        assert abs(rounded(exact, INCH / 16) - exact) <= INCH / 32 + 1e-12


def test_rods_are_told_as_the_rod_is_marked():
    assert rod_words(1.2344, "m", 1e-3) == "1.234"
    assert rod_words(1.2344, "mm", 1e-3) == "1234"
    assert rod_words(1.2344, "cm", 1e-3) == "123.4"
    assert rod_words(4.26 * FOOT, "ft", 0.01 * FOOT) == "4.26"
    assert rod_words(-0.05, "m", 1e-3) == "-0.050"


@pytest.mark.parametrize(
    ("rod", "last"), [("ft", Fraction("0.003048")), ("m", Fraction("0.001")),
                      ("cm", Fraction("0.001")), ("mm", Fraction("0.001"))],
)  # fmt: skip
def test_a_rod_with_decimals_is_rounded_once(rod, last):
    """Told to a sixteenth where feet stand beside it, no reading is off by more than half of its
    own last digit: sixteenths that are rounded once more are off by half of both."""
    whole = {"ft": Fraction("0.3048"), "m": 1, "cm": Fraction("0.01"), "mm": Fraction("0.001")}[rod]
    for k in range(200):
        exact = Fraction(1) + k * Fraction("0.00037")
        told = Fraction(rod_words(float(exact), rod, INCH / 16)) * whole
        assert abs(told - exact) <= last / 2 + Fraction(1, 10**9)
    # What is asked for coarser is told so: a quarter of an inch as 6 mm, the most it holds.
    assert rod_words(1.2344, "mm", INCH / 4) == "1236"


def test_layers_stand_on_each_other_and_their_rods_differ_by_their_thickness(plan, found):
    (area,) = found.areas
    system = plan.areas[0].chosen_dig.system
    thick = {layer.name: layer.thickness for layer in system.layers}
    for stake in area.stakes:
        names = [layer.name for layer in stake.layers]
        assert names[-2:] == [system.layers[1].name, "finish"]
        finish = stake.layers[-1].z
        assert finish - stake.layer(system.layers[1].name).z == pytest.approx(
            thick[system.layers[0].name]
        )
        assert finish - stake.layer("subgrade").z == pytest.approx(sum(thick.values()))
        # 30 mm above the lawn at the wall, falling 3 % where the lawn falls 2 %.
        assert finish == pytest.approx(10.03 - 0.03 * stake.at[1])
        assert stake.existing == pytest.approx(10.0 - 0.02 * stake.at[1])
        assert stake.cut == pytest.approx(stake.existing - stake.layers[0].z)


def test_stakes_stand_along_the_edges_no_farther_apart_than_asked(found):
    (area,) = found.areas
    on_edge = [stake for stake in area.stakes if stake.kind == "edge"]
    # 4 m in four parts twice, 3 m in three twice.
    assert len(on_edge) == 3 + 2 + 3 + 2
    assert len({stake.name for stake in area.stakes}) == len(area.stakes)


def test_the_grid_has_the_spacing_that_is_asked_for(plan):
    (area,) = set_out(plan, grid=0.5).areas
    assert area.grid.spacing == 0.5
    inside = {tuple(np.round(stake.at, 6)) for stake in area.stakes if stake.kind != "centre"}
    want = {(x, y) for x in np.arange(-2, 2.01, 0.5) for y in np.arange(0, 3.01, 0.5)}
    assert inside == {(round(x, 6), round(y, 6)) for x, y in want}


def test_what_the_level_cannot_see_and_the_rod_cannot_reach_is_told(plan):
    low = set_out(plan, Instrument("hub", 9.9, 0.02, 4.0))
    said = [note for stake in low.areas[0].stakes for note in low.notes(stake)]
    assert any("above the line of sight" in note for note in said)
    high = set_out(plan, Instrument("hub", 13.0, 1.5, 4.0))
    said = [note for stake in high.areas[0].stakes for note in high.notes(stake)]
    assert any("beyond the rod" in note for note in said)
    fit = set_out(plan, Instrument("hub", 10.0, 1.2, 4.0))
    said = [note for stake in fit.areas[0].stakes for note in fit.notes(stake)]
    assert not [note for note in said if "sight" in note or "rod" in note]


def test_a_benchmark_is_the_sill_of_a_door_and_words_must_be_a_reading(plan):
    sight = instrument_of(plan.site, None, "1.25 m", 4.0, "m")
    assert (sight.benchmark, sight.height) == ("garden door", pytest.approx(11.35))
    assert instrument_of(plan.site, None, None, 4.0, "m") is None
    for benchmark, reading, words in (
        ("garden door", None, "without a reading"),
        ("garden gate", "1.2", '"garden gate"'),
        (None, "high", '"high"'),
        (None, "4.5", "beyond the rod"),
    ):
        with pytest.raises(SiteError, match=words):
            instrument_of(plan.site, benchmark, reading, 4.0, "m")


def test_spacings_and_roundings_that_make_no_sense_are_refused(plan):
    for words in ("0", "-1", "0.01", "a foot or so"):
        with pytest.raises(SiteError, match="--grid"):
            spacing_of(words, "--grid", plan)
    for words in ("0", "1", "fine"):
        with pytest.raises(SiteError, match="--round"):
            rounding_of(words, "m")
    assert rounding_of('1/8"', "ft") == pytest.approx(INCH / 8)


def test_the_record_reduces_back_to_the_design(found):
    told = stakes_record(found, "m", 1e-3)
    assert told["schema"] == "fallaway/stakes/1"
    for stake in told["areas"][0]["stakes"]:
        for layer in stake["layers"]:
            assert told["hi"] - layer["rod"] == pytest.approx(layer["z"])
            assert abs(told["hi"] - float(layer["rod_text"]) - layer["z"]) <= 5e-4 + 1e-9


def test_a_yard_without_a_house_is_set_out_along_its_grid(tmp_path):
    root = folder(tmp_path / "a", area=GIVEN)
    text = (root / "site.toml").read_text(encoding="utf-8")
    start, end = text.index("[house]"), text.index("[[area]]")
    (root / "site.toml").write_text(text[:start] + text[end:], encoding="utf-8")
    found = set_out(grading.plan(grading.read_site(root)))
    assert found.references == ()
    for stake in found.areas[0].stakes:
        assert stake.tied.ties == ()
        assert list(found.notes(stake)) == []
        assert np.allclose(found.areas[0].grid.place(np.array([stake.measured]))[0], stake.at)
