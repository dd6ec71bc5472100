"""Carry bounds through a formula, whatever its shape."""

from __future__ import annotations

import math
from collections.abc import Callable

from heatbrief.model.quantity import Quantity


def propagated(
    model: Callable[..., float], unit: str, method: str = "", /, **inputs: Quantity | float
) -> Quantity | None:
    """`model(**values)` with bounds, or None when it has no finite value at the best estimates.

    Each input is moved to its bounds with the others held; the changes add in quadrature for each side, so skewed
    formulas
    keep skewed bounds. Inputs are taken as independent: shared errors must have been cancelled before. Plain numbers
    count
    as exact. A bound at which the model has no finite value leaves that side at what the other inputs give.
    """
    best = {name: one.value if isinstance(one, Quantity) else float(one) for name, one in inputs.items()}
    value = _finite(model, best)
    if value is None:
        return None
    below, above = 0.0, 0.0
    for name, one in inputs.items():
        if not isinstance(one, Quantity) or one.low == one.high:
            continue
        moved = [_finite(model, {**best, name: end}) for end in (one.low, one.high)]
        changes = [end - value for end in moved if end is not None]
        below += min(0.0, *changes, 0.0) ** 2
        above += max(0.0, *changes, 0.0) ** 2
    coverages = [one.coverage for one in inputs.values() if isinstance(one, Quantity)]
    return Quantity(
        value, unit, value - math.sqrt(below), value + math.sqrt(above), min(coverages, default=1.0), method
    )


def _finite(model: Callable[..., float], values: dict[str, float]) -> float | None:
    try:
        result = float(model(**values))
    except (ArithmeticError, ValueError):
        return None
    return result if math.isfinite(result) else None
