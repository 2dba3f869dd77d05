"""The film and the strip: same size, same count, nothing cut off, and they open elsewhere."""

from __future__ import annotations

import re
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from make.by_lot import by_lot
from make.plans.sampled import sampled
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of
from measure.opengl import NO_OPENGL, needs_opengl
from measure.told_numbers import metres
from msgspec.structs import replace
from PIL import Image, ImageColor

import grading
import sample_sites
from grading.dig.beds import beds_of
from grading.errors import CannotDraw
from grading.units import size
from viz import cli
from viz.building.in_step import Moment
from viz.look.materials import material
from viz.pictures import film
from viz.pictures.board import Board
from viz.pictures.film import LAST, MOST, SECONDS, durations, shows_begun, write_film
from viz.pictures.film_frame import (
    MOST_ACROSS,
    NOT_YET,
    frame_board,
    key_frames,
    rows_of,
    stack,
    strip_board,
)

SITES = sample_sites.names()

MANY = [
    {"name": f"base number {k} with rather a long name", "layers": [
        {"name": "paver", "thickness": "60 mm"},
        *({"name": f"layer of crushed stone number {n}", "thickness": "40 mm"} for n in range(k)),
    ]}
    for k in (1, 6)
]  # fmt: skip


def plan_of(name):
    if name == "many":
        spots = grid_of_spots(lambda x, y: 10 - 0.03 * y)
        return grading.plan(site_of(spots, [PATIO], house=WALL, bases=MANY))
    return sampled(name)


@cache
def blank_shows(name):
    """Return what frames are made of, but for the stills, which are grey."""
    plan = plan_of(name)
    shows, shots = film.planned(plan)
    grey = [np.full((size[1], size[0], 3), 200, np.uint8) for _, _, size in shots]
    return film.with_stills(shows, grey)


def boards(show):
    yield strip_board(show)
    for k in range(len(show.frames)):
        yield frame_board(show, k)


@pytest.mark.parametrize("name", by_lot([*SITES, "many"]))
def test_words_are_inside_and_none_lies_on_another(name):
    for show in blank_shows(name):
        for board in boards(show):
            wide, high = board.picture.size
            for word in board.words:
                left, top, right, bottom = word.box
                assert 0 <= left <= right <= wide, word
                assert 0 <= top <= bottom <= high, word
            for k, word in enumerate(board.words):
                one = word.box
                for also in board.words[k + 1 :]:
                    other = also.box
                    apart = (
                        one[0] >= other[2] or other[0] >= one[2]
                        or one[1] >= other[3] or other[1] >= one[3]
                    )  # fmt: skip
                    assert apart, (word, also)


@pytest.mark.parametrize("name", by_lot([*SITES, "many"]))
def test_all_frames_have_one_size(name):
    for show in blank_shows(name):
        sizes = {frame_board(show, k).picture.size for k in range(len(show.frames))}
        assert len(sizes) == 1


@pytest.mark.parametrize("name", by_lot(SITES))
def test_a_frame_says_the_step_the_count_the_scale_and_the_caution(name):
    for show in blank_shows(name):
        for k, frame in enumerate(show.frames):
            told = " ".join(word.text for word in frame_board(show, k).words)
            assert show.site in told
            assert f"Step {k + 1} of {len(show.frames)}" in told
            assert re.search("Heights are drawn (at true scale|[0-9] times larger)", told)
            assert "utilities located before digging" in told
            for built, moment in zip(show.built, frame.moments, strict=True):
                assert (moment.waits or built.steps[moment.step].title) in told
                for label, value in rows_of(built, moment, show.unit):
                    assert label in told
                    assert value in told


@pytest.mark.parametrize("name", by_lot(SITES))
def test_words_of_a_frame_are_not_cut_short_on_the_sample_sites(name):
    for show in blank_shows(name):
        for board in boards(show):
            assert not [word for word in board.words if "…" in word.text]


