"""The ground that is found in scans of invented yards."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.sites.scans import Yard

from grading.errors import SiteError
from grading.survey.sources.model import ScanFile
from grading.survey.sources.registration import Common, register
from grading.survey.sources.scans import spool as spool_module
from grading.survey.sources.scans import streamed as scan_module
from grading.survey.sources.scans.nodes import LEAST_SD
from grading.survey.sources.scans.spool import ahead
from grading.survey.sources.scans.streamed import scanned_ground

YARD = Yard(15, 10)
METRES = (1.0, 1.0)


def of(xyz, chunk=70_000, unit=METRES):
    def chunks():
        for start in range(0, len(xyz), chunk):
            yield xyz[start : start + chunk].astype(float), min(start + chunk, len(xyz)) / len(xyz)

    return ScanFile("scan", "test", None, len(xyz), chunks), unit


def ground(xyz, **more):
    return scanned_ground([of(xyz)], "m", **more)


@pytest.fixture(scope="module")
def scanned():
    return YARD.scan(500_000)  # as dense as two millions over 600 m2


def test_grass_bushes_and_strays_leave_the_ground(scanned):
    """Bias under 3 mm and rms under 6 mm on 25 cm nodes: 6 mm noise, 80 % grass on a third."""
    found = ground(scanned)
    off = YARD.off(found.xyz)
    assert abs(off.mean()) < 3e-3
    assert np.sqrt((off**2).mean()) < 6e-3
    assert len(off) > 0.8 * 15 * 10 * 16
    # What is thinner by twelve times has fewer nodes, and these as good.
    thin = ground(Yard().scan(200_000))
    off = Yard().off(thin.xyz)
    assert abs(off.mean()) < 3e-3
    assert np.sqrt((off**2).mean()) < 6e-3


def test_the_lowest_points_would_be_far_too_low(scanned):
    """What the fixture asks: the lowest point of each node is off by more than the bar."""
    node = np.floor(scanned[:, :2] / 0.25).astype(int)
    flat = node[:, 0] * 1000 + node[:, 1]
    order = np.lexsort((scanned[:, 2], flat))
    first = order[np.r_[True, np.diff(flat[order]) != 0]]
    off = YARD.off(scanned[first])
    assert off.mean() < -0.01
    assert np.sqrt((off**2).mean()) > 0.02


def test_steeper_yards_and_other_noise():
    """A fall of 12 %, and scanners that scatter by 3 to 12 mm."""
    others = [Yard(10, 10, noise=noise) for noise in (0.003, 0.009, 0.012)]
    for yard in (Yard(10, 10, fall=0.12), *others):
        off = yard.off(ground(yard.scan(300_000)).xyz)
        assert abs(off.mean()) < 3e-3
        assert np.sqrt((off**2).mean()) < 6e-3


def test_terraces_stay_and_a_roof_goes():
    """A step of 0.6 m along the yard is ground; a flat roof 3 m up is not."""
    rng = np.random.default_rng(3)
    xy = rng.uniform(0, 16, (400_000, 2))
    z = np.where(xy[:, 1] > 10, 0.6, 0.0) + rng.normal(0, 0.005, len(xy))
    roof = (np.abs(xy[:, 0] - 5) < 4) & (np.abs(xy[:, 1] - 5) < 3)
    z[roof] += 3.0
    found = ground(np.column_stack([xy, z])).xyz
    over = (np.abs(found[:, 0] - 5) < 3.8) & (np.abs(found[:, 1] - 5) < 2.8)
    assert over.sum() == 0
    above = found[found[:, 1] > 10.3]
    assert len(above) > 1300
    np.testing.assert_allclose(above[:, 2], 0.6, atol=0.01)


def test_nodes_without_ground_stay_empty():
    """Under a bush that hides the soil nothing is made up; nor where nobody scanned."""
    rng = np.random.default_rng(3)
    xy = rng.uniform(0, 8, (200_000, 2))
    xy = xy[(xy[:, 0] < 3) | (xy[:, 0] > 4)]
    z = rng.normal(0, 0.005, len(xy))
    hidden = np.hypot(xy[:, 0] - 6, xy[:, 1] - 4) < 1
    z[hidden] += rng.uniform(0.4, 1.0, hidden.sum())
    found = ground(np.column_stack([xy, z])).xyz
    assert not (np.hypot(found[:, 0] - 6, found[:, 1] - 4) < 0.8).any()
    assert not ((found[:, 0] > 3.2) & (found[:, 0] < 3.8)).any()


def test_points_that_are_there_many_times_are_thinned(scanned):
    """Doubled, and doubled with a jitter of a third of a millimetre: the same ground, as sure."""
    once = ground(scanned)
    twice = ground(np.concatenate([scanned, scanned]))
    both = np.intersect1d(*(keys(each.xyz) for each in (once, twice)), return_indices=True)
    assert len(both[0]) > 0.99 * len(once.xyz)
    np.testing.assert_allclose(once.xyz[both[1], 2], twice.xyz[both[2], 2], atol=5e-4)
    assert np.median(twice.sd_z) >= np.median(once.sd_z) - 1e-5
    jitter = np.random.default_rng(1).uniform(-3e-4, 3e-4, scanned.shape)
    ground(np.concatenate([scanned, scanned + jitter]))


def keys(xyz):
    return (xyz[:, :2] / 0.25 * 2).round().astype(int) @ [100_000, 1]


def test_the_standard_deviation_covers_what_it_says(scanned):
    found = ground(scanned)
    clear = found.xyz[:, 0] > 5.5
    off = np.abs(found.xyz[:, 2] - YARD.z(*found.xyz[:, :2].T))[clear]
    assert (off < 2 * found.sd_z[clear]).mean() > 0.85
    assert found.sd_z.min() >= LEAST_SD


def test_the_way_it_is_streamed_changes_nothing(scanned):
    whole = scanned_ground([of(scanned, 1_000_000)], "m")
    parts = scanned_ground([of(scanned, 33_333)], "m")
    np.testing.assert_allclose(whole.xyz, parts.xyz, atol=2e-5)


def test_two_scans_of_one_frame_are_one(scanned):
    halves = scanned_ground(
        [of(scanned[:250_000]), of(scanned[250_000:] / 0.3048, unit=(0.3048,) * 2)], "m"
    )
    np.testing.assert_allclose(halves.xyz, ground(scanned).xyz, atol=2e-4)
    assert halves.read == (250_000, 250_000)


def test_beyond_what_memory_holds_it_goes_to_disk(scanned, monkeypatch):
    before = ground(scanned)
    monkeypatch.setattr(spool_module, "IN_MEMORY", 100_000)
    np.testing.assert_array_equal(before.xyz, ground(scanned).xyz)


def test_a_full_disk_is_told(scanned, monkeypatch):
    def full(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(spool_module, "IN_MEMORY", 100_000)
    monkeypatch.setattr(spool_module.tempfile, "TemporaryFile", full)
    with pytest.raises(SiteError, match="no space left"):
        ground(scanned)


def test_strays_far_away_do_not_make_it_wide(scanned):
    strays = np.array([[4000.0, 30, 2], [-9e8, 5, 0], [60, 70, 1], [np.nan, 1, 1], [1, np.inf, 1]])
    found = ground(np.concatenate([scanned, strays]))
    np.testing.assert_allclose(found.xyz, ground(scanned).xyz, atol=2e-5)
    steps = {step.name: (step.came, step.left) for step in found.steps}
    assert steps["points with numbers"] == (500_005, 500_003)
    assert steps["points by the yard"][1] <= 500_000


def test_far_from_the_origin_nothing_is_lost(scanned):
    """Coordinates of a country, with seven digits before the point."""
    far = np.array([2_000_000.0, 5_000_000.0, 300.0])
    found = ground(scanned + far)
    np.testing.assert_allclose(found.xyz - far, ground(scanned).xyz, atol=2e-4)


def test_it_is_cut_to_what_is_drawn():
    wide = Yard(60, 8)
    found = scanned_ground([of(wide.scan(500_000))], "m", drawn=shapely.box(0, 0, 5, 5))
    assert found.xyz[:, 0].max() < 5 + scan_module.BESIDE + 0.25
    with pytest.raises(SiteError, match="--common"):
        scanned_ground([of(YARD.scan(1000))], "m", drawn=shapely.box(500, 0, 505, 5))


def test_no_ground_is_taken_in_the_house(scanned):
    house = shapely.box(5, -5, 9, 2)
    found = scanned_ground([of(scanned)], "m", house=house)
    assert not shapely.intersects_xy(house, *found.xyz[:, :2].T).any()
    assert found.steps[-1].came > found.steps[-1].left


def test_the_ground_is_carried_on_to_the_walls(scanned):
    """Half a step from the last node, on a plane; and not where nobody scanned."""
    walls = shapely.LineString([(-30, 0), (8.1, 0), (8.1, 2.03), (13, 2.03)])
    house = shapely.Polygon([(-30, 0), (8.1, 0), (8.1, 2.03), (13, 2.03), (13, -9), (-30, -9)])
    bare = ground(scanned, house=house)
    found = ground(scanned, house=house, walls=walls)
    added = found.xyz[len(bare.xyz) :]
    np.testing.assert_array_equal(found.xyz[: len(bare.xyz)], bare.xyz)
    assert 58 < len(added) < 66
    line = [walls.distance(shapely.Point(place)) for place in added[:, :2]]
    assert max(line) < 1e-6
    assert added[:, 0].min() >= -0.38
    off = added[:, 2] - YARD.z(added[:, 0].clip(0), added[:, 1])
    assert np.sqrt((off**2).mean()) < 6e-3
    assert (np.abs(off) < 3 * found.sd_z[len(bare.xyz) :] + 3e-3).mean() > 0.9


def test_y_up_and_a_turn_are_undone(scanned):
    """A telephone's y points up; common points tell the turn, and their scatter is in the sd."""
    places = np.array([[1.0, 1], [14, 1], [2, 9], [13, 8]])
    site = np.column_stack([places, YARD.z(*places.T)])
    angle = 2.1
    turn = np.array(
        [[np.cos(angle), -np.sin(angle), 0], [np.sin(angle), np.cos(angle), 0], [0, 0, 1]]
    )

    def seen(xyz):
        return (xyz - [3, 4, 5]) @ turn

    laid = register(Common(tuple("ABCD"), site, seen(site)), np.zeros((0, 2)), "m", "c")
    upright = seen(scanned)
    held = np.column_stack([upright[:, 0], upright[:, 2], -upright[:, 1]])
    found = scanned_ground([of(held)], "m", laid=laid, y_up=True)
    off = YARD.off(found.xyz)
    assert abs(off.mean()) < 3e-3
    assert np.sqrt((off**2).mean()) < 6e-3
    assert (found.sd_z >= laid.z_sd(found.xyz[:, :2])).all()
    assert (found.sd_xy > 0).all()


