"""A year of hourly outdoor temperatures from an open weather file: TMY3 as CSV, EPW, or a plain CSV table.

All three are lines of comma-separated values, which the standard library reads; no library is needed at run time. The
tests compare with pvlib's readers.
"""

from __future__ import annotations

import csv
import math
import re
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from heatbrief.errors import StepError

YEAR_HOURS = (8760, 8784)
MOST_GAPS = 48
"""Hours that may be missing; they are filled in a straight line."""
EPW_HEAD, EPW_DRY_BULB, EPW_MISSING = 8, 6, 99.9
LOWEST, HIGHEST = -90.0, 65.0
_UNIT = re.compile(
    r"[\[(]\s*(?:deg|°)?\s*([CFK])\s*[\])]|(?:deg|°|_|\s)([CFK])$|\b(celsius|fahrenheit|kelvin)\b", re.IGNORECASE
)
_TEMPERATURE = re.compile(r"dry.?bulb|temp|\bt_?air(?![a-z])", re.IGNORECASE)
_NOT_AIR = re.compile(r"dew|wet|ground|soil|flag|uncert|source", re.IGNORECASE)


@dataclass(frozen=True)
class Weather:
    """Temperatures [degC] of whole days, 24 a day in the order of the file; where from, and what was filled in."""

    celsius: np.ndarray
    form: str
    place: str
    notes: tuple[str, ...] = ()


def read_weather(text: str, name: str) -> Weather:
    """The weather in a file's text. Raises StepError that says what is wrong with it."""
    try:
        rows = [row for row in csv.reader(text.splitlines()) if row]
    except csv.Error as error:
        raise _refused(name, f"is no table: {error}") from None
    if not rows:
        raise _refused(name, "is empty")
    if rows[0][0].strip().upper() == "LOCATION":
        return _checked(
            name, "EPW", ", ".join(rows[0][1:4]), [_number(row, EPW_DRY_BULB, EPW_MISSING) for row in rows[EPW_HEAD:]]
        )
    second = [cell.strip().lower() for cell in rows[1]] if len(rows) > 1 else []
    if "dry-bulb (c)" in second:
        column = second.index("dry-bulb (c)")
        return _checked(name, "TMY3", ", ".join(rows[0][1:3]), [_number(row, column, -9900.0) for row in rows[2:]])
    return _table(rows, name)


def _table(rows: list[list[str]], name: str) -> Weather:
    """A plain table: a heading with a time and a temperature column that states its unit."""
    head = [cell.strip() for cell in rows[0]]
    column = next((n for n, cell in enumerate(head) if _TEMPERATURE.search(cell) and not _NOT_AIR.search(cell)), None)
    if column is None:
        raise _refused(name, "has no column whose heading says temperature")
    found = _UNIT.search(head[column])
    if found is None:
        raise _refused(name, f"does not say in the heading {head[column]!r} whether it is in C, F or K")
    letter = next(group for group in found.groups() if group)[0].upper()
    values = np.array([_number(row, column, -9999.0) for row in rows[1:]])
    celsius = {"C": values, "F": (values - 32.0) / 1.8, "K": values - 273.15}[letter]
    _check_hours(rows, head, name)
    return _checked(name, "CSV", "", celsius)


def _check_hours(rows: list[list[str]], head: list[str], name: str) -> None:
    column = next((n for n, cell in enumerate(head) if re.search(r"time|date|hour", cell, re.IGNORECASE)), None)
    if column is None:
        raise _refused(name, "has no column whose heading says time")
    moments = [_moment(row[column]) if column < len(row) else None for row in rows[1:3]]
    first, second = (*moments, None, None)[:2]
    if first is not None and second is not None and (second - first).total_seconds() != 3600.0:
        raise _refused(name, "is not hourly: its first two rows are not an hour apart")


def _moment(text: str) -> datetime | None:
    try:
        return datetime.fromisoformat(text.strip()).replace(tzinfo=None)
    except ValueError:
        return None


def _number(row: list[str], column: int, missing: float) -> float:
    try:
        value = float(row[column])
    except (IndexError, ValueError):
        return math.nan
    return math.nan if value == missing else value


def _checked(name: str, form: str, place: str, values: list[float] | np.ndarray) -> Weather:
    celsius = np.asarray(values, float)
    if celsius.size not in YEAR_HOURS:
        raise _refused(name, f"has {celsius.size} hours; a year has 8760 or 8784")
    with np.errstate(invalid="ignore"):
        celsius = np.where((celsius < LOWEST) | (celsius > HIGHEST), math.nan, celsius)
    gaps = int(np.isnan(celsius).sum())
    if gaps > MOST_GAPS:
        raise _refused(name, f"lacks a believable temperature in {gaps} hours")
    notes = (f"{name}: {gaps} missing hours were filled in a straight line.",) if gaps else ()
    if gaps:
        hours = np.arange(celsius.size)
        known = ~np.isnan(celsius)
        celsius = np.interp(hours, hours[known], celsius[known])
    return Weather(celsius, form, place.strip(), notes)


def _refused(name: str, fault: str) -> StepError:
    return StepError(
        "weather-file",
        f"the weather file {name} {fault}.",
        "Give a year of hourly temperatures as TMY3 CSV, EPW, or a CSV with headings such as `time,temperature (C)`.",
    )


def heating_degrees(celsius: np.ndarray, balance: float, inside: float | None = None) -> float:
    """Heating degree days [K d] from hours: the sum of base - T over the hours with T below the balance temperature,
    / 24.

    The base is the balance temperature itself (the definition of degree hours), or the temperature inside when it is
    given: heat that one part of the house saves counts from there in every hour the heating runs, because d/dUA of
    the sum of max(UA (Ti - T) - gains, 0) is the sum of (Ti - T) over those hours. Source: degree-day-definition
    """
    return max(0.0, _degrees(celsius, balance, inside, -1.0))


def cooling_degrees(celsius: np.ndarray, balance: float, inside: float | None = None) -> float:
    """Cooling degree days [K d], the same above the balance temperature. From the temperature inside, hours that are
    cooler outside than inside while the cooling runs count against it; never below 0. Source: degree-day-definition"""
    return max(0.0, _degrees(celsius, balance, inside, 1.0))


def cooling_deficit(celsius: np.ndarray, balance: float, inside: float | None = None) -> float:
    """By how much cool hours outweigh hot ones [K d] in `cooling_degrees`; 0 where they do not."""
    return max(0.0, -_degrees(celsius, balance, inside, 1.0))


def _degrees(celsius: np.ndarray, balance: float, inside: float | None, sign: float) -> float:
    running = sign * (celsius - balance) > 0.0
    base = balance if inside is None else inside
    return float(np.sum((sign * (celsius - base))[running])) / 24.0