@pytest.mark.parametrize("name", SITES)
def test_the_bar_of_layers_has_refill_where_the_plan_has_some(name):
    """Its place is left pale until the refill lies; the layers stand on it."""
    for show in blank_shows(name):
        for number, built in enumerate(show.built):
            refill = built.dig.refill
            beds = beds_of(built.dig)
            told = " ".join(word.text for word in strip_board(show).words)
            if refill is None:
                assert all(bed.role != "refill" for bed in beds)
                continue
            assert beds[-1].thickness == refill.mean
            assert "compacted refill," in told
            assert f"up to {size(refill.greatest, show.unit)}" in told
            at, high = (10.0, 10.0), 400.0
            tones = []
            for step in (0, len(built.steps) - 1):
                board = Board((900, 900), "#ffffff")
                stack(board, show, number, Moment(step), at, 17, 500.0, high)
                middle = (beds[-1].top + beds[-1].bottom) / 2 / show.deepest * high
                tones.append(board.picture.getpixel((int(at[0]) + 9, int(at[1] + middle))))
            assert tones[0] == ImageColor.getrgb(NOT_YET)
            assert tones[1] == ImageColor.getrgb(material("refill").colour)


def test_the_count_is_told_in_the_sites_own_unit():
    for name, unit in (("back-patio", "ft"), ("garden-court", "m")):
        show = blank_shows(name)[0]
        last = Moment(len(show.built[0].steps) - 1)
        rows = dict(rows_of(show.built[0], last, show.unit))
        dig = show.built[0].dig
        yards = dig.cut / 0.9144**3  # the international yard, exact
        told = f"{yards:.1f} yd³" if unit == "ft" else f"{dig.cut:.2f} m³"
        assert rows["Soil dug"].startswith(told)
        assert len(re.findall("³", rows["Soil dug"])) == 1
        # Earth is told to an eighth of an inch, or to a millimetre.
        least = 0.0254 / 16 if unit == "ft" else 0.0005
        assert metres(rows["Depth dug"]) == pytest.approx(dig.max_dig, abs=least + 1e-9)


@pytest.mark.parametrize("name", [*SITES, "many"])
def test_the_strip_goes_from_today_to_the_end(name):
    for show in blank_shows(name):
        keys = key_frames(show.frames)
        assert keys[0] == 0
        assert keys[-1] == len(show.frames) - 1
        assert [show.frames[k].phase for k in keys] == ["today", "dig", "base", "pavers", "finish"]
        dug = show.frames[keys[1]]
        for built, moment in zip(show.built, dug.moments, strict=True):
            assert built.steps[moment.step].figures.dug == built.dig.cut, "dug to the full depth"


@pytest.mark.parametrize("name", SITES)
def test_the_strip_is_legible_on_paper(name):
    # Letter with margins of 1/4 in: 10 1/2 by 8 in. Type of less than 5 point is hard to read:
    # common practice, no source.
    for show in blank_shows(name):
        board = strip_board(show)
        inch = board.picture.width / 10.5
        assert board.picture.height / inch < 8.0
        smallest = min(board.words, key=lambda word: word.size)
        assert 72 * smallest.size / inch > 5, smallest


def test_many_base_systems_stand_in_rows():
    show = blank_shows("many")[0]
    assert len(show.built) > MOST_ACROSS
    wide, high = frame_board(show, 0).picture.size
    assert wide < 1900
    assert high > 1400


def test_the_last_frame_stays_longer():
    shown = durations(12)
    assert len(shown) == 12
    assert set(shown[:-1]) == {round(1000 * SECONDS)}
    assert shown[-1] == round(1000 * LAST) > shown[0]


@pytest.fixture(scope="module")
def filmed(tmp_path_factory):
    plan = plan_of("front-walk")
    (show,) = shows_begun(plan)()
    folder = tmp_path_factory.mktemp("film")
    start = folder / "front-walkway-sequence"
    return show, {file.suffix: file for file in film._write(show, start)}


@needs_opengl
def test_film_opens_with_its_frames_times_and_size(filmed):
    show, files = filmed
    assert set(files) >= {".png", ".gif"}
    for suffix in (".gif", ".webp"):
        if suffix not in files:
            continue
        with Image.open(files[suffix]) as found:
            assert found.n_frames == len(show.frames)
            assert found.info["loop"] == 0
            assert found.size == frame_board(show, 0).picture.size
            shown = []
            for k in range(found.n_frames):
                found.seek(k)
                found.load()
                shown.append(found.info["duration"])
            assert shown == durations(len(show.frames)) or suffix == ".webp"
        assert files[suffix].stat().st_size < MOST


