"""What a unit of energy or water costs and emits, as factors with a name."""

from __future__ import annotations

import math
from collections.abc import Mapping

from heatbrief.model.costs import MoneyFacts
from heatbrief.model.estimate import Factor
from heatbrief.model.quantity import Quantity

CUBIC_METRE = {
    "gas": ("natural gas ft3", 0.3048**3),
    "oil": ("heating oil", 0.003785411784),
    "propane": ("propane", 0.003785411784),
}
"""Fuel of `fuels.yaml` and the volume of its unit [m3], for prices and bills per cubic metre."""

TABLE_NAMES = {"gas": "natural gas", "oil": "heating oil", "propane": "propane", "electricity": "electricity"}
"""Names of `prices:` -> names of `fuels.yaml`."""

JOULES_A_KWH = 3.6e6


def kwh_per_m3(fuel: str) -> float | None:
    """Heat content of a cubic metre [kWh/m3] of gas, oil or propane. Source: eia-btu"""
    if fuel not in CUBIC_METRE:
        return None
    from heatbrief.physics.degree_days import fuel as fuel_of

    name, volume = CUBIC_METRE[fuel]
    return fuel_of(name).heat_content / JOULES_A_KWH / volume


def price_per_kwh(fuel: str, prices: Mapping[str, Quantity], currency: str) -> Quantity | None:
    """The price of a fuel per kWh of its heat content, from a price per kWh or per cubic metre; None without one.
    Source: eia-btu."""
    price = prices.get(fuel)
    if price is None:
        return None
    if price.unit == f"{currency}/kWh":
        return price
    content = kwh_per_m3(fuel)
    if price.unit == f"{currency}/m3" and content is not None:
        return price.scaled(1.0 / content, f"{currency}/kWh", "price over heat content")
    return None


def price_factor(buys: str, unit: str, money: MoneyFacts) -> Factor | None:
    """The price of what a term buys, or None when it is not given in a unit that fits."""
    if unit == "kWh/a":
        price = price_per_kwh(buys, money.prices, money.currency)
    else:
        price = _price_per_m3(buys, money)
    return None if price is None else Factor(f"price of {buys}", price)


def _price_per_m3(buys: str, money: MoneyFacts) -> Quantity | None:
    """A cubic metre of water through the meter costs the sewer as well, where that has a price."""
    names = ("water", "sewer") if buys == "water" else (buys,)
    found = [money.prices[name] for name in names if name in money.prices]
    if names[0] not in money.prices or any(one.unit != f"{money.currency}/m3" for one in found):
        return None
    low, value, high = (sum(getattr(one, end) for one in found) for end in ("low", "value", "high"))
    return Quantity(value, found[0].unit, low, high, found[0].coverage, found[0].method)


def emission_factor(buys: str, money: MoneyFacts) -> Factor | None:
    """Carbon dioxide of a kWh of a fuel [kg/kWh]: as stated, else published; None where unknown. Source: eia-co2,
    eia-grid"""
    stated = money.emissions.get(buys)
    if stated is None:
        if buys not in TABLE_NAMES:
            return None
        from heatbrief.physics.degree_days import fuel as fuel_of

        found = fuel_of(TABLE_NAMES[buys])
        if not math.isfinite(found.carbon):
            return None
        stated = Quantity.exact(found.carbon * JOULES_A_KWH, "kg/kWh", f"{found.carbon_name}, {found.carbon_year}")
    return Factor(f"emissions of {buys}", stated)
