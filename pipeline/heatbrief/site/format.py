"""Numbers as people read them: display units, two digits of uncertainty, no digit that is not justified."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from heatbrief.model.quantity import Quantity

NBSP = "\u00a0"
THIN = "\u202f"
MINUS = "\u2212"
MOST_DIGITS = 6
"""Significant digits of a shown value, however small its bounds."""
EXACT_DIGITS = 4
CENT = -2
"""Significant digits of a value without bounds."""

_TYPESET = {
    "degC": "°C",
    "degF": "°F",
    "1": "",
    "count": "counts",
    "counts": "counts",
    "percent": "%",
    "px": "pixels",
    "m2": "m²",
    "cm2": "cm²",
    "in2": "in²",
    "ft2": "ft²",
    "m3": "m³",
    "ft3": "ft³",
    "um": "µm",
    "W/m2": "W/m²",
    "deg": "°",
    "a": "years",
    "h": "h",
    "W/(m2 K)": "W/(m²·K)",
    "W/m2/K": "W/(m²·K)",
    "W/(m2*K)": "W/(m²·K)",
    "m2 K/W": "m²·K/W",
    "m2*K/W": "m²·K/W",
    "Btu/h/ft2": "Btu/(h·ft²)",
    "Btu/h/ft2/F": "Btu/(h·ft²·°F)",
    "ft2 F h/Btu": "ft²·°F·h/Btu",
    "F": "°F",
    "F/min": "°F/min",
}

_TO_US: Mapping[str, tuple[float, float, str]] = {
    # unit: (factor, offset, shown unit). Factors are exact by definition: 1 ft = 0.3048 m, 1 US gal = 3.785411784 L,
    # 1 lb = 0.45359237 kg, 1 mile = 1609.344 m, 1 psi = 6894.757293168 Pa,
    # 1 Btu (international table) = 1055.05585262 J.
    "degC": (1.8, 32.0, "degF"),
    "K": (1.8, 0.0, "F"),
    "K/min": (1.8, 0.0, "F/min"),
    "m": (1 / 0.3048, 0.0, "ft"),
    "cm": (1 / 2.54, 0.0, "in"),
    "mm": (1 / 25.4, 0.0, "in"),
    "m2": (1 / 0.3048**2, 0.0, "ft2"),
    "cm2": (1 / 2.54**2, 0.0, "in2"),
    "m3": (1 / 0.3048**3, 0.0, "ft3"),
    "m/s": (3600 / 1609.344, 0.0, "mph"),
    "kg": (1 / 0.45359237, 0.0, "lb"),
    "L": (1 / 3.785411784, 0.0, "gal"),
    "L/min": (1 / 3.785411784, 0.0, "gal/min"),
    "L/h": (1 / 3.785411784, 0.0, "gal/h"),
    "L/d": (1 / 3.785411784, 0.0, "gal/d"),
    "L/a": (1 / 3.785411784, 0.0, "gal/a"),
    "m3/a": (1000 / 3.785411784, 0.0, "gal/a"),
    "m3/h": (1 / 0.3048**3, 0.0, "ft3/h"),
    "bar": (1e5 / 6894.757293168, 0.0, "psi"),
    "kPa": (1e3 / 6894.757293168, 0.0, "psi"),
    "W/m2": (3600 * 0.3048**2 / 1055.05585262, 0.0, "Btu/h/ft2"),
    **dict.fromkeys(("W/(m2 K)", "W/m2/K", "W/(m2*K)"), (3600 * 0.3048**2 / 1055.05585262 / 1.8, 0.0, "Btu/h/ft2/F")),
    **dict.fromkeys(("m2 K/W", "m2*K/W"), (1055.05585262 * 1.8 / 3600 / 0.3048**2, 0.0, "ft2 F h/Btu")),
    "kg/a": (1 / 0.45359237, 0.0, "lb/a"),
}
_FINER = {"m2": (0.01, 1e4, "cm2"), "m": (0.1, 100.0, "cm")}
"""Unit: below this size the finer unit is shown, its factor, its name."""
_PER = {"a": "a year", "year": "a year", "yr": "a year", "d": "a day", "day": "a day", "month": "a month"}


@dataclass(frozen=True)
class Shown:
    """A quantity in words.

    value    best estimate with its uncertainty and unit, ready to print
    centre   the same, without the bounds even where they are not symmetric
    between  the bounds ("10.9 to 14.2 K"), "" when the value is exact
    unit     the display unit alone
    coverage "" for 95 %, else the probability in words ("80 %")
    method   how it came about
    """

    value: str
    centre: str
    between: str
    unit: str
    coverage: str
    method: str


@functools.lru_cache(16_384)  # conditions, settings and findings are shown on page after page
def show(quantity: Quantity, units: str = "metric", percent: bool = False) -> Shown:
    """A quantity for display in "metric" or "us" units; `percent` shows a plain number as per cent."""
    value, low, high, code = to_display(quantity, units, percent)
    unit = typeset_unit(code)
    coverage = (
        "" if quantity.coverage in (0.95, 1.0) else f"{_plain(Decimal(str(quantity.coverage)) * 100, units)}{NBSP}%"
    )
    if low == high:
        text = with_unit(number(_to_digits(value, EXACT_DIGITS - (code == "1")), units), unit)
        return Shown(text, text, "", unit, coverage, quantity.method)
    place = _money_place(value, low, high) if is_money(code) else _place(value, low, high)
    centre, bounds = (
        number(_at(value, place), units),
        f"{number(_at(low, place), units)} to {number(_at(high, place), units)}",
    )
    half = (high - low) / 2
    if not _at(half, place):  # bounds finer than any digit worth printing
        text = with_unit(centre, unit)
        return Shown(text, text, "", unit, coverage, quantity.method)
    if abs((high - value) - (value - low)) <= Decimal("0.1") * half:
        text = plain = with_unit(f"{centre}{NBSP}±{NBSP}{number(_at(half, place), units)}", unit)
    else:
        plain = with_unit(centre, unit)
        text = f"{plain} ({bounds})"
    return Shown(text, plain, with_unit(bounds, unit), unit, coverage, quantity.method)


def is_money(unit: str) -> bool:
    """True for "USD" and "USD/a": an ISO 4217 code, alone or for a time or amount."""
    head = unit.partition("/")[0]
    return len(head) == 3 and head.isalpha() and head.isupper()


def to_display(quantity: Quantity, units: str, percent: bool = False) -> tuple[Decimal, Decimal, Decimal, str]:
    """Value, low and high in the display unit, and that unit's code."""
    finer, code = 1.0, quantity.unit
    if code in _FINER and max(abs(quantity.low), abs(quantity.high)) < _FINER[code][0]:
        _, finer, code = _FINER[code]
    factor, offset, unit = conversion(code, units)
    factor *= finer
    if percent and unit == "1":
        factor, unit = 100.0, "percent"
    value, low, high = (_decimal(number * factor + offset) for number in (quantity.value, quantity.low, quantity.high))
    return value, low, high, unit


