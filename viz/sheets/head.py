"""What every sheet is made from, and what stands at its head: the site, and who the crew is."""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable
from typing import Any

from msgspec import Struct

from grading.design.area import AreaPlan
from grading.errors import Problem, SiteError
from grading.order.model import Order
from grading.pipeline import Plan
from grading.units import Unit
from viz.paper.page import Page
from viz.sheets.compile import Compiled, printable
from viz.signature import not_for_signature
from viz.words.cautions import PICTURE
from viz.words.signing import against_signing

Say = Callable[[str], None]
"""Told what is being done, and what this machine cannot draw."""

LARGEST = 4000  # pixels: a logo with more sides is refused


class Job(Struct, frozen=True):
    """A plan with its order, and the paper it is printed on."""

    plan: Plan
    order: Order
    page: Page

    @property
    def unit(self) -> Unit:
        """The site's unit, "ft" or "m"."""
        return self.plan.site.unit


def area_title(plan: AreaPlan) -> str:
    """Return an area's name as a title: as it was written, cut short where it is very long."""
    return printable(plan.area.name, 44)


def against_told(plan: Plan) -> dict[str, Any]:
    """Return what stands against signing a plan: what is said first, and each reason, whole."""
    against = against_signing(plan)
    return {
        "any": against.any,
        "lead": against.lead if against.any else "",
        "reasons": [printable(each, len(each)) for each in dict.fromkeys(against.reasons)],
    }


def head_of(job: Job, sheet: Compiled) -> dict[str, Any]:
    """Return what both templates read: paper, site, crew, caution.

    Parameters
    ----------
    job : Job
    sheet : Compiled

    Raises
    ------
    SiteError
        The logo cannot be read as a picture.
    """
    card = job.plan.crew.card
    return {
        "paper": {"letter": "us-letter", "a4": "a4"}[job.page.paper],
        "site": printable(job.plan.site.name, 90),
        "crew": {
            "name": printable(card.name or "", 44),
            "lines": [
                printable(words, 44)
                for words in (card.phone, card.email, card.registration)
                if words
            ],
            "logo": _logo(job, sheet),
        },
        "caution": PICTURE,
        "band": not_for_signature(job.plan),
    }


def _logo(job: Job, sheet: Compiled) -> dict[str, Any] | None:
    path = job.plan.crew.logo
    if path is None:
        return None
    ending = path.suffix.lower().lstrip(".")
    try:
        data = path.read_bytes()
        if ending != "svg":
            _look_at(data)
    except (OSError, ValueError, SyntaxError) as error:
        raise _refused(job, f"which cannot be read ({error})", "Save it again.") from None
    name = job.plan.crew.card.name
    made = sheet.picture(data, ending, f"Logo of {name}" if name else "Logo of the crew")
    fault = sheet.fault(made["file"])
    if fault:
        mend = "Put the pictures that it links to into the file, or save it as png."
        raise _refused(job, f"which cannot be set ({fault})", mend)
    return made


def _refused(job: Job, why: str, mend: str) -> SiteError:
    crew = job.plan.crew
    where = f"{crew.file}, key crew.logo"
    return SiteError([Problem(where, f'"{crew.card.logo}", {why}', "a picture in one file", mend)])


def _look_at(data: bytes) -> None:
    """Read every pixel, so that a broken file is told here and not by the typesetter."""
    from PIL import Image, UnidentifiedImageError

    too_large = f"more than {LARGEST} pixels a side"
    try:
        # The library has a bound of its own, looked at before the size can be asked for.
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data)) as picture:
                if max(picture.size) > LARGEST:
                    raise ValueError(too_large)
                picture.load()
    except Image.DecompressionBombError:
        raise ValueError(too_large) from None
    except UnidentifiedImageError:  # its own words name a place in memory
        raise ValueError("no whole picture") from None
