"""Drawings read back, by ezdxf and by GDAL: real coordinates, areas, elevations, entities."""

from __future__ import annotations

import os
import subprocess
import sys
import uuid
from itertools import combinations, pairwise

import ezdxf
import ezdxf.bbox
import numpy as np
import pyogrio
import pytest
import shapely
from ezdxf.math import bulge_to_arc
from make.by_lot import by_lot
from make.plans.exported import SITES, between, interpolated, plan_area
from make.plans.sampled import sampled
from measure.arcs import outline_area
from shapely.geometry.polygon import orient

from grading.design.folds import panes_of
from grading.geometry.arcs import arcs_of, bulged
from grading.geometry.outline import Arc
from grading.structures.model import Structure
from grading.units import METRES, feet_inches, slope
from viz.export.dxf import GROUPS, contour_levels, group_of
from viz.export.dxf_codes import as_written
from viz.export.dxf_draft import Draft
from viz.export.formats import export
from viz.file_names import area_slugs
from viz.scene.layers.laid import takeoff_of
from viz.scene.layers.structures import mesh_of

# GDAL takes a face whose last two corners are one, which is how the format writes a triangle,
# for a ring that is not closed.
OPEN_RING = "ignore:Non closed ring detected:RuntimeWarning"


@pytest.fixture(scope="module", params=by_lot(SITES, 0.3))
def drawings(request, tmp_path_factory):
    plan = sampled(request.param)
    folder = tmp_path_factory.mktemp(request.param)
    files = export(plan, folder, ["dxf"])
    assert sorted(files) == sorted(folder / f"{name}.dxf" for name in area_slugs(plan))
    return [
        (plan, area, METRES[plan.site.unit], folder / f"{name}.dxf")
        for area, name in zip(plan.areas, area_slugs(plan), strict=True)
    ]


def entities(path, kind, layer):
    return list(ezdxf.readfile(path).modelspace().query(f'{kind}[layer=="{layer}"]'))


def area_of(vertices):
    """Return the area in closed form of vertices (x, y, bulge): polygon and circle segments."""
    total = 0.0
    for (x0, y0, bulge), (x1, y1, _) in zip(vertices, [*vertices[1:], vertices[0]], strict=True):
        total += (x0 * y1 - x1 * y0) / 2
        if bulge:
            _, start, end, radius = bulge_to_arc((x0, y0), (x1, y1), bulge)
            sweep = (end - start) % (2 * np.pi)
            total += np.sign(bulge) * radius**2 * (sweep - np.sin(sweep)) / 2
    return abs(total)


def faces_of(path, layer):
    """Return triangles as points (n, 3) and corners (m, 3), in units of the file."""
    corners = np.array(
        [[v.xyz for v in (e.dxf.vtx0, e.dxf.vtx1, e.dxf.vtx2)] for e in
         entities(path, "3DFACE", layer)]
    )  # fmt: skip
    assert len(corners), layer
    points, index = np.unique(corners.reshape(-1, 3), axis=0, return_inverse=True)
    return points, index.reshape(-1, 3)


def test_nothing_has_to_be_mended_and_the_unit_is_the_sites(drawings):
    for plan, _, _, path in drawings:
        doc = ezdxf.readfile(path)
        audit = doc.audit()
        assert not audit.errors
        assert not audit.fixes
        assert doc.dxfversion >= "AC1024"
        # DXF reference, $INSUNITS: 2 feet, 6 metres.
        assert doc.header["$INSUNITS"] == {"ft": 2, "m": 6}[plan.site.unit]


def test_it_needs_no_font_or_block_from_elsewhere(drawings):
    for *_, path in drawings:
        doc = ezdxf.readfile(path)
        assert {style.dxf.font.lower() for style in doc.styles} <= {"txt", "txt.shx"}
        for style in doc.dimstyles:
            for key in ("dimblk", "dimblk1", "dimblk2", "dimldrblk"):
                assert style.dxf.get(key, "") == ""
        blocks = {block.name for block in doc.blocks}
        for entity in doc.modelspace().query("INSERT"):
            assert entity.dxf.name in blocks


