"""Which things that published practices ask a report to contain are given, and which are missing."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from functools import lru_cache
from importlib import resources
from typing import Any

from heatbrief.model.results import CompletenessRow, ResultsDocument

PLAIN_MARKS = {"memory": " (from memory)"}
"""Marks that are said beside a practice; what was read or is common practice needs no remark."""


@lru_cache(maxsize=1)
def report_items() -> Mapping[str, Any]:
    """The checklist in report_items.yaml."""
    import yaml

    result: Mapping[str, Any] = yaml.load(
        resources.files(__package__).joinpath("report_items.yaml").read_text(encoding="utf-8"),
        getattr(yaml, "CSafeLoader", yaml.SafeLoader),
    )
    return result


def completeness_of(document: ResultsDocument, stated: Collection[str]) -> tuple[CompletenessRow, ...]:
    """A row for every item, in the order of the checklist; empty when its domain is neither inspected nor found.

    stated  names of facts given for any picture or region, and "camera" when the survey describes one
    """
    table = report_items()
    if table["domain"] not in {*document.survey.inspected, *(finding.domain for finding in document.findings)}:
        return ()
    return tuple(_row(entry, table["practices"], document, stated) for entry in table["items"])


def _row(
    entry: Mapping[str, Any], practices: Mapping[str, str], document: ResultsDocument, stated: Collection[str]
) -> CompletenessRow:
    given = any(
        all(_has(path, document, stated) for path in ([one] if isinstance(one, str) else one))
        for one in entry["given_by"]
    )
    asked_by = tuple(practices[key] + PLAIN_MARKS.get(mark, "") for key, mark in entry["asked_by"].items())
    return CompletenessRow(entry["item"], asked_by, given, entry["stands"] if given else entry["state"])


def _has(path: str, document: ResultsDocument, stated: Collection[str]) -> bool:
    """Whether one path of the checklist leads to something. Raises ValueError for a path of no known kind."""
    kind, _, name = path.partition(".")
    if path == "report":
        return True
    if kind in ("fact", "stated"):
        return name in stated
    if kind in ("property", "survey"):
        return bool(getattr(getattr(document, kind), name))
    if kind == "conditions":
        return name in document.conditions or _all_have(document.thermograms, f"conditions.{name}")
    if kind == "every":
        read = name.startswith("settings.")  # what calibration used: pictures without a scale have none
        return _all_have([one for one in document.thermograms if one.status == "analysed" or not read], name)
    if kind == "some":
        return any(_filled(one, name) for one in document.thermograms)
    raise ValueError(f"report_items.yaml: {path!r} is of no known kind")


def _all_have(records: Sequence[Any], name: str) -> bool:
    return bool(records) and all(_filled(one, name) for one in records)


def _filled(record: Any, name: str) -> bool:
    """Whether a field, or an entry of a mapping field, is there and not empty."""
    field, _, key = name.partition(".")
    value = getattr(record, field)
    return key in value if key else bool(value)
