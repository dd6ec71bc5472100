"""What a plugin adds to pages: text, tables and figures as objects. How they look is the site's business."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from heatbrief.model.quantity import Quantity

PartPage = Literal["index", "plan", "conditions", "method", "finding"]
PART_PAGES: tuple[PartPage, ...] = ("index", "plan", "conditions", "method", "finding")
"""Pages that take parts. Those on "finding" belong to one finding, the others to the survey."""


@dataclass(frozen=True)
class PartTable:
    """A table. Each row has one cell for each column: words, or a Quantity that the site sets in the reader's units."""

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Quantity | str, ...], ...]


@dataclass(frozen=True)
class FigureRow:
    """One bar or point of a figure, with its bounds."""

    label: str
    quantity: Quantity


@dataclass(frozen=True)
class PartFigure:
    """A chart of quantities of one unit: "bars" from zero, or "points" with their bounds.

    axis  words below the axis, without the unit, which the site adds
    """

    caption: str
    axis: str
    rows: tuple[FigureRow, ...]
    kind: Literal["bars", "points"] = "points"


@dataclass(frozen=True)
class Part:
    """A part of a page, in the order title, paragraphs, tables, figures.

    page     where it stands, see PART_PAGES; subject: id of the finding on whose page it stands, else ""
    sources  keys of sources it rests on
    name, plugin  who made it; the engine fills them in
    """

    page: PartPage
    title: str
    subject: str = ""
    paragraphs: tuple[str, ...] = ()
    tables: tuple[PartTable, ...] = ()
    figures: tuple[PartFigure, ...] = ()
    sources: tuple[str, ...] = ()
    name: str = ""
    plugin: str = ""
