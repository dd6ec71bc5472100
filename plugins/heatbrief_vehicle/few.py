"""Which of a few like parts stand out, when ordinary scatter among sound ones is known; with stated false-alarm rates.

Two rules. The first is free of scale: away from the median of the others by the floor, and a modified z beyond the 95 %
point for groups of this size (`heatbrief.physics.small_groups`). The second uses what is known about sound parts: most
lie within the floor of each other, and what lies twice the floor from their median stands out. The second still
sees a bad part where the first has no power: in groups of four, and where two are bad.
"""

from __future__ import annotations

import numpy as np
from heatbrief.physics.small_groups import GroupComparison, compare_group, modified_z_limit
from numpy.typing import ArrayLike

FAR = 2.0
"""Floors from the median of the majority: 56 K for runners, where one looks (common practice, a case of 56 K seen)."""
SCATTERS = (0.2, 0.35, 0.5, 0.7, 1.0)
"""Standard deviation among sound parts over the floor, for which FALSE_ALARM is stated."""
FALSE_ALARM = {
    3: (0.0001, 0.0511, 0.2301, 0.4521, 0.6008),
    4: (0.0000, 0.0051, 0.0208, 0.0531, 0.1059),
    5: (0.0000, 0.0055, 0.0249, 0.0946, 0.2552),
    6: (0.0000, 0.0074, 0.0288, 0.0759, 0.1553),
    7: (0.0000, 0.0076, 0.0294, 0.0656, 0.1023),
    8: (0.0000, 0.0097, 0.0330, 0.0566, 0.0703),
}
"""Share of groups of sound parts, normally scattered, in which at least one is flagged; 500 000 draws each, numpy
default_rng(20260714) [computed]."""


def false_alarm(n: int, scatter: float) -> float:
    """Share of sound groups of n parts that alarm, 0..1; scatter: standard deviation over the floor.

    Interpolated between the stated scatters; beyond the last one the last. Above eight parts: those of eight. Raises
    ValueError for fewer than three parts.
    """
    if n < 3:
        raise ValueError(f"a group needs 3 parts or more, got {n}")
    return float(np.interp(scatter, (0.0, *SCATTERS), (0.0, *FALSE_ALARM[min(n, 8)])))


def compare_few(values: ArrayLike, floor: float) -> GroupComparison:
    """`compare_group` with the second rule on top; deviations are from the median of the majority where there is one.

    values: (n,), finite; floor: same unit, above 0. Three parts or fewer: as `compare_group`.

    >>> compare_few([400, 400, 405, 310], 28).flagged.tolist()
    [False, False, False, True]
    """
    plain = compare_group(values, floor)
    if plain.deviation.size < 4:
        return plain
    x = np.asarray(values, float)[None, :]
    agree, middle = majority(x, floor)
    if not agree[0]:
        return plain
    flagged = flags(x, floor)[0]
    return GroupComparison(x[0] - middle[0], plain.modified_z, flagged, "compared")


def flags(values: np.ndarray, floor: float) -> np.ndarray:
    """Which parts stand out in each of many groups; values (k, n) finite, n from 3; bool (k, n)."""
    x = np.asarray(values, float)
    if x.shape[1] == 3:
        return _three(x, floor)
    deviation = np.stack([x[:, i] - np.median(np.delete(x, i, axis=1), axis=1) for i in range(x.shape[1])], axis=1)
    far = np.abs(deviation) >= floor
    usual = (far.sum(axis=1) * 2 < x.shape[1])[:, None]
    off = np.abs(x - np.median(x, axis=1, keepdims=True))
    spread = np.median(off, axis=1, keepdims=True)
    score = np.divide(0.6745 * off, spread, out=np.where(off > 0, np.inf, 0.0), where=spread > 0)
    agree, middle = majority(x, floor)
    known = agree[:, None] & (np.abs(x - middle[:, None]) >= FAR * floor)
    result: np.ndarray = (far & usual & (score > modified_z_limit(x.shape[1]))) | known
    return result


def majority(x: np.ndarray, floor: float) -> tuple[np.ndarray, np.ndarray]:
    """(found (k,), its median (k,)): the most parts, all but two at least and more than half, within a floor.

    Of equally many, those closest together. Where none is found the median is that of all.
    """
    count, groups = x.shape[1], np.arange(x.shape[0])
    ordered = np.sort(x, axis=1)
    found, low, high = np.zeros(groups.size, bool), ordered[:, 0].copy(), ordered[:, -1].copy()
    for size in range(max(count // 2 + 1, count - 2), count + 1):
        width = ordered[:, size - 1 :] - ordered[:, : count - size + 1]
        first = np.argmin(width, axis=1)
        fits = width[groups, first] <= floor
        low = np.where(fits, ordered[groups, first], low)
        high = np.where(fits, ordered[groups, first + size - 1], high)
        found |= fits
    members = (x >= low[:, None]) & (x <= high[:, None])
    return found, np.nanmedian(np.where(members, x, np.nan), axis=1)


def _three(x: np.ndarray, floor: float) -> np.ndarray:
    """The farthest of three when the other two agree, as `compare_group` does."""
    groups = np.arange(x.shape[0])
    deviation = np.stack([x[:, i] - np.delete(x, i, axis=1).mean(axis=1) for i in range(3)], axis=1)
    worst = np.argmax(np.abs(deviation), axis=1)
    others = np.sort(np.where(np.arange(3) == worst[:, None], np.inf, x), axis=1)
    alarm = (np.abs(deviation[groups, worst]) >= floor) & (others[:, 1] - others[:, 0] < floor)
    result: np.ndarray = (np.arange(3) == worst[:, None]) & alarm[:, None]
    return result