@pytest.mark.parametrize(
    ("xyz", "words"),
    [
        (np.full((100, 3), np.nan), "no point with numbers"),
        (np.zeros((0, 3)), "no point with numbers"),
        (np.random.default_rng(1).uniform(0, 3, (40, 3)), "hardly any ground"),
    ],
)
def test_scans_without_ground(xyz, words):
    with pytest.raises(SiteError, match=words):
        ground(xyz)


def test_a_scan_that_is_too_wide_is_told():
    rng = np.random.default_rng(1)
    xyz = np.column_stack([rng.uniform(0, 400, (60_000, 2)), rng.normal(0, 0.01, 60_000)])
    with pytest.raises(SiteError, match="Cut it to the yard"):
        ground(xyz)


def test_progress_is_told_of_each_part(scanned):
    heard = []
    scanned_ground([of(scanned)], "m", progress=lambda what, share: heard.append((what, share)))
    whats = list(dict.fromkeys(what for what, _ in heard))
    assert whats == ["reading scan", "lowest points", "level of the ground"]
    for what in whats:
        shares = [share for said, share in heard if said == what]
        assert shares == sorted(shares)
        assert shares[-1] == 1.0


@pytest.mark.parametrize("noise", [0.003, 0.006, 0.009, 0.012])
def test_the_scatter_of_a_scanner_is_measured(noise):
    """From the lower tail, which grass leaves alone; sparse or dense."""
    for count in (60_000, 300_000):
        found = ground(Yard(10, 10, noise=noise).scan(count))
        assert found.scatter == pytest.approx(noise, rel=0.25)


def test_what_reads_ahead_hands_on_what_goes_wrong():
    def broken():
        yield 1
        raise SiteError([])

    items = ahead(broken())
    assert next(items) == 1
    with pytest.raises(SiteError):
        next(items)
    left = ahead(iter(range(10**9)))
    assert [next(left), next(left)] == [0, 1]
    left.close()