def test_outline_and_holes_have_their_true_area_and_arcs_stay_arcs(drawings):
    for _, area, per, path in drawings:
        (outer,) = entities(path, "LWPOLYLINE", "paving outline")
        holes = entities(path, "LWPOLYLINE", "holes in the paving")
        assert outer.closed
        assert all(hole.closed for hole in holes)
        outlines = [area.area.outline, *area.area.holes]
        for entity, edges in zip([outer, *holes], outlines, strict=True):
            vertices = list(entity.get_points("xyb"))
            assert area_of(vertices) * per**2 == pytest.approx(outline_area(edges), rel=1e-12)
            arcs = sum(isinstance(edge, Arc) for edge in edges)
            assert sum(bulge != 0 for *_, bulge in vertices) == arcs
        left = area_of(list(outer.get_points("xyb")))
        left -= sum(area_of(list(hole.get_points("xyb"))) for hole in holes)
        assert left * per**2 == pytest.approx(area.outline.area, rel=1e-9)


@pytest.mark.filterwarnings(OPEN_RING)
def test_gdal_reads_the_outline_where_the_site_has_it(drawings):
    for _, area, per, path in drawings:
        _, _, shapes, fields = pyogrio.raw.read(path, columns=["Layer"])
        own = [
            shapely.from_wkb(shape)
            for shape, layer in zip(shapes, fields[0], strict=True)
            if layer in ("paving outline", "holes in the paving")
        ]
        rings = [shapely.Polygon(shapely.get_coordinates(ring)) for ring in own]
        rings.sort(key=lambda ring: -ring.area)
        paving = rings[0].difference(shapely.union_all(rings[1:]))
        edges = [*area.area.outline, *(edge for hole in area.area.holes for edge in hole)]
        curved = any(isinstance(edge, Arc) for edge in edges)
        # GDAL cuts an arc into chords of four degrees.
        fine = 3e-3 if curved else 1e-9
        assert paving.area * per**2 == pytest.approx(area.outline.area, rel=fine)
        ours = shapely.transform(paving, lambda xy, per=per: xy * per)
        assert ours.hausdorff_distance(area.outline) < (0.01 if curved else 1e-9)


@pytest.mark.filterwarnings(OPEN_RING)
def test_gdal_reads_every_spot_at_its_elevation(drawings):
    for plan, _, per, path in drawings:
        _, _, shapes, fields = pyogrio.raw.read(path, columns=["Layer"])
        points = np.array(
            [
                shapely.get_coordinates(shapely.from_wkb(shape), include_z=True)[0]
                for shape, layer in zip(shapes, fields[0], strict=True)
                if layer == "existing spots"
            ]
        )
        assert points * per == pytest.approx(plan.site.spots.xyz, abs=1e-9)
        digits = 2 if plan.site.unit == "ft" else 3
        told = [e.dxf.text for e in entities(path, "TEXT", "existing spot elevations")]
        expected = [f"{z / per:.{digits}f}" for z in plan.site.spots.xyz[:, 2]]
        assert sorted(told) == sorted(expected)


def test_contours_lie_on_their_surface(drawings):
    for plan, area, per, path in drawings:
        surfaces = {
            "existing contours": plan.ground.elevation, "finish contours": area.finish.surface.at,
        }  # fmt: skip
        for layer, level in surfaces.items():
            lines = entities(path, "LWPOLYLINE", layer)
            assert lines
            for line in lines:
                xy = np.array(line.get_points("xy")) * per
                z = line.dxf.elevation * per
                assert level(xy) == pytest.approx(z, abs=1e-6)
            heights = sorted({round(line.dxf.elevation, 6) for line in lines})
            gaps = {round(b - a, 6) for a, b in pairwise(heights)}
            assert len(gaps) <= 1 or layer == "existing contours"
            told = {e.dxf.text for e in entities(path, "TEXT", layer)}
            assert told <= {f"{h:.2f}" for h in heights} | {f"{h:.3f}" for h in heights}


def test_the_faces_are_ground_finish_and_subgrade(drawings):
    for plan, area, per, path in drawings:
        points, faces = faces_of(path, "existing ground TIN")
        own = plan.ground.triangles[~plan.ground.beyond]
        assert len(faces) == len(own)
        assert np.abs(plan_area(points, faces)).sum() * per**2 == pytest.approx(
            plan.ground.surveyed.area, rel=1e-9
        )
        points, faces = faces_of(path, "finish TIN")
        assert np.abs(plan_area(points, faces)).sum() * per**2 == pytest.approx(
            area.outline.area, rel=1e-9
        )
        made = points * per
        assert made[:, 2] == pytest.approx(area.finish.surface.at(made[:, :2]), abs=1e-9)
        for base, dig in area.digs.items():
            points = faces_of(path, f"subgrade {base} TIN")[0] * per
            assert points[:, 2] == pytest.approx(dig.formation.at(points[:, :2]), abs=1e-9)


