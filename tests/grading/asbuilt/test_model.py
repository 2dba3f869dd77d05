"""A layer as it was built: shots at the design are on it, and what is beyond tolerance is told."""

import json
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from make.plans.sampled import sampled
from make.sites.compared import GIVEN, folder
from make.sites.site_folder import LARCH_LANE
from scipy.stats import norm

import grading
from grading.asbuilt.layers import LAYERS, depth_of_layer, layer_named
from grading.asbuilt.model import AsBuilt, BuiltShot, as_built, shots_of_areas
from grading.asbuilt.shots import BuiltShots, read_shots
from grading.asbuilt.words import between_words, lines_of, notes_of
from grading.errors import SiteError
from grading.records.asbuilt import asbuilt_record
from grading.setout.instrument import Instrument
from grading.setout.model import set_out
from viz import cli


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    return folder(tmp_path_factory.mktemp("asbuilt") / "a")


@pytest.fixture(scope="module")
def plan(site):
    return grading.plan(grading.read_site(site))


@pytest.fixture(scope="module")
def designed(plan):
    """The plan by a call: a property tells what it was called with, and a plan is a book."""
    return lambda: plan


SIGHT = Instrument("garden door", 10.10, 1.2, 4.0)


def finish(x, y):
    """The given plane, in words of its own: 10.03 at the wall, falling 3 % from it."""
    return 10.03 - 0.03 * y + 0.0 * x


def built(plan, tmp_path, rows, layer="surface", header="x,y,z", under=None, sight=None):
    path = tmp_path / "shots.csv"
    path.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    shots = read_shots(path, "m", set_out(plan), sight)
    ((area, own),) = shots_of_areas(plan, shots)
    return as_built(plan, area, own, layer, under)


def grid(step=0.5, off=lambda x, y: 0.0, depth=0.0):
    return [
        f"{x:.4f},{y:.4f},{finish(x, y) - depth + off(x, y):.6f}"
        for x in np.arange(-2, 2.01, step)
        for y in np.arange(0, 3.01, step)
    ]


def test_shots_at_the_design_are_on_it_in_every_layer(plan, tmp_path):
    for layer in LAYERS:
        depth = depth_of_layer(plan.areas[0], layer)
        found = built(plan, tmp_path, grid(depth=depth), layer)
        assert max(abs(shot.off) for shot in found.shots) < 1e-6
        assert (found.to_dig, found.to_add) == pytest.approx((0.0, 0.0), abs=1e-5)
        assert not found.failed
        # Errors of reading only add to a volume: what is shown is no less within its bounds.
        assert found.to_dig_within.low <= found.to_dig <= found.to_dig_within.high
        assert found.to_add_within.low <= found.to_add <= found.to_add_within.high
    # Pavers 60 mm, bedding 25 mm, base 150 mm: as the catalogue has them for a site in metres.
    depths = [depth_of_layer(plan.areas[0], layer) for layer in LAYERS]
    assert depths == pytest.approx([0.235, 0.085, 0.060, 0.0])


@settings(max_examples=60)
@given(
    st.sampled_from(LAYERS),
    st.lists(st.tuples(st.floats(-2, 2), st.floats(0, 3)), min_size=1, max_size=12, unique=True),
)
def test_a_shot_at_the_design_is_on_it_wherever_it_lies(designed, layer, places):
    plan = designed()
    depth = depth_of_layer(plan.areas[0], layer)
    xyz = np.array([[x, y, finish(x, y) - depth] for x, y in places])
    count, names = len(places), tuple(str(k) for k in range(len(places)))
    shots = BuiltShots(names, ("",) * count, xyz, np.full(count, np.nan), ("",) * count,
                       ("",) * count, tuple(range(count)), "shots.csv")  # fmt: skip
    found = as_built(plan, plan.areas[0], shots, layer)
    assert max(abs(shot.off) for shot in found.shots) < 1e-9
    assert all(shot.status == "pass" for shot in found.shots)
    assert found.to_dig + found.to_add == pytest.approx(0.0, abs=1e-9)


