"""The visible picture laid over the thermal one, from places that both show or a stated matrix."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from heatbrief.api import StepError, View
from heatbrief.physics.geometry import fit_homography

FAIR_PX = 2.0
"""A residual above this many thermal pixels is said to be large; our choice."""


@dataclass(frozen=True)
class Registration:
    """matrix  3 x 3 row by row, (x, y) in the visible picture to those of the thermal one; residual  rms [px]."""

    matrix: tuple[float, ...]
    residual: float | None
    note: str


def registration(view: View) -> Registration | None:
    """How the visible picture lies on the thermal one, or None when nothing says so. StepError "visible-points"."""
    if view.visible_matrix:
        return _stated(view.visible_matrix)
    if not view.visible_points:
        return None
    visible, thermal = (np.array([pair[side] for pair in view.visible_points], float) for side in (0, 1))
    count = len(visible)
    try:
        matrix = _fitted(visible, thermal)
    except ValueError as error:
        raise StepError(
            "visible-points", f"the visible picture cannot be fitted: {error}", "Give more places, far apart."
        ) from None
    mapped = np.column_stack([visible, np.ones(count)]) @ matrix.T
    residual = float(np.sqrt(np.mean(np.sum((mapped[:, :2] / mapped[:, 2:] - thermal) ** 2, axis=1))))
    kind = {2: "shift, turn and scale", 3: "shift, turn, scale and shear"}.get(count, "plane perspective")
    if count <= 4:
        note = f"visible picture fitted by {kind} to {count} places: just enough, so how well it fits cannot be told"
        return Registration(_plain(matrix), None, note)
    large = "; that is much: check the places, or whether they lie in one plane" if residual > FAIR_PX else ""
    note = f"visible picture fitted by {kind} to {count} places; residual {residual:.2f} thermal pixels rms{large}"
    return Registration(_plain(matrix), residual, note)


def _fitted(visible: np.ndarray, thermal: np.ndarray) -> np.ndarray:
    """Matrix (3, 3): a similarity from two places, an affine mapping from three, a perspective one from more."""
    if len(visible) >= 4:
        return fit_homography(visible, thermal).matrix
    zero, one = np.zeros(len(visible)), np.ones(len(visible))
    x, y = visible.T
    if len(visible) == 2:
        rows = np.concatenate([np.stack([x, -y, one, zero], 1), np.stack([y, x, zero, one], 1)])
    else:
        rows = np.concatenate([np.stack([x, y, one, zero, zero, zero], 1), np.stack([zero, zero, zero, x, y, one], 1)])
    # Columns of like size, so that the test of rank does not depend on where the places lie.
    size = np.abs(rows).max(axis=0)
    found, _, rank, _ = np.linalg.lstsq(rows / np.where(size > 0, size, 1.0), thermal.T.ravel(), rcond=1e-9)
    if rank < rows.shape[1]:
        raise ValueError("the places lie on one line, or two are the same")
    found = found / np.where(size > 0, size, 1.0)
    if len(visible) == 2:
        a, b, c, d = found
        return np.array([[a, -b, c], [b, a, d], [0.0, 0.0, 1.0]])
    return np.vstack([found.reshape(2, 3), [0.0, 0.0, 1.0]])


def _stated(numbers: tuple[float, ...]) -> Registration:
    matrix = np.reshape(numbers, (3, 3))
    if not np.isfinite(matrix).all() or abs(np.linalg.det(matrix)) <= 1e-12 * max(np.abs(matrix).max(), 1e-9) ** 3:
        raise StepError(
            "visible-points", "the matrix of the visible picture cannot be turned round", "Correct visible_matrix."
        )
    return Registration(_plain(matrix), None, "visible picture laid over the thermal one by the stated matrix")


def _plain(matrix: np.ndarray) -> tuple[float, ...]:
    return tuple(float(number) for number in matrix.ravel())
