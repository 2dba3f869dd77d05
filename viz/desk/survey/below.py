"""What lies below the survey, in blocks: soil, topsoil and its holes, lines of the ground."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from grading.site.ground_table import is_file_name
from viz.desk.blocks import (
    Block,
    Change,
    Choice,
    Field,
    Fold,
    Item,
    Items,
    Offer,
    Option,
    Own,
    Say,
    Tool,
)
from viz.desk.places import place
from viz.desk.seen import Seen
from viz.desk.survey.settling import Judged
from viz.desk.survey.sheets import HOLES
from viz.desk.survey.ways import grid
from viz.desk.written.document import table_at
from viz.words.cautions import CREW

_SOILS = ("gravel", "sand", "loam", "clay")

_PLACE_HOLE = Tool("place-hole", "Place a test hole on the plan")


def below_blocks(seen: Seen) -> Iterator[Block]:
    """Yield what is said and asked of the ground below the survey.

    Parameters
    ----------
    seen : Seen
    """
    ground = table_at(seen.document, "ground")
    yield Choice(
        "ground/soil", "Soil below the topsoil", ground.get("soil", "loam"),
        [Option(each, each) for each in _SOILS],
    )  # fmt: skip
    organics = ground.get("organics")
    if is_file_name(organics):
        yield from _holes(seen, organics)
    else:
        inches = "2 in" if seen.partly.unit == "ft" else "50 mm"
        yield Field(
            "ground/organics", "Topsoil and roots to strip", organics,
            f"how deep, such as {inches}; empty where there is none", optional=True, takes="text",
        )  # fmt: skip
        table = _grid(seen, HOLES.new, "ground/organics")
        ways: list[Block] = [Say(CREW[0], "look"), table, _PLACE_HOLE]
        yield Fold("Test holes, where it differs", ways)
    yield Fold("Lines where the ground creases", list(_creases(seen, ground)))


def _holes(seen: Seen, name: str) -> Iterator[Block]:
    yield Say("Topsoil as test holes found it: where each was dug, and how deep it went.")
    yield Say(CREW[0], "look")
    yield _grid(seen, name)
    yield _PLACE_HOLE
    areas = [each.name for each in seen.partly.areas.values()]
    if areas:
        listed = ", ".join(areas)
        yield Say(f'A hole apart from the paving names its area ({listed}) or "yard".', "quiet")
    back = Change("ground/organics", None)
    yield Offer("One depth everywhere instead", [back], f"{name} stays in the folder")


def _grid(seen: Seen, name: str, new: str = "") -> Own:
    return grid(seen, HOLES, name, Judged(None), "Test holes", new)


def _creases(seen: Seen, ground: Mapping[str, Any]) -> Iterator[Block]:
    lines = ground.get("breaklines")
    if isinstance(lines, str):
        yield Say(f"They are read from {lines}.")
    elif isinstance(lines, Sequence) and lines:
        yield Items(
            "ground/breaklines", "Crease lines",
            [_line(f"ground/breaklines/{k}", k, line) for k, line in enumerate(lines)],
        )  # fmt: skip
    else:
        yield Say(
            "None. Along the top or the foot of a bank, or the bottom of a swale, a line through "
            "spots keeps the surface from being drawn across it.", "quiet",
        )  # fmt: skip
    if not isinstance(lines, str):
        drawn = list(lines) if isinstance(lines, Sequence) else []
        yield Tool("draw-crease", "Draw a crease along spots", {"lines": drawn})
        place = len(lines) if isinstance(lines, Sequence) else 0
        data = {"at": f"ground/breaklines/{place}", "list": lines is None}
        yield Own(
            "ground/forms", {"form": "crease", "key": "crease", **data, "spots": _named_spots(seen)}
        )
    yield Choice(
        "ground/surface", "Ground between the spots", ground.get("surface", "tin"),
        [Option("tin", "flat between them"), Option("smooth", "a smooth surface")],
    )  # fmt: skip


def _line(at: str, place: int, line: object) -> Item:
    vertices = line if isinstance(line, Sequence) and not isinstance(line, str) else []
    told = "; ".join(", ".join(map(str, each)) for each in vertices if isinstance(each, Sequence))
    return Item(at, f"line {place + 1}", f"{len(vertices)} points: {told}")


_MOST_NAMED = 500


def _named_spots(seen: Seen) -> list[list[Any]]:
    """Return the spots that a line may go through: name, x and y as they are written."""
    spots = seen.partly.spots
    if spots is None or len(spots.ids) > _MOST_NAMED:
        return []
    return [
        [name, *place(xyz, seen.partly.unit)]
        for name, xyz in zip(spots.ids, spots.xyz, strict=True)
    ]
