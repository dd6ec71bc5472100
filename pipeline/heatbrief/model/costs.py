"""What work, energy and water cost at this property, as the manifest says it; and the bill."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import ClassVar, Literal

from heatbrief.model.quantity import Quantity
from heatbrief.model.settings import setting

MONTH_DAYS = (31.0, 28.0, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0)
PER = {"area": "/m2", "length": "/m", "piece": "", "": ""}
"""What the material of an action is priced by, after the currency."""


@dataclass(frozen=True)
class ActionCost:
    """What one kind of action takes. A unit is a square metre, a metre or a piece, as the action is priced by."""

    cost: Quantity | None = setting(
        None,
        low=0,
        help="the whole line for a sum, such as an offer in hand; wins over everything else",
        example="300 .. 450 USD",
    )
    fixed: Quantity | None = setting(None, low=0, help="a sum for coming at all", example="60 .. 120 USD")
    material: Quantity | None = setting(None, low=0, help="material for one unit", example="9 .. 18 USD/m2")
    hours: Quantity | None = setting(
        None, unit="h", low=0, help="hours of work besides those for each unit", example="1 .. 2 h"
    )
    hours_per_unit: Quantity | None = setting(
        None, unit="h", low=0, help="hours of work for one unit", example="0.3 .. 0.6 h"
    )
    life: int | None = setting(None, low=1, high=100, help="years that the measure lasts")


@dataclass(frozen=True)
class Costs:
    """Prices of work, and how money is counted over the years."""

    book: Literal["none", "example"] = setting(
        "none", help="`example` takes what is not stated here from the example price book that ships with heatbrief"
    )
    labour: Mapping[str, Quantity] = setting(
        factory=dict,
        low=0,
        help="an hour of each trade, by the names used in the plan of work",
        example="{contractor: 60 .. 110 USD/h}",
    )
    actions: Mapping[str, ActionCost] = setting(factory=dict, help="what single actions take, by their keys")
    budget: Quantity | None = setting(
        None, low=0, help="amount to spend: the best set of actions for it is marked", example="1500 USD"
    )
    years: int = setting(
        20, low=1, high=100, help="years over which savings count, for actions without a life of their own"
    )
    discount_rate: Quantity = setting(
        Quantity.exact(0.03, "1", "common practice"),
        unit="1",
        low=0,
        high=0.5,
        help="real interest on money a year",
        example="3 %",
    )
    price_growth: Quantity = setting(
        Quantity.exact(0.0, "1", "assumed"),
        unit="1",
        low=-0.1,
        high=0.3,
        help="real growth of energy prices a year",
        example="1 %",
    )
    same_cause: tuple[tuple[str, ...], ...] = setting(
        (),
        help="lists of region names whose findings have one cause and are counted once",
        example="[[supply duct, study ceiling]]",
    )


@dataclass(frozen=True)
class Bill:
    """What was bought of one kind of energy, or of water, in a year."""

    SHORTHAND: ClassVar[str] = "year"

    year: Quantity | None = setting(None, unit="kWh", positive=True, help="energy in a year", example="9800 kWh")
    volume: Quantity | None = setting(
        None, unit="m3", positive=True, help="volume in a year: water, gas or oil", example="120 m3"
    )
    months: tuple[Quantity, ...] = setting(
        (), unit="kWh", low=0, help="energy of each period, in order", example="[980 kWh, 860 kWh]"
    )
    temperatures: tuple[Quantity, ...] = setting(
        (),
        unit="degC",
        low=-60,
        high=60,
        help="mean outdoor temperature of each period, for the fit of the balance temperature",
        example="[1 degC, 3 degC]",
    )
    days: tuple[float, ...] = setting(
        (), low=1, high=366, help="days of each period; twelve calendar months when left out"
    )
    file: Path | None = setting(
        None,
        help="a CSV file with the periods instead: columns `start`, `end` (2025-01-31), `amount (kWh)`, also in units such "
        "as therm, m3 or gallon, and if you have it `temperature (degC)`, the mean outdoors",
        example="bills/electricity.csv",
    )

    def __post_init__(self) -> None:
        count = len(self.months)
        if self.file is not None:
            if count or self.year or self.volume or self.temperatures or self.days:
                raise ValueError("a bill with a `file` takes everything from it; leave the other keys out")
            return
        if not count and self.year is None and self.volume is None:
            raise ValueError("a bill needs the energy of a `year`, a `volume`, `months`, or a `file`")
        for name in ("temperatures", "days"):
            given = len(getattr(self, name))
            if given and given != count:
                raise ValueError(f"{name} has {given} values and months has {count}")
        if count and not self.days and count != 12:
            raise ValueError("give `days` of each period when there are not twelve months")

    @property
    def period_days(self) -> tuple[float, ...]:
        """Days of each period, in the order of the bill."""
        return self.days or MONTH_DAYS[: len(self.months)]

    @property
    def energy(self) -> Quantity | None:
        """Energy in a year [kWh/a]: as stated, else the periods brought to 365 days."""
        if self.year is not None:
            return self.year.scaled(1.0, "kWh/a")
        if not self.months:
            return None
        share = 365.0 / sum(self.period_days)
        value, low, high = (sum(getattr(one, part) for one in self.months) * share for part in ("value", "low", "high"))
        return Quantity(value, "kWh/a", low, high, 0.95, "sum of the periods")


@dataclass(frozen=True)
class MoneyFacts:
    """Everything money is worked out from.

    prices      by name, per kWh or per m3; emissions: kg of carbon dioxide per kWh by fuel, over the published ones
    example     True when the example price book stands behind `costs`; listed: keys of actions stated by the survey
    itself
    """

    prices: Mapping[str, Quantity] = field(default_factory=dict)
    currency: str = "USD"
    emissions: Mapping[str, Quantity] = field(default_factory=dict)
    costs: Costs = field(default_factory=Costs)
    bill: Mapping[str, Bill] = field(default_factory=dict)
    listed: frozenset[str] = frozenset()
