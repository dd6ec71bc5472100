"""A surface fitted to levels of cells, whatever up to about a third of them show."""

from __future__ import annotations

import numpy as np

from heatbrief.physics.robust import median_of, median_of_rows

_BISQUARE = 4.685
_MUCH_BETTER = 0.7
_ENOUGH = 200
"""So many cells, spread evenly, tell which start is best; the fit itself is made to all."""


def robust_fit(terms: np.ndarray, level: np.ndarray, floor: float) -> tuple[np.ndarray, np.ndarray, float]:
    """Coefficients about the median, last weights, the median.

    Least absolute deviations with all cells, and without each half and each quarter of them, so that one large
    anomaly is out of at least one start; the start with the least median residual is then refined with Tukey's
    bisquare. `terms` are (n, number of terms), `floor` the least standard deviation of a level.
    """
    centre = median_of(level)
    data = level - centre
    few = np.arange(0, data.size, 2 * (data.size // (2 * _ENOUGH)) + 1)
    starts = _least_absolute(terms[few], data[few], np.stack(_parts(terms[few])), floor)
    medians = median_of_rows(np.abs(data[few] - starts @ terms[few].T))
    best = int(np.argmin(medians))
    coefficients = starts[best if medians[best] < _MUCH_BETTER * medians[0] else 0]
    weights = np.ones(data.size)
    for _ in range(20):
        before, left = coefficients, np.abs(data - terms @ coefficients)
        sigma = max(1.4826 * median_of(left), floor)
        weights = np.square(np.maximum(1 - np.square(left / (_BISQUARE * sigma)), 0))
        coefficients = _weighted(terms, data, weights)
        if np.abs(coefficients - before).max() < 1e-3 * sigma:
            break
    return coefficients, weights, centre


def _parts(terms: np.ndarray) -> list[np.ndarray]:
    """All cells, and all but those of each half and each quarter of the box, where enough remain."""
    everything = np.ones(len(terms), bool)
    if terms.shape[1] < 3:
        return [everything]
    right, down = terms[:, 1] > 0, terms[:, 2] > 0
    left_out = [right, ~right, down, ~down, right & down, right & ~down, ~right & down, ~right & ~down]
    return [everything, *(~part for part in left_out if (~part).sum() >= 3 * terms.shape[1])]


def _least_absolute(terms: np.ndarray, data: np.ndarray, parts: np.ndarray, floor: float) -> np.ndarray:
    """Coefficients (number of parts, number of terms) of least absolute deviations, for all parts at once.

    parts  bool (number of parts, n): the cells that count for each
    """
    count = terms.shape[1]
    products = (terms[:, :, None] * terms[:, None, :]).reshape(len(terms), -1)
    weights, usual_at = parts.astype(float), (np.arange(len(parts)), parts.sum(axis=1) // 2)
    steady, apart = 1e-9 * np.eye(count), np.where(parts, 0.0, np.inf)
    for _ in range(8):
        normal = (weights @ products).reshape(-1, count, count)
        normal += np.trace(normal, axis1=1, axis2=2)[:, None, None] * steady
        coefficients = np.linalg.solve(normal, ((weights * data) @ terms)[:, :, None])[:, :, 0]
        left = np.abs(data - coefficients @ terms.T)
        usual = np.sort(left + apart, axis=1)[usual_at]
        weights = parts / np.maximum(left, np.maximum(usual / 5, floor)[:, None])
        weights /= weights.max(axis=1, keepdims=True)
    return coefficients


def _weighted(terms: np.ndarray, data: np.ndarray, weights: np.ndarray) -> np.ndarray:
    turned = terms.T * weights
    normal = turned @ terms
    return np.linalg.solve(normal + 1e-9 * np.trace(normal) * np.eye(len(normal)), turned @ data)
