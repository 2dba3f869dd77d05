"""The words around the stills of a build-up: the step's name, the count so far, the layers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from msgspec import Struct

from grading.dig.beds import Bed, beds_of, depth_of
from grading.dig.hole import Dig
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import ROUNDING
from grading.order.sequence import BuildUp
from grading.units import Unit, volume
from grading.units import size as thickness
from viz.building.in_step import PHASES, Frame, Moment
from viz.look.materials import material
from viz.pictures.board import Board
from viz.pictures.explained import CARD, INK, LEADER, QUIET, fold, font
from viz.pictures.lights import BACKGROUND
from viz.pictures.render import Pixels
from viz.words.cautions import FILM
from viz.words.figures import small

WIDTH = 560
"""Width of a still. [pixels]"""

LOWEST, HIGHEST = 290, 370
"""What its height may be; it is that of what is seen. [pixels]"""

GAP, MARGIN = 20, 30
HEAD = 122
WAITING = "#d9d3c6"
NOT_YET = "#e6e0d3"

AXES = 46
"""How far from the corner of a still its axes are. [pixels]"""

WIDE, BEND = 36.0, 22.0
"""Width of a stack of layers, and how far from it their names are. [pixels]"""

ROW = 1.25
"""Height of a line of names, of its letters."""

MOST_ACROSS = 3
"""Base systems beside each other in a frame; more stand in further rows."""


OUTLINE = "#8d8677"


class Show(Struct, frozen=True):
    """All that frames and strip are made of.

    Attributes
    ----------
    site, area, unit : str
    notes : str
        Scale, and what is cut away.
    chosen : str
        The base system chosen.
    built : tuple of BuildUp
    frames : tuple of Frame
    size : (width, height)
        Of a still. [pixels]
    axes : (2, 2) float
        How the plan's x and y run in a still, down positive. [pixels]
    ruler : ((2, 2) float, str) or None
        A length below the cut face [pixels], and what it stands for.
    stills : tuple of tuple of (height, width, 3) uint8
        A still for each step of each base system.
    places : tuple of mapping of int to (x, y)
        For each base system where in its still the work of a step is seen. [pixels]
    """

    site: str
    area: str
    unit: Unit
    notes: str
    chosen: str
    built: tuple[BuildUp, ...]
    frames: tuple[Frame, ...]
    size: tuple[int, int]
    axes: Floats
    ruler: tuple[Floats, str] | None
    stills: tuple[tuple[Pixels, ...], ...]
    places: tuple[Mapping[int, tuple[float, float]], ...]

    @property
    def deepest(self) -> float:
        """The thickest build-up of all base systems, refill under it included. [m]"""
        return max(depth_of(each.dig) for each in self.built)


def rows_of(built: BuildUp, moment: Moment, unit: Unit) -> tuple[tuple[str, str], ...]:
    """Return the count so far as names and values."""
    figures = built.steps[moment.step].figures
    load = {"barrow": "Barrows", "powered barrow": "Powered barrows"}.get(built.carrier, "Loads")
    return (
        ("Depth dug", small(figures.depth, unit, 8)),
        ("Soil dug", volume(figures.dug, unit)),
        (f"{load} of soil", str(figures.out)),
        (f"{load} of stone", str(figures.stone)),
        ("Bins of soil", str(figures.bins)),
        ("Trucks of stone", str(figures.deliveries)),
    )


def _heading(board: Board, show: Show, x: float, y: float, number: int, size: int) -> None:
    built = show.built[number]
    words = built.dig.system.title
    if built.base == show.chosen:
        words += " (chosen)"
    board.text((x, y), words, size, WIDTH, bold=True)


def _cell(
    board: Board, show: Show, number: int, moment: Moment, at: tuple[float, float], size: int
) -> float:
    """Put a still on the board with the name of its step below it; return where that ends."""
    x, y = at
    built = show.built[number]
    board.put(show.stills[number][moment.step], at)
    board.axes((x + AXES, y + show.size[1] - AXES), show.axes, size - 5)
    top, bottom = y + show.size[1], y + show.size[1] + 2.1 * size
    place = show.places[number].get(moment.step)
    ink, paper = (INK, WAITING) if moment.waits else (CARD, INK)
    if place is not None and not moment.waits:
        there = (x + place[0], y + place[1])
        board.point_at(there, (float(np.clip(there[0], x + 20, x + WIDTH - 20)), top))
    if show.ruler is not None:
        board.ruler(show.ruler[0] + np.array([x, y]), show.ruler[1], size - 5)
    board.draw.rounded_rectangle((x, top, x + WIDTH, bottom), 8, fill=paper)
    step = built.steps[moment.step]
    words = moment.waits or step.title
    if step.structures and place is None and not moment.waits:
        words += ", out of sight"  # it lies before the cut, or beyond what is drawn
    board.text((x + 14, (top + bottom) / 2), words, size, WIDTH - 28, bold=True, fill=ink)
    return bottom


def _count(
    board: Board, show: Show, number: int, moment: Moment, at: tuple[float, float], size: int,
    width: float, step: float,
) -> float:  # fmt: skip
    x, y = at
    for name, value in rows_of(show.built[number], moment, show.unit):
        y += step
        box = board.text((x + width, y - step / 2), value, size, width, bold=True, anchor="rm")
        board.text((x, y - step / 2), name, size, box[0] - x - 10, fill=QUIET)
    return y


def _laid(built: BuildUp, moment: Moment, bed: Bed) -> float:
    """Return how much of a bed's thickness lies after a step, as a share."""
    found = 0.0
    for step in built.steps[: moment.step + 1]:
        for piece in step.pieces:
            inside = bed.top - ROUNDING <= piece.top <= bed.bottom
            if piece.kind == "refill" and bed.role == "refill":
                found = max(found, piece.share[1])
            elif piece.kind == "layer" and piece.name == bed.name and inside:
                found = max(found, (bed.bottom - piece.top) / bed.thickness)
    return min(found, 1.0)


