"""The number that a set-out is known by: it changes when a stake, a level or a benchmark does."""

from __future__ import annotations

import hashlib
import json

from grading.setout.instrument import benchmarks_of
from grading.setout.model import SetOut

_TOLD = 4  # decimals of a metre: what no tape and no rod tells is no change
_LETTERS = 8


def set_out_number(found: SetOut) -> str:
    """Return what is written on all that is taken into the yard, to tell one design from another.

    Parameters
    ----------
    found : SetOut

    Returns
    -------
    str
        Eight hexadecimal digits in two groups, "3F7A-91C2": the first of the SHA-256 of every
        benchmark, stake and level, to a tenth of a millimetre. What costs change leaves it.
    """
    told = {
        "site": found.design.site.name,
        "benchmarks": {name: _told(z) for name, z in benchmarks_of(found.design.site).items()},
        "areas": [
            [
                each.area.area.name,
                each.area.chosen,
                [
                    [stake.name, *map(_told, map(float, stake.at)),
                     *([layer.name, _told(layer.z)] for layer in stake.layers)]
                    for stake in each.stakes
                ],
            ]
            for each in found.areas
        ],
    }  # fmt: skip
    text = json.dumps(told, ensure_ascii=True, allow_nan=False)
    digits = hashlib.sha256(text.encode("ascii")).hexdigest()[:_LETTERS].upper()
    return f"{digits[: _LETTERS // 2]}-{digits[_LETTERS // 2 :]}"


def _told(metres: float) -> float:
    # Adding zero turns a rounded -0.0 into 0.0.
    return round(metres, _TOLD) + 0.0