def test_a_place_that_is_shot_twice_is_one_place(plan, tmp_path):
    """Twice in the file, and once more a hair beside: the board is laid over the middle of them."""
    rows = grid(step=1.0)
    again = [row for row in rows if row.startswith("0.0")]
    found = built(plan, tmp_path, [*rows, *again, "1e-13,1.0000,10.000000"])
    assert len(found.shots) == len(rows) + len(again) + 1
    assert found.straightedge.gap == pytest.approx(0.0, abs=1e-9)


def test_what_is_high_is_dug_and_what_is_low_is_added_in_closed_form(plan, tmp_path):
    high = built(plan, tmp_path, grid(off=lambda x, y: 0.02))
    assert high.to_dig == pytest.approx(0.02 * 12.0, rel=1e-4)
    assert high.to_add == pytest.approx(0.0, abs=1e-9)
    assert high.covered == pytest.approx(1.0)
    # Half a wedge above and half below: 12 m2 times a quarter of 40 mm each.
    tilted = built(plan, tmp_path, grid(off=lambda x, y: 0.02 * x / 2))
    assert tilted.to_dig == pytest.approx(12.0 * 0.02 / 4, rel=1e-3)
    assert tilted.to_add == pytest.approx(12.0 * 0.02 / 4, rel=1e-3)


def test_the_worst_shot_comes_first_and_beyond_tolerance_it_fails(plan, tmp_path):
    rows = grid()
    rows[5] = f"-2,2.5,{finish(-2, 2.5) - 0.0101:.6f}"  # 10 mm where a site is in metres
    found = built(plan, tmp_path, rows)
    assert found.shots[0].off == pytest.approx(-0.0101, abs=1e-6)
    assert [shot.status for shot in found.shots].count("fail") == 1
    assert found.failed
    rows[5] = f"-2,2.5,{finish(-2, 2.5) - 0.00999:.6f}"
    assert not any(shot.status == "fail" for shot in built(plan, tmp_path, rows).shots)


def test_the_fall_away_is_shown_where_shots_show_it(plan, tmp_path):
    found = built(plan, tmp_path, grid())
    (wall,) = found.walls
    assert (wall.verdict, wall.fall) == ("shown", pytest.approx(0.03, abs=1e-5))
    assert wall.design == pytest.approx(0.03)
    flat = built(plan, tmp_path, grid(off=lambda x, y: 0.015 * y))
    assert flat.walls[0].verdict == "shown to fail"
    assert flat.walls[0].fall == pytest.approx(0.015, abs=1e-5)
    assert flat.failed
    few = built(plan, tmp_path, grid(step=2.0)[:4])
    assert (few.walls[0].verdict, few.walls[0].fall) == ("not shown", None)


def test_more_shots_are_asked_for_by_how_far_the_interval_must_narrow(plan, tmp_path):
    rng = np.random.default_rng(2)
    # Built at 2.2 %, read to 6 mm: ten shots leave it open.
    rough = grid(step=1.0, off=lambda x, y: 0.008 * y + rng.normal(0, 0.006))[::2]
    (wall,) = built(plan, tmp_path, rough).walls
    assert wall.verdict == "not shown"
    half = (wall.high - wall.low) / 2
    if wall.fall > 0.02:
        narrow = half * np.sqrt(wall.shots / (wall.shots + wall.more))
        assert wall.fall - narrow >= 0.02 - 1e-4
        assert wall.more >= 1


def test_one_wrong_shot_does_not_fail_a_wall_and_is_named(plan, tmp_path):
    rng = np.random.default_rng(3)
    rows = grid(step=1.5, off=lambda x, y: rng.normal(0, 0.001))
    parts = rows[3].split(",")
    rows[3] = f"{parts[0]},{parts[1]},{float(parts[2]) + 0.3048:.4f}"
    (wall,) = built(plan, tmp_path, rows).walls
    assert wall.shots < 12
    assert wall.odd[0] == "line 5"
    assert abs(wall.fall - 0.03) < 0.005
    assert abs(wall.plain - 0.03) > abs(wall.fall - 0.03)


