"""A seeded short form of a proof over many yards: the suite takes some, `-m long` the rest."""

from __future__ import annotations

import math
import random
from collections.abc import Iterable
from typing import Any

import pytest


def by_lot(cases: Iterable[Any], share: float = 0.5, seed: int = 11) -> list[Any]:
    """Return every case for `parametrize`: a share of them as they are, the rest marked long.

    A lot with a stated seed draws them, so that they are the same at every run and on every
    machine, and no yard that is awkward is left out on purpose.
    """
    cases = [case if hasattr(case, "marks") else pytest.param(case) for case in cases]
    drawn = set(random.Random(seed).sample(range(len(cases)), math.ceil(share * len(cases))))
    return [
        case if index in drawn else case._replace(marks=(*case.marks, pytest.mark.long))
        for index, case in enumerate(cases)
    ]
