"""What is wrong with a part that a plugin adds to pages. Kinds, sizes, units, and whom it belongs to."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from typing import Any

from heatbrief.model.part import PART_PAGES, FigureRow, Part, PartFigure, PartTable
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import ResultsDocument

MOST_PARTS = 200
"""Parts from one offer."""
MOST_PARAGRAPHS, MOST_TABLES, MOST_FIGURES = 20, 4, 4
MOST_ROWS, MOST_COLUMNS, MOST_FIGURE_ROWS = 200, 12, 24
LONGEST_TEXT, LONGEST_TITLE = 2_000, 120
TEMPERATURES = frozenset({"degC", "K", "degF", "mK", "K/h", "K/min"})
_UNIT = re.compile(r"[A-Za-z0-9%/*. ()-]{1,24}")


def part_fault(part: Any, results: ResultsDocument) -> str:
    """What is wrong with one part for these results, or ""."""
    if not isinstance(part, Part):
        return f"must be a Part, got {type(part).__name__}"
    return next(filter(None, _faults(part, results)), "")


def _faults(part: Part, results: ResultsDocument) -> Iterable[str]:
    yield (
        ""
        if part.page in PART_PAGES
        else f"there is no page {str(part.page)[:40]!r}; there are {', '.join(PART_PAGES)}"
    )
    findings = {one.id: one for one in results.findings}
    if part.page == "finding":
        yield "" if part.subject in findings else f"there is no finding {str(part.subject)[:60]!r}"
    else:
        yield "" if part.subject == "" else f"a part of the page {part.page!r} has no subject"
    yield _text_fault("title", part.title, LONGEST_TITLE)
    yield "" if isinstance(part.title, str) and part.title.strip() else "the title is empty"
    yield from _list_faults("paragraphs", part.paragraphs, MOST_PARAGRAPHS, str)
    yield from _list_faults("tables", part.tables, MOST_TABLES, PartTable)
    yield from _list_faults("figures", part.figures, MOST_FIGURES, PartFigure)
    yield from _list_faults("sources", part.sources, MOST_PARAGRAPHS, str)
    for text in part.paragraphs:
        yield _text_fault("a paragraph", text)
    unscaled = {one.id for one in results.thermograms if one.status == "unscaled"}
    bare = part.page == "finding" and findings[part.subject].thermogram in unscaled
    for table in part.tables:
        yield from _table_faults(table, bare)
    for figure in part.figures:
        yield from _figure_faults(figure, bare)


def _table_faults(table: PartTable, bare: bool) -> Iterable[str]:
    yield _text_fault("a caption", table.caption, LONGEST_TITLE)
    yield from _list_faults("columns", table.columns, MOST_COLUMNS, str)
    yield from _list_faults("rows", table.rows, MOST_ROWS, tuple)
    for name in table.columns:
        yield _text_fault("a column", name, LONGEST_TITLE)
    for row in table.rows:
        if len(row) != len(table.columns):
            yield f"a row of {len(row)} cells in a table of {len(table.columns)} columns"
            return
        for cell in row:
            yield _quantity_fault(cell, bare) if isinstance(cell, Quantity) else _text_fault("a cell", cell)


def _figure_faults(figure: PartFigure, bare: bool) -> Iterable[str]:
    yield "" if figure.kind in ("bars", "points") else f"a figure of kind {str(figure.kind)[:20]!r}"
    yield _text_fault("a caption", figure.caption, LONGEST_TITLE)
    yield _text_fault("an axis", figure.axis, LONGEST_TITLE)
    yield from _list_faults("rows of a figure", figure.rows, MOST_FIGURE_ROWS, FigureRow)
    yield "" if figure.rows else "a figure without rows"
    for row in figure.rows:
        yield _text_fault("a label", row.label, LONGEST_TITLE)
        yield _quantity_fault(row.quantity, bare)
    units = {row.quantity.unit for row in figure.rows}
    yield "" if len(units) < 2 else f"a figure of several units: {', '.join(sorted(units))[:100]}"


def _list_faults(name: str, given: Any, most: int, kind: type) -> Iterable[str]:
    if not isinstance(given, tuple):
        yield f"{name} must be a tuple, got {type(given).__name__}"
        return
    yield "" if len(given) <= most else f"{len(given)} {name}; at most {most} are taken"
    wrong = next((one for one in given if not isinstance(one, kind)), None)
    yield "" if wrong is None else f"{name} must hold {kind.__name__} objects, got {type(wrong).__name__}"


def _text_fault(name: str, text: Any, longest: int = LONGEST_TEXT) -> str:
    if not isinstance(text, str):
        return f"{name} must be text, got {type(text).__name__}"
    return "" if len(text) <= longest else f"{name} has {len(text):,} characters; at most {longest:,} are taken"


def _quantity_fault(quantity: Any, bare: bool) -> str:
    if not isinstance(quantity, Quantity):
        return f"must be a Quantity, got {type(quantity).__name__}"
    numbers = (quantity.value, quantity.low, quantity.high, quantity.coverage)
    if not all(isinstance(one, (int, float)) and math.isfinite(one) for one in numbers):
        return "a quantity that is no finite number"
    if not isinstance(quantity.unit, str) or not _UNIT.fullmatch(quantity.unit):
        return f"a unit {str(quantity.unit)[:40]!r}"
    if bare and quantity.unit in TEMPERATURES:
        return "a temperature about a picture without a scale"
    return _text_fault("a method", quantity.method)
