"""The papers of a job that come after the plan: price, change, stakes, what was built, sign-off."""

from __future__ import annotations

import datetime
import shutil
from pathlib import Path

import numpy as np
import shapely

import grading
import sample_sites
from grading.asbuilt.model import as_built, shots_of_areas
from grading.asbuilt.shots import read_shots
from grading.comparison.model import compared
from grading.logbook.chain import records_of
from grading.logbook.model import Entry, record_built
from grading.pipeline import Plan
from grading.price.model import price_of
from grading.setout.instrument import rod_marks, rounding_of
from grading.setout.model import set_out
from viz.sheets.field.asbuilt import write_asbuilt
from viz.sheets.field.signoff import write_signoff
from viz.sheets.field.stakes import write_stakes
from viz.sheets.price.change import write_change
from viz.sheets.price.quote import Issue, write_quote
from viz.tables.stakes import Told

DAY = datetime.datetime(2027, 5, 20, 15, 30, tzinfo=datetime.UTC)

_LOW = 0.02  # m: how far one shot lies under the finish


def priced(site: Path, home: Path, organics: str = "") -> Plan:
    """Plan a copy of a site for a crew that makes prices, with topsoil so deep."""
    shutil.copytree(site, home)
    shutil.copyfile(sample_sites.path("flush-walk") / "crew.toml", home / "crew.toml")
    if organics:
        file = home / "site.toml"
        lines = file.read_text(encoding="utf-8").splitlines()
        told = [f'organics = "{organics}"' if line.startswith("organics") else line
                for line in lines]  # fmt: skip
        assert told != lines
        file.write_text("\n".join(told), encoding="utf-8")
    return grading.plan(grading.read_site(home))


def shot(plan: Plan, file: Path) -> Path:
    """Write shots of the surface, a metre apart, as it is planned but for one that lies low."""
    rows = ["x,y,z"]
    for area in plan.areas:
        x0, y0, x1, y1 = area.outline.bounds
        grid = np.mgrid[x0 + 0.3 : x1 : 1.0, y0 + 0.3 : y1 : 1.0].reshape(2, -1).T
        at = grid[shapely.contains_xy(area.outline, *grid.T)]
        z = area.finish.surface.at(at)
        z[len(z) // 2] -= _LOW if area is plan.areas[0] else 0.0
        rows += [f"{x:.3f},{y:.3f},{level:.3f}" for (x, y), level in zip(at, z, strict=True)]
    file.write_text("\n".join(rows), encoding="utf-8")
    return file


def job_papers(site: Path, home: Path) -> list[Path]:
    """Write the papers of a job, from its price to its sign-off, and return the files.

    Parameters
    ----------
    site : Path
        A folder whose topsoil is a depth; it is copied.
    home : Path
        Where all of it goes.
    """
    out = home / "papers"

    def say(_: str) -> None:
        pass

    plan = priced(site, home / "agreed")
    unit = plan.site.unit
    written = write_quote(price_of(plan), Issue("1042", DAY.date()), out / "quote", say)
    found = priced(site, home / "found", "250 mm")
    written += write_change(compared(plan, found), out / "change", say)
    placed = set_out(plan)
    told = Told(rod_marks(None, plan.site), rounding_of(None, unit), unit)
    written += write_stakes(placed, told, out / "stakes", say)
    shots = read_shots(shot(plan, home / "shots.csv"), unit, placed, None, ("surface",))
    built = [as_built(plan, area, own, "surface") for area, own in shots_of_areas(plan, shots)]
    written += write_asbuilt(plan, built, out / "built", say)
    record_built(plan.site, built, None, Entry("N. Ames", "", (), None, DAY, "0"))
    written += write_signoff(plan, records_of(home / "agreed"), out / "signed", say)
    return [file for file in written if file.suffix == ".pdf"]
