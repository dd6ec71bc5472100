"""What the yearly calculator may be told about climate and equipment."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from heatbrief.api import setting
from heatbrief.estimate.systems import Cooling, Heating
from heatbrief.model.quantity import Quantity

DEFAULT_BASE = Quantity.exact(18.0 + 1.0 / 3.0, "degC", "65 degF, common practice")


@dataclass(frozen=True)
class Settings:
    """Climate and equipment. With degree days given, the base temperatures say what they were counted from and do
    not enter the sum; with a weather file they are the balance temperatures below and above which heating and
    cooling run."""

    weather: Path | None = setting(
        None,
        help="a year of hourly weather below the survey folder: TMY3 CSV, EPW, or CSV with time and temperature",
        example="weather.csv",
    )
    year_spread: float = setting(
        0.1, low=0, high=1, help="share by which a year may differ from the one in the weather file or on the bill"
    )
    heating_degree_days: Quantity | None = setting(
        None,
        unit="K*d",
        low=0,
        high=20000,
        help="heating degree days of a usual year; wins over the weather file",
        example="2500 K d",
    )
    cooling_degree_days: Quantity | None = setting(
        None,
        unit="K*d",
        low=0,
        high=20000,
        help="cooling degree days of a usual year; wins over the weather file",
        example="1200 K d",
    )
    heating_base: Quantity | None = setting(
        None,
        unit="degC",
        help="balance temperature of heating; fitted to the bill of the fuel when left out",
        example="18.3 degC",
    )
    cooling_base: Quantity | None = setting(
        None,
        unit="degC",
        help="balance temperature of cooling; fitted to the bill of electricity when left out",
        example="18.3 degC",
    )
    heating_inside: Quantity | None = setting(
        None,
        unit="degC",
        low=5,
        high=30,
        help="room temperature while heating, for counting hours of a weather file from it",
        example="20 degC",
    )
    cooling_inside: Quantity | None = setting(
        None,
        unit="degC",
        low=15,
        high=35,
        help="room temperature while cooling, for counting hours of a weather file from it",
        example="25 degC",
    )
    heating_system: Heating = setting("", help="what heats, for its usual efficiency")
    cooling_system: Cooling = setting("", help="what cools, for its usual efficiency")
    heating_efficiency: Quantity | None = setting(
        None,
        unit="1",
        low=0.2,
        high=8,
        help="useful heat per energy bought: a boiler's yearly efficiency or a heat pump's seasonal factor",
        example="90 %",
    )
    cooling_efficiency: Quantity | None = setting(
        None,
        unit="1",
        low=0.5,
        high=12,
        help="cold per electricity bought over the season (SEER / 3.412)",
        example="3.2",
    )
    seer: float | None = setting(None, low=5, high=40, help="rating of the air conditioner [Btu/Wh]")
    seer2: float | None = setting(None, low=5, high=40, help="its newer rating [Btu/Wh]")
    hspf: float | None = setting(None, low=3, high=20, help="rating of the heat pump when heating [Btu/Wh]")
    hspf2: float | None = setting(None, low=3, high=20, help="its newer rating [Btu/Wh]")
    heating_fuel: Literal["electricity", "gas", "oil", "propane"] = setting(
        "gas", help="what heats; the price of that name is used"
    )
    attic_rise: Quantity | None = setting(
        None,
        unit="K",
        low=0,
        high=60,
        help="how much hotter than outdoors an attic is over the hours of cooling (ASHRAE 152: 7.2 K when vented)",
        example="7 K",
    )
    cooling_hours: Quantity | None = setting(
        None,
        unit="h",
        low=0,
        high=8784,
        help="hours a year with cooling on; counted from the weather file when left out",
        example="1500 h",
    )
    duct_hours: Quantity | None = setting(
        None,
        unit="h",
        low=0,
        high=8784,
        help="hours a year a duct outside the rooms runs about as warm or cold as in the picture",
        example="900 h",
    )
    conducting: tuple[str, ...] = setting(
        ("envelope.insulation", "envelope.thermal_bridge", "envelope.transmittance"),
        help="checks whose heat flow follows the outdoor air",
    )
    running: tuple[str, ...] = setting(("envelope.duct",), help="checks whose heat flow follows running hours")

    @property
    def ratings(self) -> dict[str, float | None]:
        """Ratings of equipment by their names."""
        return {name: getattr(self, name) for name in ("seer", "seer2", "hspf", "hspf2")}
