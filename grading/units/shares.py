"""Shares of a whole in whole per cent, as a person says them: they add up, and none is lost."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

_WHOLE = 1e-9  # what is this near to nothing or to all of it is that, but for rounding
_TINY = "less than 1 %"
_WHOLES = {"100 %": "all", "0 %": "none"}


def share_words(share: float) -> str:
    """Write one share of a whole: 37 %, and where that would be 0 % or 100 % in error, so.

    Parameters
    ----------
    share : float
        From 0 to 1.

    Returns
    -------
    str
        "0 %" and "100 %" only for nothing and for all of it; else a whole number, "less than 1 %"
        or "more than 99 %".
    """
    if share <= _WHOLE:
        return "0 %"
    if share >= 1 - _WHOLE:
        return "100 %"
    if share < 0.01 - _WHOLE:
        return _TINY
    return "more than 99 %" if share > 0.99 + _WHOLE else f"{100 * share:.0f} %"


def part_words(share: float, whole: str) -> str:
    """Write a share with what it is of: all of the hole, none of it, 37 % of it.

    Parameters
    ----------
    share : float
        From 0 to 1.
    whole : str
        With its article: "the hole".
    """
    words = share_words(share)
    return f"{_WHOLES.get(words, words)} of {whole}"


def each_words(share: float, one: str) -> str:
    """Write a share of things that are counted: every spot, no spot, 37 % of the spots.

    Parameters
    ----------
    share : float
        From 0 to 1.
    one : str
        What one of them is called; more of them end in s.
    """
    words = share_words(share)
    return {"100 %": f"every {one}", "0 %": f"no {one}"}.get(words, f"{words} of the {one}s")


def shares_words(shares: Sequence[float]) -> tuple[str, ...]:
    """Write the shares that a whole is parted into, so that what is written adds up to 100 %.

    Parameters
    ----------
    shares : sequence of float
        Each 0 or more. They are taken for all there is: it is their parts of their sum that are
        written.

    Returns
    -------
    tuple of str
        Of each "0 %" only if it is nothing, "less than 1 %" where it is that, else a whole number.
        Those below 1 % are counted together, as 1 % at the least, with the others.

    Notes
    -----
    Largest remainder: each is rounded down, and what is then missing goes, 1 % each, to those
    that lost most by it. It is the one way of rounding that adds up and moves none by 1 % or more.
    """
    part = np.asarray(shares, dtype=float)
    if not len(part) or part.sum() <= 0:
        return ("0 %",) * len(part)
    part = 100 * part / part.sum()
    tiny = (part > 100 * _WHOLE) & (part < 1 - _WHOLE)
    told = part >= 1 - _WHOLE
    left = 100 - (max(1, round(float(part[tiny].sum()))) if tiny.any() else 0)
    whole = np.zeros(len(part), dtype=int)
    if told.any():
        scaled = part[told] * left / part[told].sum()
        floor = np.maximum(np.floor(scaled + _WHOLE), 1.0).astype(int)
        lost = scaled - floor
        missing = left - int(floor.sum())
        order = np.argsort(-lost, kind="stable")
        floor[order[: max(missing, 0)]] += 1
        # Where a share just over 1 % was kept at 1, the greatest gives way.
        floor[int(floor.argmax())] += min(missing, 0)
        whole[told] = floor
    return tuple(
        _TINY if small else f"{number} %" for small, number in zip(tiny, whole, strict=True)
    )
