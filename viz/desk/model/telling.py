"""The model of a plan with all that is said of it, ready to be sent to a window."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np
import shapely
from msgspec import to_builtins
from msgspec.structs import asdict

from grading.design.area import AreaPlan
from grading.geometry.arrays import Floats
from grading.section.line import down_and_across
from grading.units import METRES, Unit
from viz.desk.model.bare import Bare, bare_of
from viz.desk.model.bodies import Bodies, Stand
from viz.desk.model.frame import Model, Shape
from viz.desk.model.parts import Part
from viz.desk.seen import Asked, Seen
from viz.file_names import slug
from viz.look.materials import material
from viz.pictures.lights import lit
from viz.scene.layers.treads import legend_of, treads_of
from viz.scene.model import Label, heights_words
from viz.words.cautions import PICTURE

_PLACES = 3  # decimals of a place that is only looked at [m]


def looked_at(seen: Seen) -> tuple[AreaPlan, str] | None:
    """Return the area and the base that a window looks at; None where nothing is planned."""
    if seen.plan is None or not seen.plan.areas:
        return None
    areas = {area.area.name: area for area in seen.plan.areas}
    area = areas.get(seen.asked.area, seen.plan.areas[0])
    base = seen.asked.base_system
    return area, base if base in area.digs else area.chosen


def told_model(bodies: Bodies, seen: Seen) -> Model:
    """Return bodies with all that is said of them.

    Parameters
    ----------
    bodies : Bodies
    seen : Seen
        What they are of.
    """
    area, stand, unit = bodies.area, bodies.stand, bodies.plan.site.unit
    standing = any(part.look.stands is not None for part in bodies.parts)
    own = {
        "area": area.area.name,
        "base_system": bodies.base,
        "stale": seen.stale,
        "near": bodies.frame.near.tolist(),
        "box": _box(bodies, looked_at=True),
        "box_of_all": _box(bodies, looked_at=False),
        "cut": _cut(bodies, seen.asked, unit),
        "heights": heights_words(stand.factor, standing),
        "heights_brief": heights_words(stand.factor, False),
        "views": _views(bodies, unit),
        "file": f"{slug(area.area.name)}-{slug(bodies.base)}.png",
    }
    labels = sorted(bodies.labels, key=lambda label: label.rank)
    told = tuple(_told(part, bodies) for part in bodies.parts)
    return _model(seen, stand, unit, bodies.parts, told, labels, own)


def bare_model(seen: Seen, last: Stand | None = None) -> tuple[Model, Stand] | None:
    """Return the model of a yard that has no plan yet, and where it stands; None of an empty one.

    Parameters
    ----------
    seen : Seen
    last : Stand, optional
        Where the model before it stood.
    """
    bare = bare_of(seen, last)
    if bare is None:
        return None
    unit, stand = seen.partly.unit, bare.stand
    box = _corners(bare.parts)
    own = {
        "area": "", "base_system": "", "stale": False,
        "near": bare.near.tolist(), "box": box, "box_of_all": box,
        "cut": _pairs(bare.line - stand.origin[:2] if seen.asked.cut is None
                      else np.array(seen.asked.cut) * METRES[unit] - stand.origin[:2]),
        "heights": f"{UNPLANNED} {heights_words(stand.factor, False)}",
        "heights_brief": UNPLANNED,
        "views": _bare_views(bare, housed=seen.partly.house is not None), "file": "ground.png",
    }  # fmt: skip
    told = tuple(map(_told_part, bare.parts))
    return _model(seen, stand, unit, bare.parts, told, bare.labels, own), stand


def _model(
    seen: Seen, stand: Stand, unit: Unit, parts: Sequence[Part], told: tuple[dict[str, Any], ...],
    labels: Iterable[Label], own: Mapping[str, Any],
) -> Model:  # fmt: skip
    """Return the model of some parts, with what is said of them all and what is `own` to it."""
    header = {
        "rev": seen.revision,
        "unit": unit,
        "scale": METRES[unit],
        "origin": stand.origin.tolist(),
        "factor": stand.factor,
        "caution": PICTURE,
        "looks": {
            kind: to_builtins(material(kind)) for kind in sorted({part.look.kind for part in parts})
        },
        "labels": [
            {"text": label.text.split("\n"), "at": _few(label.at),
             "stands": None if label.stands is None else float(label.stands)}
            for label in labels
        ],
        **own,
        "lit": lit(np.append(own["near"], 0.0)),
    }  # fmt: skip
    shapes = {part.hash: Shape(part.corners, part.triangles) for part in parts}
    return Model(header, told, shapes)


UNPLANNED = "This is the yard as it was measured: nothing is planned yet."


def _bare_views(bare: Bare, *, housed: bool) -> list[dict[str, str]]:
    return [*_seen_whole(bare.said, housed), _way("cut", "Cut open", f"{bare.said}, cut open.")]


def _seen_whole(what: str, housed: bool) -> list[dict[str, str]]:
    """Return the two ways to see all of it: from either side."""
    toward = "towards the house" if housed else "from in front"
    behind = "From the house" if housed else "From behind"
    out = "from the house out to the yard" if housed else "from behind"
    return [
        _way("whole", "The whole", f"{what}, seen {toward}."),
        _way("behind", behind, f"{what}, seen {out}."),
    ]


def _way(key: str, label: str, said: str) -> dict[str, str]:
    return {"key": key, "label": label, "said": said}


def _few(values: Floats) -> list[float]:
    return [round(float(each), _PLACES) for each in values]


def _told_part(part: Part) -> dict[str, Any]:
    look = part.look
    told = asdict(look) | {"hash": part.hash, "lift": round(look.lift, _PLACES)}
    return {key: value for key, value in told.items() if value is not None}


def _told(part: Part, bodies: Bodies) -> dict[str, Any]:
    told, look = _told_part(part), part.look
    if look.role == "layer" and look.kind == "paver":
        name = look.name.partition("/layer/")[0]
        told["laid"] = _laid(bodies, name)
    return told


def _laid(bodies: Bodies, name: str) -> dict[str, Any]:
    """Return how the pavers of an area lie: their size [m], the frame they are laid in [m, rad]."""
    layout = bodies.laid_in(name).pavers
    pavers, field = layout.pavers, layout.field
    return {
        "pattern": pavers.pattern, "length": pavers.length, "width": pavers.width,
        "joint": pavers.joint, "turn": float(field.turn),
        "at": (np.asarray(field.origin) - bodies.stand.origin[:2]).tolist(),
    }  # fmt: skip


def _box(bodies: Bodies, looked_at: bool) -> list[list[float]]:
    """Return the least and greatest corner of the layers, about the origin.

    Those of every area, or of the one that is looked at.
    """
    layers = [part for part in bodies.parts if part.look.role == "layer"]
    if looked_at:
        layers = [part for part in layers if part.look.number]
    return _corners(layers or bodies.parts, () if looked_at else _doors(bodies))


def _doors(bodies: Bodies) -> list[Floats]:
    """Return where the doors are told of, which are a part of the whole. (3,) [m]"""
    return [np.asarray(label.at, float) for label in bodies.labels if label.kind == "house"]


def _corners(parts: Iterable[Part], beside: Iterable[Floats] = ()) -> list[list[float]]:
    places = [*(part.solid.vertices for part in parts), *(at[None] for at in beside)]
    points = np.concatenate(places)
    return [_few(points.min(axis=0)), _few(points.max(axis=0))]


def _cut(bodies: Bodies, asked: Asked, unit: Unit) -> list[list[float]]:
    """Return the line of the cut about the origin: the one asked for, or down the fall. [m]"""
    origin = bodies.stand.origin[:2]
    if asked.cut is not None:
        return _pairs(np.array(asked.cut) * METRES[unit] - origin)
    line, outline = down_and_across(bodies.plan, bodies.area)[0], bodies.area.outline
    along = (shapely.get_coordinates(outline.exterior) - line.through) @ line.along
    ends = line.through + np.outer([along.min(), along.max()], line.along)
    return _pairs(ends - origin)


def _pairs(points: Floats) -> list[list[float]]:
    return [[float(x), float(y)] for x, y in points]


def _views(bodies: Bodies, unit: Unit) -> list[dict[str, str]]:
    """Return the four ways to see the model: what the button says, and what then is seen."""
    plan, area, laid = bodies.plan, bodies.area, bodies.laid[0]
    legend = legend_of(treads_of(laid), laid, unit)
    layers = "; ".join(f"{entry.name}, {entry.words}" for entry in legend)
    what = f"The {area.area.name} on {laid.dig.system.title.lower()}"
    down = f"From the top down: {layers}."
    return [
        *_seen_whole(what, plan.site.house is not None),
        _way("cut", "Cut open", f"{what}, cut open. {down}"),
        _way("apart", "Layers apart", f"{what}, its layers lifted apart. {down}"),
    ]