def test_the_plane_as_built_is_told_beside_the_one_designed(plan, tmp_path):
    found = built(plan, tmp_path, grid(off=lambda x, y: 0.005 + 0.01 * x))
    (plane,) = found.planes
    assert plane.design_fall == pytest.approx(0.03)
    assert plane.fall == pytest.approx(np.hypot(0.03, 0.01), abs=1e-5)
    # Downhill is away from the wall, and turned towards -x by a third.
    assert plane.bearing == pytest.approx((360 - np.degrees(np.arctan(1 / 3))) % 360, abs=0.05)
    assert plane.offset == pytest.approx(0.005, abs=1e-6)


def test_thickness_is_the_difference_of_two_surfaces_and_held_to_its_tolerance(plan, tmp_path):
    path = tmp_path / "subgrade.csv"
    depth = depth_of_layer(plan.areas[0], "subgrade")
    rows = grid(step=1.0, off=lambda x, y: -0.0103, depth=depth)
    path.write_text("\n".join(["x,y,z", *rows]), encoding="utf-8")
    under = read_shots(path, "m", set_out(plan), None)
    top = depth_of_layer(plan.areas[0], "base")
    found = built(plan, tmp_path, grid(step=1.0, depth=top), "base", under=under)
    thick = found.thickness
    assert (thick.least, thick.design) == pytest.approx((0.150 + 0.0103, 0.150), abs=1e-6)
    assert thick.status == "pass"  # 3/4 in more is allowed
    low = built(
        plan, tmp_path, grid(step=1.0, off=lambda x, y: -0.0243, depth=top), "base", under=under
    )
    assert low.thickness.status == "fail"  # 14 mm thinner than the design, 1/2 in allowed


def test_a_thickness_at_its_tolerance_is_not_thin_by_the_rounding_of_its_rods(plan, tmp_path):
    """150 mm of base laid 12 mm thin, of 12.7 mm allowed, over a subgrade whose rods were read to
    5 mm: by these it seems to be 14 mm thin, and 3 mm of that may be rounding."""
    path = tmp_path / "subgrade.csv"
    path.write_text("x,y,z\n0,0,9.795\n1,0,9.79\n1,1,9.76\n", encoding="utf-8")
    under = read_shots(path, "m", set_out(plan), None)
    rows = ["0,0,9.931", "1,0,9.931", "1,1,9.901"]
    thick = built(plan, tmp_path, rows, "base", under=under).thickness
    assert (thick.least, thick.status) == (pytest.approx(0.136), "pass")
    rows[0] = "0,0,9.928"
    assert built(plan, tmp_path, rows, "base", under=under).thickness.status == "fail"


def test_rods_in_sixteenths_of_a_fall_at_its_limit_fail_nothing(plan, tmp_path):
    """From the file to the verdict: 2 % at 1.5 m and 3 m, and 1.5 %, in feet and inches."""

    def told(fall):
        rows = []
        for x in (-2, -1, 0, 1, 2):
            for y in (0, 1.5, 3):
                whole, part = divmod(round((1.27 + fall * y) / 0.0254 * 16), 16)
                rows.append(f'"{x}","{y}","{whole} {part}/16 in"')
        return built(plan, tmp_path, rows, header="x,y,rod", sight=SIGHT)

    found = told(0.02)
    assert found.graduation == pytest.approx(0.0254 / 16)
    assert found.walls[0].high >= 0.02
    assert found.walls[0].verdict == "not shown"
    assert told(0.015).walls[0].verdict == "shown to fail"


@settings(max_examples=60)
@given(st.floats(-0.03, 0.03), st.floats(0.001, 0.01), st.integers(5, 40), st.integers(0, 10**6))
def test_the_share_within_tolerance_is_between_none_and_all(plan, mean, spread, count, seed):
    off = np.random.default_rng(seed).normal(mean, spread, count)
    shots = tuple(BuiltShot("", (0, 0), float(z), 0.0, "pass") for z in off)
    found = AsBuilt(plan, plan.areas[0], "surface", shots, 0.0095, "built-surface", (), None, (),
                    0.0, 0.0, None, None, 1.0, None)  # fmt: skip
    assert -1e-9 <= found.share_within <= 1 + 1e-9


