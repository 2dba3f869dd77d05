"""Stakes and strings as DXF, in the site's own unit and plan coordinates."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from grading.setout.model import SetOut
from grading.units import METRES
from viz.export.dxf_codes import as_written, same_bytes
from viz.signature import not_for_signature

if TYPE_CHECKING:
    from ezdxf.layouts import Modelspace

_HEIGHT = {"ft": 0.25, "m": 0.08}  # of the lettering, in the site's unit
_LAYERS = {"stakes": 1, "stake names": 7, "strings": 3, "boards": 5, "references": 4}


def write_stakes_dxf(found: SetOut, path: Path) -> None:
    """Write the stakes of a site as points at their finish, and its strings as lines.

    Parameters
    ----------
    found : SetOut
    path : Path
    """
    import ezdxf
    from ezdxf import units

    unit = found.design.site.unit
    document = ezdxf.new("R2010")
    document.units = units.FT if unit == "ft" else units.M
    for name, colour in _LAYERS.items():
        document.layers.add(name, color=colour)
    space = document.modelspace()
    per, high = METRES[unit], _HEIGHT[unit]

    def lettered(words: str, x: float, y: float, layer: str) -> None:
        shown = {"layer": layer, "height": high, "insert": (x + high, y + high)}
        space.add_text(as_written(words), dxfattribs=shown)

    for each in found.areas:
        for stake in each.stakes:
            x, y = stake.at / per
            z = stake.layers[-1].z / per if stake.layers else 0.0
            space.add_point((x, y, z), dxfattribs={"layer": "stakes"})
            lettered(stake.name, float(x), float(y), "stake names")
    _strings(space, found, per)
    for reference in found.references:
        x, y = reference.at / per
        space.add_point((x, y, 0.0), dxfattribs={"layer": "references"})
        lettered(reference.name, float(x), float(y), "references")
    band = not_for_signature(found.design)
    if band:
        x, y = found.areas[0].stakes[0].at / per
        lettered(band, float(x), float(y) + 4 * high, "stake names")
    path.write_bytes(same_bytes(document))


def _strings(space: Modelspace, found: SetOut, per: float) -> None:
    for each in found.areas:
        for string in each.strings:
            ends = [(*(board.at / per), board.z / per) for board in (string.start, string.end)]
            space.add_line(*ends, dxfattribs={"layer": "strings"})
            for board, end in zip((string.start, string.end), ends, strict=True):
                if not board.on_house:
                    space.add_point(end, dxfattribs={"layer": "boards"})
