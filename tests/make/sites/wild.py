"""Site folders as wild as people's: samples with something changed, and yards drawn by lot.

A seed gives one folder, the same on every machine.
"""

from __future__ import annotations

import copy
import math
import random
import shutil
import tomllib
from collections.abc import Callable, Iterator, MutableMapping, MutableSequence
from pathlib import Path
from typing import Any

import tomlkit

import sample_sites

Point = tuple[float, float]
Move = Callable[[Point], list[float]]

FOOT = 0.3048
NAMES = ["Alder Row", "x", "a" * 60, "= 1 + 1", 'quoted "yard"', "Hof & Garten", "نهر", "庭", "ß ﬁ"]
ODD_VALUES: list[Any] = [
    0, -1, 1, 1e-9, 1e9, -1e6, 10**15, math.nan, math.inf, True, "", "2 %", "3 in", "-4 in",
    "1:48", "5' 3 1/2\"", "40 mm", "1e3", "patio", "dense", "none", [], [0, 0], [[0, 0]],
    [[0, 0], [0, 0]], [[0, 0], [10, 10]], {}, {"arc": [[1, 1], [2, 2]]}, "../spots.csv", "200 %",
]  # fmt: skip


def write_wild(seed: int, folder: Path) -> Path:
    """Write the wild site of a seed into a folder that is not there yet, and return the folder."""
    lot = random.Random(seed)
    if lot.random() < 0.55:
        _write_changed_sample(lot, folder)
    else:
        _write_yard(lot, folder)
    return folder


# Samples with something changed


def _write_changed_sample(lot: random.Random, folder: Path) -> None:
    shutil.copytree(sample_sites.path(lot.choice(sorted(sample_sites.names()))), folder)
    for _ in range(lot.choice([1, 1, 1, 2, 3])):
        if lot.random() < 0.3:
            _change_survey(lot, lot.choice(sorted(folder.glob("*.csv"))))
        else:
            _change_site(lot, folder / "site.toml")


def _change_site(lot: random.Random, file: Path) -> None:
    if lot.random() < 0.06:
        text = list(file.read_text(encoding="utf-8"))
        for _ in range(lot.randint(1, 4)):
            text[lot.randrange(len(text))] = lot.choice(["", "[", "]", '"', "=", "\n", "9", "\x00"])
        file.write_text("".join(text), encoding="utf-8")
        return
    try:
        site = tomllib.loads(file.read_text(encoding="utf-8"))
    except tomllib.TOMLDecodeError:
        return
    holder, key = lot.choice(list(_holders(site)))
    value = holder[key]
    change = lot.random()
    if change < 0.15:
        del holder[key]
    elif change < 0.25 and isinstance(value, list):
        holder[key] = lot.choice([value[::-1], value[:-1], value + value[-1:], value[:1]])
    elif change < 0.65 and isinstance(value, int | float) and not isinstance(value, bool):
        holder[key] = _near(lot, value)
    elif change < 0.75:
        _, other = lot.choice([(h, h[k]) for h, k in _holders(site)])
        holder[key] = copy.deepcopy(other)
    elif change < 0.85 and isinstance(value, list):
        value.append(copy.deepcopy(lot.choice(value)) if value else 1)
    else:
        holder[key] = copy.deepcopy(lot.choice(ODD_VALUES))
    file.write_text(tomlkit.dumps(site), encoding="utf-8")


def _near(lot: random.Random, value: float) -> float:
    """Return a number that a slip of the pen, the tape or the unit would make of another."""
    return lot.choice([
        value + lot.gauss(0, 0.5), value + lot.choice([-1, 1, -10, 10, 100]), -value, value * FOOT,
        value / FOOT, value * 12, value * lot.uniform(0.3, 3), round(value), value + 1e-7,
    ])  # fmt: skip


def _holders(value: Any) -> Iterator[tuple[MutableMapping[str, Any] | MutableSequence[Any], Any]]:
    if isinstance(value, dict | list):
        for key, part in list(value.items() if isinstance(value, dict) else enumerate(value)):
            yield value, key
            yield from _holders(part)