def test_ground_over_the_dug_faces_is_the_cut_of_the_plan(drawings):
    for _, area, per, path in drawings:
        ground, corners = faces_of(path, "existing ground TIN")
        for base, dig in area.digs.items():
            points, faces = faces_of(path, f"dug to {base} TIN")
            top = interpolated(ground, corners, points[:, :2])
            # A point of the outline of the survey may lie a rounding beyond it.
            kept = np.isfinite(top)
            top[~kept] = area_ground(drawings, points[~kept, :2] * per) / per
            assert between(points, faces, top) * per**3 == pytest.approx(dig.cut, rel=1e-7)
            level = points[:, 2] + np.maximum(
                dig.formation.at(points[:, :2] * per) / per - points[:, 2], 0
            )
            assert between(points, faces, level) * per**3 == pytest.approx(
                dig.fill, rel=1e-7, abs=1e-9
            )


def area_ground(drawings, xy):
    return drawings[0][0].ground.elevation(xy) if len(xy) else np.zeros(0)


def test_only_the_plan_on_the_chosen_base_is_switched_on(drawings):
    for _, area, _, path in drawings:
        doc = ezdxf.readfile(path)
        off = {layer.dxf.name for layer in doc.layers if layer.is_off()}
        assert off == {
            n for n in (layer.dxf.name for layer in doc.layers) if n.endswith(("TIN", "bodies"))
        } | {f"over-dig {base}" for base in area.digs if base != area.chosen}
        for base, dig in area.digs.items():
            rings = entities(path, "LWPOLYLINE", f"over-dig {base}")
            assert rings
            assert all(ring.closed for ring in rings)
            parts = [shapely.Polygon(np.array(r.get_points("xy"))) for r in rings]
            whole = parts[0]
            for part in parts[1:]:
                whole = whole.symmetric_difference(part)
            per = METRES["m"] if doc.header["$INSUNITS"] == 6 else METRES["ft"]
            assert whole.area * per**2 == pytest.approx(dig.polygon.area, rel=1e-9)


def test_every_long_side_has_a_real_dimension(drawings):
    for plan, area, per, path in drawings:
        found = entities(path, "DIMENSION", "dimensions")
        ring = np.array(orient(area.outline).exterior.coords)
        sides = np.hypot(*np.diff(ring, axis=0).T)
        told = [each.get_measurement() * per for each in found]
        assert len(told) >= 2
        for length in told:
            assert np.abs(sides - length).min() < 1e-9
        assert max(told) == pytest.approx(sides.max())
        for each, length in zip(found, told, strict=True):
            ends = np.array([each.dxf.defpoint2.xyz, each.dxf.defpoint3.xyz])[:, :2] * per
            assert np.hypot(*(ends[1] - ends[0])) == pytest.approx(length, abs=1e-9)
            if plan.site.unit == "ft":
                assert each.dxf.text.startswith(feet_inches(length))
            else:
                assert each.dxf.text in ("", "<>")
                words = [e.dxf.text for e in each.virtual_entities() if e.dxftype() == "TEXT"]
                words += [e.text for e in each.virtual_entities() if e.dxftype() == "MTEXT"]
                assert any(f"{length:.3f}" in word for word in words), words


def test_the_arrow_points_down_the_fall_and_says_how_steep(drawings):
    for plan, area, _, path in drawings:
        panes = panes_of(area)
        arrows = entities(path, "LWPOLYLINE", "fall")
        words = [e.dxf.text for e in entities(path, "TEXT", "fall")]
        assert len(arrows) == len(panes)
        for pane in panes:
            assert any(slope(pane.plane.fall, plan.site.unit) in word for word in words)
            ways = [np.diff(np.array(a.get_points("xy")), axis=0)[0] for a in arrows]
            turned = [way / np.hypot(*way) @ pane.plane.downhill for way in ways]
            assert max(turned) == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("which", ["down", "across"])
