"""Money over time: payback, present worth, net present value, rate of return.

Rates are fractions per year, times years, money in any one currency.
"""

from __future__ import annotations

import math

import numpy as np

from heatbrief.arrays import FloatArray, Values

_LONGEST = 500


def simple_payback(cost: Values, yearly_saving: Values) -> FloatArray:
    """cost / yearly saving, years; infinite when nothing is saved. Source: common-practice"""
    saving = np.asarray(yearly_saving, float)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(saving > 0.0, np.asarray(cost, float) / saving, np.inf)[()]


def _offset(timing: str) -> float:
    shifts = {"end": 0.0, "middle": 0.5, "beginning": 1.0}
    if timing not in shifts:
        raise ValueError(f"timing must be one of {sorted(shifts)}, not {timing!r}")
    return shifts[timing]


def present_worth_factor(rate: Values, years: Values, timing: str = "end") -> FloatArray:
    """(1+d)^-n of a single sum; n - 0.5 mid-year, n - 1 at the beginning.

    >>> round(float(present_worth_factor(0.03, 10)), 4)
    0.7441

    Source: nist-hb135
    """
    result: FloatArray = (1.0 + rate) ** (_offset(timing) - np.asarray(years, float))
    return result


def uniform_present_worth_factor(rate: float, years: float, escalation: float = 0.0, timing: str = "end") -> float:
    """Present worth of 1 a year for whole years, growing by the escalation: sum [(1+e)/(1+d)]^t.

    With timing "middle" the exponents are t - 0.5, as in the published fuel tables.
    Source: nist-hb135, mil-hdbk-1003-13a
    """
    if rate <= -1.0:
        raise ValueError(f"a rate of {rate!r} per year loses everything at once")
    ratio = (1.0 + escalation) / (1.0 + rate)
    if not 0 <= years <= _LONGEST or years != int(years):
        raise ValueError(f"years must be a whole number from 0 to {_LONGEST}, not {years!r}")
    return float(np.sum(ratio ** (np.arange(1, int(years) + 1) - _offset(timing))))


def net_present_value(
    cost: float, yearly_saving: float, rate: float, years: float, escalation: float = 0.0, timing: str = "end"
) -> float:
    """Present worth of the savings less the cost now. Source: nist-hb135"""
    factor = uniform_present_worth_factor(rate, years, escalation, timing)
    return yearly_saving * factor - cost


def savings_to_investment(
    cost: float, yearly_saving: float, rate: float, years: float, escalation: float = 0.0, timing: str = "end"
) -> float:
    """Present worth of the savings over the cost; above 1 is worthwhile. Source: nist-hb135"""
    return yearly_saving * uniform_present_worth_factor(rate, years, escalation, timing) / cost


def internal_rate_of_return(cost: float, yearly_saving: float, years: float) -> float:
    """Rate at which the savings just pay the cost; NaN when there is none above -99 %.

    Source: nist-hb135
    """
    from scipy.optimize import brentq

    def gap(rate: float) -> float:
        return net_present_value(cost, yearly_saving, rate, years)

    if cost <= 0.0 or yearly_saving <= 0.0 or years < 1:
        return math.nan
    high = max(1.0, 2.0 * yearly_saving / cost)
    if gap(-0.99) < 0.0:
        return math.nan
    return float(brentq(gap, -0.99, high, xtol=1e-12))


def discounted_payback(cost: float, yearly_saving: float, rate: float) -> float:
    """Years until discounted savings equal the cost, -ln(1 - C d / S) / ln(1 + d).

    Infinite when they never do. Source: nist-hb135
    """
    if yearly_saving <= 0.0:
        return math.inf
    if rate == 0.0:
        return cost / yearly_saving
    left = 1.0 - cost * rate / yearly_saving
    return math.inf if left <= 0.0 else -math.log(left) / math.log1p(rate)


def real_rate(nominal: Values, inflation: Values) -> FloatArray:
    """(1 + D)/(1 + i) - 1. From memory. Source: nist-hb135"""
    return (1.0 + np.asarray(nominal, float)) / (1.0 + np.asarray(inflation, float)) - 1.0


def monthly_rate(yearly: Values) -> FloatArray:
    """(1 + i)^(1/12) - 1. Source: energyplus-lcc"""
    return (1.0 + np.asarray(yearly, float)) ** (1.0 / 12.0) - 1.0