def _change_survey(lot: random.Random, file: Path) -> None:
    rows = file.read_text(encoding="utf-8").splitlines()
    if len(rows) < 2:
        return
    place = lot.randrange(1, len(rows))
    cells = [*rows[place].split(","), "", "", ""][: max(3, rows[place].count(",") + 1)]
    match lot.randrange(8):
        case 0:
            del rows[place]
        case 1:
            rows.insert(place, rows[place])
        case 2:
            rows = rows[: lot.randint(1, min(len(rows), 9))]
        case 3:
            cell = lot.randrange(len(cells))
            cells[cell] = lot.choice(["", "nan", "1e400", "x", "99,9", "-", '"', "1'", "=1+1"])
            rows[place] = ",".join(cells)
        case 4:
            slip = lot.choice([-1, 1, 0.1, -10, 900, 0.004, 1e6])
            rows[place] = ",".join([*cells[:2], _moved(cells[2], slip), *cells[3:]])
        case 5:
            rows[place] = ",".join([_moved(cells[0], lot.choice([0.001, 1, -30])), *cells[1:]])
        case 6:
            rows[1:] = [rows[place]] * len(rows[1:])
        case 7:
            rows[0] = lot.choice(["x,y", "N,E,Elev", "x,y,z,z", "", "x;y;z", rows[0].upper()])
    file.write_text("\n".join([*rows, ""]), encoding="utf-8")


def _moved(cell: str, by: float) -> str:
    try:
        return repr(float(cell) + by)
    except ValueError:
        return cell


# Yards drawn by lot: lengths in metres, x along the back wall, y out into the yard

HOUSES: dict[str, tuple[list[Point], Point]] = {
    "wall": ([(-3, 0), (12, 0)], (4, -4)),
    "inside corner": ([(0, 9), (0, 0), (12, 0)], (-3, -3)),
    "blunt corner": ([(-2, 7), (0, 0), (12, 0)], (2, -4)),
    "outside corner": ([(-9, 0), (3, 0), (3, -9)], (-3, -4)),
    "u": ([(0, 8), (0, 0), (6, 0), (6, 8)], (3, -4)),
    "closed": ([(-3, -6), (9, -6), (9, 0), (-3, 0), (-3, -6)], (3, -3)),
}


def _write_yard(lot: random.Random, folder: Path) -> None:
    unit, turn = lot.choice(["ft", "m"]), lot.choice([0, 0, 90, 45, lot.uniform(0, 360)])
    east, north = lot.choice([(0, 0), (0, 0), (100, 200), (2_104_322, 612_877)])
    digits = lot.choice([2, 2, 3, 6])
    factor = FOOT if unit == "ft" else 1.0
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))

    def at(point: Point) -> list[float]:
        x, y = point
        moved = (cos * x - sin * y) / factor + east, (sin * x + cos * y) / factor + north
        return [round(moved[0], digits), round(moved[1], digits)]

    datum = lot.choice([100.0, 0.0, 812.4])
    falls = lot.gauss(0, 0.03), lot.gauss(-0.02, 0.03)
    hill = lot.choice([0, 0, 0.6, -0.5])

    def ground(point: Point) -> float:
        x, y = point
        rise = hill * math.exp(-((x - 4) ** 2 + (y - 7) ** 2) / 8)
        return datum + falls[0] * x + falls[1] * y + rise

    def level(point: Point, above: float = 0.0) -> float:
        return round((ground(point) + above) / factor, 3)

    site: dict[str, Any] = {"name": lot.choice(NAMES), "unit": unit, "spots": "spots.csv"}
    house = lot.choice([*HOUSES, None])
    site["ground"] = _some(
        lot,
        soil=lambda: lot.choice(["gravel", "sand", "loam", "clay"]),
        organics=lambda: lot.choice(["4 in", "250 mm", "12 in", 0]),
        surface=lambda: lot.choice(["tin", "smooth"]),
    )
    areas = _areas(lot, at, level)
    if house is not None:
        walls, inside = HOUSES[house]
        site["house"] = {"walls": [at(each) for each in walls], "inside": at(inside)}
        if lot.random() < 0.3:
            site["house"]["age"] = lot.choice([0, 3, 40])
        steps = [0.15, 0.2, 0.3, 0.6, lot.gauss(0.2, 0.2)]
        site["door"] = [
            {"at": at((x, 0)), "sill": level((x, 0), lot.choice(steps))}
            for x in (1.5, 4.0)[: lot.choice([0, 1, 1, 2])]
        ]
        if lot.random() < 0.4:
            kind = lot.choice(["siding", "weep holes", "vent", "window well", "other"])
            z = level((3, 0), lot.gauss(0.2, 0.1))
            site["ceiling"] = [{"kind": kind, "at": [at((0, 0)), at((6, 0))], "z": z}]
    _furnish(lot, site, at, level)
    site["area"] = areas
    if len(areas) > 1 and lot.random() < 0.3:
        down = [areas[0]["name"], areas[1]["name"]]
        site["step"] = [{"down": down, "risers": lot.randint(1, 3)}]
    _build(lot, site, at)
    folder.mkdir(parents=True)
    if lot.random() < 0.15:
        (folder / "crew.toml").write_text(_price(lot), encoding="utf-8")
    text = tomlkit.dumps({key: value for key, value in site.items() if value != []})
    (folder / "site.toml").write_text(text, encoding="utf-8")
    _write_spots(lot, folder / "spots.csv", at, lambda point: ground(point) / factor, factor)


