"""Parts that plugins add to pages, set like everything else: text as text, tables and charts from objects."""

from __future__ import annotations

from collections.abc import Iterator

from heatbrief.model.part import Part, PartFigure
from heatbrief.model.quantity import Quantity
from heatbrief.site.charts import Chart, chart_data, quantity_row, spoken
from heatbrief.site.context import Data, Site
from heatbrief.site.format import to_display, typeset_unit
from heatbrief.site.page import clean


def parts_of(site: Site, page: str, subject: str = "") -> list[Data]:
    """The parts of one page as page data."""
    return [
        _part(site, one, number)
        for number, one in enumerate(site.results.parts)
        if one.page == page and one.subject == subject
    ]


def part_charts(site: Site) -> Iterator[Chart]:
    """Every chart of every part."""
    for part in site.results.parts:
        for figure in part.figures:
            yield part_chart(site, figure)


def part_chart(site: Site, figure: PartFigure) -> Chart:
    """A plugin's figure as a chart of the site."""
    rows = tuple(quantity_row(site, one.label, one.quantity) for one in figure.rows)
    _, _, _, unit = to_display(figure.rows[0].quantity, site.units)
    axis = f"{clean(figure.axis)} [{site.numerals(typeset_unit(unit))}]" if unit != "1" else clean(figure.axis)
    return Chart(figure.kind, rows, axis, f"{clean(figure.caption)}: {spoken(rows)}", from_zero=figure.kind == "bars")


def _part(site: Site, part: Part, number: int) -> Data:
    return {
        "id": f"part-{number + 1}",
        "title": site.prose(part.title),
        "paragraphs": [site.prose(one) for one in part.paragraphs],
        "tables": [
            {
                "caption": site.prose(one.caption),
                "columns": [site.prose(name) for name in one.columns],
                "rows": [[_cell(site, cell) for cell in row] for row in one.rows],
            }
            for one in part.tables
        ],
        "figures": [
            {"caption": site.prose(one.caption), "chart": chart_data(part_chart(site, one))} for one in part.figures
        ],
        "sources": site.source_links(part.sources),
        "by": site.words.say("parts.by", part=part.name, plugin=part.plugin),
    }


def _cell(site: Site, cell: Quantity | str) -> str:
    if isinstance(cell, str):
        return site.prose(cell)
    shown = site.quantity(cell)
    return shown["value"] if not shown["between"] else f"{shown['centre']} ({shown['between']})"