def stack(
    board: Board, show: Show, number: int, moment: Moment, at: tuple[float, float], size: int,
    width: float, height: float,
) -> None:  # fmt: skip
    """Draw the layers and the refill that lie, to one scale for all base systems, with names.

    Refill is as thick as it is on average. What is still to come is left pale; the finish of
    all of them is at one height.
    """
    x, y = at
    built = show.built[number]
    scale, wide = height / show.deepest, WIDE
    bend, room = x + wide + BEND - 4, width - wide - BEND
    beds = beds_of(built.dig)
    folded = _names(show, number, size, room)
    middles = [y + (bed.top + bed.bottom) / 2 * scale for bed in beds]
    rows = _apart(middles, [ROW * size * len(each) for each in folded], y, y + height)
    for bed, lines, middle, row in zip(beds, folded, middles, rows, strict=True):
        share = _laid(built, moment, bed)
        low, high = y + bed.bottom * scale, y + bed.top * scale
        board.draw.rectangle((x, high, x + wide, low), fill=NOT_YET, outline=OUTLINE)
        look = material(bed.material)
        tone = look.grains[1] if bed.role == "paver" and look.grains else look.colour
        if share:
            filled = low - share * (low - high)
            board.draw.rectangle((x, filled, x + wide, low), fill=tone, outline=INK)
        board.draw.line([(x + wide, middle), (bend, row)], fill=LEADER if share else OUTLINE)
        for k, line in enumerate(lines):
            place = row + (k - (len(lines) - 1) / 2) * 1.2 * size
            board.text((bend + 4, place), line, size, room, fill=INK if share == 1 else QUIET)


def _folded(name: str, thick: str, size: int, room: float) -> list[str]:
    """Return a layer's name and thickness in lines; the thickness is never parted."""
    face = font(size)
    lines = fold(name, face, room)
    if face.getlength(f"{lines[-1]} {thick}") <= room:
        return [*lines[:-1], f"{lines[-1]} {thick}"]
    return [*lines, thick]


def _apart(middles: Sequence[float], tall: Sequence[float], low: float, high: float) -> list[float]:
    """Return places near `middles` for rows of some heights, none over another, within bounds.

    Rows that together are taller than the room there is go on below it.
    """
    high = max(high, low + sum(tall))
    rows: list[float] = []
    for middle, own in zip(middles, tall, strict=True):
        least = rows[-1] + (own + tall[len(rows) - 1]) / 2 if rows else low + own / 2
        rows.append(max(middle, least))
    most = high
    for k in range(len(rows) - 1, -1, -1):
        rows[k] = min(rows[k], most - tall[k] / 2)
        most = rows[k] - tall[k] / 2
    return rows


def _track(board: Board, phase: str, at: tuple[float, float], width: float, size: int) -> None:
    """Draw the parts of the work as a row, the present one filled."""
    x, y = at
    each = width / len(PHASES)
    names = list(PHASES)
    now = names.index(phase)  # type: ignore[arg-type]
    for k, name in enumerate(names):
        box = (x + k * each, y - size, x + (k + 1) * each - 8, y + size)
        paper = INK if k == now else ("#b9b2a3" if k < now else NOT_YET)
        board.draw.rounded_rectangle(box, 8, fill=paper)
        ink = CARD if k == now else INK
        middle = ((box[0] + box[2]) / 2, y)
        board.text(middle, PHASES[name], size, each - 20, bold=k == now, fill=ink, anchor="mm")


def _stack_height(show: Show, least: float, size: int, width: float) -> float:
    """Return how high the stacks are drawn: as given, or more where the names need it."""
    names = [_names(show, number, size, width - WIDE - BEND) for number in range(len(show.built))]
    return max(least, *(ROW * size * sum(map(len, each)) for each in names))


