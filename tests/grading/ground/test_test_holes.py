"""Test holes tell of an area of their own, and one deep hole among shallow ones is one place."""

from itertools import pairwise

import numpy as np
import pytest
import shapely
from make.plans.advised import AT_THE_WALL, advised, patio, planned, rules
from make.sites.site_folder import HEAD

from grading.catalogue.rules import RULES, Limits
from grading.conditions.deep_topsoil import deep_topsoil
from grading.errors import SiteError
from grading.pipeline import plan as plan_of
from grading.reading.site_file import read_site
from grading.site.model import GroundSpec
from grading.units import INCH

WALK = {
    "name": "walk",
    "use": "walkway",
    "outline": [[9, 1], [11, 1], [11, 2.5], [9, 2.5]],
    "base": "panel",
    "plane": {**AT_THE_WALL, "at": [9, 0]},
}
BESIDE = [[3, 1], [7, 1], [5, 2.5], [3, 4], [7, 4]]
"""Five holes in the patio of 8 m by 5 m."""
ALONG = [[9.6, 1.7], [10.6, 1.7]]
"""Two in the walk beside it."""


def holes(places, depths):
    return np.column_stack([places, depths])


def yard(patio_depths, walk_depths, named=(), **kwargs):
    probes = np.concatenate([holes(BESIDE, patio_depths), holes(ALONG, walk_depths)])
    ground = GroundSpec(soil="clay", probes=probes, hole_areas=named)
    return planned([patio(), WALK], ground=ground, **kwargs)


def test_holes_of_a_walk_do_not_move_the_dig_of_the_patio_beside_it():
    """Common practice, no source."""
    shallow, deep = (yard([0.1] * 5, [depth] * 2) for depth in (0.1, 0.23))
    for name in ("dense", "open", "panel"):
        one, other = (each.areas[0].digs[name] for each in (shallow, deep))
        assert (one.cut, one.fill, one.refill_share) == (other.cut, other.fill, other.refill_share)
    one, other = (each.areas[1].digs["panel"] for each in (shallow, deep))
    assert other.fill > one.fill + 0.3  # 3 m2 of walk and its over-dig, 0.13 m deeper
    # Nor what is told of it, or drawn in it.
    one, other = (each.advice.area("patio") for each in (shallow, deep))
    assert one.base.of("panel").reasons == other.base.of("panel").reasons
    inside = np.array([[2.0, 0.5], [8.5, 4.5]])
    assert deep.ground.under("patio").organics_at(inside) == pytest.approx(0.1)
    assert deep.ground.under("walk").organics_at(np.array([[11.0, 2.0]])) == pytest.approx(0.23)


def test_a_hole_more_in_the_walk_leaves_the_patio_as_it_is():
    probes = holes([*BESIDE, *ALONG], [0.1, 0.12, 0.2, 0.1, 0.15, 0.1, 0.1])
    more = np.concatenate([probes, [[9.2, 1.2, 0.4], [9.05, 2.0, 0.3], [10.5, 2.2, 0.3]]])
    one, other = (
        planned([patio(), WALK], ground=GroundSpec(probes=each)).areas[0].digs["panel"]
        for each in (probes, more)
    )
    assert (one.cut, one.fill) == (other.cut, other.fill)


def test_a_hole_belongs_to_the_area_that_it_names():
    """The two of the walk are said to be the patio's: they count there, and not in the walk."""
    named = ("",) * 5 + ("patio",) * 2
    plan = yard([0.1] * 5, [0.3, 0.3], named)
    assert plan.ground.under("patio").organics_at(np.array([[8.9, 1.7]])) > 0.15
    (said,) = [one for one in plan.checks if (one.rule, one.area) == ("test-holes", "walk")]
    assert said.status == "unknown"
    assert "no test hole is its own" in said.text
    assert "those of patio" in said.text
    assert "100 mm to 300 mm" in said.text


def test_a_hole_on_an_edge_that_two_share_is_both():
    probes = holes([[9, 1.7], [5, 2.5], [10.6, 1.7]], [0.2, 0.1, 0.1])
    plan = planned([patio(), WALK], ground=GroundSpec(probes=probes))
    for name in ("patio", "walk"):
        at_edge = plan.ground.under(name).organics_at(np.array([[9.0, 1.7]]))
        assert at_edge == pytest.approx(0.2)


