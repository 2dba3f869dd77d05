"""Exports of finishes that fold or warp, of areas that share edges, and of awkward names."""

from __future__ import annotations

from functools import cache

import ezdxf
import numpy as np
import openpyxl
import pytest
import trimesh
from lxml import etree
from make.by_lot import by_lot
from make.plans.exported import between, interpolated, nodes_of, plan_area
from make.plans.folded import FOLDED, WATERED
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of
from msgspec.structs import replace

import grading
from grading.ground.model import survey_to_ground
from viz.export.formats import export
from viz.export.landxml import surfaces_of
from viz.export.stl import solids_of
from viz.export.surfaces import without_slivers
from viz.file_names import area_slugs

SHAPES = {**FOLDED, **WATERED}


@cache
def planned(name):
    return grading.plan(SHAPES[name]())


@pytest.mark.parametrize("name", SHAPES)
def test_surfaces_are_those_of_the_plan(name):
    plan = planned(name)
    found = {surface.name: surface for surface in surfaces_of(plan)}
    assert len(found) == len(surfaces_of(plan))
    for surface in found.values():
        assert (plan_area(surface.points, surface.faces) > 0).all(), surface.name
    for area in plan.areas:
        finish = found[f"{area.area.name}, finish"]
        areas = plan_area(finish.points, finish.faces)
        assert areas.sum() == pytest.approx(area.outline.area, rel=1e-9)
        # In the middle of every triangle too: no triangle bridges a fold.
        middle = finish.points[finish.faces].mean(axis=1)
        assert middle[:, 2] == pytest.approx(area.finish.surface.at(middle[:, :2]), abs=1e-9)
        for base, dig in area.digs.items():
            dug = found[f"{area.area.name}, {base}, dug to"]
            top = plan.ground.elevation(dug.points[:, :2])
            # The steps that a warp has beyond its paving are left out of a surface.
            fine = 2e-5 if name == "warp" else 1e-9
            assert between(dug.points, dug.faces, top) == pytest.approx(dig.cut, rel=fine)
            level = found[f"{area.area.name}, {base}, subgrade"].points[:, 2]
            refill = between(dug.points, dug.faces, level)
            # Of that a few cubic centimetres, however little is filled.
            assert refill == pytest.approx(dig.fill, rel=fine, abs=5e-6 if name == "warp" else 1e-9)


@pytest.mark.parametrize("name", by_lot(SHAPES, 0.3))
def test_solids_close_and_weigh_what_the_plan_says(name, tmp_path):
    plan = planned(name)
    export(plan, tmp_path, ["stl"])
    for area, start in zip(plan.areas, area_slugs(plan), strict=True):
        for base, dig in area.digs.items():
            volumes = {"earth-to-dig": dig.cut, "refill": dig.fill, "backfill-beside": dig.backfill}
            for number, (what, _) in enumerate(solids_of(area, base)[1], 1):
                slug = what.replace(" ", "-")
                (file,) = (tmp_path / "stl").glob(f"{start}-{base}-{number}-{slug}-mm.stl")
                mesh = trimesh.load(file)
                # A solid that touches itself along a line has four triangles at an edge there.
                _, shared = np.unique(np.sort(mesh.edges, axis=1), axis=0, return_counts=True)
                assert (shared % 2 == 0).all(), file.name
                told = volumes.get(slug) or next(
                    part.volume for part in dig.layers if part.layer.name == what
                )
                assert mesh.volume / 1e9 == pytest.approx(told, rel=2e-5, abs=5e-6)


@pytest.mark.parametrize("name", by_lot(SHAPES, 0.3))
def test_drawings_need_no_mending_and_tell_every_fold(name, tmp_path):
    from grading.design.folds import folds_of, panes_of, warped

    plan = planned(name)
    export(plan, tmp_path, ["dxf"])
    for area, start in zip(plan.areas, area_slugs(plan), strict=True):
        doc = ezdxf.readfile(tmp_path / f"{start}.dxf")
        audit = doc.audit()
        assert not audit.errors
        assert not audit.fixes
        if not warped(panes_of(area)):
            lines = doc.modelspace().query('LWPOLYLINE[layer=="folds"]')
            ends = [np.array(line.get_points("xy")) for line in lines]
            per = 0.3048 if plan.site.unit == "ft" else 1.0
            for fold in folds_of(area):
                assert any(
                    np.allclose(np.sort(e * per, axis=0), np.sort(fold.line, axis=0))
                    for e in ends
                    if e.shape == fold.line.shape
                )


@pytest.mark.parametrize("name", by_lot(["valley", "three areas", "water"], 0.3))
def test_models_of_folded_areas_come_back_to_the_site(name, tmp_path):
    plan = planned(name)
    export(plan, tmp_path, ["glb"])
    for area, start in zip(plan.areas, area_slugs(plan), strict=True):
        file, nodes = nodes_of(tmp_path / f"{start}-{area.chosen}-finished.glb")
        matrix = np.array(file.scenes[0].extras["to site"])
        # No paver lies under steps that go down onto an area.
        part = plan.order.of(area).takeoffs[area.chosen].layers[0]
        paver = next(n for n in nodes if n.name == part.layer.name)
        assert paver.volume == pytest.approx(part.volume, rel=1e-4)
        site = paver.points.astype(float) @ matrix[:3, :3].T + matrix[:3, 3]
        below = area.finish.surface.at(site[:, :2]) - site[:, 2]
        assert np.minimum(np.abs(below), np.abs(below - part.layer.thickness)).max() < 1e-5


