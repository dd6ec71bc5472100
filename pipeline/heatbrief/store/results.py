"""results.json in and out, and the tables beside it. Versioned, migrated, sorted, without a clock."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from heatbrief.errors import UserError
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import FORMAT, ResultsDocument, ThermogramRecord
from heatbrief.store.codec import in_lines, rounded, to_json, to_lines, to_model
from heatbrief.store.files import write_atomic

FILE, FINDINGS, PLAN = "results.json", "findings.csv", "plan.csv"
DIGITS = 10
"""Significant digits of a stored number: far below any stated bound, and the same on every machine."""

MOST_BYTES = 256_000_000
MOST_PIXELS = 50_000_000
LONGEST_SLUG = 40
_SLUG = re.compile(r"[a-z0-9](?:[a-z0-9-]*[a-z0-9])?")

MIGRATIONS: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {}
"""From a format to the next one."""


def results_text(results: ResultsDocument) -> str:
    """The document as it is stored."""
    return to_lines(results, DIGITS)


def record_text(record: ThermogramRecord) -> str:
    """A picture's record as its line of results.json; what is read of it gives the same line again.

    Raises ValueError for what could not be read again.
    """
    return to_json(to_model(rounded(record, DIGITS), ThermogramRecord, strict=True)).removesuffix("\n")


def write_results(
    results: ResultsDocument, folder: Path, lines: Mapping[str, str] = MappingProxyType({})
) -> tuple[bool, ResultsDocument]:
    """Write results.json, findings.csv and plan.csv.

    lines  `record_text` of pictures by id, whose records were read of it
    Returns whether any byte changed, and the document as `read_results` would give it.
    """
    text, stored = _stored(results, lines, folder / FILE)
    changed = [
        write_atomic(folder / FILE, text.encode("utf-8")),
        write_atomic(folder / FINDINGS, table(FINDING_COLUMNS, _finding_rows(results))),
        write_atomic(folder / PLAN, table(PLAN_COLUMNS, _plan_rows(results))),
    ]
    return any(changed), stored


def _stored(results: ResultsDocument, lines: Mapping[str, str], file: Path) -> tuple[str, ResultsDocument]:
    """The text of a document and what is read of it, without reading again the records whose lines are known."""
    rest = rounded(replace(results, thermograms=()), DIGITS)
    with _understood(file):
        written = [lines.get(one.id) or record_text(one) for one in results.thermograms]
        records = tuple(
            one if one.id in lines else to_model(json.loads(line), ThermogramRecord)
            for one, line in zip(results.thermograms, written, strict=True)
        )
    text = in_lines(rest, {"thermograms": written})
    with _understood(file):
        return text, _sound(replace(to_model(rest, ResultsDocument, strict=True), thermograms=records))


@contextmanager
def _understood(file: Path) -> Iterator[None]:
    """Turn what does not fit the model into UserError "results-damaged"."""
    try:
        yield
    except (KeyError, ValueError) as error:
        raise UserError.single(
            "results-damaged", file, f"cannot be understood: {str(error)[:300]}", "Run the survey again."
        ) from error


def read_results(path: Path) -> ResultsDocument:
    """Read a results.json or the folder that holds it. Raises UserError for anything that is not one."""
    file = path / FILE if path.is_dir() else path
    try:
        raw = _read(file)
    except OSError as error:
        raise UserError.single(
            "results-missing",
            file,
            f"cannot be read: {error.strerror}",
            "Name a results.json, or the folder of a property that `heatbrief run` wrote.",
        ) from error
    except (ValueError, RecursionError) as error:
        raise UserError.single(
            "results-damaged", file, f"is not JSON: {str(error)[:300]}", "Run the survey again."
        ) from error
    if not isinstance(raw, dict) or type(raw.get("format")) is not int or raw["format"] < 1:
        raise UserError.single(
            "results-damaged", file, "is not a results document", "Name a results.json that `heatbrief run` wrote."
        )
    if raw["format"] > FORMAT:
        raise UserError.single(
            "results-too-new",
            file,
            f"has format {raw['format']}; this release reads up to {FORMAT}",
            "Update heatbrief.",
        )
    with _understood(file):
        for number in range(raw["format"], FORMAT):
            raw = MIGRATIONS[number](raw)
        return _sound(to_model(raw, ResultsDocument, strict=True))


def _read(file: Path) -> Any:
    with file.open("rb") as stream:
        data = stream.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise ValueError(f"it is larger than {MOST_BYTES // 10**6} MB")
    return json.loads(data.decode("utf-8"))


def _sound(results: ResultsDocument) -> ResultsDocument:
    """The document if its names can be used as names of folders and its pictures have a size. Raises ValueError."""
    if len(results.property.slug) > LONGEST_SLUG or not _SLUG.fullmatch(results.property.slug):
        raise ValueError("the short name of the property is not one that heatbrief gives")
    for name, ids in (
        ("thermograms", [one.id for one in results.thermograms]),
        ("findings", [one.id for one in results.findings]),
    ):
        if len(set(ids)) < len(ids):
            raise ValueError(f"two {name} have one id")
    for array in (one.array for one in results.thermograms):
        if array is not None and not (
            0 < array.width * array.height <= MOST_PIXELS and array.width > 0 and array.step > 0
        ):
            raise ValueError("a stored picture has no possible size or step")
    return results


FINDING_COLUMNS = (
    "id",
    "domain",
    "check",
    "thermogram",
    "region",
    "room",
    "title",
    "verdict",
    "urgency",
    "probability",
    "quantity",
    "value",
    "low",
    "high",
    "unit",
    "coverage",
)
PLAN_COLUMNS = ("order", "title", "who", "urgency", "findings", "quantity", "value", "low", "high", "unit", "reason")


def _finding_rows(results: ResultsDocument) -> Iterable[tuple[Any, ...]]:
    """One row for each measured quantity of each finding; one row with empty cells when nothing was measured."""
    for one in results.findings:
        head = (
            one.id,
            one.domain,
            one.check,
            one.thermogram,
            one.region,
            one.room,
            one.title,
            one.verdict,
            one.urgency,
            one.probability,
        )
        for name, quantity in _named(one.measured):
            yield *head, name, *_cells(quantity), "" if quantity is None else quantity.coverage


def _named(quantities: Mapping[str, Quantity]) -> Sequence[tuple[str, Quantity | None]]:
    """Sorted by name; one line without a number where there is none."""
    return sorted(quantities.items()) or [("", None)]


def _plan_rows(results: ResultsDocument) -> Iterable[tuple[Any, ...]]:
    for item in results.plan:
        head = (item.order, item.title, item.who, item.urgency, " ".join(item.findings))
        for name, quantity in _named(item.quantities):
            yield *head, name, *_cells(quantity), item.reason


def _cells(quantity: Quantity | None) -> tuple[Any, ...]:
    return ("", "", "", "") if quantity is None else (quantity.value, quantity.low, quantity.high, quantity.unit)


def table(columns: tuple[str, ...], rows: Iterable[tuple[Any, ...]]) -> bytes:
    """A table as CSV that a spreadsheet shows and never runs."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([_cell(cell) for cell in row] for row in rows)
    return stream.getvalue().encode("utf-8")


_RUN = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""What begins a formula in one spreadsheet or another: the signs, their wide forms, and white space before them."""


def _cell(value: Any) -> str:
    """Text that a spreadsheet shows and never runs."""
    if isinstance(value, float):
        return f"{value:.{DIGITS}g}"
    text = str(value)
    return f"'{text}" if text.startswith(_RUN) else text