def test_holes_of_the_yard_tell_of_areas_without_one_alone():
    probes = holes([[5, 2.5], [4, 7], [9, 7]], [0.1, 0.2, 0.2])
    ground = GroundSpec(probes=probes, hole_areas=("", "yard", "yard"))
    plan = planned([patio(), WALK], ground=ground)
    assert plan.areas[0].chosen_dig.clip.organics == pytest.approx(0.1)
    assert plan.areas[1].chosen_dig.clip.organics == pytest.approx(0.2)
    told = {one.area: one for one in plan.checks if one.rule == "test-holes"}
    assert told["patio"].status == "pass"
    assert told["patio"].text == "topsoil as 1 test hole of its own found it: 100 mm"
    assert "those of the yard" in told["walk"].text


def test_one_depth_for_the_whole_site_asks_for_no_holes():
    plan = planned(ground=GroundSpec(organics=0.1))
    assert not [one for one in plan.checks if one.rule == "test-holes"]


SITE = (
    HEAD
    + """
[ground]
organics = "holes.csv"
[[area]]
name = "patio"
outline = [[2, 0], [16, 0], [16, 18], [2, 18]]
[[area]]
name = "walk"
outline = [[18, 2], [28, 2], [28, 6], [18, 6]]
"""
)
SPOTS = "x,y,z\n0,0,100\n30,0,100.1\n30,20,99.4\n0,20,99.3\n15,10,99.7\n"


def read(folder, rows, header="x,y,depth,area", site=SITE):
    (folder / "site.toml").write_text(site)
    (folder / "spots.csv").write_text(SPOTS)
    (folder / "holes.csv").write_text("\n".join([header, *rows]) + "\n")
    return read_site(folder)


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (
            "25,12,4 in,",
            "holes.csv, line 3: found a test hole at [25, 12] that names no area, 6' 0\" from any, "
            "expected a hole in an area or within 3' 0\" of it, or a column area that says what it "
            'tells of. Write the name of its area in the column area, or "yard" where it tells of '
            "the ground around alone.",
        ),
        (
            "25,4,4 in,wlak",
            'holes.csv, line 3, column area: found "wlak", expected the name of an area: "patio", '
            '"walk"; or "yard". Did you mean `walk`?',
        ),
        (
            "25,4,4 in,patio",
            'holes.csv, line 3, column area: found "patio" of a test hole at [25, 4], which lies '
            'in "walk", 9\' 0" from patio, expected the area that a hole lies in. Correct its '
            "place or its area.",
        ),
        (
            "25,4,4 in,none",
            'found "none", expected the name of an area: "patio", "walk"; or "yard"',
        ),
    ],
)
def test_a_test_hole_of_no_area_is_refused_with_a_sentence(tmp_path, row, says):
    with pytest.raises(SiteError) as refused:
        read(tmp_path, ["5,5,4 in,patio", row])
    (said,) = map(str, refused.value.problems)
    assert says in said


@pytest.mark.parametrize(
    "row", ["25,4,4 in,walk", "25,4,4 in,", "17,9,4 in,", "25,12,4 in,yard", "25,12,4 in, walk "]
)
def test_a_hole_in_or_beside_an_area_or_of_the_yard_is_read(tmp_path, row):
    site = read(tmp_path, ["5,5,4 in,patio", row])
    assert len(site.ground.probes) == 2
    assert plan_of(site).areas


def test_holes_need_no_column_where_their_place_tells(tmp_path):
    site = read(tmp_path, ["5,5,4 in", "25,4,9 in"], header="x,y,depth")
    plan = plan_of(site)
    assert plan.areas[0].chosen_dig.clip.organics.max() == pytest.approx(4 * INCH)
    assert plan.areas[1].chosen_dig.clip.organics.min() == pytest.approx(9 * INCH)


def test_a_site_says_itself_how_far_beside_an_area_a_hole_is_its_own(tmp_path):
    site = SITE + '[limits]\nhole-reach = "7 ft"\n'
    assert read(tmp_path, ["5,5,4 in", "25,12,9 in"], "x,y,depth", site).ground.probes is not None
    near = SITE + '[limits]\nhole-reach = "6 in"\n'
    with pytest.raises(SiteError):
        read(tmp_path, ["5,5,4 in", "17,9,9 in"], "x,y,depth", near)


# ---------------------------------------------------------------- one deep hole


def stump(deep, **kwargs):
    depths = [0.08, 0.1, deep, 0.1, 0.09]
    ground = GroundSpec(soil="clay", probes=holes(BESIDE, depths))
    return planned([patio(**kwargs.pop("area", {}))], ground=ground, **kwargs)


