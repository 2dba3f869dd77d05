"""A plane through shots that one wrong shot does not pull: Huber's estimate with its intervals.

P. J. Huber, Robust Statistics (1981), chapter 7: weights 1 within k scales and k over the distance
beyond, the scale from the median of the residuals, the covariance with Huber's correction H1.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from grading.geometry.arrays import Floats

TUNED = 1.345
"""Beyond so many scales a shot is weighed down: 95 % as good as least squares on shots without a
blunder (Huber 1981)."""

_NORMAL = 0.6744897501960817  # the median of the absolute value of a standard normal
_STEPS = 100
_STILL = 1e-10  # own: of the scale
_FLAT = 1e-12  # own: m: shots that lie in one plane but for rounding have no scale


class RobustFit(Struct, frozen=True, eq=False):
    """A linear fit.

    Attributes
    ----------
    at : (p,) float
        What was fitted.
    covariance : (p, p) float
    residuals : (n,) float
        Of every shot, those weighed down as well.
    weights : (n,) float
        1 for a shot that counts in full.
    scale : float
        Of the residuals.
    shares : (p, n) float
        Of every value in what was fitted.
    """

    at: Floats
    covariance: Floats
    residuals: Floats
    weights: Floats
    scale: float
    shares: Floats


def robust_fit(rows: Floats, values: Floats, finest: float = 0.0) -> RobustFit:
    """Return Huber's fit of values to linear terms.

    Parameters
    ----------
    rows : (n, p) float
        n > p, of full rank.
    values : (n,) float
    finest : float, optional
        The least scale that residuals have, as rounding leaves them: values that are rounded alike
        lie no nearer to a plane than they are read, and one off by a step is no blunder.
    """
    count, terms = rows.shape
    weights = np.ones(count)
    found: Floats = np.linalg.lstsq(rows, values, rcond=None)[0].astype(float)
    scale = 0.0
    for _ in range(_STEPS):
        residuals = values - rows @ found
        scale = max(float(np.median(np.abs(residuals)) / _NORMAL), finest)
        if scale < _FLAT:
            break
        far = np.abs(residuals) / scale
        weights = np.where(far <= TUNED, 1.0, TUNED / np.maximum(far, TUNED))
        root = np.sqrt(weights)
        last = found
        found = np.linalg.lstsq(rows * root[:, None], values * root, rcond=None)[0].astype(float)
        if np.abs(rows @ (found - last)).max() <= _STILL * scale:
            break
    residuals = values - rows @ found
    inverse = np.linalg.inv(rows.T @ rows)
    if scale < _FLAT:
        none, even = np.zeros((terms, terms)), np.ones(count)
        return RobustFit(found, none, residuals, even, 0.0, inverse @ rows.T)
    weighted = rows * weights[:, None]
    shares: Floats = np.linalg.solve(rows.T @ weighted, weighted.T).astype(float)
    inside = np.abs(residuals) / scale <= TUNED
    share = float(inside.mean())
    influence = np.clip(residuals / scale, -TUNED, TUNED) * scale
    # H1: k^2 (sum psi^2 / (n - p)) / (mean psi')^2 with k = 1 + p / n var(psi') / (mean psi')^2.
    correction = 1.0 + terms / count * (1.0 - share) / share
    spread = correction**2 * float((influence**2).sum()) / (count - terms) / share**2
    return RobustFit(found, spread * inverse, residuals, weights, scale, shares)


def least_squares(rows: Floats, values: Floats) -> RobustFit:
    """Return the plain least squares fit, every shot counting in full.

    Parameters
    ----------
    rows : (n, p) float
    values : (n,) float
    """
    count, terms = rows.shape
    found: Floats = np.linalg.lstsq(rows, values, rcond=None)[0].astype(float)
    residuals = values - rows @ found
    spread = float((residuals**2).sum()) / (count - terms)
    inverse = np.linalg.inv(rows.T @ rows)
    even = np.ones(count)
    return RobustFit(found, spread * inverse, residuals, even, spread**0.5, inverse @ rows.T)
