"""The best set of actions for an amount of money, found exactly."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

SCALE = 1e4
"""Makes the smallest difference in worth that counts larger than what the solver takes as equal."""


@dataclass(frozen=True)
class Choice:
    """One action: its cost (None: not known, so it cannot be chosen), its worth, whether it is for safety or urgent,
    and what has to be chosen with it."""

    key: str
    cost: float | None
    value: float = 0.0
    safety: bool = False
    urgent: bool = False
    after: tuple[str, ...] = ()


def best_set(choices: Sequence[Choice], budget: float) -> frozenset[str]:
    """Keys of the best set that costs at most the budget and leaves out nothing that its members depend on.

    Most actions for safety first; among those sets most urgent actions; among those the largest sum of values; among
    equal ones the cheapest, then the earliest. Solved as integer programs, one for each of these wishes in turn.
    """
    able = _able(choices)
    if not able:
        return frozenset()
    count, place = len(able), {one.key: number for number, one in enumerate(able)}
    costs = np.array([one.cost or 0.0 for one in able])
    rows = [(costs / max(budget, 1e-9), 1.0)]
    for one in able:
        for before in one.after:
            row = np.zeros(count)
            row[place[one.key]], row[place[before]] = 1.0, -1.0
            rows.append((row, 0.0))
    largest = max(float(np.abs([one.value for one in able]).max()), float(costs.max()), 1e-9)
    early = np.arange(count, 0, -1) / count
    worth = np.array([one.value for one in able]) / largest - 1e-6 * costs / largest + 1e-9 * early
    wishes = [
        np.array([float(one.safety) for one in able]),
        np.array([float(one.urgent) for one in able]),
        SCALE * worth,
    ]
    chosen = np.zeros(count, bool)
    for wish in wishes:
        chosen = _solved(wish, rows, chosen)
        rows.append((-wish, -float(wish @ chosen) + 1e-6))
    return frozenset(one.key for one, taken in zip(able, chosen, strict=True) if taken)


def _able(choices: Sequence[Choice]) -> list[Choice]:
    """Choices with a cost whose dependencies all have one too."""
    found: Mapping[str, Choice] = {one.key: one for one in choices if one.cost is not None}
    while True:
        kept = {key: one for key, one in found.items() if all(before in found for before in one.after)}
        if len(kept) == len(found):
            return list(kept.values())
        found = kept


def _solved(wish: np.ndarray, rows: Sequence[tuple[np.ndarray, float]], before: np.ndarray) -> np.ndarray:
    """The set with most of a wish; the one before where the solver gives none."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    limits = LinearConstraint(np.array([row for row, _ in rows]), ub=np.array([most for _, most in rows]))
    found = milp(
        -wish,
        constraints=limits,
        integrality=np.ones(before.size, int),
        bounds=Bounds(0, 1),
        options={"mip_rel_gap": 0.0},
    )
    return before if found.x is None else np.asarray(found.x > 0.5)
