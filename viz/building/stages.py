"""Every step of a build-up as bodies in one scene, whose views are the numbers of the steps."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import shapely

from grading.units import INCH
from viz.building.sequence import BuildUp, Dug, Piece, Step, surface_of
from viz.building.sequence_solids import left_of, piece
from viz.building.stacked import TIER, TIERS, flat, stacks_of
from viz.look.materials import material
from viz.scene.backdrop import Backdrop, add_wall
from viz.scene.collect import add_pattern, add_solid
from viz.scene.grain import grains, pavers, seams, studs
from viz.scene.layers.stack import dug_over
from viz.scene.model import Camera, Collected, Label, Lines, Scene
from viz.scene.shell import Floats, Region, Shape, Sheet, Solid, between, joined, polygons
from viz.scene.solids import Dug as Hole
from viz.scene.solids import creased, slab
from viz.scene.surroundings import add_ground, drape_over, height_over
from viz.words.folds import panes_of, warped

OPEN_JOINT = "#51453a"
"""What is seen between pavers before the joints are filled."""

FABRIC = INCH / 2
"""Thickness that geotextile is drawn with; it has none to speak of. [m]"""

SEAM = "#e6e6e6"
SHARES = (0.72, 0.6, 0.5, 0.85, 0.35, 0.2, 0.1)
"""Places along the cut face that may be pointed at, the first where there is a choice."""

PROUD = 0.006
"""How far what is thin stands out of the cut face, so that it is seen there. [m]"""


def view(step: int) -> str:
    """Return the name of the view that shows a step."""
    return f"step {step}"


def staged(built: BuildUp, back: Backdrop) -> Scene:
    """Return the scene of a build-up: a view for each step, a label where its work is seen.

    It has no legend and no figures of its own: those are the build-up's, step by step.

    Parameters
    ----------
    built : BuildUp
    back : Backdrop
        That of its area.
    """
    stages = _Stages(built, back)
    stages.add_around()
    stages.add_dig()
    for number, step in enumerate(built.steps):
        for each in step.pieces:
            stages.add_piece(number, each)
    stages.add_pavers()
    stages.add_stacks()
    stages.add_labels()
    found = stages.collected
    points = np.concatenate([body.vertices[np.unique(body.faces)] for body in found.bodies])
    points = points * np.array([1.0, 1.0, back.exaggeration])
    box = np.array([points.min(axis=0), points.max(axis=0)])
    camera = Camera("cut", "Cut open", back.cutaway.direction, box)
    return replace(
        back.scene, base=built.base, base_title=built.dig.system.title,
        build_up=built.dig.build_up, bodies=tuple(found.bodies), lines=tuple(found.lines),
        labels=tuple(found.labels), cameras=(camera,), legend=(), figures=(),
    )  # fmt: skip


class _Stages:
    def __init__(self, built: BuildUp, back: Backdrop) -> None:
        self.built, self.back = built, back
        self.collected = Collected()
        self.views = [view(number) for number in range(len(built.steps))]
        self.kept = back.cutaway.kept
        self.right = back.cutaway.frame.right
        self.finish = built.area.finish.surface
        self.hole = self._hole(self.kept)
        self.outline = polygons(built.dig.outline.intersection(self.kept))
        self.holed = polygons(built.dig.polygon.intersection(self.kept))
        sheet, values = _together(self.hole)
        self.read = [height_over(sheet, each) for each in values]

    def _hole(self, within: Shape) -> list[Hole]:
        region = polygons(self.built.dig.polygon.intersection(within))
        return dug_over(self.back.ground, self.built.dig, region, self.back.origin)

    def _near(self, region: Any) -> Any:

        return shapely.transform(region, lambda xy: xy - self.back.origin[:2])

    def _below_finish(self, depth: float) -> Any:
        def height(xy: Floats) -> Floats:
            origin = self.back.origin
            return np.asarray(self.finish.at(xy + origin[:2]) - origin[2] - depth)

        return height

    def _after(self, number: int) -> tuple[str, ...]:
        return tuple(self.views[number:])

    def add_around(self) -> None:
        """Add the whole ground as it is today, then what stays of it, and the house."""
        back, found = self.back, self.collected
        whole = drape_over(back.ground, back.region, back.origin)
        add_ground(found, whole, back.bottom, (self.views[0],), 1)
        outside = polygons(back.region.difference(self.built.dig.polygon))
        if not outside.is_empty:
            around = drape_over(back.ground, outside, back.origin)
            add_ground(found, around, back.bottom, self._after(1), 1)
        add_wall(found, back, self._after(0))

    def add_dig(self) -> None:
        """Add what is still to be dug at each stage, and the soil below the dig."""
        bottom = self.back.bottom
        under = [
            between(part.draped.sheet, part.floor, np.full_like(part.floor, bottom))
            for part in self.hole
        ]
        add_solid(self.collected, "subgrade", "subgrade", joined(under), self._after(1))
        for number, step in enumerate(self.built.steps[1:], start=1):
            shown = (self.views[number],)
            if step.phase == "dig":
                topsoil, below = left_of(self.hole, step.dug)
                add_solid(self.collected, "topsoil", "topsoil", topsoil, shown)
                add_solid(self.collected, "subsoil", "subsoil", below, shown)
            if not any(each.pieces for each in self.built.steps[: number + 1]):
                bare = "topsoil" if step.dug.topsoil < 1 else "subgrade"
                self._grains(bare, self.holed, self._dug_to(step.dug), shown, number)

    def _dug_to(self, dug: Dug) -> Any:
        sheet, (ground, organics, floor, _) = _together(self.hole)
        return height_over(sheet, surface_of(ground, organics, floor, dug))

    def _grains(
        self, kind: str, region: Shape, height: Any, shown: tuple[str, ...], seed: int
    ) -> None:
        near = self._near(polygons(region))
        look = material(kind)
        if near.is_empty or not look.grains:
            return
        meshes = grains(near, look.size, look.share, len(look.grains), seed)
        add_pattern(self.collected, kind, kind, look.grains, meshes, height, shown)

    def add_piece(self, number: int, found: Piece) -> None:
        """Add a piece from its step on, with what its top shows; pavers come by themselves."""
        if self.built.steps[number].phase == "pavers":
            return
        shown = self._after(number)
        if found.kind == "geotextile":
            add_solid(self.collected, found.name, found.material, self._fabric(found), shown)
            return
        solid = piece(found, self.finish, self.hole, self.back.origin, self.kept, steps=False)
        add_solid(self.collected, found.name, found.material, solid, shown)
        region = polygons(found.footprint.intersection(self.kept))
        if region.is_empty:
            return
        if found.kind == "refill":
            share = found.share[1]
            sheet, (_, _, floor, level) = _together(self.hole)
            height = height_over(sheet, floor + share * (level - floor))
        else:
            height = self._below_finish(found.top)
        if found.kind == "backfill":
            self._turf(region, height, shown)
        elif found.material == "panel":
            self._panels(region, height, shown)
        else:
            self._grains(found.material, region, height, shown, number)

    def _fabric(self, found: Piece) -> Solid:
        """Return geotextile as it is drawn: thick enough to be seen, and up the sides."""
        cut = self.back.cutaway
        proud = cut.between(cut.start, cut.at + PROUD)
        parts = [
            between(part.draped.sheet, part.floor + FABRIC, part.floor)
            for part in self._hole(proud)
        ]
        if found.thickness:
            inner = found.footprint.buffer(-FABRIC, join_style="mitre")
            for part in self._hole(proud.difference(inner)):
                # It is held by the side of the hole: above the ground nothing carries it yet.
                top = np.minimum(part.level + found.thickness, part.draped.ground)
                parts.append(between(part.draped.sheet, np.maximum(top, part.floor), part.floor))
        return joined(parts)

    def _turf(self, region: Region, height: Any, shown: tuple[str, ...]) -> None:
        sheet = creased(region, self.finish, self.back.origin)
        plate = [(sheet.xy, sheet.faces)]
        look = material("turf")
        add_pattern(self.collected, "turf", "turf", [look.colour], plate, height, shown, 0.003)
        meshes = grains(self._near(region), look.size, look.share, len(look.grains), 1)
        add_pattern(self.collected, "turf", "turf", look.grains, meshes, height, shown, 0.006)

    def _panels(self, region: Shape, height: Any, shown: tuple[str, ...]) -> None:
        """Add the relief of panels, and the seams between them where they are laid."""
        near = self._near(region)
        tones = material("panel").grains
        add_pattern(
            self.collected, "panel", "panel", tones, [studs(near, self.right)], height, shown
        )
        points, segments, count = [], [], 0
        for line in seams(self._near(np.asarray(self.built.panels)), near):
            points.append(np.column_stack([line, height(line) + 0.003]))
            steps = count + np.arange(len(line) - 1)
            segments.append(np.column_stack([steps, steps + 1]))
            count += len(line)
        if points:
            self.collected.lines.append(
                Lines("panel seams", np.concatenate(points), np.concatenate(segments), SEAM, 1.0,
                      frozenset(shown))
            )  # fmt: skip

    def add_pavers(self) -> None:
        """Add the pavers as far as they lie at each step, and with filled joints at the end."""

        laying = [k for k, step in enumerate(self.built.steps) if step.phase == "pavers"]
        if not laying or self.outline.is_empty:
            return
        tones = material("paver").grains
        panes = panes_of(self.built.area)
        facets = [] if warped(panes) else [self._near(pane.domain) for pane in panes]
        faces = self._near(self.back.faces)
        height = self._below_finish(0.0)
        bands: list[Any] = []
        for number in laying:
            bands += [each.footprint for each in self.built.steps[number].pieces]
            region = polygons(shapely.union_all(bands).intersection(self.kept))
            last = number == laying[-1]
            shown = (self.views[number],)
            if region.is_empty:
                continue
            thickness = self.built.steps[number].pieces[-1].thickness
            solid = slab(region, self.finish, 0.0, thickness, self.back.origin, steps=False)
            add_solid(self.collected, "paver", "paver", solid,
                      self._after(number) if last else shown)  # fmt: skip
            plate = creased(region, self.finish, self.back.origin)
            add_pattern(self.collected, "open joints", "paver", [OPEN_JOINT],
                        [(plate.xy, plate.faces)], height, shown, 0.003)  # fmt: skip
            laid = pavers(faces, self._near(region), len(tones), facets)
            add_pattern(self.collected, "paver", "paver", tones, laid, height,
                        self._after(number) if last else shown, 0.006)  # fmt: skip

    def add_stacks(self) -> None:
        """Add the pavers that are stacked while others are laid, at their true height."""
        back = self.back
        paver = self.built.dig.system.layers[0].thickness
        ground = drape_over(back.ground, back.region, back.origin)
        read = height_over(ground.sheet, ground.ground)
        on_it = self.built.stacks.walked_on
        for number in range(len(self.built.steps)):
            for box in stacks_of(self.built, back, number):
                sheet = flat(box, back.origin)
                under = (self._below_finish(paver) if on_it else read)(sheet.xy)
                stands = float(under.max())
                floor = under
                for tier in range(1, TIERS + 1):
                    top = np.full_like(floor, stands + tier * TIER)
                    add_solid(self.collected, "stacked pavers", "paver",
                              between(sheet, top, floor), (self.views[number],),
                              stands=stands)  # fmt: skip
                    floor = top

    def add_labels(self) -> None:
        """Mark where the work of each step is seen, in the cut face where it can be."""
        for number, step in enumerate(self.built.steps):
            at = self._place(step)
            if at is not None:
                label = Label(step.title, at, "layer", frozenset({self.views[number]}), number + 1)
                self.collected.labels.append(label)

    def _place(self, step: Step) -> Floats | None:

        cut, origin = self.back.cutaway, self.back.origin
        seen = self.built.dig.polygon if step.phase == "dig" else self.built.dig.outline
        if step.phase == "pavers" and step.pieces:
            seen = step.pieces[-1].footprint
        found = [cut.face(seen, share) for share in SHARES]
        points = np.array([point for point in found if point is not None])
        if not len(points):
            shown = polygons(seen.intersection(self.kept))
            if shown.is_empty:
                return None
            points = shapely.get_coordinates(shown.representative_point())
        near = points - origin[:2]
        ground, organics, floor, level = (read(near) for read in self.read)
        finish = self._below_finish(0.0)(near)
        if step.phase in ("today", "dig"):
            z = surface_of(ground, organics, floor, step.dug)
            best = 0
        elif step.phase == "finish" or not step.pieces:
            z, best = finish, 0
        elif step.pieces[-1].kind == "geotextile":
            z, best = floor, 0
        elif step.pieces[-1].kind == "refill":
            z = floor + np.mean([each.share for each in step.pieces]) * (level - floor)
            deep = level - floor
            best = int(np.argmax(deep >= 0.6 * deep.max()))
        else:
            top, last = step.pieces[-1].top, step.pieces[0]
            z, best = finish - (top + last.top + last.thickness) / 2, 0
        return np.append(near[best], z[best])


def _together(parts: list[Hole]) -> tuple[Sheet, tuple[Floats, Floats, Floats, Floats]]:
    """Return the parts of a hole as one sheet: ground, organics, floor and formation over it."""
    starts = np.cumsum([0, *(len(part.draped.sheet.xy) for part in parts)])
    faces = [part.draped.sheet.faces + start for part, start in zip(parts, starts, strict=False)]
    sheet = Sheet(np.concatenate([part.draped.sheet.xy for part in parts]), np.concatenate(faces))
    return sheet, (
        np.concatenate([part.draped.ground for part in parts]),
        np.concatenate([part.draped.organics for part in parts]),
        np.concatenate([part.floor for part in parts]),
        np.concatenate([part.level for part in parts]),
    )