def _some(lot: random.Random, **makers: Callable[[], Any]) -> dict[str, Any]:
    return {key: make() for key, make in makers.items() if lot.random() < 0.5}


def _areas(
    lot: random.Random, at: Move, level: Callable[[Point, float], float]
) -> list[dict[str, Any]]:
    width, depth = lot.uniform(2, 7), lot.uniform(1.2, 6)
    gap = lot.choice([0, 0, 0, 0.02, 0.3, -0.05])
    boxes: list[list[Point]] = [[(0, gap), (width, gap), (width, depth), (0, depth)]]
    if lot.random() < 0.45:
        beside = lot.choice([0, 0, 0.03, 0.004, 1.0])
        end = lot.choice([depth, depth / 2, depth + 1])
        x0, x1 = width + beside, width + beside + lot.uniform(0.9, 3)
        boxes.append([(x0, gap), (x1, gap), (x1, end), (x0, end)])
    if lot.random() < 0.25:
        boxes.append([(0, depth), (width, depth), (width, depth + 2), (0, depth + 2)])
    areas = []
    for place, box in enumerate(boxes):
        outline: list[Any] = [at(corner) for corner in box]
        if lot.random() < 0.2:
            (x0, y0), (x1, _) = box[3], box[2]
            outline[3] = {"arc": [at(((x0 + x1) / 2, y0 + lot.uniform(0.2, 1))), at(box[3])]}
        if lot.random() < 0.3:
            outline = outline[:1] + outline[:0:-1] if "arc" not in str(outline) else outline
        middle = (box[0][0] + box[1][0]) / 2, (box[0][1] + box[2][1]) / 2
        area: dict[str, Any] = {
            "name": ["patio", "walk", "lower terrace"][place],
            "outline": outline,
            "use": lot.choice(["patio", "patio", "walkway", "front walkway", "driveway"]),
        }
        area |= _some(lot, base=lambda: lot.choice(["dense", "open", "panel"]))
        if lot.random() < 0.15:
            area["shape"] = lot.choice(["ridge", "valley", "hinge", "fan", "warp"])
            if lot.random() < 0.5:
                area["fold"] = [at((middle[0], box[0][1])), at((middle[0], box[2][1]))]
        if lot.random() < 0.12:
            area["plane"] = {
                "at": at(box[0]), "z": level(box[0], lot.gauss(0.05, 0.1)),
                "fall": lot.choice(["2 %", "1/4 in/ft", 0.0, "5 %"]),
                "bearing": lot.uniform(0, 360),
            }  # fmt: skip
        if lot.random() < 0.12:
            x, y = middle
            corners = [(x, y), (x + 0.5, y), (x + 0.5, y + 0.5), (x, y + 0.5)]
            area["holes"] = [[at(corner) for corner in corners]]
        if lot.random() < 0.2:
            area["lawn"] = {"edge": lot.choice(["flush", "bevelled", "stepped"])}
        areas.append(area)
    return areas