def test_the_share_within_tolerance_is_right_on_average(plan):
    # The beta form estimates the share of a normal population without bias, whatever its spread.
    rng = np.random.default_rng(9)
    for mean, spread in ((0.0, 0.006), (0.004, 0.005)):
        told = []
        for _ in range(1500):
            off = rng.normal(mean, spread, 7)
            shots = tuple(BuiltShot("", (0, 0), float(z), 0.0, "pass") for z in off)
            made = AsBuilt(plan, plan.areas[0], "surface", shots, 0.0095, "built-surface", (),
                           None, (), 0.0, 0.0, None, None, 1.0, None)  # fmt: skip
            told.append(made.share_within)
        true = norm.cdf((0.0095 - mean) / spread) - norm.cdf((-0.0095 - mean) / spread)
        assert np.mean(told) == pytest.approx(true, abs=0.012)


def test_what_is_left_to_add_lies_within_its_interval(plan, tmp_path):
    # Paving 10 mm low on average, with waves that shots every metre do not see.
    def waves(x, y):
        return -0.010 + 0.006 * np.sin(2.3 * x + 1) * np.cos(1.9 * y)

    fine = np.linspace(-2, 2, 201)[:-1] + 0.01
    out = np.linspace(0, 3, 151)[:-1] + 0.01
    x, y = np.meshgrid(fine, out)
    true = float(np.maximum(-waves(x, y), 0).mean() * 12.0)
    found = built(plan, tmp_path, grid(step=1.0, off=waves))
    bounds = found.to_add_within
    assert bounds.low <= true <= bounds.high
    assert bounds.low <= found.to_add <= bounds.high
    closer = built(plan, tmp_path, grid(step=0.5, off=waves)).to_add_within
    assert closer.high - closer.low < bounds.high - bounds.low
    assert built(plan, tmp_path, grid(step=2.0)[:4]).to_add_within is None


def test_the_foot_that_falls_least_is_told_apart_from_the_plane(plan, tmp_path):
    def dip(x, y):  # level for half a metre in the middle of the strip, steeper beyond it
        return 0.03 * np.clip(y - 1.0, 0.0, 0.5)

    (wall,) = built(plan, tmp_path, grid(step=0.5, off=dip)).walls
    assert wall.foot.fall < wall.fall / 2
    assert 1.0 - 0.31 <= wall.foot.at[1] <= 1.5
    assert wall.foot.within.low <= 0.0 <= wall.foot.within.high
    (even,) = built(plan, tmp_path, grid(step=0.5)).walls
    assert even.foot.fall == pytest.approx(0.03, abs=1e-4)


def test_what_runs_back_to_the_house_is_said_to_and_no_fall_has_a_minus(plan, tmp_path):
    back = built(plan, tmp_path, grid(step=0.5, off=lambda x, y: 0.04 * y))
    assert back.straightedge.long == 3.0
    told = [*(words for _, words in lines_of(back, "m")), *notes_of(back, "m")]
    assert any("1.0 % (10 mm/m) back to the house" in words for words in told)
    assert any("falls least falls 1.0 % back to the house (" in words for words in told)
    assert not any(re.search(r"-\d", words) for words in told)
    level = built(plan, tmp_path, grid(step=0.5, off=lambda x, y: 0.03 * y))
    assert not any("back" in words for words in notes_of(level, "m") if "least squares" in words)


def test_of_several_areas_each_line_says_which_it_is_of(tmp_path):
    """A sign-off lists the lines of all areas: both lie before the same wall."""
    plan = sampled(LARCH_LANE.name)
    rows = []
    for area in plan.areas:
        corners = np.array(area.outline.exterior.coords)[:-1]
        levels = area.finish.surface.at(corners)
        rows += [f"{x:.4f},{y:.4f},{z:.6f}" for x, y, z in np.column_stack([corners, levels])]
    path = tmp_path / "shots.csv"
    path.write_text("\n".join(["x,y,z", *rows]) + "\n", encoding="utf-8")
    shots = shots_of_areas(plan, read_shots(path, "m", set_out(plan), None))
    said = [words for area, own in shots
            for _, words in lines_of(as_built(plan, area, own, "surface"), "m")]  # fmt: skip
    assert len(said) == len(set(said))
    assert all("court" in words or "walk" in words for words in said)


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (0.018, 0.022, "1.8 % to 2.2 %"), (-0.008, -0.002, "0.8 % to 0.2 % back to the house"),
        (-0.003, 0.001, "0.3 % back to the house to 0.1 % away from it"),
        (-0.0002, 0.001, "0.0 % to 0.1 %"),
    ],
)  # fmt: skip
def test_falls_between_which_one_lies_say_on_which_side_of_level(low, high, words):
    assert between_words(low, high) == f"{words} in nine cases of ten"


