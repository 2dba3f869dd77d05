"""Solids measured in the file: closed, turned outwards, in millimetres, as heavy as the plan."""

from __future__ import annotations

import re

import numpy as np
import pytest
import pyvista
import stl as numpy_stl
import trimesh
from make.plans.exported import SITES
from make.plans.sampled import sampled

from viz.export.formats import export
from viz.file_names import area_slugs, slug

LEAST = 1e-6  # m3


@pytest.fixture(scope="module", params=SITES)
def solids(request, tmp_path_factory):
    plan = sampled(request.param)
    folder = tmp_path_factory.mktemp(request.param)
    return plan, folder, export(plan, folder, ["stl"])


def each(solids):
    """Yield each volume of the plan with its name, its files, and the plan it must lie over."""
    plan, folder, _ = solids
    for area, name in zip(plan.areas, area_slugs(plan), strict=True):
        for base, dig in area.digs.items():
            told = [("earth to dig", dig.cut, dig.polygon), ("refill", dig.fill, None)]
            told += [
                (part.layer.name, part.volume, dig.polygon if part.layer.spreads else dig.outline)
                for part in dig.layers
            ]
            told.append(("backfill beside", dig.backfill, None))
            for what, volume, over in told:
                files = list((folder / "stl").glob(f"{name}-{base}-*-{slug(what)}-mm.stl"))
                yield what, volume, over, files, dig


def test_every_volume_of_the_plan_has_a_file_and_nothing_else_has(solids):
    found = []
    for what, volume, _, files, _ in each(solids):
        assert len(files) == (1 if volume > LEAST else 0), what
        found += files
    assert sorted(found) == sorted(solids[2])


def test_numpy_stl_weighs_what_the_plan_says(solids):
    for what, volume, _, files, _ in each(solids):
        for file in files:
            mesh = numpy_stl.mesh.Mesh.from_file(str(file))
            told = mesh.get_mass_properties()[0] / 1e9
            # numpy-stl sums in 32 bits about the file's origin, hence no finer.
            assert told == pytest.approx(volume, rel=1e-3), what


def test_trimesh_and_vtk_find_closed_solids_of_the_volume(solids):
    for what, volume, _, files, _ in each(solids):
        for file in files:
            mesh = trimesh.load(file)
            assert mesh.is_watertight, (what, file.name)
            assert mesh.is_winding_consistent
            assert mesh.volume / 1e9 == pytest.approx(volume, rel=1e-5), what
            surface = pyvista.read(file)
            assert surface.n_open_edges == 0
            assert surface.is_manifold
            assert surface.volume / 1e9 == pytest.approx(volume, rel=1e-5), what


def test_millimetres_about_the_origin_that_the_header_tells(solids):
    for what, _, over, files, dig in each(solids):
        for file in files:
            header = file.read_bytes()[:80]
            assert not header.startswith(b"solid")
            told = re.match(rb"mm about (\S+) (\S+) (\S+) m; ", header)
            assert told, header
            origin = np.array([float(word) for word in told.groups()])
            assert what.encode() in header
            low, high = np.reshape(pyvista.read(file).bounds, (3, 2)).T / 1000 + origin
            if over is not None and what != "earth to dig":
                bounds = np.array(over.bounds)
                assert np.append(low[:2], high[:2]) == pytest.approx(bounds, abs=1e-5)
                corners = np.array(over.envelope.exterior.coords)
                levels = dig.finish.at(corners)
                assert low[2] > levels.min() - dig.build_up - 0.05
                assert high[2] < levels.max() + 0.05


def test_the_count_in_the_header_is_that_of_the_file(solids):
    for *_, files, _ in each(solids):
        for file in files:
            content = file.read_bytes()
            count = int.from_bytes(content[80:84], "little")
            assert len(content) == 84 + 50 * count