def _furnish(
    lot: random.Random, site: dict[str, Any], at: Move, level: Callable[..., float]
) -> None:
    """Add what a yard may hold besides: things that stand, drains, roofs, rain, winter, a gate."""
    line = [at((-2, 8)), at((9, 8))]
    kinds = [
        "gas fire feature", "wood fire", "seat wall", "steps", "pergola post", "kitchen", "hot tub",
    ]  # fmt: skip
    tables: dict[str, Callable[[], Any]] = {
        "feature": lambda: [
            {"kind": lot.choice(kinds), "at": at((lot.uniform(0, 5), lot.uniform(0, 4))),
             "size": ["6 ft", "18 in"], "height": lot.choice(["12 in", "18 in", "30 in"])}
            for _ in range(lot.randint(1, 2))
        ],
        "outfall": lambda: [
            {"kind": lot.choice(["lawn", "street", "swale", "drain", "neighbour"]), "at": line}
        ],
        "downspout": lambda: [{"at": at((5, 0)), "roof": lot.choice(["400 ft2", "30 m2"])}],
        "storm": lambda: {"intensity": lot.choice(["4 in/h", "100 mm/h"])},
        "frost": lambda: {"index": lot.choice(["1500 F-days", "800 C-days", "10 F-days"])},
        "access": lambda: {"gate": lot.choice(["36 in", "900 mm"]), "path": lot.choice([80, 25])},
        "backfill": lambda: {"treatment": lot.choice(["none", "waited", "strip", "stone"])},
        "floor": lambda: [{"kind": lot.choice(["lawn", "swale", "outlet"]), "at": line}],
        "meet": lambda: [{"name": "old slab", "at": at((6, 3)), "z": level((6, 3), 0.02)}],
        "finish": lambda: {
            "objective": lot.choice(["least earth", "least spoil", "gentlest fall", "elevation"])
        },
    }  # fmt: skip
    for key, make in tables.items():
        if lot.random() < 0.25:
            site[key] = make()


def _build(lot: random.Random, site: dict[str, Any], at: Move) -> None:
    """Add what is built beside the paving: what holds its edges, steps, drains and a dry well."""
    names = [each["name"] for each in site["area"]]
    holds = ["block wall", "grass slope", "curb", "dense shoulder", "steps", "lower finish"]
    if lot.random() < 0.25:
        hold = {"area": lot.choice(names), "kind": lot.choice(holds)}
        hold |= _some(
            lot,
            height=lambda: lot.choice(["8 in", "300 mm", "30 in"]),
            at=lambda: [at((0, 5)), at((5, 5))],
            friction=lambda: lot.choice([20, 28, 34]),
        )
        site["hold"] = [hold]
    if lot.random() < 0.2:
        step = {"area": lot.choice(names), "to": "lawn"}
        step |= _some(lot, width=lambda: lot.choice(["4 ft", "900 mm"]), at=lambda: at((3, 5)))
        site.setdefault("step", []).append(step)
    if lot.random() < 0.3:
        drain = {"name": "channel", "kind": "drain", "at": [at((0.2, 4)), at((4, 4))]}
        drain |= _some(
            lot,
            outlet=lambda: "dry well",
            fall=lambda: lot.choice([0, "0.5 %"]),
            width=lambda: lot.choice(["4 in", "6 in"]),
        )
        corners = [(8, 7), (10, 7), (10, 9), (8, 9), (8, 7)]
        well = {"name": "dry well", "kind": "dry well", "at": [at(each) for each in corners]}
        well |= _some(lot, depth=lambda: lot.choice(["3 ft", "1 m"]))
        site.setdefault("outfall", []).extend([drain, well])


def _price(lot: random.Random) -> str:
    tax = lot.choice(['tax = "none"', 'tax = "7 %"\ntax_on = "total"'])
    margin = lot.choice(["30 %", "0 %", "99 %"])
    return f'[price]\nmargin = "{margin}"\n{tax}\ndeposit_most = "10 %"\n'


def _write_spots(
    lot: random.Random,
    file: Path,
    at: Move,
    ground: Callable[[Point], float],
    factor: float,
) -> None:
    count = lot.choice([4, 7, 12, 30, 30, 60])
    reach = [(-4, -3), (12, -3), (12, 11), (-4, 11)]
    points = reach + [(lot.uniform(-4, 12), lot.uniform(-3, 11)) for _ in range(count - 4)]
    more = lot.choice([[], ["id"], ["code", "note"]])
    rows = [",".join(["x", "y", "z", *more])]
    rough = lot.choice([0.0, 0.01, 0.03])
    for place, point in enumerate(points):
        z = ground(point) + lot.gauss(0, rough) / factor
        rows.append(",".join([*map(str, at(point)), f"{z:.3f}", *[f"P{place}"] * len(more)]))
    if lot.random() < 0.2:
        place = lot.randrange(1, len(rows))
        cells = rows[place].split(",")
        cells[2] = _moved(cells[2], lot.choice([-1, 1, 900, 0.1]))
        rows[place] = ",".join(cells)
    file.write_text("\n".join([*rows, ""]), encoding="utf-8")