def test_a_section_is_a_block_hatched_by_material_at_true_scale(drawings, which):
    for plan, area, per, path in drawings:
        cut = plan.sections.of(area, which)
        doc = ezdxf.readfile(path)
        mark = {"down": "A", "across": "B"}[which]
        name = f"section {mark}-{mark}"
        (placed,) = doc.modelspace().query(f'INSERT[name=="{name}"]')
        assert (placed.dxf.xscale, placed.dxf.yscale, placed.dxf.rotation) == (1, 1, 0)
        block = doc.blocks[name]
        top = area.chosen_dig.system.layers[0]
        hatched = [
            np.array([v[:2] for v in edge.vertices]) * per
            for hatch in block.query(f'HATCH[layer=="material {top.material}"]')
            for edge in hatch.paths.paths
        ]
        shape = shapely.union_all([shapely.Polygon(ring) for ring in hatched])
        # A slab of even upright thickness over the paved length of the line; beyond it lies another
        # area's, where the line comes to one.
        long = sum(b - a for a, b in cut.paved)
        own = shapely.union_all([shapely.box(a, -1e4, b, 1e4) for a, b in cut.paved])
        shape = shape.intersection(own)
        assert shape.area == pytest.approx(long * top.thickness, rel=1e-6)
        for a, _ in cut.paved:
            probe = shapely.LineString([(a + 1e-3, -1e4), (a + 1e-3, 1e4)]).intersection(shape)
            assert probe.bounds[3] == pytest.approx(float(cut.finish_at(a + 1e-3)), abs=1e-6)
        for hatch in block.query("HATCH"):
            if not hatch.dxf.solid_fill:
                # The pattern is in the file, so that none has to be looked up.
                assert len(hatch.pattern.lines)
        words = {e.dxf.text for e in block.query("TEXT")}
        for layer in area.chosen_dig.system.layers:
            assert any(word.startswith(layer.name) for word in words), layer.name


def test_words_do_not_run_over_each_other_on_the_plan(drawings):
    # Lettering of the same height set by a different measure: 0.75 of the height for each letter.
    for *_, path in drawings:
        boxes, words = [], []
        for text in ezdxf.readfile(path).modelspace().query("TEXT"):
            if text.dxf.rotation or text.dxf.layer == "notes":
                continue
            high = text.dxf.height
            wide = 0.75 * high * len(text.dxf.text)
            x, y = text.dxf.insert.x, text.dxf.insert.y
            if text.dxf.halign == 1:
                x = text.dxf.align_point.x - wide / 2
            elif text.dxf.halign == 2:
                x = text.dxf.align_point.x - wide
            boxes.append(shapely.box(x, y, x + wide, y + high))
            words.append(text.dxf.text)
        overlaps = [
            (a, b)
            for a, b in combinations(range(len(boxes)), 2)
            if boxes[a].intersection(boxes[b]).area > 0.15 * min(boxes[a].area, boxes[b].area)
        ]
        assert not overlaps, [(words[a], words[b]) for a, b in overlaps]


def test_bulges_of_known_arcs():
    # A quarter of a circle to the left has the bulge tan(90/4 degrees), DXF reference, LWPOLYLINE.
    half = float(np.sqrt(0.5))
    quarter = [(0.0, 0.0), (1.0, 0.0), Arc((half, half), (0.0, 1.0))]
    assert bulged(quarter)[1] == pytest.approx((1.0, 0.0, np.tan(np.pi / 8)))
    circle = [Arc((0.0, -1.0), (1.0, 0.0)), Arc((0.0, 1.0), (-1.0, 0.0))]
    assert [b for *_, b in bulged(circle)] == pytest.approx([1.0, 1.0])
    inward = [(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), Arc((1.0, 1.5), (0.0, 2.0))]
    assert bulged(inward)[2][2] < 0
    assert area_of(bulged(inward)) == pytest.approx(outline_area(inward), rel=1e-12)


@pytest.mark.parametrize("per", [1.0, 1 / 0.3048])
def test_contours_are_at_round_elevations_between_the_extremes(per):
    levels = contour_levels(9.64, 9.94, per) * per
    assert 5 <= len(levels) <= 15
    assert levels.min() > 9.64 * per
    assert levels.max() < 9.94 * per
    step = np.diff(levels)
    assert step == pytest.approx(step[0])
    assert levels / step[0] == pytest.approx(np.round(levels / step[0]), abs=1e-6)


