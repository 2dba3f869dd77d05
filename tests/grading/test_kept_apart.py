"""What a moved sill leaves as it is is not worked out again: counted, and never timed.

The site is read anew from its files each time, as the page does: nothing is known again because it
is the same object.
"""

from __future__ import annotations

from collections import Counter

import pytest
from make.plans.looked_at import looked

import sample_sites
from grading import Kept, Site, first_wave, plan, read_site
from grading.checks import areas as area_checks
from grading.crew.reading import find_crew
from grading.design import making
from grading.files.toml_text import toml_of
from grading.finish import cutting, model, sills, together
from grading.finish.wishes import of_site as wished
from grading.kept import fingerprint
from grading.reading.site_edit import Edit
from grading.reading.site_file import read_written
from grading.site.around import around_of

NAMES = [name for name in sample_sites.names() if read_site(sample_sites.path(name)).doors]


class Counted(Kept):
    """Counts what is made, by its kind."""

    def __init__(self):
        super().__init__()
        self.made = Counter()

    def once(self, kind, key, make, each=1.0):
        def counted():
            self.made[kind] += 1
            return make()

        return super().once(kind, key, counted, each)


def with_sill(name: str, by: float) -> Site:
    """Read a sample site from its file, with its first sill so much higher."""
    folder = sample_sites.path(name)
    written = toml_of((folder / "site.toml").read_text(encoding="utf-8"), "site.toml")
    site = read_written(folder, written)
    unit = 0.3048 if site.unit == "ft" else 1.0
    written["door"][0]["sill"] = site.doors[0].sill / unit + by
    return read_written(folder, written)


def never(what: str):
    def called(*_: object, **__: object) -> object:
        raise AssertionError(f"{what}: it hangs on no sill")

    return called


@pytest.fixture(params=NAMES, scope="module")
def known(request):
    """Return a site by its name, what is kept of it, and its plan before anything was changed."""
    kept = Counted()
    before = plan(with_sill(request.param, 0.0), kept)
    first = first_wave(with_sill(request.param, 0.01), kept).plan
    assert all(area.chosen_dig.cut > 0 for area in first.areas)
    return request.param, kept, before


@pytest.fixture
def moved(known):
    """Return a site with a sill as it never stood, and what is kept of it."""
    name, kept, before = known
    kept.moves = getattr(kept, "moves", 0) + 1
    kept.made.clear()
    return with_sill(name, 0.01 + 0.003 * kept.moves), kept, before


def test_a_sill_poses_nothing_again_but_what_is_wished_at_the_doors(moved, monkeypatch):
    site, kept, before = moved
    for room, names in (
        (together, ("standing_of", "creases_of", "departure_of", "profile_of", "comfort_wish",
                    "lowered_wishes", "seam_wishes", "centre_of", "cut_out")),
        (sills, ("nearest_area",)),
        (wished, ("nearest_area",)),
        (making, ("walls_in_reach", "beyond_paving", "seams_of", "shape_of", "dug_region")),
        (cutting, ("clip_facets", "clip")),
    ):  # fmt: skip
        for name in names:
            monkeypatch.setattr(room, name, never(name))
    after = first_wave(site, kept).plan
    # Groups are as many as they were: each with a finish that is sought is solved once.
    sought = sum(any(each.plane is None for each in one.group.areas) for one in after.groups)
    assert kept.made["solved"] <= sought
    # A crew.toml is read each time, for it may have been written meanwhile.
    read = {"crew"} if find_crew(site.folder) else set()
    assert set(kept.made) <= {"around", "plan", "solved"} | read, kept.made
    assert kept.made["around"] == kept.made["plan"] == 1
    assert after.ground is before.ground


def test_only_the_dig_that_is_asked_for_is_dug(moved, monkeypatch):
    site, kept, _ = moved
    after = first_wave(site, kept).plan
    assert kept.made["dig"] == 0
    for area in after.areas:
        assert area.chosen_dig.cut > 0
    assert kept.made["dig"] <= len(after.areas)
    assert kept.made["clip"] == 0
    # All of them are there for whoever asks, in the order of the catalogue.
    for area in after.areas:
        assert [dig.system.name for dig in area.digs.values()] == list(area.digs)
        assert "no such base" not in area.digs


def test_what_fails_is_counted_before_what_would_free_an_edge_is_solved_for(moved, monkeypatch):
    site, kept, _ = moved
    after = first_wave(site, kept).plan
    with monkeypatch.context() as still:
        still.setattr(model, "_otherwise", never("the price of a wish"))
        at_once = after.area_checks_at_once
    whole = after.area_checks
    told = [(each.rule, each.area, each.status, each.value, each.limit) for each in at_once]
    assert told == [(each.rule, each.area, each.status, each.value, each.limit) for each in whole]
    for one, other in zip(at_once, whole, strict=True):
        assert other.text.startswith(one.text)
    bare = first_wave(site, Kept()).plan if all(area.base for area in site.areas) else after
    every = [
        check
        for area in bare.areas
        for check in area_checks.checks_of(area, bare.limits, bare.places, bare.uncertainty)
    ]
    assert list(whole)[-len(every) :] == every


def test_what_finishes_are_asked_but_a_sill_is_told_apart():
    name = "back-patio"
    one, higher = with_sill(name, 0.0), with_sill(name, 0.02)
    assert around_of(one, Kept()) == around_of(higher, Kept())
    edits = {
        "an outline": Edit(("area", 0, "outline", 0), [0.5, 0]),
        "a limit": Edit(("limits", "fall-away"), "2.1 %"),
        "the place of a door": Edit(("door", 0, "at"), [9.0, 0]),
        "the step of a door": Edit(("door", 0, "step"), ["1 in", "7 in"]),
        "a base": Edit(("area", 0, "base"), "open"),
    }
    told = {around_of(one, Kept())}
    for words, edit in edits.items():
        seen = looked(sample_sites.path(name), edit, whole=False)
        assert seen.site is not None, (words, seen.problems)
        told.add(around_of(seen.site, Kept()))
    assert len(told) == 1 + len(edits)


def test_a_table_that_is_told_once_is_told_again_where_it_is_another():
    first, *_ = with_sill("back-patio", 0.0).doors
    again, *_ = with_sill("back-patio", 0.0).doors
    assert first is not again
    assert fingerprint(first) == fingerprint(again) == fingerprint(first)
    other = first.model_copy(update={"sill": first.sill + 0.001})
    assert fingerprint(other) != fingerprint(first)
    del other
    assert fingerprint(first.model_copy(update={"sill": first.sill + 0.002})) != fingerprint(first)
