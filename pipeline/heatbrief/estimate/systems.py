"""Heating and cooling equipment: useful heat or cold per energy bought, with bounds, and what it runs on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from heatbrief.model.quantity import Quantity

Heating = Literal["", "furnace", "boiler", "heat pump", "resistance"]
Cooling = Literal["", "air conditioner", "heat pump"]

USUAL: dict[tuple[str, str], tuple[float, float, str]] = {
    ("furnace", "gas"): (0.70, 0.92, "afue-ranges"),
    ("boiler", "gas"): (0.70, 0.92, "afue-ranges"),
    ("furnace", "oil"): (0.60, 0.88, "afue-ranges"),
    ("boiler", "oil"): (0.60, 0.88, "afue-ranges"),
    ("furnace", "propane"): (0.60, 0.88, "afue-ranges"),
    ("boiler", "propane"): (0.60, 0.88, "afue-ranges"),
    ("boiler", "electricity"): (0.98, 1.0, "common-practice"),
    ("furnace", "electricity"): (0.95, 1.0, "common-practice"),
    ("resistance", "electricity"): (1.0, 1.0, "ohm-joule"),
    ("heat pump", "electricity"): (2.0, 3.5, "common-practice"),
}
"""(system, fuel) -> usual range over the season and its source, for systems whose efficiency is not given."""

USUAL_COOLING = {"air conditioner": (2.5, 4.7), "heat pump": (2.5, 4.7)}
"""Usual range over the season. Common practice, no source."""

ELECTRIC = ("heat pump", "resistance")
RATING_SPREAD = 0.15
"""Share by which equipment in a house differs from its rating (common practice, no source)."""


@dataclass(frozen=True)
class Efficiency:
    """Useful energy per energy bought, the fuel, and where it came from; None when nothing says what it is."""

    value: Quantity | None
    fuel: str
    origin: str


def heating_efficiency(system: str, fuel: str, given: Quantity | None, ratings: dict[str, float | None]) -> Efficiency:
    """As given, else from a rating, else the usual range of the system. Source: nist-sp811, seer2-rule, afue-ranges"""
    fuel = "electricity" if system in ELECTRIC else fuel
    if given is not None:
        return Efficiency(given, fuel, "given in the survey")
    rated = _rated(ratings, "hspf")
    if rated is not None:
        return Efficiency(rated, fuel, "from the rating, within 15 % in use")
    usual = USUAL.get((system, fuel))
    if usual is None:
        return Efficiency(None, fuel, "")
    return Efficiency(
        Quantity.between(usual[0], usual[1], "1", method="usual range"), fuel, f"usual range of a {system}"
    )


def cooling_efficiency(system: str, given: Quantity | None, ratings: dict[str, float | None]) -> Efficiency:
    """The same for cooling, which runs on electricity."""
    if given is not None:
        return Efficiency(given, "electricity", "given in the survey")
    rated = _rated(ratings, "seer")
    if rated is not None:
        return Efficiency(rated, "electricity", "from the rating, within 15 % in use")
    usual = USUAL_COOLING.get(system)
    if usual is None:
        return Efficiency(None, "electricity", "")
    return Efficiency(Quantity.between(*usual, "1", method="usual range"), "electricity", f"usual range of a {system}")


def _rated(ratings: dict[str, float | None], kind: str) -> Quantity | None:
    """A seasonal factor from SEER or HSPF (Btu per Wh), or from their newer forms."""
    from heatbrief.physics.degree_days import cop_from_seer, hspf_from_hspf2, seer_from_seer2

    newer = {"seer": seer_from_seer2, "hspf": hspf_from_hspf2}[kind]
    value = ratings.get(kind)
    if value is None and (second := ratings.get(f"{kind}2")) is not None:
        value = float(newer(second))
    if value is None:
        return None
    factor = float(cop_from_seer(value))
    return Quantity.between(factor * (1 - RATING_SPREAD), factor * (1 + RATING_SPREAD), "1", factor, "from the rating")