@pytest.mark.parametrize("deep", [0.2, 0.36, 0.6])
@pytest.mark.parametrize("base", ["panel", "dense"])
def test_one_deep_hole_among_shallow_ones_is_local_and_told_with_its_refill(deep, base):
    """Common practice, no source: a stump is dug out by itself, and stone fills its hole."""
    plan = stump(deep, area={"base": base})
    advice = plan.advice
    assert "panel-organics" not in rules(advice, "panel")
    assert "open-organics" not in rules(advice, "open")
    (local,) = [
        one
        for one in advice.area("patio").base.of("panel").reasons
        if one.rule == "panel-organics-local"
    ]
    told = f"at one test hole of 5 alone ({1000 * deep:.0f} mm deep, 6 m from the left end of wall"
    assert told in local.text
    (check,) = [one for one in plan.checks if one.rule == "organics"]
    assert told in check.text
    assert "within the dig" not in check.text
    dig = plan.areas[0].chosen_dig
    goes_below = deep > 0.1 + dig.build_up  # the finish lies 0.1 m above the ground at the most
    if goes_below or base == "panel":
        assert "refilled with" in check.text
        assert check.status == "warn"


def test_what_fills_the_hole_of_a_stump_is_a_frustum():
    """Closed form: a frustum of sixteen sides, rising one to one, below a patio dug less deep.

    The paving lies with the ground, so that all of it below the build-up is the hole's.
    """
    deep, level = 0.6, 30.0
    probes = holes(BESIDE, [0.05, 0.05, deep, 0.05, 0.05])
    plane = {"at": [1, 0], "z": level, "fall": "0 %", "bearing": 0}
    plan = planned(
        [patio(base="panel", plane=plane)],
        height=lambda x, y: level + 0 * x,
        ground=GroundSpec(soil="clay", probes=probes),
        limits={"deep-organics": 0.05},
    )
    dig = plan.areas[0].chosen_dig
    reach, usual = RULES["lone-hole-reach"].limit, 0.05
    outer = reach + deep - usual
    # Below the build-up the side has come in by as much.
    top = outer - (dig.build_up - usual)
    sixteen = 8 * np.sin(np.pi / 8)  # area of a sixteen-sided ring of radius 1
    high = deep - dig.build_up
    frustum = sixteen * high / 3 * (top**2 + top * reach + reach**2)
    assert dig.fill == pytest.approx(frustum, rel=0.01)


def test_a_second_deep_hole_is_no_stump():
    depths = [0.1, 0.1, 0.3, 0.3, 0.1]
    advice = advised([patio()], ground=GroundSpec(soil="clay", probes=holes(BESIDE, depths)))
    assert "panel-organics" in rules(advice, "panel")


@pytest.mark.parametrize("count", [1, 2])
def test_of_one_or_two_holes_none_is_a_stump(count):
    probes = holes(BESIDE[:count], [0.3, 0.1][:count])
    advice = advised([patio()], ground=GroundSpec(soil="clay", probes=probes))
    assert "panel-organics" in rules(advice, "panel")


def test_a_deeper_stump_never_means_less_dig():
    """Also where it comes to count as one: no leap down when it passes the threshold."""
    limit = RULES["deep-organics"].limit
    depths = [0.05, 0.12, limit - 1e-4, limit + 1e-4, 0.14, 0.2, 0.4, 0.8]
    digs = [stump(depth).areas[0].digs["panel"] for depth in depths]
    cuts, fills = [dig.cut for dig in digs], [dig.fill for dig in digs]
    assert all(b > a - 1e-4 for cut in (cuts, fills) for a, b in pairwise(cut))
    assert cuts[3] == pytest.approx(cuts[2], abs=0.03)  # a disc of 1.2 m2, 25 mm deeper


def test_a_patio_over_a_stump_stays_on_panels():
    """Common practice, no source. An outside route to its share: points, not triangles."""
    plan = stump(0.4, area={"base": None})
    assert plan.advice.area("patio").base.advised.option.name == "panel"
    x, y = np.meshgrid(np.arange(1.01, 9, 0.02), np.arange(0.01, 5, 0.02))
    points = np.column_stack([x.ravel(), y.ravel()])
    depth = plan.ground.under("patio").organics_at(points)
    middle = shapely.Point(5, 2.5)
    far = shapely.distance(middle, shapely.points(points))
    assert depth[far < RULES["lone-hole-reach"].limit * 0.96].min() == pytest.approx(0.4)
    assert (
        depth[far > RULES["lone-hole-reach"].limit + 0.4].max()
        < RULES["deep-organics"].limit + 0.02
    )