@needs_opengl
def test_frames_show_something_and_change(filmed):
    show, files = filmed
    with Image.open(files[".gif"]) as found:
        frames = []
        for k in range(found.n_frames):
            found.seek(k)
            frames.append(np.asarray(found.convert("RGB"), int))
    wide, high = show.size
    for k, frame in enumerate(frames):
        for number in range(len(show.built)):
            left = 30 + number * (wide + 20)
            still = frame[168 : 168 + high, left : left + wide]
            assert still.std() > 15, (k, number)
    for k, (one, two) in enumerate(pairwise(frames)):
        for number in range(len(show.built)):
            left = 30 + number * (wide + 20)
            changed = np.abs(one - two)[168 : 168 + high, left : left + wide].max(axis=2) > 25
            if not show.frames[k + 1].moments[number].waits:
                assert changed.mean() > 0.002, (k, number, "a step is seen")


@needs_opengl
def test_stills_look_the_same_until_work_starts_and_at_the_end_all_are_paved(filmed):
    show, _ = filmed
    today = [stills[0].astype(int) for stills in show.stills]
    for other in today[1:]:
        assert np.abs(other - today[0]).mean() < 1
    for built, stills in zip(show.built, show.stills, strict=True):
        green = lambda still: (still[..., 1] > still[..., 0] + 15).mean()  # noqa: E731
        assert green(stills[1]) < green(stills[0]), (built.base, "lawn is dug away")
        assert green(stills[-1]) >= green(stills[-2]), (built.base, "and put back at the edge")


@needs_opengl
def test_what_a_step_is_about_is_inside_its_still(filmed):
    show, _ = filmed
    for places, built in zip(show.places, show.built, strict=True):
        assert set(places) == set(range(len(built.steps)))
        for x, y in places.values():
            assert 0 < x < show.size[0]
            assert 0 < y < show.size[1]


@needs_opengl
def test_nothing_is_cut_off_at_the_edge_of_a_still(filmed):
    show, _ = filmed
    paper = np.array([0xF4, 0xF1, 0xEA])
    for stills in show.stills:
        for still in stills:
            edge = np.concatenate([still[0], still[-1], still[:, 0], still[:, -1]]).astype(int)
            assert np.abs(edge - paper).max() <= 3


@needs_opengl
def test_the_command_writes_film_and_strip(tmp_path, capsys):
    site = str(sample_sites.path("side-walkway"))
    assert cli.main(["sequence", site, "--out", str(tmp_path / "out")]) == 0
    names = {file.name for file in (tmp_path / "out").iterdir()}
    assert names >= {"side-walkway-sequence.gif", "side-walkway-sequence.png"}
    told = capsys.readouterr()
    assert "side-walkway-sequence.gif" in told.out
    assert "filming" in told.err


def test_without_opengl_nothing_is_written(tmp_path, monkeypatch):
    for name, value in NO_OPENGL.items():
        monkeypatch.setenv(name, value)
    with pytest.raises(CannotDraw, match=r"film of the build-up was not.*apt-get install libegl1"):
        write_film(plan_of("front-walk"), tmp_path)
    assert not list(tmp_path.iterdir())


def test_a_film_that_weighs_too_much_is_made_smaller(tmp_path, monkeypatch):
    show = blank_shows("front-walk")[0]
    noise = np.random.default_rng(1).integers(0, 255, (show.size[1], show.size[0], 3), np.uint8)
    show = replace(show, stills=tuple((noise,) * len(each.steps) for each in show.built))
    frames = [frame_board(show, k).picture for k in range(3)]
    monkeypatch.setattr(film, "MOST", 1_000_000)
    film._write_gif(frames, durations(3), tmp_path / "film.gif")
    with Image.open(tmp_path / "film.gif") as found:
        assert found.size[0] < frames[0].width
        assert found.n_frames == 3