def conversion(unit: str, units: str) -> tuple[float, float, str]:
    """(factor, offset, display unit code) from a unit of the results."""
    if units != "us":
        return 1.0, 0.0, unit
    if unit in _TO_US:
        return _TO_US[unit]
    head, slash, last = unit.partition("/")
    if slash and is_money(head) and last in ("m2", "m", "m3", "L"):  # money for an amount: USD/m2
        factor, _, shown = _TO_US[last]
        return 1 / factor, 0.0, f"{head}/{shown}"
    return 1.0, 0.0, unit


def typeset_unit(code: str) -> str:
    """A unit as printed: "kWh/a" as "kWh a year"."""
    if code in _TYPESET:
        return _TYPESET[code]
    head, slash, last = code.rpartition("/")
    if slash and last in _PER and head:
        return f"{typeset_unit(head)} {_PER[last]}".strip()
    return f"{typeset_unit(head)}/{_TYPESET.get(last, last)}" if slash and head else code


def with_unit(text: str, unit: str) -> str:
    """Number and unit, the first word of the unit kept on the number's line."""
    if not unit:
        return text
    return f"{text}{unit}" if unit == "°" else f"{text}{NBSP}{unit}"


def number(value: Decimal, units: str = "metric") -> str:
    """A rounded number with a proper minus and groups of three; points for decimals in both systems."""
    text = f"{value:f}"
    sign, text = (MINUS, text[1:]) if text.startswith("-") else ("", text)
    if not any(digit in "123456789" for digit in text):
        sign = ""
    whole, dot, rest = text.partition(".")
    if len(whole) > 4 or (units == "us" and len(whole) > 3):
        whole = f"{int(whole):,}".replace(",", "," if units == "us" else THIN)
    return f"{sign}{whole}{dot}{rest}"


