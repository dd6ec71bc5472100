"""Degree days by several definitions, season energy, equipment efficiencies and fuels."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from heatbrief.arrays import FloatArray, Values

from .tables import load_table

BTU_PER_WH = 3.412141633
"""Btu(IT) per watt-hour. Source: nist-sp811."""
SECONDS_PER_DAY = 86400.0
METHODS = ("hourly", "daily_mean", "max_min")


@dataclass(frozen=True)
class Fuel:
    """One fuel: heat content J per unit, carbon dioxide kg per J (NaN unknown), where from.

    carbon_name, carbon_year  whose carbon dioxide factor it is, and of which year (0 unknown)
    """

    name: str
    unit: str
    heat_content: float
    carbon: float
    mark: str
    source: str
    carbon_name: str = ""
    carbon_year: int = 0


def _daily(t_series: ArrayLike, samples_per_day: int) -> FloatArray:
    t = np.asarray(t_series, float)
    if t.ndim != 1 or t.size == 0 or t.size % samples_per_day:
        raise ValueError(f"{t.size} samples are not whole days of {samples_per_day}; give complete days")
    return t.reshape(-1, samples_per_day)


def _degree_days(t_series: ArrayLike, base: float, sign: float, method: str, samples_per_day: int) -> float:
    days = _daily(t_series, samples_per_day)
    if method == "hourly":
        excess = np.maximum(sign * (days - base), 0.0).mean(axis=1)
    elif method == "daily_mean":
        excess = np.maximum(sign * (days.mean(axis=1) - base), 0.0)
    elif method == "max_min":
        middle = 0.5 * (days.max(axis=1) + days.min(axis=1))
        excess = np.maximum(sign * (middle - base), 0.0)
    else:
        raise ValueError(f"method must be one of {METHODS}, not {method!r}")
    return float(excess.sum())


def heating_degree_days(
    t_series: ArrayLike, base: float, method: str = "daily_mean", samples_per_day: int = 24
) -> float:
    """Heating degree days, K d, of whole days of temperatures in file order.

    t_series, base: K. method "hourly" (hourly excess / 24), "daily_mean" (24 h mean), "max_min"
    ((Tmax + Tmin)/2); they differ by several per cent, so state which. NaN propagates.
    Raises ValueError when the series is not whole days.
    Source: degree-day-definition
    """
    return _degree_days(t_series, base, -1.0, method, samples_per_day)


def cooling_degree_days(
    t_series: ArrayLike, base: float, method: str = "daily_mean", samples_per_day: int = 24
) -> float:
    """Cooling degree days, K d; arguments as `heating_degree_days`.

    Source: degree-day-definition
    """
    return _degree_days(t_series, base, 1.0, method, samples_per_day)


def season_heat(conductance: Values, degree_days: Values) -> FloatArray:
    """UA times degree days, J; conductance W/K, degree_days K d. Source: degree-day-definition"""
    return np.asarray(conductance, float) * degree_days * SECONDS_PER_DAY


def delivered_energy(heat: Values, efficiency: Values) -> FloatArray:
    """Energy bought for useful heat (or cold): heat / efficiency (AFUE or COP), same unit.

    Source: degree-day-definition
    """
    return np.asarray(heat, float) / efficiency


def insulation_saving(
    area: Values, r_before: Values, r_after: Values, degree_days: Values, efficiency: Values = 1.0
) -> FloatArray:
    """A (1/R0 - 1/R1) times degree days over efficiency, J bought less per season.

    area m2, R m2 K W-1, degree_days K d. Source: colorado-insulation
    """
    change = 1.0 / np.asarray(r_before, float) - 1.0 / np.asarray(r_after, float)
    return delivered_energy(season_heat(area * change, degree_days), efficiency)


def cop_from_seer(seer: Values) -> FloatArray:
    """Seasonal COP from SEER or HSPF (Btu per Wh): value / 3.412.

    >>> round(float(cop_from_seer(13.0)), 3)
    3.81

    Source: nist-sp811
    """
    return np.asarray(seer, float) / BTU_PER_WH


def seer_from_seer2(seer2: Values) -> FloatArray:
    """SEER of ducted split equipment from SEER2, about SEER2 / 0.95. From memory.

    Source: seer2-rule
    """
    return np.asarray(seer2, float) / 0.95


def hspf_from_hspf2(hspf2: Values) -> FloatArray:
    """HSPF of ducted split equipment from HSPF2, about HSPF2 / 0.85. From memory.

    Source: seer2-rule
    """
    return np.asarray(hspf2, float) / 0.85


def fuel(name: str) -> Fuel:
    """A fuel of the table `fuels.yaml`; KeyError names the known ones. Source: eia-btu, eia-co2"""
    table = load_table("fuels")["fuels"]
    if name not in table:
        raise KeyError(f"no fuel {name!r}; fuels: {', '.join(sorted(table))}")
    row = table[name]
    carbon = row["kg_co2_per_mmbtu"]
    return Fuel(
        name=name,
        unit=row["unit"],
        heat_content=row["btu_per_unit"] * 3600.0 / BTU_PER_WH,
        carbon=float("nan") if carbon is None else carbon * BTU_PER_WH / 3600.0 / 1e6,
        mark=row["mark"],
        source=row["source"],
        carbon_name=row.get("co2", {}).get("name", ""),
        carbon_year=row.get("co2", {}).get("year", 0),
    )


def fuel_quantity(energy: Values, name: str) -> FloatArray:
    """Units of a fuel that hold this much energy; energy J. Source: eia-btu"""
    return np.asarray(energy, float) / fuel(name).heat_content


def carbon_dioxide(energy: Values, name: str) -> FloatArray:
    """Carbon dioxide of burning this much energy of a fuel, kg; energy J. Source: eia-co2"""
    return np.asarray(energy, float) * fuel(name).carbon
