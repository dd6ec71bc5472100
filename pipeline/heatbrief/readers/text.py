"""Reader of tables of numbers in text: one line for each row of pixels."""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from heatbrief.api import Context, NoSettings, Step
from heatbrief.errors import StepError
from heatbrief.model.thermogram import Picture
from heatbrief.readers import matrix
from heatbrief.readers.assemble import Decoded, assemble
from heatbrief.readers.limits import MOST_PIXELS, MOST_TEXT_BYTES, check_file, check_page, check_pixels, decoding

Split = Callable[[str], list[str]]


def read(path: Path, settings: NoSettings, context: Context) -> tuple[Picture, ...]:
    """The table as one Picture: temperatures when the manifest or a sidecar gives their unit, else counts."""
    check_file(path, MOST_TEXT_BYTES)
    check_page(context.view.page, 1)
    with decoding("table"):
        table, notes = parse(matrix.decode(path.read_bytes()))
    (picture,) = assemble(Decoded(table, notes=notes), path, context)
    if not picture.kelvin and picture.scale is None:
        unstated = "the unit of the numbers is not stated, so they are compared but not read as temperatures"
        picture = replace(picture, notes=(*picture.notes, unstated))
    return (picture,)


def parse(text: str) -> tuple[np.ndarray, tuple[str, ...]]:
    """((rows, columns) float64, notes) of a table in text; StepError "no-matrix", "ragged-table" or "not-a-number"."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    while lines and not lines[-1].strip():
        lines.pop()
    if not lines:
        raise matrix.no_matrix()
    dialect = matrix.dialect_of(lines)
    split = matrix.splitter(dialect, '"' in text)
    first, corner = _first_row(lines, split)
    table, trailing = _rows(lines, first, split, corner)
    notes = (f"{first} leading lines without pixel values were left out",) if first else ()
    if trailing and dialect.delimiter:
        table, notes = table[:, :-1], (*notes, "an empty last column was left out")
    table, indices = matrix.without_indices(table)
    check_pixels(table.shape[1], table.shape[0])
    return table, notes + indices


def _first_row(lines: list[str], split: Split) -> tuple[int, bool]:
    """Number of header lines, and whether the first row has a word in the corner above an index column."""
    for at, line in enumerate(lines[: matrix.MOST_HEADER_LINES]):
        if not line.strip():
            continue
        fields = _fields(split, line, at)
        share = matrix.numeric_share(fields)
        if share == 1.0:
            return at, False
        if len(fields) > 3 and matrix.numeric_share(fields[1:]) == 1.0 and _all_index(fields[1:]):
            return at, True
        if len(fields) > 3 and share >= 0.5:
            raise _not_a_number(fields, at)
    raise matrix.no_matrix()


def _all_index(fields: list[str]) -> bool:
    return matrix.is_index(np.array([matrix.number(field) for field in fields if field.strip()]))


def _rows(lines: list[str], first: int, split: Split, corner: bool) -> tuple[np.ndarray, bool]:
    """All rows, and whether every row ends with an empty field."""
    rows: list[np.ndarray] = []
    trailing, pixels = True, 0
    for at in range(first, len(lines)):
        fields = _fields(split, lines[at], at)
        if corner and at == first:
            fields = ["", *fields[1:]]
        row = _row(fields, lines[at], at)
        if row.size == 0 or (rows and row.size != rows[0].size):
            width = rows[0].size if rows else 1
            raise StepError(
                "ragged-table",
                f"line {at + 1} has {row.size} values and line {first + 1} has {width}",
                "Give every row the same number of values; the file may be cut off.",
            )
        pixels += row.size
        if pixels > 2 * MOST_PIXELS:
            check_pixels(row.size, pixels // row.size)
        trailing = trailing and len(fields) > 1 and not fields[-1].strip()
        rows.append(row)
    return np.vstack(rows), trailing


def _row(fields: list[str], line: str, at: int) -> np.ndarray:
    try:
        return np.array(matrix.numbers(fields, line), dtype=np.float64)
    except ValueError:
        raise _not_a_number(fields, at) from None


def _fields(split: Split, line: str, at: int) -> list[str]:
    if not line.strip():
        return []
    try:
        return split(line)
    except csv.Error as error:
        raise StepError(
            "not-a-number",
            f"line {at + 1} cannot be split into values: {error}",
            "Remove the quotes and export the table again.",
        ) from None


def _not_a_number(fields: list[str], at: int) -> StepError:
    for column, field in enumerate(fields, start=1):
        try:
            matrix.number(field)
        except ValueError:
            return StepError(
                "not-a-number",
                f"line {at + 1}, value {column} is {field.strip()[:40]!r}, not a number",
                "Correct the value, or leave it empty or write NaN for a pixel without a value.",
            )
    return StepError("not-a-number", f"line {at + 1} does not hold numbers", "Export the table again.")


STEP = Step(
    name="heatbrief.text",
    stage="ingest",
    version=1,
    run=read,
    suffixes=(".csv", ".tsv", ".txt"),
    reads=("view",),
    summary="Reads tables of numbers in text: degC, kelvin or degF when stated, else plain counts.",
    status="stable",
    title="reading of tables of text",
)
