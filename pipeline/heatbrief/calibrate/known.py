"""A value with its standard uncertainty and where it came from, in the units of the measurement equation."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.model.quantity import NORMAL_95, Quantity

ZERO_CELSIUS_K = 273.15


@dataclass(frozen=True)
class Known:
    """value and standard in one unit; `assumed` says what was supposed when nobody stated it, else ""."""

    value: float
    standard: float
    assumed: str = ""

    def quantity(self, unit: str, shift: float = 0.0, most: float = float("inf")) -> Quantity:
        """For the record: shifted by -`shift`, bounds cut at `most`."""
        value, half = self.value - shift, NORMAL_95 * self.standard
        return Quantity(value, unit, value - half, max(value, min(value + half, most)), 0.95, self.assumed or "given")


def share(quantity: Quantity, unstated: float) -> Known:
    """A plain number; `unstated` is the standard uncertainty when it was given without bounds."""
    return Known(quantity.value, quantity.standard or unstated)


def kelvin(quantity: Quantity, unstated: float) -> Known:
    """A temperature in degC as kelvin."""
    return Known(quantity.value + ZERO_CELSIUS_K, quantity.standard or unstated)
