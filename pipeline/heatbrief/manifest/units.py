"""Text such as "75 degF" or "24 degC +- 0.5 K" to a Quantity in the unit that is wanted."""

from __future__ import annotations

import math
import re
from functools import lru_cache
from statistics import NormalDist
from typing import NamedTuple

from heatbrief.manifest.conversion import Line, QuantityError, absolute, conversion, of_other_dimension, split_money
from heatbrief.manifest.nodes import shown
from heatbrief.model.quantity import NORMAL_95, Quantity

__all__ = ["NUMBER", "QuantityError", "parse_price", "parse_quantity"]

NUMBER = r"[-+]?(?:\d+(?:\.\d+)?|\.\d+)(?:[eE][-+]?\d+)?"
MAX_LENGTH = 120

_NUMBER = re.compile(NUMBER)
_SPLIT = re.compile(r"\s*(±|\+/-|\+-|\.{2,3}|…|\bto\b)\s*")
_COVERAGE = re.compile(r"\(\s*(?:k\s*=\s*(?P<k>\d+(?:\.\d+)?)|(?P<percent>\d+(?:\.\d+)?)\s*%)\s*\)$")
_SIGNS = str.maketrans({"−": "-", "\u00a0": " ", "\u2009": " ", "\u202f": " "})

_OTHER_UNITS = {
    "degC": "degF",
    "K": "degF",
    "m": "ft",
    "m2": "ft2",
    "m3": "ft3",
    "m/s": "mph",
    "Pa": "inH2O",
    "mm": "in",
}
_PRICED = (("kWh", "kWh"), ("m3", "m3"), ("m2", "m2"), ("m", "m"), ("kg", "kg"), ("kW", "kW"), ("h", "h"))
_MONTH_HOURS = 600.0


class _Parts(NamedTuple):
    value: float
    unit: str
    sign: str = ""
    second: float = 0.0
    second_unit: str = ""
    shrink: float = 1.0


@lru_cache(maxsize=16384)
def parse_quantity(text: str, unit: str) -> Quantity:
    """The quantity that a text states, in `unit`.

    unit  "degC": a temperature; "K": a difference of temperatures; "1": a plain number or a percentage; else any unit.
    Bounds "±" and ranges hold the value with 95 % unless a coverage follows, as in "24 ± 1 degC (k=1)".
    Raises QuantityError with what is wrong and what to write.
    """
    parts = _parts(text)
    if not parts.unit and unit not in ("1", ""):
        raise QuantityError(f"{_short(text)} has no unit", _with_unit(parts, unit))
    line = conversion(parts.unit, unit)
    value = _finite(line.apply(parts.value), text)
    if not parts.sign:
        return Quantity.exact(value, unit)
    if parts.sign == "..":
        return Quantity.between(value, _finite(line.apply(parts.second), text), unit, method="as stated")
    half = _finite(abs(_half(parts, line, unit)) * parts.shrink, text)
    return Quantity(value, unit, value - half, value + half, 0.95, "as stated")


@lru_cache(maxsize=4096)
def parse_price(text: str, currency: str = "USD") -> Quantity:
    """A price in its currency per kWh, m3, m2, m, kg, kW, h or a, or a sum of money.

    A text that starts its unit with "/" ("0.16 /kWh") is in `currency`. Raises QuantityError.
    """
    parts = _parts(text)
    stated = f"{currency}{parts.unit}" if parts.unit.startswith("/") else parts.unit
    money = split_money(stated)
    if money is None:
        remedy = f'Write the currency as three capital letters, such as "{_number(parts.value)} {currency}/kWh".'
        raise QuantityError(f"{_short(text)} is not a price", remedy)
    code, per = money
    for base, shown_base in _PRICED if per else ():
        if of_other_dimension(per, base):
            continue
        try:
            line = conversion(per, base)
        except QuantityError as error:
            if not error.dimension:
                raise
            continue
        if base == "h" and line.apply(1.0) > _MONTH_HOURS:
            shown_base = "a"
        return parse_quantity(
            text if stated == parts.unit else _restated(text, parts.unit, stated), f"{code}/{shown_base}"
        )
    if per:
        raise QuantityError(
            f"a price per {_short(per)} is not known", "Prices are per kWh, m3, m2, m, kg, kW, h, year, or a sum."
        )
    return parse_quantity(text, code)


def _restated(text: str, old: str, new: str) -> str:
    head, _, tail = text.rpartition(old)
    return f"{head}{new}{tail}"