def test_topsoil_a_little_below_the_subgrade_is_not_told_as_within_the_dig():
    """A narrow place of it, less than is worth a warning: the subgrade lies 0.1 m less deep."""
    places = [*BESIDE, [1.2, 0.2]]
    dense = planned([patio(base="dense")]).areas[0].chosen_dig.build_up
    probes = holes(places, [0.05, 0.05, 0.05, 0.05, 0.05, dense - 0.05])
    limits = {"deep-organics": 0.5}  # so that it is no deep hole
    plan = planned([patio(base="dense")], ground=GroundSpec(probes=probes), limits=limits)
    dig = plan.areas[0].chosen_dig
    assert 0 < dig.refill_share < 0.05
    (check,) = [one for one in plan.checks if one.rule == "organics"]
    assert "within the dig" not in check.text
    assert "of the hole alone: dug to their bottom there and refilled" in check.text


# ---------------------------------------------------------------- deep all over


BANK = {"kind": "drain", "name": "pipe mouth", "at": [5, 8], "z": 28.5}


def test_over_the_threshold_open_graded_with_its_outlet_is_advised():
    """Common practice, no source."""
    ground = GroundSpec(soil="clay", organics=0.2)
    area = advised([patio(base=None)], ground=ground, outfalls=[BANK]).area("patio")
    assert area.base.advised.option.name == "open"
    texts = [one.text for one in area.base.advised.reasons]
    assert any("clean stone fills the hole in any weather" in text for text in texts)
    assert any("underdrain to pipe mouth" in text for text in texts)


def test_without_an_outlet_the_advice_says_what_it_would_be_with_one():
    """Published: stone beside a foundation wants an outlet. The rest is common practice."""
    ground = GroundSpec(soil="clay", organics=0.2)
    area = advised([patio(base=None)], ground=ground).area("patio")
    assert area.base.advised.option.name == "dense"
    (said,) = [one for one in area.base.advised.reasons if one.rule == "dense-organics-no-outlet"]
    assert "filled with clean stone where its water can be led away" in said.text
    assert said.change.endswith("then open-graded stone")


def test_the_threshold_is_the_sites_own_where_it_says_one():
    ground = GroundSpec(soil="clay", probes=holes(BESIDE, [0.14] * 5))
    assert "panel-organics" in rules(advised([patio()], ground=ground), "panel")
    mine = advised([patio()], ground=ground, limits={"deep-organics": 6 * INCH})
    assert "panel-organics" not in rules(mine, "panel")


def test_little_refill_is_told_as_little_and_none_as_none():
    told = {}
    for unit in ("ft", "m"):
        # The finish lies 70 mm under the ground: the build-up is dug 175 mm deep at the wall.
        plane = {**AT_THE_WALL, "z": 29.93}
        for deep in (0.15, 0.178, 0.19):
            plan = stump(deep, area={"base": "panel", "plane": plane})
            area = plan.areas[0]
            found = deep_topsoil(area, Limits({}), plan.places)
            told[deep, unit] = found.refill_words(area, area.chosen_dig, unit)
    for unit, least in (("ft", "0.1 yd³"), ("m", "0.01 m³")):
        assert told[0.15, unit] == "the build-up is dug as deep there"
        assert told[0.178, unit].endswith(f"refilled with less than {least} of stone")
        assert "less than" not in told[0.19, "m"]


def test_a_section_shows_the_topsoil_of_each_area_that_it_crosses():
    from grading.section.through import bottom_of_organics
    from viz.drawings.section.sheet import section_sheet
    from viz.paper.page import page_for

    plan = yard([0.1] * 5, [0.23] * 2)
    line = shapely.LineString([[1.5, 1.7], [10.9, 1.7]])
    for area in plan.areas:
        s, z = bottom_of_organics(plan, area, line).T
        assert (np.diff(s) >= 0).all()
        ground = np.array([plan.ground.elevation(np.array([[1.5 + at, 1.7]]))[0] for at in s])
        depth = ground - z
        assert depth[(s > 0.01) & (s < 7.5)] == pytest.approx(0.1)
        assert depth[(s > 7.501) & (s < 9.39)] == pytest.approx(0.23)
        assert section_sheet(plan, area, "across", page_for("m")).title
