"""comparison.json and comparison.csv."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from heatbrief.model.comparison import Comparison
from heatbrief.model.quantity import Quantity
from heatbrief.store.codec import to_lines
from heatbrief.store.comparison import FILE
from heatbrief.store.files import ObjectStore, write_atomic
from heatbrief.store.results import DIGITS, table

OBJECTS = "objects"
"""Folder of the earlier pictures beside the comparison."""
COLUMNS = (
    "finding",
    "later",
    "domain",
    "check",
    "title",
    "room",
    "region",
    "picture_before",
    "picture_after",
    "outcome",
    "probability",
    "reason",
    "quantity",
    "value",
    "low",
    "high",
    "unit",
)


def write_comparison(comparison: Comparison, folder: Path) -> bool:
    """Write both files; False when they already held these bytes. Raises UserError when the folder refuses."""
    changed = [
        write_atomic(folder / FILE, to_lines(comparison, DIGITS).encode("utf-8")),
        write_atomic(folder / "comparison.csv", table(COLUMNS, _rows(comparison))),
    ]
    return any(changed)


def keep_earlier(comparison: Comparison, objects: Path, folder: Path) -> None:
    """Copy the earlier pictures that the site lays over the later ones, and remove others. Raises UserError."""
    source, target = ObjectStore(objects), ObjectStore(folder / OBJECTS)
    names = {pair.earlier.object for pair in comparison.pictures if pair.earlier is not None}
    for name in sorted(names):
        write_atomic(target.path(name), source.path(name).read_bytes())
    target.keep_only(names)


def _rows(comparison: Comparison) -> Iterable[tuple[Any, ...]]:
    """One row for each number of a finding; one with empty cells when there is none."""
    for one in comparison.findings:
        head = tuple(getattr(one, name) for name in COLUMNS[:12])
        numbers: dict[str, Quantity] = {
            name: value for name in ("before", "after", "left") if (value := getattr(one, name)) is not None
        }
        for group in ("promised", "realised", "remaining"):
            numbers |= {f"{group} {name}": value for name, value in getattr(one, group).items()}
        for name, found in numbers.items() or [("", None)]:
            yield (
                *head,
                name,
                *(("", "", "", "") if found is None else (found.value, found.low, found.high, found.unit)),
            )
