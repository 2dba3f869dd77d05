"""What finishes are asked beside how high the sills stand: told apart once for a whole plan."""

from __future__ import annotations

from collections.abc import Iterable

from grading.kept import Kept, fingerprint
from grading.site.model import Site
from grading.site.step_tables import Door

_LEVEL = "sill"


def around_of(site: Site, kept: Kept) -> bytes:
    """Return what tells apart all of a site that its finishes are asked, but the levels of sills.

    Where the paving lies, what holds its edges, the walls, doors by their places, every limit:
    what is made of these alone stays as it was while a sill is moved.

    Parameters
    ----------
    site : Site
    kept : Kept
        What was told of the same site before.

    Notes
    -----
    The survey and what is said of the ground are not in it: a `Ground` is told apart by itself.
    """
    return kept.once("around", site, lambda: _told(site))


def _told(site: Site) -> bytes:
    return fingerprint(
        site.areas, site.house, list(_doors(site.doors)), site.ceilings, site.floors, site.meets,
        site.steps, site.finish, site.holds, site.limits, site.systems, site.unit, site.nominal,
    )  # fmt: skip


def _doors(doors: Iterable[Door]) -> Iterable[object]:
    names = [name for name in Door.model_fields if name != _LEVEL]
    for door in doors:
        yield sorted(door.model_fields_set), [getattr(door, name) for name in names]