def _names(show: Show, number: int, size: int, room: float) -> list[list[str]]:
    """Return the names of what lies on a base system with its thickness, each in lines."""
    return [
        _folded(*_told(show.built[number].dig, bed, show.unit), size, room)
        for bed in beds_of(show.built[number].dig)
    ]


def _told(dig: Dig, bed: Bed, unit: Unit) -> tuple[str, str]:
    """Return the name of a bed and its thickness; of refill, the greatest."""
    if bed.role == "refill" and dig.refill is not None:
        return f"{bed.name},", f"up to {thickness(dig.refill.greatest, unit)}"
    return bed.name, thickness(bed.thickness, unit)


def _foot(board: Board, show: Show, y: float, sizes: tuple[int, int]) -> Board:
    """Write scale and caution below, and cut the board where they end."""
    inner = board.picture.width - 2 * MARGIN
    y = board.lines((MARGIN, y), show.notes, sizes[0], inner, INK)
    y = board.lines((MARGIN, y + 4), FILM, sizes[1], inner, QUIET)
    board.cut(int(y + 16))
    return board


def frame_board(show: Show, index: int) -> Board:
    """Return one frame of the film: every base system at the same part of the work."""
    count = len(show.built)
    down = -(-count // MOST_ACROSS)
    across = -(-count // down)
    text, line = 20, 29.0
    high = _stack_height(show, 6 * line - 12, 17, WIDTH - 352)
    block = 46 + show.size[1] + 2.1 * 24 + 14 + max(6 * line, high + 12) + 22
    columns = max(across, 2)
    wide = 2 * MARGIN + columns * WIDTH + (columns - 1) * GAP
    board = Board((wide, int(HEAD + down * block + 400)), BACKGROUND)
    frame, inner = show.frames[index], wide - 2 * MARGIN
    track = min(620.0, 0.45 * inner)
    board.text((MARGIN, 42), show.site, 34, inner - track - 30, bold=True)
    words = f"{show.area}: how it is built. Step {index + 1} of {len(show.frames)}"
    board.text((MARGIN, 88), words, 24, inner, fill=QUIET)
    _track(board, frame.phase, (MARGIN + inner - track, 42), track, 21)
    for number, moment in enumerate(frame.moments):
        x = float(MARGIN + number % across * (WIDTH + GAP))
        y = HEAD + number // across * block
        _heading(board, show, x, y + 22, number, 26)
        end = _cell(board, show, number, moment, (x, y + 46), 24) + 14
        _count(board, show, number, moment, (x, end), text, 328, line)
        stack(board, show, number, moment, (x + 352, end + 6), 17, WIDTH - 352, high)
    return _foot(board, show, HEAD + down * block, (19, 17))


def key_frames(frames: Sequence[Frame]) -> tuple[int, ...]:
    """Return the frames of the strip: today, dug out, amid the base, first pavers, finished."""
    own = {phase: [k for k, f in enumerate(frames) if f.phase == phase] for phase in PHASES}
    found = [own["today"][0], *own["dig"][-1:]]
    found += own["base"][len(own["base"]) // 2 :][:1]
    found += own["pavers"][:1]
    found.append(len(frames) - 1)
    return tuple(sorted(set(found)))


def strip_board(show: Show) -> Board:
    """Return the strip: a row for each base system, a column for each key step."""
    keys = key_frames(show.frames)
    first, text, line = 400, 30, 40.0
    block = show.size[1] + 2.1 * 30 + 10 + 6 * line + 34
    high = _stack_height(show, block - 270, 28, first - 24)
    block = max(block, high + 270)
    wide = 2 * MARGIN + first + len(keys) * WIDTH + (len(keys) - 1) * GAP
    board = Board((wide, int(170 + len(show.built) * block + 600)), BACKGROUND)
    inner = wide - 2 * MARGIN
    board.text((MARGIN, 58), show.site, 52, inner, bold=True)
    on = " on each base" if len(show.built) > 1 else ""
    words = f"{show.area}: how it is built{on}, from the ground today to the end"
    board.text((MARGIN, 124), words, 36, inner, fill=QUIET)
    for number, built in enumerate(show.built):
        y = 170 + number * block
        after = board.lines((MARGIN, y + 10), built.dig.system.title, 38, first - 30, bold=True)
        if built.base == show.chosen:
            after = board.lines((MARGIN, after), "(chosen)", 34, first - 30)
        board.text((MARGIN, y + 190), "Layers, to one scale", 27, first - 30, fill=QUIET)
        stack(board, show, number, Moment(len(built.steps) - 1), (MARGIN, y + 218), 28,
              first - 24, high)  # fmt: skip
        for column, index in enumerate(keys):
            moment = show.frames[index].moments[number]
            x = float(MARGIN + first + column * (WIDTH + GAP))
            end = _cell(board, show, number, moment, (x, y), 30) + 10
            _count(board, show, number, moment, (x, end), text, WIDTH - 8, line)
    return _foot(board, show, 170 + len(show.built) * block, (31, 28))
