"""What one factory's table says about air conditioning: vent temperature and pressures by the air that goes in.

The table is of one car (R134a; idle, recirculation, fan at its highest, 10 min, doors shut, windows and bonnet
open, shade).
Another vehicle differs; the table says how the figure moves with heat and humidity, and that there is no fixed drop.
"""

from __future__ import annotations

import numpy as np
from heatbrief.model import Quantity

SOURCE = "vent-table"
INLETS_C = (20.0, 25.0, 30.0)
HUMIDITIES = (0.55, 0.65)
"""Middles of the table's rows 50 to 60 % and 60 to 70 %."""
VENT_C = (((6.0, 8.0), (8.4, 10.9), (14.5, 17.5)), ((7.1, 9.1), (10.9, 13.4), (17.5, 20.5)))
"""(lowest, highest) by humidity, then inlet [degC] [seen]."""
AMBIENTS_C = (25.0, 30.0, 35.0, 40.0)
LOW_C = ((-2.0, 1.6), (0.4, 4.3), (3.4, 7.5), (8.4, 13.0))
HIGH_C = ((49.6, 57.2), (52.5, 60.2), (57.9, 65.7), (66.8, 75.4))
"""R134a saturation [degC] at the table's gauge pressures, at 50 to 70 % humidity by ambient [computed]; the tests hold
the pressures [seen] and compute these anew."""


def expected_vent(inlet_c: float, humidity: float) -> Quantity | None:
    """Air from the centre vent [degC], the table's own range as bounds; None outside the table.

    inlet_c 20 to 30 degC of the air that goes in, humidity 0.5 to 0.7 of that air. Straight lines between the cells;
    humidity between the rows' middles, beyond them the row.
    """
    if not (INLETS_C[0] <= inlet_c <= INLETS_C[-1] and 0.5 <= humidity <= 0.7):
        return None
    cells = np.asarray(VENT_C)
    rows = [[np.interp(inlet_c, INLETS_C, row[:, end]) for row in cells] for end in (0, 1)]
    low, high = (float(np.interp(humidity, HUMIDITIES, row)) for row in rows)
    return Quantity.between(low, high, "degC", None, "one factory's table, between its cells")


def expected_drop(inlet_c: float, humidity: float) -> Quantity | None:
    """Inlet minus vent [K] by the same table; it moves by several kelvin with heat and humidity."""
    vent = expected_vent(inlet_c, humidity)
    return None if vent is None else Quantity.between(inlet_c - vent.high, inlet_c - vent.low, "K", None, vent.method)


def expected_saturation(ambient_c: float) -> tuple[Quantity, Quantity] | None:
    """Where R134a evaporates and condenses [degC] at an ambient of 25 to 40 degC; None outside the table."""
    if not AMBIENTS_C[0] <= ambient_c <= AMBIENTS_C[-1]:
        return None
    found = []
    for table in (LOW_C, HIGH_C):
        low, high = (float(np.interp(ambient_c, AMBIENTS_C, np.asarray(table)[:, end])) for end in (0, 1))
        found.append(Quantity.between(low, high, "degC", None, "saturation at one factory's pressures"))
    return found[0], found[1]
