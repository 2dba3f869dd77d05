"""Stills are kept by what they show: never another's, never stale, never too many."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from msgspec.structs import replace

from viz.pictures import kept_stills, render
from viz.pictures.camera import Eye
from viz.pictures.child import Outcome
from viz.pictures.job import Job
from viz.scene.parts import Part

SIZE = (40, 30)
EYE = Eye(np.array([3.0, -4.0, 5.0]), np.zeros(3), np.array([0.0, 0.0, 1.0]))
PART = Part(
    np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]]), np.array([[0, 1, 2]]), "#808080", 0.0, False,
    False, frozenset(), clip=(np.array([1.0, 0.0]), -1.0, 1.0),
)  # fmt: skip
STILL = ((PART,), EYE, SIZE)
JOB = Job((STILL,), "#ffffff", 2)

OTHER_PARTS = {
    "points": PART.points + np.array([0, 0, 1e-4]),
    "cells": np.array([[0, 2, 1]]),
    "colour": "#808081",
    "width": 1.0,
    "cap": True,
    "clip": (np.array([1.0, 0.0]), -1.0, 1.01),
}
NOT_DRAWN = {"pattern", "house", "seen", "lift", "words", "factor", "face"}
"""What is done with parts before they are drawn: by then it is in their points."""


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("FALLAWAY_CACHE", str(tmp_path))
    return tmp_path / "stills"


@pytest.fixture
def child(monkeypatch):
    """A child that draws noise, another each time, and counts what it is asked for."""
    asked = []

    def begun(job):
        asked.append(len(job.stills))
        lot = np.random.default_rng(len(asked))
        pieces = {
            number: lot.integers(0, 255, (size[1], size[0], 3), np.uint8)
            for number, (_, _, size) in enumerate(job.stills)
        }
        return lambda: Outcome(pieces)

    monkeypatch.setattr(render, "begun", begun)
    return asked


def moved(by):
    return (replace(PART, points=PART.points + by),), EYE, SIZE


def test_whatever_is_drawn_is_in_the_key():
    keys = {kept_stills.key_of(STILL, JOB)}
    for name, other in OTHER_PARTS.items():
        keys.add(kept_stills.key_of(((replace(PART, **{name: other}),), EYE, SIZE), JOB))
    keys.add(kept_stills.key_of(((PART, PART), EYE, SIZE), JOB))
    keys.add(kept_stills.key_of(((PART,), EYE, (40, 31)), JOB))
    for name in Eye.__struct_fields__:
        eye = replace(EYE, **{name: getattr(EYE, name) + 1e-9})
        keys.add(kept_stills.key_of(((PART,), eye, SIZE), JOB))
    for change in ({"background": "#fffffe"}, {"smoother": 1}, {"samples": 4}):
        keys.add(kept_stills.key_of(STILL, replace(JOB, **change)))
    assert len(keys) == 1 + len(OTHER_PARTS) + 2 + len(Eye.__struct_fields__) + 3
    assert set(Part.__struct_fields__) == set(OTHER_PARTS) | NOT_DRAWN
    assert set(Job.__struct_fields__) == {"stills", "background", "smoother", "samples"}


def test_another_way_of_drawing_asks_for_another_still(monkeypatch):
    key = kept_stills.key_of(STILL, JOB)
    monkeypatch.setattr(kept_stills, "version", lambda _: "0.0")
    kept_stills._drawing.cache_clear()
    assert kept_stills.key_of(STILL, JOB) != key
    kept_stills._drawing.cache_clear()


def test_a_still_is_drawn_once_and_comes_back_to_the_bit(home, child):
    first = render.stills([STILL, moved(1.0)])
    again = render.stills([STILL, moved(1.0)])
    assert child == [2]
    assert all((one == two).all() for one, two in zip(first, again, strict=True))
    third = render.stills([moved(2.0), STILL, moved(1.0)])
    assert child == [2, 1], "what is new is drawn alone"
    assert (third[1] == first[0]).all()
    assert (third[2] == first[1]).all()


@pytest.mark.parametrize("spoiled", [b"", b"no picture", None])
def test_what_cannot_be_read_is_drawn_anew(home, child, spoiled):
    (first,) = render.stills([STILL])
    (file,) = home.glob("*.png")
    whole = file.read_bytes()
    file.write_bytes(whole[: len(whole) // 2] if spoiled is None else spoiled)
    (second,) = render.stills([STILL])
    assert child == [1, 1]
    assert (first != second).any()
    assert (kept_stills.found(file.stem, SIZE) == second).all()


def test_no_more_is_kept_than_there_is_room_for_and_nothing_of_others_goes(
    home, child, monkeypatch
):
    render.stills([STILL])
    (one,) = home.glob("*.png")
    monkeypatch.setattr(kept_stills, "MOST", 3 * one.stat().st_size + 100)
    (home / "holiday.png").write_bytes(bytes(100_000))
    for k in range(1, 8):
        render.stills([moved(float(k))])
        render.stills([STILL])  # asked for again and again, it stays
    kept = {file.name for file in home.iterdir()} - {"holiday.png"}
    assert len(kept) == 3
    assert one.name in kept
    assert (home / "holiday.png").exists()


def test_two_that_keep_the_same_at_once_leave_it_whole(home):
    picture = np.random.default_rng(5).integers(0, 255, (300, 400, 3), np.uint8)
    with ThreadPoolExecutor(8) as pool:
        list(pool.map(lambda _: kept_stills.keep("0" * 64, picture), range(40)))
    assert [file.name for file in home.iterdir()] == [f"{'0' * 64}.png"]
    assert (kept_stills.found("0" * 64, (400, 300)) == picture).all()


def test_where_nothing_can_be_kept_it_is_drawn(tmp_path, child, monkeypatch):
    for said in ("", str(tmp_path / "file")):
        (tmp_path / "file").write_text("no folder")
        monkeypatch.setenv("FALLAWAY_CACHE", said)
        render.stills([STILL])
        render.stills([STILL])
    assert child == [1] * 4
    assert [file.name for file in tmp_path.iterdir()] == ["file"]


def test_a_still_of_one_tone_is_none_to_keep(home, monkeypatch):
    blank = Outcome({0: np.full((30, 40, 3), 255, np.uint8)})
    monkeypatch.setattr(render, "begun", lambda _: lambda: blank)
    with pytest.raises(render.CannotDraw):
        render.stills([STILL])
    assert not home.exists()