def test_arcs_of_known_circles():
    """A half circle about (2, 0), bulging outwards, and a quarter about the origin."""
    half = [(0.0, 0.0), {"arc": [(2.0, -2.0), (4.0, 0.0)]}, (2.0, 5.0)]
    ((centre, middle, radius),) = arcs_of(half)
    assert centre == pytest.approx([2, 0])
    assert middle == pytest.approx([2, -2])
    assert radius == pytest.approx(2)
    edge = np.sqrt(0.5) * 3
    quarter = [(0.0, 0.0), (3.0, 0.0), {"arc": [(edge, edge), (0.0, 3.0)]}]
    ((centre, middle, radius),) = arcs_of(quarter)
    assert centre == pytest.approx([0, 0], abs=1e-12)
    assert middle == pytest.approx([edge, edge])
    assert radius == pytest.approx(3)


def test_every_round_edge_has_its_radius(drawings):
    for plan, area, _, path in drawings:
        made = entities(path, "DIMENSION", "radii")
        arcs = arcs_of(area.area.outline)
        assert len(made) == len(arcs)
        for entity, (_, _, radius) in zip(made, arcs, strict=True):
            per = METRES[plan.site.unit]
            assert entity.get_measurement() * per == pytest.approx(radius, rel=1e-9)
        assert len(arcs) == sum(isinstance(each, Arc) for each in area.area.outline)


def test_the_header_tells_how_far_the_drawing_reaches(drawings):
    for *_, path in drawings:
        doc = ezdxf.readfile(path)
        reach = ezdxf.bbox.extents(doc.modelspace())
        assert doc.header["$EXTMIN"] == pytest.approx(tuple(reach.extmin), abs=1e-6)
        assert doc.header["$EXTMAX"] == pytest.approx(tuple(reach.extmax), abs=1e-6)


def test_the_sheet_of_paper_shows_all_of_it_at_the_scale_that_is_stated(drawings):
    for plan, area, _, path in drawings:
        doc = ezdxf.readfile(path)
        (window,) = [each for each in doc.paperspace().query("VIEWPORT") if each.dxf.id != 1]
        (words,) = doc.paperspace().query("TEXT")
        # Millimetres of paper in a metre of the site, from the words: 1/4 in = 1 ft (1:48).
        ratio = float(words.dxf.text.rpartition(":")[2].rstrip(")"))
        shown = window.dxf.view_height * METRES[plan.site.unit] * 1000 / window.dxf.height
        assert shown == pytest.approx(ratio, rel=1e-9)
        outline = area.area.polygon.bounds
        low = np.array(window.dxf.view_center_point)[:2] - window.dxf.view_height / 2 * np.array(
            [window.dxf.width / window.dxf.height, 1]
        )
        high = 2 * np.array(window.dxf.view_center_point)[:2] - low
        assert (low * METRES[plan.site.unit] < outline[:2]).all()
        assert (high * METRES[plan.site.unit] > outline[2:]).all()


@pytest.mark.parametrize("words", ["50 %", "%%c and %%d", "a %%% b", "%%%%", "a^Jb", "2^ 3", "x^2"])
def test_no_word_is_taken_for_a_code(words):
    from ezdxf.tools.text import plain_text

    assert plain_text(as_written(words)) == words


CODED = ["a^Jb", "%%d", "^M", "5 % ^ 2"]


def test_no_name_is_taken_for_a_code_by_any_reader(tmp_path):
    """GDAL turns codes into what they stand for, as a drawing program does.

    It does not know %%%, the DXF reference's code for one percent sign; ezdxf does.
    """
    draft = Draft("m", 1.0)
    for row, words in enumerate(CODED):
        draft.text((0.0, float(row)), words, 2.5, draft.layer("a^J layer"))
    draft.save(tmp_path / "codes.dxf")
    meta, _, _, fields = pyogrio.raw.read(tmp_path / "codes.dxf")
    names = meta["fields"].tolist()
    read = fields[names.index("Text")].tolist()
    assert {words for words in CODED if "^" in words} <= set(read)
    assert set(fields[names.index("Layer")].tolist()) == {"a-J layer"}
    own = ezdxf.readfile(tmp_path / "codes.dxf").modelspace().query("TEXT")
    assert sorted(each.plain_text() for each in own) == sorted(CODED)


SAVED = """
import sys, time
from pathlib import Path
import grading, sample_sites
from viz.export.dxf import write_dxf
plan = grading.plan(grading.read_site(sample_sites.path("garden-court")))
write_dxf(plan, plan.areas[0], Path(sys.argv[1]))
"""


