"""A bill as a CSV file of periods: start, end and amount, with the unit in the heading."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise
from math import isfinite
from pathlib import Path

from heatbrief.manifest.bind import Binder
from heatbrief.manifest.conversion import QuantityError, conversion
from heatbrief.manifest.nodes import Node, Problems, Table, shown
from heatbrief.manifest.schema import Manifest
from heatbrief.model.costs import Bill
from heatbrief.model.quantity import Quantity

CODE = "bill-file"
MOST_BYTES, MOST_ROWS = 1_000_000, 1_000
LEAST_DAYS = 330
"""Fewer days are no year: the rest would be taken as alike, and seasons are not (own choice)."""
MOST_FAULTS = 20
FIRST_YEAR, LAST_YEAR = 1950, 2199
LOWEST, HIGHEST = -60.0, 60.0
EXAMPLE = "start,end,amount (kWh)"
_HEADING = re.compile(
    r"(?:period\s+)?(?P<name>start|end|amount|temperature)\s*(?:[(\[](?P<unit>[^()\[\]]{1,20})[)\]])?", re.IGNORECASE
)


@dataclass(frozen=True)
class _Period:
    line: int
    start: date
    end: date
    amount: float
    temperature: float | None


class _Fault(Exception):
    """What is wrong in a line, and what to write."""

    def __init__(self, line: int, message: str, remedy: str) -> None:
        self.line, self.message, self.remedy = line, message, remedy


def with_bill_files(binder: Binder, tree: Table, folder: Path, manifest: Manifest) -> Manifest:
    """The manifest with every bill that names a file filled from it; adds a problem for each line that cannot be."""
    if not any(one.file is not None for one in manifest.bill.values()):
        return manifest
    listed = tree.get("bill")
    bills = {}
    for name, one in manifest.bill.items():
        if one.file is None:
            bills[name] = one
            continue
        entry = listed.at(name) if isinstance(listed, Table) else tree
        place = entry.at("file") if isinstance(entry, Table) else entry
        found = read_bill(folder, one.file, place, binder.problems)
        if found is not None:
            bills[name] = found
    return replace(manifest, bill=bills)


def read_bill(folder: Path, file: Path, place: Node, problems: Problems) -> Bill | None:
    """The bill in a file below a folder; None after adding problems. `place`: where the manifest names it.

    A period runs to the day before the next one starts, so that both ways of writing an end are understood: the day of
    the reading, on which the next period starts, and the last day of the period.
    """
    try:
        text = _text(folder / file)
        return _bill(text, str(folder / file), problems)
    except _Fault as fault:
        node = Node(str(folder / file), fault.line, 1) if fault.line else place
        problems.add(node, CODE, fault.message if fault.line else f"{shown(str(file))} {fault.message}", fault.remedy)
        return None


def _text(path: Path) -> str:
    remedy = "Save the bill as a CSV file in UTF-8 in the folder of the survey, with the headings " + EXAMPLE + "."
    try:
        if not path.is_file():
            raise _Fault(0, "is not there, or is no file", remedy)
        with path.open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
    except OSError as error:
        raise _Fault(0, f"cannot be read: {error.strerror}", remedy) from error
    if len(data) > MOST_BYTES:
        raise _Fault(0, f"has more than {MOST_BYTES:,} bytes", "Keep the periods of one or a few years.")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _Fault(0, "is not text in UTF-8", remedy) from error
    if "\0" in text:
        raise _Fault(0, "is not a text file", remedy)
    return text


def _bill(text: str, name: str, problems: Problems) -> Bill | None:
    rows = _rows(text)
    if not rows:
        raise _Fault(1, "the file is empty", f"Start with the headings {EXAMPLE}.")
    (line, head), *body = rows
    columns, kind, convert, degrees = _columns(line, head)
    if len(body) > MOST_ROWS:
        raise _Fault(body[MOST_ROWS][0], f"there are more than {MOST_ROWS} periods", "Keep one or a few years.")
    periods, faults = [], 0
    for line, row in body:
        try:
            periods.append(_period(line, row, columns, convert, degrees))
        except _Fault as fault:
            problems.add(Node(name, fault.line, 1), CODE, fault.message, fault.remedy)
            faults += 1
            if faults == MOST_FAULTS:
                break
    return None if faults else _joined(periods, kind, len(rows))


def _rows(text: str) -> list[tuple[int, list[str]]]:
    first = text.lstrip("\r\n").split("\n", 1)[0]
    mark = max(",;\t", key=first.count)
    reader = csv.reader(text.splitlines(keepends=True), delimiter=mark, strict=True)
    found = []
    try:
        for row in reader:
            cells = [cell.strip() for cell in row]
            if any(cells):
                found.append((reader.line_num, [*cells, mark]))
    except csv.Error as error:
        raise _Fault(max(reader.line_num, 1), f"the line is not CSV: {error}", "Save the file again as CSV.") from error
    return found


Convert = Callable[[float], float]


def _columns(line: int, head: list[str]) -> tuple[dict[str, int], str, Convert, Convert]:
    """Places of the columns; "kWh" or "m3"; and how amounts and temperatures become kWh or m3, and degC."""
    places: dict[str, int] = {}
    units: dict[str, str] = {}
    for number, cell in enumerate(head[:-1]):
        found = _HEADING.fullmatch(cell)
        if found is None:
            continue
        key = found["name"].lower()
        if key in places:
            raise _Fault(line, f"there are two columns for {key}", "Keep one of them.")
        places[key], units[key] = number, (found["unit"] or "").strip()
    missing = [key for key in ("start", "end", "amount") if key not in places]
    if missing:
        raise _Fault(line, f"there is no column for {' and '.join(missing)}", f"Write the headings {EXAMPLE}.")
    if not units["amount"]:
        raise _Fault(line, "the heading of the amounts names no unit", "Write it in brackets, such as `amount (kWh)`.")
    kind, convert = _unit(line, units["amount"])
    degrees: Convert = _same
    if "temperature" in places:
        try:
            degrees = conversion(units["temperature"] or "?", "degC").apply
        except QuantityError as error:
            raise _Fault(
                line,
                f"the heading of the temperatures names no unit of temperature: {error.message}",
                "Write `temperature (degC)` or `temperature (degF)`.",
            ) from error
    return places, kind, convert, degrees


def _same(value: float) -> float:
    return value


def _unit(line: int, unit: str) -> tuple[str, Convert]:
    for kind in ("kWh", "m3"):
        try:
            return kind, conversion(unit, kind).apply
        except QuantityError:
            continue
    raise _Fault(
        line,
        f"{shown(unit)} is no unit of energy or of volume",
        "Write a unit such as kWh, therm, m3, CCF or gallon in the heading of the amounts.",
    )


def _period(line: int, row: list[str], places: dict[str, int], convert: Convert, degrees: Convert) -> _Period:
    *cells, mark = row
    short = [key for key, number in places.items() if number >= len(cells)]
    if short:
        raise _Fault(line, f"the line has no {' and no '.join(short)}", "Give every period all of its values.")
    start, end = (_date(line, key, cells[places[key]]) for key in ("start", "end"))
    if end < start:
        raise _Fault(line, f"the period ends on {end}, before it starts", "Exchange start and end.")
    amount = convert(_number(line, "amount", cells[places["amount"]], mark))
    if amount < 0.0:
        raise _Fault(line, "the amount is negative", "Give what was bought; leave out what was fed back or credited.")
    warmth = None
    if "temperature" in places:
        warmth = degrees(_number(line, "temperature", cells[places["temperature"]], mark))
        if not LOWEST <= warmth <= HIGHEST:
            raise _Fault(line, f"the temperature is {warmth:.0f} degC", f"Give {LOWEST:.0f} to {HIGHEST:.0f} degC.")
    return _Period(line, start, end, amount, warmth)


def _date(line: int, key: str, text: str) -> date:
    try:
        found = date.fromisoformat(text)
    except ValueError:
        found = None
    if found is None or not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise _Fault(line, f"{key}: {shown(text)} is no date", "Write year, month and day, such as 2025-01-31.")
    return found


def _number(line: int, key: str, text: str, mark: str) -> float:
    plain = text.replace(",", ".") if mark != "," and text.count(",") == 1 and "." not in text else text
    try:
        value = float(plain) if len(plain) <= 30 and "_" not in plain else float("nan")
    except ValueError:
        value = float("nan")
    if not isfinite(value):
        raise _Fault(line, f"{key}: {shown(text)} is no number", "Write a plain number such as 1234.5, without a unit.")
    return value


def _joined(periods: list[_Period], kind: str, lines: int) -> Bill:
    if not periods:
        raise _Fault(lines, "there are no periods below the headings", "Write one line for each period.")
    ordered = sorted(periods, key=lambda one: (one.start, one.line))
    pairs = list(pairwise(ordered))
    reading = any(after.start == before.end for before, after in pairs)
    for before, after in pairs:
        if after.start < before.end or (after.start == before.end and not reading):
            raise _Fault(
                max(before.line, after.line),
                f"the period from {after.start} overlaps the one from {before.start} to {before.end}",
                "Give each day once: leave out corrected or repeated periods.",
            )
    days = [float((one.end - one.start).days + (0 if reading else 1)) for one in ordered]
    for one, length in zip(ordered, days, strict=True):
        if not 1 <= length <= 366:
            raise _Fault(one.line, f"the period has {length:.0f} days", "A period has 1 to 366 days.")
    whole = sum(days)
    if whole < LEAST_DAYS:
        raise _Fault(lines, f"the periods hold {whole:.0f} days, which is no year", f"Give at least {LEAST_DAYS} days.")
    if not any(one.amount for one in ordered):
        raise _Fault(lines, "every amount is 0", "Give the amounts that were bought, or leave the bill out.")
    if kind == "m3":
        volume = sum(one.amount for one in ordered) * 365.0 / whole
        return Bill(volume=Quantity.exact(volume, "m3", "sum of the periods"))
    warmth = [one.temperature for one in ordered if one.temperature is not None]
    return Bill(
        months=tuple(Quantity.exact(one.amount, "kWh", "bill") for one in ordered),
        temperatures=tuple(Quantity.exact(one, "degC", "bill") for one in warmth),
        days=tuple(days),
    )
