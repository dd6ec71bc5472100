"""A number with a unit and bounds. Every number in the results is one of these."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

NORMAL_95 = 1.959963984540054
"""Half-width of the central 95 % of a normal distribution in standard deviations."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value with bounds.

    value     best estimate
    unit      "degC" for a temperature, "K" for a difference of temperatures, else SI ("m2", "W", "W/m2", "kWh/a", "USD/a")
    low, high bounds of the interval that holds the true value with probability `coverage`; low <= value <= high
    coverage  0 < coverage <= 1; 1.0 with low == high means "exact by definition or as stated"
    method    how the value and bounds came about, in a few words

    Raises ValueError for numbers that are not finite or bounds out of order.
    """

    value: float
    unit: str
    low: float
    high: float
    coverage: float = 0.95
    method: str = ""

    def __post_init__(self) -> None:
        if -math.inf < self.low <= self.value <= self.high < math.inf and 0.0 < self.coverage <= 1.0:
            return
        if not all(math.isfinite(number) for number in (self.value, self.low, self.high)):
            raise ValueError(f"a quantity must be finite, got {self.value}, {self.low}, {self.high}")
        if not self.low <= self.value <= self.high:
            raise ValueError(f"bounds must hold the value: {self.low} <= {self.value} <= {self.high}")
        if not 0.0 < self.coverage <= 1.0:
            raise ValueError(f"coverage must be above 0 and at most 1, got {self.coverage}")

    @classmethod
    def exact(cls, value: float, unit: str, method: str = "as stated") -> Quantity:
        """A number taken as it was given."""
        return cls(float(value), unit, float(value), float(value), 1.0, method)

    @classmethod
    def normal(cls, value: float, unit: str, standard: float, method: str = "") -> Quantity:
        """95 % bounds of a normal distribution with standard uncertainty `standard` (same unit)."""
        half = NORMAL_95 * abs(float(standard))
        return cls(float(value), unit, float(value) - half, float(value) + half, 0.95, method)

    @classmethod
    def between(cls, low: float, high: float, unit: str, value: float | None = None, method: str = "") -> Quantity:
        """A quantity from its bounds in any order; the value defaults to their middle, all in `unit`."""
        low, high = sorted((float(low), float(high)))
        middle = (low + high) / 2 if value is None else min(max(float(value), low), high)
        return cls(middle, unit, low, high, 0.95, method)

    @property
    def half_width(self) -> float:
        """Half of the interval, in the quantity's unit."""
        return (self.high - self.low) / 2

    @property
    def standard(self) -> float:
        """Standard uncertainty if the bounds are read as those of a normal distribution, in its unit; 0 when exact."""
        return 0.0 if self.coverage == 1.0 and self.low == self.high else self.half_width / NORMAL_95

    def scaled(self, factor: float, unit: str, method: str | None = None) -> Quantity:
        """The quantity times an exact factor, in another unit."""
        low, high = sorted((self.low * factor, self.high * factor))
        return Quantity(self.value * factor, unit, low, high, self.coverage, self.method if method is None else method)

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Quantity:
        """The quantity that the results document holds as plain data."""
        return cls(**data)


def total(quantities: Iterable[Quantity], method: str = "sum") -> Quantity | None:
    """Sum of independent quantities of one unit: half-widths add in quadrature on each side; None for no quantities.

    Raises ValueError when the units differ.
    """
    found = list(quantities)
    if not found:
        return None
    units = {one.unit for one in found}
    if len(units) > 1:
        raise ValueError(f"cannot add {' and '.join(sorted(units))}")
    value = math.fsum(one.value for one in found)
    low = value - math.sqrt(math.fsum((one.value - one.low) ** 2 for one in found))
    high = value + math.sqrt(math.fsum((one.high - one.value) ** 2 for one in found))
    return Quantity(value, found[0].unit, low, high, min(one.coverage for one in found), method)