@functools.lru_cache(4096)
def number_of(value: float, digits: int = 3, units: str = "metric") -> str:
    """A plain number with that many significant digits, without trailing zeros."""
    return number(_to_digits(_decimal(value), digits), units)


def two_digits(value: float, unit: str, units: str = "metric") -> str:
    """A standard uncertainty: two significant digits and its unit."""
    factor, _, code = conversion(unit, units)
    return with_unit(number_of(value * factor, 2, units), typeset_unit(code))


@functools.lru_cache(4096)
def contribution(value: float, combined: float, units: str = "metric") -> tuple[str, bool]:
    """A contribution [K] with the digits its combined uncertainty leaves, and True when it is less than the last of them."""
    factor, _, code = conversion("K", units)
    whole = _decimal(combined * factor)
    place = whole.adjusted() - 1 if whole else -1
    shown = _at(_decimal(value * factor), place)
    small = not shown
    text = number(Decimal((0, (1,), place)) if small else shown, units)
    return with_unit(text, typeset_unit(code)), small


def percent_text(probability: float) -> str:
    """A probability in whole per cent, never 0 or 100 for one that is neither."""
    whole = int((_decimal(probability) * 100).quantize(Decimal(1), ROUND_HALF_UP))
    if 0 < probability < 1:
        whole = min(max(whole, 1), 99)
    return str(whole)


def _decimal(value: float) -> Decimal:
    return Decimal(repr(round(float(value), 12))) if abs(value) < 1e15 else Decimal(repr(float(value)))


def _place(value: Decimal, low: Decimal, high: Decimal) -> int:
    """Power of ten of the last digit: second digit of the half-width, at most MOST_DIGITS digits of the value."""
    half = (high - low) / 2
    place = half.adjusted() - 1
    if _at(half, place).adjusted() > half.adjusted():  # 9.96 becomes 10, not 10.0
        place += 1
    biggest = max(abs(value), abs(low), abs(high))
    return max(place, biggest.adjusted() - MOST_DIGITS + 1)


def _money_place(value: Decimal, low: Decimal, high: Decimal) -> int:
    """For sums of money the second digit of the larger bound, as long as one digit of the half-width is left; no part
    of a cent."""
    biggest, half = max(abs(value), abs(low), abs(high)), (high - low) / 2
    return max(_place(value, low, high), min(biggest.adjusted() - 1, half.adjusted()), CENT)


def _at(value: Decimal, place: int) -> Decimal:
    """Rounded half up at a power of ten, written without an exponent."""
    rounded = value.quantize(Decimal((0, (1,), place)), ROUND_HALF_UP)
    return rounded.quantize(Decimal(1)) if place > 0 else rounded


def _to_digits(value: Decimal, digits: int) -> Decimal:
    if value == 0:
        return Decimal(0)
    rounded = _at(value, value.adjusted() - digits + 1)
    return Decimal(_plain(rounded, "")) if rounded else Decimal(0)


def _plain(value: Decimal, units: str) -> str:
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