HASHED = """
import hashlib, ezdxf
from viz.export.dxf_codes import same_bytes
drawing = ezdxf.new("R2010")
drawing.modelspace().add_line((0, 0), (1, 1))
drawing.modelspace().add_hatch()
drawing.paperspace().page_setup(size=(100, 100), margins=(0, 0, 0, 0), units="mm")
drawing.paperspace().add_viewport(center=(5, 5), size=(10, 10), view_center_point=(0, 0),
                                  view_height=10)
print(hashlib.sha256(same_bytes(drawing)).hexdigest())
"""


def test_the_bytes_do_not_hang_on_the_order_of_sets_in_a_process():
    made = {
        subprocess.run(
            [sys.executable, "-c", HASHED], check=True, capture_output=True, text=True,
            env=os.environ | {"PYTHONPATH": os.pathsep.join(sys.path), "PYTHONHASHSEED": seed},
        ).stdout
        for seed in "12345"
    }  # fmt: skip
    assert len(made) == 1


@pytest.mark.parametrize(
    "drawings",
    [pytest.param(name, marks=[] if name == "flush-walk" else [pytest.mark.long])
     for name in SITES],
    indirect=True,
)  # fmt: skip
def test_the_same_plan_is_the_same_bytes_and_another_has_other_identifiers(tmp_path, drawings):
    made = []
    for seed in ("1", "2"):
        file = tmp_path / f"{seed}.dxf"
        environment = os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(sys.path)}
        subprocess.run([sys.executable, "-c", SAVED, file], env=environment, check=True)
        made.append(file.read_bytes())
    assert made[0] == made[1]
    known = {ezdxf.readfile(file).header["$VERSIONGUID"] for _, _, _, file in drawings}
    known |= {ezdxf.readfile(file).header["$FINGERPRINTGUID"] for _, _, _, file in drawings}
    assert len(known) == len(drawings)
    assert all(uuid.UUID(each).int for each in known)


# ---------------------------------------------------------------- what is built beside the paving


@pytest.mark.filterwarnings(OPEN_RING)
def test_what_is_built_is_on_layers_of_its_kind(drawings):
    for plan, area, per, path in drawings:
        built = takeoff_of(plan, area, area.chosen).structures
        drawing = ezdxf.readfile(path)
        space = drawing.modelspace()
        groups = {group_of(structure) for structure in built if structure.solids}
        for group in {*GROUPS, "beside"} - groups:
            assert group not in drawing.layers, "nothing is drawn on it"
        for structure in built:
            if not structure.solids:
                continue
            group = group_of(structure)
            assert group in drawing.layers
            assert not drawing.layers.get(group).is_off()
            rings = [*entities(path, "LWPOLYLINE", group),
                     *entities(path, "LWPOLYLINE", f"{group} below")]  # fmt: skip
            drawn = [
                shapely.Polygon([(x * per, y * per) for x, y, *_ in each.get_points()])
                for each in rings
                if len(each.get_points()) > 2
            ]
            for solid in structure.solids:
                for part in shapely.get_parts(solid.footprint):
                    whole = shapely.Polygon(part.exterior)
                    off = min(each.symmetric_difference(whole).area for each in drawn)
                    assert off < 1e-6 * max(whole.area, 1.0), (structure.name, solid.material)
            assert space.query(f'TEXT[layer=="{group}"]'), "it is named"


def test_bodies_of_a_wall_are_closed_and_as_large_as_they_are(drawings):
    import trimesh

    for plan, area, per, path in drawings:
        for structure in takeoff_of(plan, area, area.chosen).structures:
            if group_of(structure) != "walls":
                continue
            points, faces = faces_of(path, "walls bodies")
            mesh = trimesh.Trimesh(points * per, faces, process=True)
            wanted = 0.0
            for each in takeoff_of(plan, area, area.chosen).structures:
                if group_of(each) == "walls":
                    for solid in each.solids:
                        wanted += mesh_of(solid, None, np.zeros(3)).volume
            assert mesh.volume == pytest.approx(wanted, rel=1e-5)
            break


@pytest.mark.parametrize(
    ("kind", "layer"),
    [
        ("block wall", "walls"), ("curb", "walls"), ("grass slope", "walls"), ("steps", "steps"),
        ("channel drain", "drains"), ("underdrain", "drains"), ("dry well", "drains"),
        ("membrane", "drains"), ("downspout extension", "drains"), ("base of its own", "beside"),
    ],
)  # fmt: skip
def test_each_kind_has_its_layer(kind, layer):
    assert group_of(Structure(kind, "one", "patio")) == layer
