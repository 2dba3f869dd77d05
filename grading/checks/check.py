"""One rule held against what was found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Status = Literal["pass", "warn", "fail", "unknown"]


@dataclass(frozen=True)
class Check:
    """One rule applied to one area.

    value and limit are in `unit`: "ratio" for slopes, "m" for lengths, "" where the rule is a
    yes or a no. text says it in a sentence; where names the wall, door or edge.
    """

    rule: str
    area: str
    status: Status
    value: float | None
    limit: float | None
    unit: str
    source: str
    text: str
    where: str = ""
