"""Pictures that were looked at and approved, and how far another may differ from them.

After a change that is meant to be seen, look at what this writes, and commit it:

    PYTHONPATH=.:tests python tests/measure/approved.py [NAME ...]
"""

from __future__ import annotations

import io
import sys
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from make.plans.sampled import HOMES, sampled

HERE = Path(__file__).parents[1] / "viz" / "approved"
WIDTH = 560
"""Every picture is compared at this width. [pixels]"""

LEAST = 0.96
"""Structural similarity that is asked for: 1 is the same picture.

Lettering and edges that another driver or font engine places half a pixel aside cost 0.01 to
0.02; a layer of another colour, a missing label or a moved arrow costs more in its window.
"""

WINDOW = 0.7
"""Least similarity of any window of the picture, a twelfth of its width each way."""


@cache
def _written(name: str, what: str) -> dict[str, bytes]:
    """Write one kind of output of a sample site, and return the pictures by their names."""
    plan = sampled(name)
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder)
        if what == "pictures":
            from viz.pictures.stills import pictures_begun

            pictures_begun(plan)(target)
        elif what == "film":
            from viz.pictures.film import write_film

            write_film(plan, target)
        elif what == "drawings":
            from viz.drawings.listed import write_drawings

            write_drawings(plan, target, ("png",))
        elif what == "sheets":
            from viz.sheets.write import KINDS, write_sheets

            write_sheets(plan, target, lambda _: None, KINDS)
        elif what == "job papers":
            from make.plans.job_papers import job_papers

            files = job_papers(HOMES[name], target)
            return {file.name: file.read_bytes() for file in files}
        return {file.name: file.read_bytes() for file in target.iterdir()}


def _from(name: str, what: str, file: str) -> Callable[[], Any]:
    def made() -> Any:
        from PIL import Image

        return Image.open(io.BytesIO(_written(name, what)[file])).convert("RGB")

    return made


def _page(name: str, file: str, number: int, what: str = "sheets") -> Callable[[], Any]:
    def made() -> Any:
        import pypdfium2

        document = pypdfium2.PdfDocument(_written(name, what)[file])
        return document[number - 1].render(scale=2).to_pil().convert("RGB")

    return made


def _all() -> dict[str, Callable[[], Any]]:
    pictures = {
        "back-patio": ("layers", "layers-apart", "cut-across", "dig-depth", "whole-yard",
                       "before-and-after"),
    }  # fmt: skip
    made = {
        f"{site}-{ending}": _from(site, "pictures", f"patio-{ending}.png")
        for site, endings in pictures.items()
        for ending in endings
    }
    made["raised-patio-layers"] = _from("raised-patio", "pictures", "raised-patio-layers.png")
    made["garden-court-layers"] = _from("garden-court", "pictures", "court-layers.png")
    made["back-patio-sequence"] = _from("back-patio", "film", "patio-sequence.png")
    made["back-patio-homeowner-1"] = _page("back-patio", "homeowner.pdf", 1)
    return made


def _flat() -> dict[str, Callable[[], Any]]:
    endings = ("section-down-the-fall", "base-systems", "cut-and-fill", "levels", "grading",
               "details", "answer-water", "answer-step", "answer-edge")  # fmt: skip
    made = {
        f"back-patio-{ending}": _from("back-patio", "drawings", f"patio-{ending}.png")
        for ending in endings
    }
    made["back-patio-water"] = _from("back-patio", "drawings", "water.png")
    made["back-patio-homeowner-2"] = _page("back-patio", "homeowner.pdf", 2)
    made["back-patio-crew-1"] = _page("back-patio", "crew.pdf", 1)
    return made | _folded()


def _folded() -> dict[str, Callable[[], Any]]:
    """Return every kind of sheet of a site in metres: two areas that meet, one of them folded."""
    endings = ("section-down-the-fall", "section-across", "base-systems", "cut-and-fill", "levels",
               "grading", "details", "answer-water", "answer-step", "answer-edge", "answer-under",
               "answer-heave", "answer-dirt")  # fmt: skip
    site = "larch-lane"
    made = {
        f"{site}-{ending}": _from(site, "drawings", f"court-{ending}.png") for ending in endings
    }
    for whole in ("bases", "joins", "finishes", "water"):
        made[f"{site}-{whole}"] = _from(site, "drawings", f"{whole}.png")
    for pages in ("homeowner", "crew", "questions"):
        for number in (1, 2):
            made[f"{site}-{pages}-{number}"] = _page(site, f"{pages}.pdf", number)
    for paper in ("quote", "pricing", "change-1", "stakes", "as-built-surface", "signoff"):
        made[f"{site}-{paper}"] = _page(site, f"{paper}.pdf", 1, "job papers")
    return made


NEED_OPENGL = (*_all(), "larch-lane-homeowner-1")
"""Those that hold a picture in space: a machine that draws none has other papers."""

PICTURES = _all() | _flat()


def shrunk(picture: Any) -> Any:
    """Return a picture at the width at which it is compared."""
    from PIL import Image

    size = (WIDTH, round(picture.height * WIDTH / picture.width))
    return picture.resize(size, Image.Resampling.LANCZOS)


def similarity(one: Any, other: Any) -> tuple[float, float]:
    """Return the structural similarity of two pictures of a size: all of it, its worst window.

    Wang, Bovik, Sheikh and Simoncelli 2004, as scikit-image has it, over all three colours.
    """
    from skimage.metrics import structural_similarity

    first, second = (np.asarray(picture, float) for picture in (one, other))
    whole, local = structural_similarity(
        first, second, channel_axis=2, data_range=255, gaussian_weights=True, sigma=2.0, full=True
    )
    step = WIDTH // 12
    rows, columns = (size // step for size in local.shape[:2])
    windows = local[: rows * step, : columns * step].mean(axis=2)
    windows = windows.reshape(rows, step, columns, step).mean(axis=(1, 3))
    return float(whole), float(windows.min())


def main(names: list[str]) -> None:
    HERE.mkdir(exist_ok=True)
    for name in names or PICTURES:
        picture = shrunk(PICTURES[name]())
        picture.quantize(128).save(HERE / f"{name}.png", optimize=True)
        print(HERE / f"{name}.png")


if __name__ == "__main__":
    main(sys.argv[1:])
