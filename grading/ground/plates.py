"""Thin plates through few points, inverted here: no library puts threads on such small work."""

from __future__ import annotations

import numpy as np

from grading.geometry.arrays import Floats

MOST = 120
"""One plate takes up to this many points; its inverse takes time as their cube."""

# Noise of a reading tried for the plate, as a ratio to how far ground bends over one spacing.
NOISE_RATIOS = (1e-3, 1e-2, 1e-1)


def kernel(square: Floats) -> Floats:
    """Return the thin plate's kernel r2 log r of squared distances."""
    found: Floats = 0.5 * square * np.log(np.where(square > 0, square, 1.0))
    return found


def scaled(xy: Floats) -> tuple[Floats, float, Floats]:
    """Return points (n, 2) about their middle in units of their spacing, that unit, the middle.

    In these units the ratios of noise mean the same in every survey.
    """
    middle = xy.mean(axis=0)
    wide = np.ptp(xy, axis=0)
    # along a line they are as far apart as they stand on it
    spacing = max(float(np.sqrt(wide.prod() / len(xy))), float(np.hypot(*wide)) / len(xy))
    return (xy - middle) / spacing, spacing, middle


def plate_precision(xy: Floats) -> Floats:
    """Return how stiffly the plates hold points together, (k, n, n), for each ratio of noise.

    Parameters
    ----------
    xy : (n, 2) float
        Points, not all on one line, at most MOST. [m]

    Notes
    -----
    This is the block of the points in the inverse of the plate's matrix with its plane. It comes
    from one symmetric positive definite inverse: with the plane's part of the matrix replaced by
    one, and taken off again.
    """
    local = scaled(xy)[0]
    plane = _plane_basis(local)
    square = ((local[:, None] - local[None]) ** 2).sum(axis=-1)
    bending = _without_plane(kernel(square), plane)
    flat = np.einsum("ai,aj->ij", plane, plane)
    rest = np.eye(len(xy)) - flat
    noise = np.array(NOISE_RATIOS)[:, None, None]
    precision: Floats = inverse_of_spd(bending[None] + noise * rest + flat) - flat
    return precision


def _plane_basis(xy: Floats) -> Floats:
    """Return three rows (3, n), square to each other and of length one, that span all planes."""
    basis = np.zeros((3, len(xy)))
    for row, axis in enumerate((np.ones(len(xy)), xy[:, 0], xy[:, 1])):
        for _ in range(2):
            axis = axis - np.einsum("a,ai->i", np.einsum("ai,i->a", basis, axis), basis)
        basis[row] = axis / np.sqrt((axis**2).sum())
    return basis


def _without_plane(matrix: Floats, plane: Floats) -> Floats:
    half = matrix - np.einsum("ai,aj->ij", plane, np.einsum("ai,ij->aj", plane, matrix))
    whole = half - np.einsum("ia,aj->ij", np.einsum("ij,aj->ia", half, plane), plane)
    return np.asarray((whole + whole.T) / 2)


def inverse_of_spd(matrix: Floats) -> Floats:
    """Return the inverses (k, n, n) of symmetric positive definite matrices (k, n, n).

    Gauss-Jordan without exchange of rows, which such matrices do not need, all at once.
    """
    found = matrix.copy()
    for row in range(matrix.shape[-1]):
        pivot = found[:, row, row].copy()
        across = found[:, row, :] / pivot[:, None]
        down = found[:, :, row].copy()
        found -= down[:, :, None] * across[:, None, :]
        found[:, row, :] = across
        found[:, :, row] = -down / pivot[:, None]
        found[:, row, row] = 1.0 / pivot
    return found


def downdated(precision: Floats, point: int) -> Floats:
    """Return the precision (k, n, n) when a point is set aside; its row and column become 0."""
    row = precision[:, point, :]
    left: Floats = precision - row[:, :, None] * row[:, None, :] / row[:, point, None, None]
    left[:, point, :] = left[:, :, point] = 0.0
    return left
