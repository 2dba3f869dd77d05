"""A site planned anew after a change, with what was kept, is to the last bit as if planned bare.

The other route is the program itself with nothing kept: what is held here is that nothing is kept
by less than all that it was made of.
"""

from __future__ import annotations

import gc
import random
import shutil
import weakref
from collections.abc import Callable, Iterator

import numpy as np
import pytest
from make.by_lot import by_lot
from msgspec.structs import replace

import sample_sites
from grading import GradingError, Kept, Plan, Site, first_wave, plan, read_site, record

NAMES = sample_sites.names()
SHORT = ("back-patio", "flush-walk", "front-walk")  # the others are for the long run
BASES = ("dense", "open", "panel", None)

Change = Callable[[Site, random.Random], Site]


def some_area(site: Site, lot: random.Random, **update: object) -> Site:
    number = lot.randrange(len(site.areas))
    changed = site.areas[number].model_copy(update=update)
    return replace(
        site, areas=tuple(changed if k == number else each for k, each in enumerate(site.areas))
    )


def sill_moved(site: Site, lot: random.Random) -> Site:
    if not site.doors:
        return site
    number = lot.randrange(len(site.doors))
    sill = site.doors[number].sill + lot.uniform(-0.03, 0.03)
    moved = site.doors[number].model_copy(update={"sill": sill})
    return replace(
        site, doors=tuple(moved if k == number else each for k, each in enumerate(site.doors))
    )


def corner_moved(site: Site, lot: random.Random) -> Site:
    number = lot.randrange(len(site.areas))
    outline = list(site.areas[number].outline)
    corners = [
        k for k, each in enumerate(outline) if np.ndim(each) == 1 and not isinstance(each, dict)
    ]
    k = lot.choice(corners)
    outline[k] = type(outline[k])(value + lot.uniform(-0.05, 0.05) for value in outline[k])
    changed = site.areas[number].model_copy(update={"outline": tuple(outline)})
    return replace(
        site, areas=tuple(changed if k == number else each for k, each in enumerate(site.areas))
    )


def base_changed(site: Site, lot: random.Random) -> Site:
    return some_area(site, lot, base=lot.choice(BASES), reason=None)


def fall_changed(site: Site, lot: random.Random) -> Site:
    if lot.random() < 0.5:
        return replace(site, limits={**site.limits, "fall-away": lot.choice([0.015, 0.02, 0.022])})
    return some_area(site, lot, toward=float(lot.choice([170, 180, 190])), plane=None)


def topsoil_changed(site: Site, lot: random.Random) -> Site:
    ground = site.ground
    if ground.probes is not None and len(ground.probes):
        probes = ground.probes * [1.0, 1.0, lot.choice([0.8, 1.1, 1.3])]
        return replace(site, ground=replace(ground, probes=probes))
    return replace(
        site, ground=replace(ground, organics=ground.organics + lot.choice([0.01, 0.04]))
    )


def spot_changed(site: Site, lot: random.Random) -> Site:
    xyz = site.spots.xyz.copy()
    xyz[lot.randrange(len(xyz)), 2] += lot.uniform(-0.02, 0.02)
    return replace(site, spots=replace(site.spots, xyz=xyz))


def asked_otherwise(site: Site, lot: random.Random) -> Site:
    """Change what no finish hangs on, and what water, order or advice do."""
    kind = lot.randrange(4)
    if kind == 0:
        return replace(site, downspouts=site.downspouts[:-1])
    if kind == 1:
        soil = lot.choice(["sand", "loam", "clay", "gravel"])
        return replace(site, ground=replace(site.ground, soil=soil))
    if kind == 2:
        return replace(site, features=site.features[:-1], name=site.name + " again")
    return replace(site, unit="m" if site.unit == "ft" else "ft")


CHANGES: tuple[Change, ...] = (
    sill_moved, corner_moved, base_changed, fall_changed, topsoil_changed, spot_changed,
    asked_otherwise,
)  # fmt: skip


def changes(name: str, seed: int, count: int) -> Iterator[tuple[Change | None, random.Random]]:
    """Yield one change after another, drawn by lot; None where the last one is taken back."""
    lot = random.Random(f"{name} {seed}")
    kinds = list(CHANGES)
    lot.shuffle(kinds)
    for number in range(count):
        yield (None if number % 4 == 3 else kinds[number % len(kinds)]), lot


def walk(name: str, seed: int, count: int, held: Callable[[Site, int], bool]) -> int:
    """Change a site again and again; return how often what it became could be planned.

    `held` looks at a site and says whether it has a plan: one that has none is gone back from, as
    a person would.
    """
    sites = [read_site(sample_sites.path(name))]
    planned = int(held(sites[0], 0))
    for number, (change, lot) in enumerate(changes(name, seed, count), start=1):
        site = sites[-2] if change is None and len(sites) > 1 else sites[-1]
        site = site if change is None else change(site, lot)
        if held(site, number):
            planned += 1
            sites.append(site)
    return planned


def outcome(made: Callable[[], Plan]) -> Plan | str:
    """Return a plan, or what is said where there is none."""
    try:
        return made()
    except GradingError as error:
        return f"{type(error).__name__}: {error}"


def numbers(made: Plan) -> list[object]:
    """Return what the first wave tells."""
    return [
        made.warnings,
        made.area_checks,
        [
            (
                area.name, area.chosen, area.base_from, area.finish.moved, area.finish.work,
                area.finish.surface.coefficients.tolist(), area.unknowns.tolist(),
                [(dig.cut, dig.fill, dig.max_dig, dig.spoil_loose) for dig in area.digs.values()],
                [(wall.fall_away, wall.beyond and wall.beyond.fall) for wall in area.walls],
                [wish.text for wish in area.wishes], area.highest_raise[0], area.edge_heights,
            )
            for area in made.areas
        ],
    ]  # fmt: skip


