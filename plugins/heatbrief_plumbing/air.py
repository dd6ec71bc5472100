"""How cold evaporation can make a surface in the air as given."""

from __future__ import annotations

from heatbrief.api import propagated
from heatbrief.model import Quantity

CELSIUS = 273.15


def wet_bulb_of(air: Quantity | None, humidity: Quantity | None) -> Quantity | None:
    """Wet bulb [degC], the floor of evaporation alone; None without air and humidity. Source: wet-bulb-floor."""
    if air is None or humidity is None:
        return None
    from heatbrief.physics.psychrometrics import wet_bulb

    return propagated(
        lambda air, humidity: float(wet_bulb(air + CELSIUS, min(max(humidity, 0.0), 1.0))) - CELSIUS,
        "degC",
        "wet bulb of the air",
        air=air,
        humidity=humidity,
    )


def dew_point_of(air: Quantity | None, humidity: Quantity | None) -> Quantity | None:
    """Dew point [degC]; None without air and humidity. Source: ashrae-psychrometrics."""
    if air is None or humidity is None or humidity.value <= 0.0:
        return None
    from heatbrief.physics.psychrometrics import dew_point

    return propagated(
        lambda air, humidity: float(dew_point(air + CELSIUS, min(max(humidity, 0.01), 1.0))) - CELSIUS,
        "degC",
        "dew point of the air",
        air=air,
        humidity=humidity,
    )


def known(**quantities: Quantity | None) -> dict[str, Quantity]:
    """The quantities that could be worked out, underscores in names as spaces."""
    return {name.replace("_", " "): one for name, one in quantities.items() if one is not None}
