"""Where a function of one number crosses zero, when that is all that is asked of an optimiser."""

from __future__ import annotations

from collections.abc import Callable


def least_that(holds: Callable[[float], bool], low: float, high: float, halvings: int) -> float:
    """Return the least number for which something holds, from above, by so many halvings.

    Parameters
    ----------
    holds : callable
        True from some number on; it is not asked at `low` or `high`.
    low, high : float
    halvings : int
    """
    for _ in range(halvings):
        middle = (low + high) / 2
        low, high = (low, middle) if holds(middle) else (middle, high)
    return high


def root_between(function: Callable[[float], float], low: float, high: float) -> float:
    """Return where a function changes its sign between two numbers, as near as numbers come.

    Parameters
    ----------
    function : callable
        Continuous; of one sign at `low` and of the other, or zero, at `high`.
    low, high : float

    Raises
    ------
    ValueError
        Its sign is the same at both.

    Notes
    -----
    By halving: some 50 calls, exact to the last digit, and a quarter of a second sooner there
    than SciPy's solvers, which are imported with all of its optimiser. For a function that is
    itself costly, theirs ask less often.
    """
    below, above = function(low), function(high)
    if below == 0:
        return low
    if above == 0:
        return high
    if (below > 0) == (above > 0):
        raise ValueError("the function does not change its sign")
    while low < (middle := low + (high - low) / 2) < high:
        found = function(middle)
        if found == 0:
            return middle
        if (found > 0) == (below > 0):
            low = middle
        else:
            high = middle
    return high
