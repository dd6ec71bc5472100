"""Comparing a few like parts (3 to 8 or so): which one stands out, and when nobody can say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from heatbrief.arrays import FloatArray, Mask

from .robust import modified_z

MODIFIED_Z_95 = {3: 22.1, 4: 6.92, 5: 7.96, 6: 5.53, 7: 5.84, 8: 4.93}
"""95 % points of max |modified z| of clean normal groups. Source: small-group-simulation."""
DIXON_Q10 = {
    0.10: {3: 0.941, 4: 0.765, 5: 0.642, 6: 0.560, 7: 0.507, 8: 0.468, 9: 0.437, 10: 0.412},
    0.05: {3: 0.970, 4: 0.829, 5: 0.710, 6: 0.625, 7: 0.568, 8: 0.526, 9: 0.493, 10: 0.466},
    0.01: {3: 0.994, 4: 0.926, 5: 0.821, 6: 0.740, 7: 0.680, 8: 0.634, 9: 0.598, 10: 0.568},
}
"""Two-sided critical values of Dixon's Q10 by alpha and n. Source: rorabacher-1991."""


@dataclass(frozen=True)
class GroupComparison:
    """Result of `compare_group`, arrays in the order given.

    deviation: from the median of the others, same unit. flagged: which parts stand out.
    status: "compared", "low confidence" (three parts), "too few" or "no majority".
    """

    deviation: np.ndarray
    modified_z: np.ndarray
    flagged: np.ndarray
    status: str


def dixon_q(values: ArrayLike) -> float:
    """Q10 = gap / range of the more extreme end, 0..1; 0 when all are equal.

    Blind to two odd values on one side. Source: rorabacher-1991
    """
    v = np.sort(np.asarray(values, float))
    if v.size < 3:
        raise ValueError(f"Dixon's Q needs 3 values or more, got {v.size}")
    span = v[-1] - v[0]
    return 0.0 if span == 0.0 else float(max(v[1] - v[0], v[-1] - v[-2]) / span)


def dixon_rejects(values: Sequence[float] | FloatArray, alpha: float = 0.05) -> bool:
    """True when Q10 is above the two-sided critical value, n 3 to 10. Source: rorabacher-1991"""
    return dixon_q(values) > DIXON_Q10[alpha][len(values)]


def modified_z_limit(n: int) -> float:
    """95 % point of max |modified z| for n like parts; above 8 the value of 8 (cautious, our choice).

    Source: small-group-simulation, own-choice
    """
    if n < 3:
        raise ValueError(f"a group needs 3 parts or more, got {n}")
    return MODIFIED_Z_95[min(int(n), 8)]


def deviation_from_others(values: ArrayLike) -> FloatArray:
    """Each value less the median of all the others, same unit and order. Source: own-choice"""
    x = np.asarray(values, float)
    return np.array([x[i] - np.median(np.delete(x, i)) for i in range(x.size)])


def _scores(x: FloatArray) -> FloatArray:
    """Modified z; where half or more are exactly equal any other value is infinitely far."""
    off = x - np.median(x)
    if np.median(np.abs(off)) > 0.0:
        return modified_z(x)
    return np.where(off == 0.0, 0.0, np.copysign(np.inf, off))


def _three(x: FloatArray, deviation: FloatArray, floor: float) -> tuple[Mask, str]:
    """With three, one odd part pulls the others' medians too: only the farthest can be named."""
    worst = int(np.argmax(np.abs(deviation)))
    partners = np.delete(x, worst)
    flagged = np.zeros(3, bool)
    flagged[worst] = abs(deviation[worst]) >= floor
    split = bool(flagged[worst] and abs(partners[0] - partners[1]) >= floor)
    return (np.zeros(3, bool), "no majority") if split else (flagged, "low confidence")


def compare_group(values: ArrayLike, floor: float) -> GroupComparison:
    """Which of a few like parts stand out from the others.

    floor: least deviation that matters, same unit (25 to 30 K for exhaust runners). A part is
    flagged when its deviation from the median of the others reaches the floor AND its modified z
    passes the 95 % point for the group's size. Three parts: the floor alone, low confidence, and
    only if the other two agree. When half or more deviate nothing is flagged: there is no majority
    to compare with. Raises ValueError for values that are not finite.

    >>> compare_group([410, 402, 398, 405, 300, 295], 25).flagged.tolist()
    [False, False, False, False, True, True]

    Source: small-group-simulation, own-choice
    """
    x = np.asarray(values, float)
    if x.ndim != 1 or not np.all(np.isfinite(x)):
        raise ValueError("a group is a plain list of finite values; leave missing parts out")
    if x.size < 3:
        return GroupComparison(np.zeros(x.size), np.zeros(x.size), np.zeros(x.size, bool), "too few")
    deviation, z = deviation_from_others(x), _scores(x)
    if x.size == 3:
        return GroupComparison(deviation, z, *_three(x, deviation, floor))
    flagged = (np.abs(deviation) >= floor) & (np.abs(z) > modified_z_limit(x.size))
    majority = np.sum(np.abs(deviation) >= floor) * 2 < x.size
    if not majority:
        return GroupComparison(deviation, z, np.zeros(x.size, bool), "no majority")
    return GroupComparison(deviation, z, flagged, "compared")
