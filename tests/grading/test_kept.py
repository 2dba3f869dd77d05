"""What is kept between plans is found by all that it was made of, and by nothing else."""

from concurrent.futures import ThreadPoolExecutor
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import shapely
from msgspec import Struct, field
from pydantic import BaseModel

from grading.kept import Kept, fingerprint


class Table(BaseModel):
    width: float = 1.0
    name: str = ""


class Piece(Struct, frozen=True):
    at: tuple[float, ...]
    rows: np.ndarray = field(default_factory=lambda: np.zeros(2))


class Other(Struct, frozen=True):
    at: tuple[float, ...]
    rows: np.ndarray = field(default_factory=lambda: np.zeros(2))


SQUARE = [(0, 0), (1, 0), (1, 1), (0, 1)]

UNLIKE = [
    (0.1 + 0.2, 0.3),
    (0.0, -0.0),
    (1, 1.0),
    (True, 1),
    (None, False),
    ("1", 1),
    ("1", b"1"),
    (("ab", "c"), ("a", "bc")),
    (((1,), 2), (1, (2,))),
    ([], {}),
    ({"a": 1}, {"b": 1}),
    ({"a": 1, "b": 2}, {"b": 2, "a": 1}),
    (np.zeros(4), np.zeros((2, 2))),
    (np.zeros(2), np.zeros(2, dtype=np.float32)),
    (np.array([0.0]), np.array([-0.0])),
    (np.array([1, 2]), np.array([2, 1])),
    (np.array([[1, 2], [3, 4]]), np.array([[1, 3], [2, 4]])),
    (shapely.Polygon(SQUARE), shapely.Polygon(SQUARE[1:] + SQUARE[:1])),
    (shapely.LineString([(0, 0), (1, 1)]), shapely.LineString([(0, 0, 0), (1, 1, 0)])),
    (Table(), Table(width=1.0)),  # what is written is not what is left out
    (Table(name="a"), Table(name="b")),
    (Piece((1.0,)), Other((1.0,))),
    (Piece((1.0,)), Piece((1.0,), np.ones(2))),  # a field that equality passes over
    (Path("a"), Path("b")),
    (Fraction(1, 3), Fraction(1, 4)),
    (Decimal("1.0"), Decimal("1.00")),
    (date(2027, 1, 2), date(2027, 2, 1)),
]


@pytest.mark.parametrize(("one", "other"), UNLIKE)
def test_what_differs_in_anything_is_told_apart(one, other):
    assert fingerprint(one) != fingerprint(other)


@pytest.mark.parametrize("thing", [each for pair in UNLIKE for each in pair])
def test_what_is_made_twice_of_the_same_is_the_same(thing):
    assert fingerprint(thing) == fingerprint(thing)
    assert fingerprint(thing, 1) != fingerprint(thing)


def test_copies_are_the_same_and_views_as_what_they_show():
    rows = np.arange(12.0).reshape(3, 4)
    assert fingerprint(rows.T) == fingerprint(np.ascontiguousarray(rows.T))
    assert fingerprint(Piece((1.0,), rows.copy())) == fingerprint(Piece((1.0,), rows))
    assert fingerprint(shapely.Polygon(SQUARE)) == fingerprint(shapely.Polygon(SQUARE))


def test_what_cannot_be_looked_into_is_refused_and_not_passed_over():
    with pytest.raises(TypeError, match="function"):
        fingerprint(lambda: 1)
    with pytest.raises(TypeError, match="object"):
        fingerprint([1, {"a": object()}])


def test_each_is_made_once_and_the_last_ones_are_kept():
    kept, made = Kept(most=2), []

    def once(key):
        return kept.once("hole", key, lambda: made.append(key) or len(made))

    assert [once("a"), once("a"), once("b"), once("a")] == [1, 1, 2, 1]
    once("c")  # there is room for two: b was asked for longest ago
    assert len(kept) == 2
    assert once("a") == 1
    assert once("b") == 4
    assert made == ["a", "b", "c", "b"]


def test_threads_may_share_it():
    kept, failed = Kept(most=1), []

    def ask(seed):
        rng = np.random.default_rng(seed)
        for key in rng.integers(0, 6, 4000).tolist():
            if kept.once("hole", key, lambda key=key: key) != key:
                failed.append(key)

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(ask, range(4)))  # whatever one of them raises is raised here
    assert not failed
    assert len(kept) == 2


def test_kinds_do_not_push_each_other_out():
    kept = Kept(most=1)
    assert kept.once("hole", "a", lambda: 1) == 1
    assert kept.once("clip", "a", lambda: 2) == 2
    assert kept.once("hole", "a", lambda: 3) == 1


def test_what_is_tried_shares_what_plans_are_made_of_and_no_plans():
    kept = Kept()
    kept.advised = {"patio": "open"}
    hole, own = kept.once("hole", "a", object), kept.once("plan", "a", object)
    aside = kept.aside()
    assert aside.once("hole", "a", object) is hole
    assert aside.once("plan", "a", object) is not own
    assert kept.once("hole", "b", object) is aside.once("hole", "b", object)
    aside.advised = {}
    assert kept.advised == {"patio": "open"}
    kept.forget("plan")
    assert len(kept) == 2  # the holes
    assert kept.once("plan", "a", object) is not own


def test_nothing_is_kept_of_what_went_wrong():
    kept = Kept()

    def fails():
        raise ValueError("no finish")

    with pytest.raises(ValueError, match="no finish"):
        kept.once("finish", "a", fails)
    assert kept.once("finish", "a", lambda: 1) == 1


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (("a",) * 3, ("a",) * 4), (("a",) * 3, ("b",) * 3), (("a",) * 3, ["a", "a", "b"]),
        ((None,) * 3, (None,) * 2), ((None,) * 2, ("None",) * 2), (("a",), "a"),
    ],
)  # fmt: skip
def test_many_of_one_thing_are_told_by_the_thing_and_how_many(one, other):
    assert fingerprint(one) != fingerprint(other)
    # the same letters in another place of memory are the same
    assert fingerprint(one) == fingerprint(tuple(
        each if each is None else "".join(list(each)) for each in one
    ))  # fmt: skip