@pytest.mark.parametrize(
    "name",
    [pytest.param(name, marks=[] if name in SHORT else [pytest.mark.long]) for name in NAMES],
)  # fmt: skip
def test_with_what_is_kept_every_number_is_the_same_to_the_last_bit(name):
    kept = Kept()

    def held(site: Site, number: int) -> bool:
        bare = outcome(lambda: plan(site))
        again = outcome(lambda: plan(site, kept))
        if isinstance(bare, str) or isinstance(again, str):
            assert again == bare, number
            return False
        assert repr(numbers(again)) == repr(numbers(bare)), number
        if number % 3 == 1:
            assert repr(record(again)) == repr(record(bare)), number
        return True

    assert walk(name, 3, 7, held) > 4


@pytest.mark.parametrize("name", by_lot(NAMES))
def test_the_first_wave_tells_no_number_that_the_whole_plan_takes_back(name):
    kept, alike = Kept(), []

    def held(site: Site, number: int) -> bool:
        first = outcome(lambda: first_wave(site, kept).plan)
        whole = outcome(lambda: plan(site, kept))
        if isinstance(first, str) or isinstance(whole, str):
            assert first == whole, number
            return False
        alike.append(first.bases == whole.bases)
        if not alike[-1]:
            assert any(area.base is None for area in site.areas), number
            return True
        told, final = numbers(first), numbers(whole)
        # A whole plan may warn of what its advice hinges on, and says no less.
        assert set(told[0]) <= set(final[0]), number
        assert repr(told[1:]) == repr(final[1:]), number
        return True

    assert walk(name, 5, 6, held) > 3
    assert sum(alike) > 1


def test_the_first_wave_says_what_it_is_planned_on():
    site, kept = read_site(sample_sites.path("garden-court")), Kept()
    fresh = first_wave(site, kept)
    assert fresh.on == "least work"
    assert fresh.plan.bases == {}
    whole = plan(site, kept)
    assert whole.bases == {"court": whole.areas[0].chosen}
    known = first_wave(site, kept)
    assert known.on == "advised before"
    assert known.plan.bases == whole.bases
    assert first_wave(read_site(sample_sites.path("back-patio")), Kept()).on == "given"


def test_a_base_advised_before_that_is_no_longer_sold_is_not_planned_on():
    site, kept = read_site(sample_sites.path("garden-court")), Kept()
    plan(site, kept)
    kept.advised = dict.fromkeys(kept.advised, "of another catalogue")
    assert first_wave(site, kept).on == "least work"


def test_only_the_group_that_a_change_touches_is_solved_and_dug_again():
    site, kept = read_site(sample_sites.path("garden-court")), Kept()
    path = site.areas[1].model_copy(update={"plane": None, "toward": 0.0})
    site = replace(site, areas=(site.areas[0], path))
    before = plan(site, kept)
    garden = next(door for door in site.doors if door.name == "garden door")
    doors = tuple(
        door.model_copy(update={"sill": door.sill + 0.004}) if door is garden else door
        for door in site.doors
    )
    after = first_wave(replace(site, doors=doors), kept).plan
    court, path = (next(a for a in after.areas if a.name == area.name) for area in before.areas)
    assert court.group.solved is not before.areas[0].group.solved
    assert path.group.solved is before.areas[1].group.solved
    assert all(path.digs[name] is dig for name, dig in before.areas[1].digs.items())
    assert after.ground is before.ground


def test_a_sill_keeps_ground_and_holes_and_a_spot_none_of_them():
    site, kept = read_site(sample_sites.path("back-patio")), Kept()
    before = plan(site, kept)
    lot = random.Random(1)
    sill = plan(sill_moved(site, lot), kept)
    assert sill.ground is before.ground
    assert sill.areas[0].chosen_dig.clip is before.areas[0].chosen_dig.clip
    spot = plan(spot_changed(site, lot), kept)
    assert spot.ground is not before.ground
    assert spot.areas[0].chosen_dig.clip is not before.areas[0].chosen_dig.clip
    back = plan(site, kept)
    assert back.ground is before.ground


def test_a_long_day_of_changes_takes_no_more_room_than_the_last_of_them():
    site, kept, lot = read_site(sample_sites.path("front-walk")), Kept(most=1), random.Random(2)
    sizes, plans = [], []
    for _ in range(30):
        site = sill_moved(site, lot) if lot.random() < 0.5 else corner_moved(site, lot)
        made = outcome(lambda site=site: first_wave(site, kept).plan)
        if isinstance(made, Plan):
            plans.append(weakref.ref(made))
        sizes.append(len(kept))
    assert max(sizes[20:]) <= max(sizes[:20]) + 4
    del made
    gc.collect()
    # What plans are made of is kept, and of plans the last two.
    assert len(plans) > 12
    assert [plan() is not None for plan in plans] == [False] * (len(plans) - 2) + [True] * 2


def test_the_whole_plan_goes_on_with_that_of_the_first_wave():
    site, kept = read_site(sample_sites.path("front-walk")), Kept()
    first = first_wave(site, kept).plan
    assert plan(site, kept) is first
    assert plan(replace(site), kept) is not first


def test_what_the_crew_writes_meanwhile_counts(tmp_path):
    folder = tmp_path / "front-walk"
    shutil.copytree(sample_sites.path("front-walk"), folder)
    site, kept = read_site(folder), Kept()
    first = first_wave(site, kept).plan
    (folder / "crew.toml").write_text("[prices]\nbedding-sand = 1234\n", encoding="utf-8")
    whole = plan(site, kept)
    assert whole.order.total.cost.total > first.order.total.cost.total
    assert whole.order.total.cost.total == plan(site).order.total.cost.total
