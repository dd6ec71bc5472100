"""Fits the steps of the stated rule (`heatbrief/detect/judge.py`) on training scenes, in the order the rule promises.

The model is the rule's own: the logarithm of the odds is WEIGHT times that of the start, kept within START, plus one step for every gate and
rival. Maximum likelihood over all findings but normal ones, with a weak pull toward small steps so that what the scenes hardly hold stays small.
"""

from __future__ import annotations

import numpy as np
from detection_scores import Outcome, Said
from scipy.optimize import minimize

ORDERED = (
    "other rival not testable",
    "strong rival not testable",
    "other rival not ruled out",
    "strong rival not ruled out",
    "reflection not ruled out",
)
GATES = ("size not known", "gate not known", "gate failed")
KEYS = ("rival ruled out", *ORDERED, *GATES)
FREE = 1 + len(KEYS)
LEAST, PULL = 0.02, 0.3
STARTS = (0.8, 0.85, 0.9, 0.93, 0.95, 0.97, 0.98, 0.99)


def steps_of(free: np.ndarray) -> np.ndarray:
    """Steps in the order of KEYS: the first positive, each of ORDERED below the one before, gates negative and falling."""
    free, many = np.maximum(free, LEAST), len(ORDERED)
    return np.concatenate([[free[0]], -np.cumsum(free[1 : 1 + many]), -np.cumsum(free[1 + many :])])


def fitted(said: list[Said]) -> tuple[float, float, np.ndarray, float]:
    """(START, WEIGHT, steps in the order of KEYS, mean log loss)."""
    counts = np.array([[dict(one.counts).get(key, 0) for key in KEYS] for one in said], float)
    right = np.array([one.right for one in said], float)
    starts = np.array([one.start for one in said])

    def loss(free: np.ndarray, odds: np.ndarray) -> float:
        found = free[0] * odds + counts @ steps_of(free[1:])
        return float(np.sum(np.logaddexp(0.0, found) - right * found) + PULL * np.sum(np.square(free[1:])))

    best = None
    for limit in STARTS:
        kept = np.clip(starts, 1 - limit, limit)
        odds = np.log(kept / (1 - kept))
        found = minimize(
            loss, np.full(FREE, 0.5), args=(odds,), method="L-BFGS-B", bounds=[(0.2, 4.0)] + [(LEAST, 6.0)] * (FREE - 1)
        )
        if best is None or found.fun < best[3]:
            best = (limit, float(found.x[0]), steps_of(found.x[1:]), float(found.fun))
    assert best is not None
    return *best[:3], best[3] / len(said)


def report(outcomes: list[Outcome]) -> str:
    """The odds as they stand in judge.py, and on how much they rest."""
    said = [one for found in outcomes for one in found.said if one.verdict != "normal"]
    start, weight, steps, loss = fitted(said)
    lines = [
        f'    ("{key}", {step:.2f}),  # in {sum(key in dict(one.counts) for one in said)} findings'
        for key, step in zip(KEYS, steps, strict=True)
    ]
    return "\n".join(
        [
            f"{len(said)} findings of {len(outcomes)} pictures, mean log loss {loss:.4f}",
            f"START, WEIGHT = {start}, {weight:.2f}",
            "ODDS = (",
            *lines,
            ")",
        ]
    )
