"""Every step of a build-up as bodies in one scene, whose views are the numbers of the steps."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec.structs import replace

from grading.geometry.arrays import Floats
from grading.order.sequence import BuildUp, Dug, Piece, Step, surface_of
from grading.section.built import INNER
from grading.structures.model import Structure
from grading.units import INCH
from viz.building.stacked import TIER, TIERS, flat, stacks_of
from viz.scene.backdrop import Backdrop, add_wall
from viz.scene.collect import Collected
from viz.scene.frame import opening_of
from viz.scene.lawn import add_hard, left_over
from viz.scene.layers.beside import add_filled
from viz.scene.layers.structures import mesh_of
from viz.scene.layers.tops import add_pavers, add_top
from viz.scene.model import Camera, Label, Scene
from viz.scene.setting import Setting
from viz.scene.shell import Height, Shape, Solid, between, joined, polygons
from viz.scene.solids import Hole, creased, height_over, part_of_hole, slab
from viz.scene.surroundings import add_ground, drape_over

OPEN_JOINT = "#51453a"
"""What is seen between pavers before the joints are filled."""

FABRIC = INCH / 2
"""Thickness that geotextile is drawn with; it has none to speak of. [m]"""

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
        for structure in step.structures:
            stages.add_structure(number, structure)
    stages.add_pavers()
    stages.add_stacks()
    stages.add_labels()
    found = stages.found
    points = np.concatenate([body.vertices[np.unique(body.faces)] for body in found.bodies])
    points = points * np.array([1.0, 1.0, back.exaggeration])
    box = np.array([points.min(axis=0), points.max(axis=0)])
    camera = Camera("cut", "Cut open", back.cutaway.direction, box)
    return replace(
        back.scene, base=built.base, base_title=built.dig.system.title,
        build_up=built.dig.build_up, bodies=tuple(found.bodies), lines=tuple(found.lines),
        labels=tuple(found.labels), cameras=(camera,), legend=(), figures=(),
    )  # fmt: skip


def left_of(hole: Hole, dug: Dug) -> tuple[Solid, Solid]:
    """Return what is still to be dug out at a stage: the topsoil of it, and what lies below."""
    level = surface_of(hole.ground, hole.organics, hole.floor, dug)
    under = np.minimum(level, hole.ground - hole.organics)
    return between(hole.sheet, level, under), between(hole.sheet, under, hole.floor)


class _Stages:
    def __init__(self, built: BuildUp, back: Backdrop) -> None:
        self.built, self.back = built, back
        self.found = Collected(back.origin)
        self.views = [view(number) for number in range(len(built.steps))]
        self.kept = back.cutaway.kept
        self.finish = built.area.finish.surface
        self.hole = self._hole(self.kept)
        self.outline = polygons(built.dig.outline.intersection(self.kept))

    def _setting(self) -> Setting:
        back, built = self.back, self.built
        frame = back.cutaway.frame
        return Setting(
            back.plan, built.area, built.laid, frame, opening_of(frame, built.area.outline, 1),
            back.ground, back.region, back.bottom, back.exaggeration, self.found,
        )  # fmt: skip

    def _hole(self, within: Shape) -> Hole:
        region = polygons(self.built.dig.polygon.intersection(within))
        return part_of_hole(self.back.ground, self.built.dig, region, self.back.origin)

    def _after(self, number: int) -> tuple[str, ...]:
        return tuple(self.views[number:])

    def _top(
        self, kind: str, region: Shape, height: Height, shown: tuple[str, ...], seed: int
    ) -> None:
        right = self.back.cutaway.frame.right
        add_top(self.found, self.built.laid, kind, kind, region, right, height, shown, seed)

    def add_around(self) -> None:
        """Add the whole ground as it is today, then what stays of it, and the house."""
        back, found = self.back, self.found
        outside = polygons(back.region.difference(self.built.dig.polygon))
        shown = self._after(0)
        hard = add_hard(found, back.plan, back.ground, outside, back.bottom, shown)
        first, *meanwhile, last = shown
        lawn = polygons(outside.difference(hard))
        today = polygons(back.region.difference(hard))
        for region, shown in ((today, (first,)), (lawn, tuple(meanwhile))):
            if not region.is_empty:
                around = drape_over(back.ground, region, back.origin)
                add_ground(found, around, back.bottom, shown, 1)
        if not lawn.is_empty:
            # Lawn is brought to the paving when its edge is filled.
            around, _ = left_over(back.plan, back.ground, lawn, back.origin)
            add_ground(found, around, back.bottom, (last,), 1)
        add_wall(found, back, self._after(0))

    def add_dig(self) -> None:
        """Add what is still to be dug at each stage, and the soil below the dig."""
        hole = self.hole
        under = between(hole.sheet, hole.floor, np.full_like(hole.floor, self.back.bottom))
        self.found.add_solid("subgrade", "subgrade", under, self._after(1))
        for number, step in enumerate(self.built.steps[1:], start=1):
            shown = (self.views[number],)
            if step.phase == "dig":
                topsoil, below = left_of(hole, step.dug)
                self.found.add_solid("topsoil", "topsoil", topsoil, shown)
                self.found.add_solid("subsoil", "subsoil", below, shown)
            if not any(each.pieces for each in self.built.steps[: number + 1]):
                bare = "topsoil" if step.dug.topsoil < 1 else "subgrade"
                level = surface_of(hole.ground, hole.organics, hole.floor, step.dug)
                holed = self.built.dig.polygon.intersection(self.kept)
                self._top(bare, holed, height_over(hole.sheet, level), shown, number)

    def add_piece(self, number: int, found: Piece) -> None:
        """Add a piece from its step on, with what its top shows; pavers come by themselves."""
        if self.built.steps[number].phase == "pavers":
            return
        shown, hole = self._after(number), self.hole
        if found.kind == "backfill":
            add_filled(self._setting(), self.kept, shown)
            return
        region = polygons(found.footprint.intersection(self.kept))
        height = self.found.level(self.finish, found.top)
        if found.kind == "geotextile":
            solid = self._fabric(found)
        elif found.kind == "refill":
            low, share = found.share
            solid = hole.filled(low, share)
            height = height_over(hole.sheet, hole.floor + share * (hole.level - hole.floor))
        else:
            solid = slab(region, self.finish, found.top, found.thickness, self.back.origin)
        self.found.add_solid(found.name, found.material, solid, shown)
        if found.kind != "geotextile":
            self._top(found.material, region, height, shown, number)

    def add_structure(self, number: int, structure: Structure) -> None:
        """Add what is built beside or below the paving, from its step on."""
        cut = self.back.cutaway
        for solid in structure.solids:
            # Its face in the cut stands before the ground's that it lies in.
            far = PROUD * INNER.get(solid.material, 1)
            within = self.kept.union(cut.between(cut.start, cut.at + far))
            mesh = mesh_of(solid, within, self.back.origin)
            self.found.add_solid(structure.name, solid.material, mesh, self._after(number))

    def _fabric(self, found: Piece) -> Solid:
        """Return geotextile as it is drawn: thick enough to be seen, and up the sides."""
        cut = self.back.cutaway
        proud = cut.between(cut.start, cut.at + PROUD)
        part = self._hole(proud)
        parts = [between(part.sheet, part.floor + FABRIC, part.floor)]
        if found.thickness:
            inner = found.footprint.buffer(-FABRIC, join_style="mitre")
            part = self._hole(proud.difference(inner))
            # It is held by the side of the hole: above the ground nothing carries it yet.
            top = np.minimum(part.level + found.thickness, part.ground)
            parts.append(between(part.sheet, np.maximum(top, part.floor), part.floor))
        return joined(parts)

    def _plate(
        self, name: str, colour: str, region: Shape, height: Height, shown: tuple[str, ...]
    ) -> None:
        sheet = creased(polygons(region), self.finish, self.back.origin)
        plate = [(sheet.xy, sheet.faces)]
        self.found.add_pattern(name, "paver", [colour], plate, height, shown, 0.003)

    def add_pavers(self) -> None:
        """Add the pavers as far as they lie at each step, and with filled joints at the end."""
        laying = [k for k, step in enumerate(self.built.steps) if step.phase == "pavers"]
        height = self.found.level(self.finish)
        bands: list[Shape] = []
        for number in laying:
            pieces = self.built.steps[number].pieces
            bands += [each.footprint for each in pieces]
            region = polygons(shapely.union_all(bands).intersection(self.kept))
            shown = (self.views[number],)
            if region.is_empty:
                continue
            stays = self._after(number) if number == laying[-1] else shown
            depth = (0.0, pieces[-1].thickness)
            self.found.add_slab("paver", "paver", region, self.finish, depth, stays)
            self._plate("open joints", OPEN_JOINT, region, height, shown)
            add_pavers(self.found, self.built.laid, region, stays, 0.006)

    def add_stacks(self) -> None:
        """Add the pavers that are stacked while others are laid, at their true height."""
        back = self.back
        paver = self.built.dig.system.layers[0].thickness
        ground = drape_over(back.ground, back.region, back.origin)
        read = height_over(ground.sheet, ground.ground)
        if self.built.stacks.walked_on:
            read = self.found.level(self.finish, paver)
        for number in range(len(self.built.steps)):
            for box in stacks_of(self.built, back, number):
                sheet = flat(box, back.origin)
                floor = read(sheet.xy)
                stands = float(floor.max())
                for tier in range(1, TIERS + 1):
                    top = np.full_like(floor, stands + tier * TIER)
                    solid = between(sheet, top, floor)
                    shown = (self.views[number],)
                    self.found.add_solid("stacked pavers", "paver", solid, shown, stands=stands)
                    floor = top

    def add_labels(self) -> None:
        """Mark where the work of each step is seen, in the cut face where it can be."""
        for number, step in enumerate(self.built.steps):
            at = self._place(step)
            if at is not None:
                shown = frozenset({self.views[number]})
                self.found.labels.append(Label(step.title, at, "layer", shown, number + 1))

    def _place_on(self, structures: tuple[Structure, ...]) -> Floats | None:
        """Return the middle of the top of what is built, as far as it is shown."""
        found = []
        for solid in (each for structure in structures for each in structure.solids):
            shown = polygons(solid.footprint.intersection(self.kept))
            if not shown.is_empty:
                at = shapely.get_coordinates(shown.representative_point())[:1]
                found.append((float(solid.between(at)[1][0]), at[0]))
        if not found:
            return None
        z, xy = max(found, key=lambda each: each[0])
        return np.append(xy, z) - self.back.origin

    def _place(self, step: Step) -> Floats | None:
        seen: Shape = self.built.dig.polygon if step.phase == "dig" else self.built.dig.outline
        if step.phase == "pavers" and step.pieces:
            seen = step.pieces[-1].footprint
        points = [self.back.cutaway.face(seen, share) for share in SHARES]
        points = [point for point in points if point is not None]
        if not points:
            shown = polygons(seen.intersection(self.kept))
            if shown.is_empty:
                return None
            points = [shapely.get_coordinates(shown.representative_point())[0]]
        if step.structures:
            return self._place_on(step.structures)
        near, hole, best = np.array(points) - self.back.origin[:2], self.hole, 0
        ground, organics, floor, level = (
            height_over(hole.sheet, each)(near)
            for each in (hole.ground, hole.organics, hole.floor, hole.level)
        )
        finish = self.found.level(self.finish)(near)
        if step.phase in ("today", "dig"):
            z = surface_of(ground, organics, floor, step.dug)
        elif step.phase == "finish" or not step.pieces:
            z = finish
        elif step.pieces[-1].kind == "geotextile":
            z = floor
        elif step.pieces[-1].kind == "refill":
            deep = level - floor
            z = floor + np.mean([each.share for each in step.pieces]) * deep
            best = int(np.argmax(deep >= 0.6 * deep.max()))
        else:
            top, last = step.pieces[-1].top, step.pieces[0]
            z = finish - (top + last.top + last.thickness) / 2
        return np.append(near[best], z[best])