def test_names_of_any_kind(tmp_path):
    site = site_of(grid_of_spots(lambda x, y: 30 - 0.01 * y), [PATIO, PATIO], house=WALL)
    named = [
        site.areas[0].model_copy(update={"name": 'Küche & "Hof" <1>: 3/4'}),
    ]
    plan = grading.plan(replace(site, areas=tuple(named), name="=SUM(A1) & <b>Söhne</b>"))
    files = export(plan, tmp_path)
    assert all(file.name.isascii() for file in files)
    root = etree.parse(tmp_path / "surfaces.xml").getroot()
    assert root[2].get("name") == plan.site.name
    book = openpyxl.load_workbook(tmp_path / "plan.xlsx")
    assert book["Summary"]["A1"].value.startswith("=SUM(A1)")
    assert book["Summary"]["A1"].data_type == "s"
    (drawing,) = tmp_path.glob("*.dxf")
    assert not ezdxf.readfile(drawing).audit().errors
    file, _ = nodes_of(next(tmp_path.glob("*-finished.glb")))
    assert file.scenes[0].extras["area"] == named[0].name


def test_a_site_far_from_its_origin_loses_nothing(tmp_path):
    # As in grid coordinates: half a million east, four million north.
    shift = np.array([500_000.0, 4_000_000.0])

    def far(points):
        return (np.asarray(points) + shift).tolist()

    spots = grid_of_spots(lambda x, y: 30 - 0.01 * y + 0.05 * np.sin(x))
    area = {**PATIO, "outline": far(PATIO["outline"])}
    house = {"walls": far(WALL["walls"]), "inside": far([WALL["inside"]])[0]}
    moved = np.asarray(spots) + np.append(shift, 0.0)
    plan = grading.plan(site_of(moved, [area], house=house))
    export(plan, tmp_path, ["glb", "stl", "landxml", "dxf"])
    (only,) = plan.areas
    dig = only.chosen_dig
    root = etree.parse(tmp_path / "surfaces.xml").getroot()
    space = {"x": root.nsmap[None]}
    (made,) = root.xpath(f"//x:Surface[contains(@name, '{only.chosen}, dug to')]", namespaces=space)
    points = np.array([[float(v) for v in p.text.split()] for p in made.findall(".//x:P", space)])
    faces = np.array([[int(v) for v in f.text.split()] for f in made.findall(".//x:F", space)]) - 1
    points = points[:, [1, 0, 2]]
    assert np.abs(points[:, :2] - shift).max() < 20
    ground = survey_to_ground(plan.site)
    top = interpolated(ground.points, ground.triangles, points[:, :2])
    top[~np.isfinite(top)] = plan.ground.elevation(points[~np.isfinite(top), :2])
    assert between(points, faces, top) == pytest.approx(dig.cut, rel=1e-6)
    (earth,) = (tmp_path / "stl").glob(f"*-{only.chosen}-1-earth-to-dig-mm.stl")
    assert trimesh.load(earth).volume / 1e9 == pytest.approx(dig.cut, rel=1e-5)
    (model,) = tmp_path.glob(f"*-{only.chosen}-finished.glb")
    file, nodes = nodes_of(model)
    assert max(np.abs(n.points).max() for n in nodes) < 30
    origin = np.array(file.scenes[0].extras["origin"])
    assert np.abs(origin[:2] - shift).max() < 20


def test_a_point_on_an_edge_takes_the_edge_over():
    # Two triangles, and one without area between them and a third: 1 lies on the edge 0 to 2.
    points = np.array([[0, 0, 0], [1, 0, 1], [2, 0, 2], [1, 1, 5], [1, -1, 7]], float)
    faces = np.array([[0, 2, 3], [0, 1, 2], [0, 4, 1], [1, 4, 2]])
    same, mended = without_slivers(points, faces)
    assert np.array_equal(same, points)
    areas = plan_area(points, mended)
    assert (areas > 0.1).all()
    assert areas.sum() == pytest.approx(2.0)
    assert {frozenset(f) for f in mended.tolist()} == {
        frozenset(f) for f in ((0, 1, 3), (1, 2, 3), (0, 4, 1), (1, 4, 2))
    }


def test_a_line_at_the_rim_is_left_out():
    points = np.array([[0, 0, 0], [1, 0, 0], [2, 0, 0], [1, 1, 0]], float)
    faces = np.array([[0, 1, 3], [1, 2, 3], [0, 2, 1]])
    _, mended = without_slivers(points, faces)
    assert {frozenset(f) for f in mended.tolist()} == {frozenset((0, 1, 3)), frozenset((1, 2, 3))}


def test_a_dense_survey_is_drawn_whole_and_lettered_thinly(tmp_path):
    spots = grid_of_spots(lambda x, y: 30 - 0.01 * y + 0.05 * np.sin(x), spacing=0.25)
    plan = grading.plan(site_of(spots, [PATIO], house=WALL))
    export(plan, tmp_path, ["dxf"])
    (path,) = tmp_path.glob("*.dxf")
    space = ezdxf.readfile(path).modelspace()
    assert len(space.query("POINT")) == len(spots) > 2000
    told = space.query('TEXT[layer=="existing spot elevations"]')
    assert 30 < len(told) < 300
    levels = {f"{z:.3f}" for z in spots[:, 2]}
    assert {text.dxf.text for text in told} <= levels


def test_a_sheet_of_spots_ends_before_the_format_does(monkeypatch):
    from viz.export import planbook

    plan = planned("valley")
    monkeypatch.setattr(planbook, "_MOST", 10)
    name, heading, table = planbook.sheets(plan)[-1]
    assert name == "Spots"
    assert len(table.rows) == 10
    assert f"first 10 of {len(plan.site.spots.xyz)} spots" in heading
