"""What a pool survey adds to the pages, and a list for the van."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from heatbrief.api import NoSettings
from heatbrief.model import FigureRow, Finding, Part, PartFigure, PartTable, ResultsDocument


def parts(results: ResultsDocument) -> Iterable[Part]:
    """The patches side by side on the first page, and a sentence on the page of each."""
    patches = [one for one in results.findings if one.check == "pool.leak"]
    for one in patches:
        words = (f"Look at {one.region} again an hour after the heater is switched off: a leak stays warm.",)
        yield Part("finding", "After the heater is off", one.id, words)
    patches = [one for one in patches if "contrast" in one.measured]  # a picture without a scale has none
    if patches:
        yield Part("index", "Warm patches by size", tables=(_table(patches),), figures=tuple(_figure(patches)))


def _table(patches: list[Finding]) -> PartTable:
    rows = tuple((one.region, one.measured["contrast"], one.measured.get("area", "not known")) for one in patches)
    return PartTable("Warm patches", ("where", "warmer by", "area"), rows)


def _figure(patches: list[Finding]) -> Iterable[PartFigure]:
    rows = tuple(FigureRow(one.region, one.measured["contrast"]) for one in patches[:24])
    yield PartFigure("Contrast of the patches", "warmer than the ground around", rows)


def write_list(results: ResultsDocument, objects: Path, out: Path, settings: NoSettings) -> None:
    """findings.txt: one line for each finding."""
    lines = [f"{one.urgency}: {one.title}" for one in results.findings] or ["nothing found"]
    (out / "findings.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")