def _parts(text: str) -> _Parts:
    if len(text) > MAX_LENGTH:
        raise QuantityError("the text is too long for a number with a unit", "Write a number and a unit.")
    clean = text.translate(_SIGNS).strip()
    if re.search(r"\d\s*,\s*\d", clean):
        fixed = re.sub(r"(\d)\s*,\s*(\d)", r"\1.\2", clean)
        raise QuantityError(
            f"{_short(text)} has a comma", f'Use a point for decimals, such as "{fixed}", and no thousands separator.'
        )
    shrink, coverage = 1.0, _COVERAGE.search(clean)
    if coverage:
        clean, shrink = clean[: coverage.start()].rstrip(), _to_95(coverage, text)
    pieces = _SPLIT.split(clean)
    if len(pieces) > 3:
        raise QuantityError(
            f"{_short(text)} has more than one ± or range", 'Write one, such as "24 degC ± 0.5 K" or "18 .. 22 degC".'
        )
    value, unit = _side(pieces[0], text)
    if len(pieces) == 1:
        if coverage:
            raise QuantityError(f"{_short(text)} states a coverage without bounds", 'Write "24 ± 1 degC (95 %)".')
        return _Parts(value, unit)
    second, second_unit = _side(pieces[2], text)
    sign = "±" if pieces[1] in ("±", "+/-", "+-") else ".."
    if sign == "±" and not unit and second_unit in ("%", "percent") and value <= 1:
        raise QuantityError(
            f"{_short(text)} can be read in two ways",
            f'Write "{_number(value * 100)} % ± {_number(second)} %" or "{_number(value)} ± {_number(second / 100)}".',
        )
    if sign == ".." and unit and second_unit and unit != second_unit:
        raise QuantityError(
            f"{_short(text)} has two units",
            f'Write both ends in one unit, such as "{_number(value)} .. {_number(second)} {unit}".',
        )
    if sign == ".." and coverage:
        raise QuantityError(
            f"{_short(text)} states a coverage for a range", "Write ± bounds, or leave the coverage out."
        )
    return _Parts(value, unit or second_unit, sign, second, second_unit or unit, shrink)


def _side(side: str, text: str) -> tuple[float, str]:
    found = _NUMBER.match(side)
    if not found:
        if re.match(r"[-+]?\.?(nan|inf)", side, re.IGNORECASE):
            raise QuantityError(f"{_short(text)} is not a finite number", "Write the number, or leave the entry out.")
        raise QuantityError(
            f"{_short(text)} is not a number with a unit", 'Write a number, a space and a unit, such as "2.4 m".'
        )
    if len(found.group()) > 40:
        raise QuantityError(f"{_short(text)} has too many digits", "Write fewer digits.")
    rest = side[found.end() :].strip()
    if (rest[:1].isdigit() and not re.match(r"1\s*/", rest)) or rest[:1] in (".", "-", "_"):
        hint = f' For a range write "{found.group()} .. {rest[1:]}".' if rest[:1] == "-" else ""
        raise QuantityError(
            f"{_short(text)} is not a number with a unit", 'Write a number, a space and a unit, such as "2.4 m".' + hint
        )
    return _finite(float(found.group()), text), rest


def _half(parts: _Parts, line: Line, unit: str) -> float:
    """Half-width in the wanted unit. For a temperature it is a difference; a percentage of another unit is relative."""
    if absolute(unit):
        return conversion(parts.second_unit, "K").apply(parts.second)
    if parts.second_unit in ("%", "percent") and parts.unit not in ("", "%", "percent"):
        return line.apply(parts.value) * parts.second / 100
    return conversion(parts.second_unit, unit).apply(parts.second)


def _to_95(coverage: re.Match[str], text: str) -> float:
    if coverage["k"] is not None:
        factor = float(coverage["k"])
    else:
        share = float(coverage["percent"]) / 100
        factor = NormalDist().inv_cdf((1 + share) / 2) if 0 < share < 1 else 0.0
    if factor <= 0:
        raise QuantityError(f"{_short(text)} has a coverage that cannot be", 'Write "(95 %)" or "(k=2)".')
    return NORMAL_95 / factor


def _finite(number: float, text: str) -> float:
    if not math.isfinite(number) or abs(number) > 1e30:
        raise QuantityError(f"{_short(text)} is out of any range", "Write a smaller number.")
    return number


def _with_unit(parts: _Parts, unit: str) -> str:
    first = f'"{_number(parts.value)} {unit}"'
    other = _OTHER_UNITS.get(unit)
    if other is None:
        return f"Write {first} if that is the unit."
    line = conversion(other, unit)
    rounded = float(f"{line.undo(parts.value):.2g}")
    return f'Write the unit: {first} or "{_number(rounded)} {other}".'


def _number(value: float) -> str:
    return f"{value:.10g}"


def _short(text: str) -> str:
    return shown(text.strip(), 40)
