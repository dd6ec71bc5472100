"""How a table of numbers is written: encoding, delimiter, decimal sign, header lines, index row and column."""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from heatbrief.errors import StepError

MISSING = frozenset({"", "nan", "na", "n/a", "null", "none", "-", "--"})
MOST_HEADER_LINES = 200
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,4})?|[+-]?inf(?:inity)?|[+-]?nan", re.IGNORECASE)
_DECIMAL_COMMAS = re.compile(r"[+-]?\d+,\d+(?:[eE][+-]?\d+)?")
_SAMPLE = 40
_REMEDY = "Export one number for each pixel, rows as lines, columns separated by commas, semicolons, tabs or blanks."


@dataclass(frozen=True)
class Dialect:
    """Delimiter ("" for blanks) and whether a comma is the decimal sign."""

    delimiter: str
    decimal_comma: bool = False


def decode(data: bytes) -> str:
    """Text of bytes in UTF-8 or UTF-16 (with or without byte-order mark), else Latin-1; StepError "not-text"."""
    for mark, encoding in (
        (codecs.BOM_UTF8, "utf-8"),
        (codecs.BOM_UTF16_LE, "utf-16-le"),
        (codecs.BOM_UTF16_BE, "utf-16-be"),
    ):
        if data.startswith(mark):
            return _strict(data[len(mark) :], encoding)
    head = data[:400]
    if head[1::2].count(0) > 0.4 * len(head[1::2]) or head[0::2].count(0) > 0.4 * len(head[0::2]):
        return _strict(data, "utf-16-le" if head[1::2].count(0) >= head[0::2].count(0) else "utf-16-be")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    return _checked(text)


def _strict(data: bytes, encoding: str) -> str:
    try:
        return _checked(data.decode(encoding))
    except UnicodeDecodeError as error:
        raise StepError(
            "not-text",
            f"the text is not complete {encoding.upper()}: {error.reason}",
            "Export the table again, in UTF-8.",
        ) from None


def _checked(text: str) -> str:
    if "\x00" in text:
        raise StepError("not-text", "the file holds binary data, not a table of numbers", _REMEDY)
    return text


def dialect_of(lines: list[str]) -> Dialect:
    """Delimiter and decimal sign, judged from lines after the middle of the text, away from headers."""
    start = len(lines) // 2
    sample = [line for line in lines[start : start + _SAMPLE] if line.strip()] or lines[-1:]
    text = "\n".join(sample)
    for delimiter in (";", "\t"):
        if all(delimiter in line for line in sample):
            return Dialect(delimiter, "," in text and "." not in text)
    if "," in text:
        fields = [field for line in sample for field in line.split()]
        if len(fields) > len(sample) and all(_DECIMAL_COMMAS.fullmatch(f) or f.lower() in MISSING for f in fields):
            return Dialect("", True)
        return Dialect(",")
    return Dialect("")


def splitter(dialect: Dialect, quoted: bool) -> Callable[[str], list[str]]:
    """Function from a line to its fields, with a point as the decimal sign unless the field is quoted."""

    def split(line: str) -> list[str]:
        if dialect.decimal_comma:
            line = line.replace(",", ".")
        if not dialect.delimiter:
            return line.replace('"', " ").split() if quoted else line.split()
        if quoted:
            return next(csv.reader([line], delimiter=dialect.delimiter, strict=True), [])
        return line.split(dialect.delimiter)

    return split


def number(field: str) -> float:
    """The number in a field, NaN for an empty or missing one; ValueError for anything else."""
    word = field.strip().strip('"').strip()
    if word.lower() in MISSING:
        return np.nan
    if "," in word and "." not in word:
        word = word.replace(",", ".", 1)
    if _NUMBER.fullmatch(word) is None:
        raise ValueError(word)
    return float(word)


def numbers(fields: list[str], line: str) -> list[float]:
    """A row, the quick ways first. Python's float also takes "1_0", which no table means."""
    if "_" not in line:
        try:
            return list(map(float, fields))
        except ValueError:
            pass
        try:
            return list(map(float, [field if field.strip() else "nan" for field in fields]))
        except ValueError:
            pass
    return [number(field) for field in fields]


def numeric_share(fields: list[str]) -> float:
    """Share of fields that are numbers or missing; 0 for an empty line."""
    good = 0
    for field in fields:
        try:
            number(field)
        except ValueError:
            continue
        good += 1
    return good / len(fields) if fields and (len(fields) > 1 or fields[0].strip()) else 0.0


def is_index(run: np.ndarray) -> bool:
    """Whether values are 0..n-1 or 1..n."""
    return run.size >= 3 and run[0] in (0.0, 1.0) and bool(np.array_equal(run, run[0] + np.arange(run.size)))


def _steps_of_one(run: np.ndarray) -> bool:
    return run.size >= 2 and bool(np.all(np.diff(run) == 1.0))


def without_indices(table: np.ndarray) -> tuple[np.ndarray, tuple[str, ...]]:
    """The table without a first row or column of pixel numbers. A ramp, whose next row or column steps alike, stays."""
    notes: tuple[str, ...] = ()
    if min(table.shape) < 3:
        return table, notes
    if (is_index(table[0]) or (np.isnan(table[0, 0]) and is_index(table[0, 1:]))) and not _steps_of_one(table[1, 1:]):
        table, notes = table[1:], ("a first row of pixel numbers was left out",)
    if is_index(table[:, 0]) and not _steps_of_one(table[:, 1]):
        table, notes = table[:, 1:], (*notes, "a first column of pixel numbers was left out")
    return table, notes


def no_matrix() -> StepError:
    """The error for text without a table."""
    return StepError("no-matrix", "the text holds no table of numbers", _REMEDY)