def test_rods_at_stakes_are_read_back_from_what_was_staked_out(plan, tmp_path):
    (area,) = set_out(plan).areas
    rows = [
        f"{stake.name},{SIGHT.at(stake.layers[-1].z):.4f}" for stake in area.stakes if stake.layers
    ]
    found = built(plan, tmp_path, rows, header="stake,rod", sight=SIGHT)
    assert {shot.name for shot in found.shots} == {s.name for s in area.stakes if s.layers}
    assert max(abs(shot.off) for shot in found.shots) < 1e-4


def test_words_are_the_worst_first_and_numbers_are_those_of_the_record(plan, tmp_path):
    rows = grid()
    rows[5] = f"-2,2.5,{finish(-2, 2.5) - 0.02:.6f}"
    found = built(plan, tmp_path, rows)
    said = list(lines_of(found, "m"))
    assert said[0] == (
        "fail",
        "The finished surface of terrace: 1 of 63 shots beyond the 10 mm allowed, the worst at "
        "line 7, 20 mm low",
    )
    assert any("plane as built" in line for line in notes_of(found, "m"))
    told = json.loads(json.dumps(asbuilt_record((found,)), allow_nan=False))
    assert told["schema"] == "fallaway/verify/1"
    assert told["failed"] is True
    assert told["areas"][0]["shots"][0]["off"] == pytest.approx(-0.02, abs=1e-6)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "where each shot is"),
        ("x,y\n0,1\n", "how high"),
        ("z\n10\n", "where each shot is"),
        ("stake,rod\na,1.2\n", "rods without an instrument"),
        ("stake,z\nzz,10\n", '"zz"'),
        ("stake,z,area\na,10,deck\n", '"deck"'),
        ("x,y,z\n0,40,10\n", "off the hole"),
        ("x,y,z\n0,high,10\n", "line 2, column y"),
    ],
)
def test_shots_that_cannot_be_used_are_refused_with_their_line(site, tmp_path, capsys, text, words):
    path = tmp_path / "shots.csv"
    path.write_text(text, encoding="utf-8")
    assert cli.main(["verify", str(site), str(path), "--layer", "surface"]) == 2
    assert words in capsys.readouterr().err


def test_a_layer_that_is_none_and_a_file_that_is_not_there_are_refused(site, tmp_path, capsys):
    assert cli.main(["verify", str(site), str(tmp_path / "no.csv"), "--layer", "base"]) == 2
    assert "no such file" in capsys.readouterr().err
    with pytest.raises(SiteError, match="surfce"):
        layer_named("surfce")
    panel = GIVEN.replace("dense", "panel")
    other = folder(tmp_path / "b", area=panel)
    path = tmp_path / "shots.csv"
    path.write_text("x,y,z\n0,1,10\n", encoding="utf-8")
    assert cli.main(["verify", str(other), str(path), "--layer", "base"]) == 2
    assert "panel base has not" in capsys.readouterr().err


def test_the_command_exits_with_one_where_something_fails(site, tmp_path, capsys):
    path = tmp_path / "shots.csv"
    path.write_text("\n".join(["x,y,z", *grid()]), encoding="utf-8")
    assert cli.main(["verify", str(site), str(path), "--layer", "surface"]) == 0
    path.write_text("\n".join(["x,y,z", *grid(off=lambda x, y: 0.05)]), encoding="utf-8")
    assert cli.main(["verify", str(site), str(path), "--layer", "surface", "--json"]) == 1
    printed = capsys.readouterr().out
    assert json.loads(printed[printed.index("\n{") :])["failed"] is True
