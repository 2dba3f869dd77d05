"""What no wrong solid passes."""

from __future__ import annotations

import pytest
from dugsolids import DigSolids, dig_solids

from grading.dig.hole import Dig
from viz.scene.shell import Solid


def assert_solid(solid: Solid, volume: float, where: str = "") -> None:
    """Assert what no wrong solid passes: every edge twice, turned outwards, the volume itself."""
    if volume < 1e-12:
        assert abs(solid.volume) < 1e-9, where
        return
    mesh = solid.mesh()
    assert mesh.is_watertight, where
    assert mesh.is_winding_consistent, where
    assert mesh.volume == pytest.approx(volume, rel=1e-9, abs=1e-9), where  # to a cubic millimetre
    assert solid.volume == pytest.approx(mesh.volume, rel=1e-12), where


def assert_dig(dig: Dig) -> DigSolids:
    """Assert that every solid of a dig is closed and weighs what the plan says."""
    solids = dig_solids(dig)
    assert_solid(solids.earth, dig.cut, "earth")
    assert_solid(solids.refill, dig.fill, "refill")
    assert_solid(solids.backfill, dig.backfill, "backfill")
    for (layer, solid), written in zip(solids.layers, dig.layers, strict=True):
        assert layer is written.layer
        assert_solid(solid, written.volume, layer.name)
    return solids
