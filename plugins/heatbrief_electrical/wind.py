"""Wind cools what it blows on: a rise brought to 1 m/s by a table from memory, with bounds from physics."""

from __future__ import annotations

from heatbrief.api import propagated
from heatbrief.model import Quantity
from heatbrief.physics import electrical
from heatbrief.physics.wind_cooling import DIAMETERS_M, forced_coefficient, physics_factor

__all__ = ["MOST_M_S", "at_one_metre_per_second", "forced_coefficient", "physics_factor", "wind_factor"]

MOST_M_S = 4.0
"""Above this, outdoors, no class is given (common practice; 4 to 5 m/s)."""


def wind_factor(wind: float | None) -> Quantity | None:
    """Multiplier of a rise or difference to its value at 1 m/s, with bounds from table and physics; None outside 1 to 8
    m/s.

    The value is a table from memory (source wind-table), the bounds hold what forced convection gives for 6 to 50 mm.
    """
    if wind is None or not 1.0 <= wind <= 8.0:
        return None
    table = float(electrical.wind_factor(wind))
    found = [table, *(float(physics_factor(wind, diameter)) for diameter in DIAMETERS_M)]
    return Quantity.between(
        min(found), max(found), "1", table, "table from memory; bounds from forced convection on 6 to 50 mm"
    )


def at_one_metre_per_second(rise: Quantity, wind: float | None) -> Quantity | None:
    """A rise or difference [K] brought to 1 m/s of wind; None where the table does not reach."""
    factor = wind_factor(wind)
    return (
        None
        if factor is None
        else propagated(
            lambda rise, factor: rise * factor,
            "K",
            "brought to 1 m/s of wind by a table from memory",
            rise=rise,
            factor=factor,
        )
    )
