"""How much a house uses by the outdoor temperature: a base and one or two slopes that start at a balance
temperature."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from heatbrief.model.quantity import Quantity

Kind = Literal["heating", "cooling", "both"]
LEAST_PERIODS = 6
"""Two more than the most parameters."""
LEAST_R_SQUARED = 0.5
STEP = 0.1
"""Distance of the balance temperatures that are tried first [K]."""


@dataclass(frozen=True)
class ChangePoint:
    """use = base + heating_slope * max(balance - T, 0) + cooling_slope * max(T - balance, 0), per day.

    base [kWh/d], slopes [kWh/(d K)], balance with 95 % bounds [degC], r_squared of the periods
    """

    base: float
    heating_slope: float
    cooling_slope: float
    balance: Quantity
    r_squared: float


def fit_change_point(
    temperatures: Sequence[float], use: Sequence[float], days: Sequence[float], kind: Kind = "heating"
) -> ChangePoint | str:
    """The least-squares fit with three parameters, four for "both", or why there is none in words.

    temperatures [degC] and use [kWh] of periods of so many days; periods count by their days. For each balance
    temperature base and slopes follow by linear least squares; the balance is the best of a fine grid, then polished.
    Its bounds are where the squares grow by the F distribution's 95 % point. Source: common-practice
    """
    t, days_ = np.asarray(temperatures, float), np.asarray(days, float)
    daily = np.asarray(use, float) / days_
    parameters = 4 if kind == "both" else 3
    if t.size < LEAST_PERIODS:
        return f"{t.size} periods are too few for a balance temperature"
    low, high = np.sort(t)[[1, -2]]
    if high - low < 3.0:
        return "the periods are too alike in temperature for a balance temperature"
    grid = np.arange(low, high + STEP / 2, STEP)
    squares = np.array([_solved(t, daily, days_, balance, kind)[0] for balance in grid])
    balance = _polished(t, daily, days_, kind, grid, int(squares.argmin()))
    best, found = _solved(t, daily, days_, balance, kind)
    slopes = found[1:]
    if (slopes * float(np.ptp(t)) <= 1e-6 * float(np.abs(daily).max())).any():
        return "the use does not rise away from a balance temperature"
    spread = float(np.sum(days_ * (daily - np.average(daily, weights=days_)) ** 2))
    if best > (1.0 - LEAST_R_SQUARED) * spread:
        return "the use hardly follows the outdoor temperature"
    inside = grid[squares <= _limit(best, t.size - parameters)]
    ends = (min(float(inside.min()), balance), max(float(inside.max()), balance)) if inside.size else (balance, balance)
    quantity = Quantity(balance, "degC", *ends, 0.95, "fitted to the bill")
    heating, cooling = {"heating": (slopes[0], 0.0), "cooling": (0.0, slopes[0]), "both": tuple(slopes)}[kind]
    return ChangePoint(float(found[0]), float(heating), float(cooling), quantity, 1.0 - best / spread)


def _columns(t: np.ndarray, balance: float, kind: Kind) -> np.ndarray:
    below, above = np.maximum(balance - t, 0.0), np.maximum(t - balance, 0.0)
    chosen = {"heating": [below], "cooling": [above], "both": [below, above]}[kind]
    return np.column_stack([np.ones_like(t), *chosen])


def _solved(t: np.ndarray, daily: np.ndarray, days: np.ndarray, balance: float, kind: Kind) -> tuple[float, np.ndarray]:
    """Weighted sum of squares and coefficients at one balance temperature."""
    weight = np.sqrt(days)
    columns = _columns(t, balance, kind)
    found = np.linalg.lstsq(columns * weight[:, None], daily * weight, rcond=None)[0]
    return float(np.sum((weight * (daily - columns @ found)) ** 2)), found


def _polished(t: np.ndarray, daily: np.ndarray, days: np.ndarray, kind: Kind, grid: np.ndarray, at: int) -> float:
    from scipy.optimize import minimize_scalar

    low, high = grid[max(at - 1, 0)], grid[min(at + 1, grid.size - 1)]
    found = minimize_scalar(
        lambda one: _solved(t, daily, days, one, kind)[0], bounds=(low, high), method="bounded", options={"xatol": 1e-6}
    )
    return round(float(found.x), 6)


def _limit(best: float, free: int) -> float:
    """Sum of squares below which a balance temperature is within the 95 % bounds."""
    from scipy.stats import f

    return best * (1.0 + float(f.ppf(0.95, 1, free)) / free) + 1e-12
