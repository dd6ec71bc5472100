"""Charts as SVG text, the same bytes every time, in the colours of the page in light and dark."""

from __future__ import annotations

import html
from collections.abc import Mapping

from heatbrief.site.charts import Chart, Row
from heatbrief.site.figures import scale_ticks
from heatbrief.site.page import clean

TONES: Mapping[str, tuple[str, str]] = {
    "ink": ("#1d2529", "#e9e5da"),
    "soft": ("#4c585e", "#aab5b8"),
    "rule": ("#d5d0c3", "#364247"),
    "accent": ("#0d5560", "#84cdd3"),
    "now": ("#8c1c30", "#f2a0a8"),
    "soon": ("#8a4a07", "#efb878"),
    "plan": ("#27487c", "#a3c0f0"),
    "watch": ("#3f5d4b", "#a6cdb1"),
    "none": ("#586067", "#b4bcc0"),
}
"""Colours of the style sheet: light, dark."""
WIDE, ROW, LANE, FOOT, HEAD, SIDE = 374.4, 30.24, 23.76, 37.44, 8.64, 7.2
"""Points: width of a chart, height of a row and of a lane, of the axis below and the room above, and the empty edge."""
NAMES = 14.4
"""Points for the names of columns above their lanes."""
STANDS, HANGS = -2.16, 6.84
"""Points from a line to the feet of letters that stand on it, and of those that hang from it."""
_DAY, _NIGHT = ("".join(f"--{name}:{pair[index]};" for name, pair in TONES.items()) for index in (0, 1))
_STYLE = (
    f"svg{{{_DAY}}}@media screen and (prefers-color-scheme:dark){{svg{{{_NIGHT}}}}}"
    'text{font:9px system-ui,"Segoe UI",Roboto,"Noto Sans","DejaVu Sans",Arial,sans-serif}'
    "text,rect,circle{fill:currentColor}line{stroke:currentColor}"
    + "".join(f".{name}{{color:var(--{name})}}" for name in TONES)
)


def draw_chart(chart: Chart) -> bytes:
    """A chart as an SVG file."""
    tall, head, foot = (LANE, HEAD + NAMES, SIDE) if chart.columns else (ROW, HEAD, FOOT)
    plot = _Plot((0.0, float(len(chart.columns))) if chart.columns else _ends(chart), head, tall)
    (_lanes if chart.columns else _scaled)(plot, chart)
    wide, high = _short(WIDE), _short(head + tall * len(chart.rows) + foot)
    box = f'width="{wide}pt" height="{high}pt" viewBox="0 0 {wide} {high}"'
    start = f'<svg xmlns="http://www.w3.org/2000/svg" {box}><style>{_STYLE}</style>'
    return "\n".join((start, *plot.drawn, "</svg>\n")).encode("utf-8")


class _Plot:
    """Rows from the top, each one high, over a range of values.

    ends  values at the edges; head: points above the first row; tall: points of a row
    """

    def __init__(self, ends: tuple[float, float], head: float, tall: float) -> None:
        self.ends, self.head, self.tall = ends, head, tall
        self.drawn: list[str] = []

    def line(self, ends: tuple[float, float], rows: tuple[float, float], tone: str, width: float) -> None:
        """A line from one value and row to another."""
        (x1, x2), (y1, y2) = map(self._x, ends), map(self._y, rows)
        self._add("line", tone, x1=x1, y1=y1, x2=x2, y2=y2, stroke_width=width)

    def bar(self, middle: float, height: float, value: float, tone: str, start: float = 0.0) -> None:
        """A bar to a value, from zero if not said otherwise."""
        low, high = (self._x(min(max(end, self.ends[0]), self.ends[1])) for end in sorted((start, value)))
        self._add("rect", tone, x=low, y=self._y(middle - height / 2), width=high - low, height=height * self.tall)

    def dot(self, value: float, row: float, tone: str) -> None:
        """A point."""
        self._add("circle", tone, cx=self._x(value), cy=self._y(row), r=3.5)

    def text(
        self, value: float, row: float, text: str, tone: str = "ink", anchor: str = "start", drop: float = STANDS
    ) -> None:
        """Words at a place, on a line or hanging from it."""
        inside = html.escape(clean(text))
        self._add("text", tone, inside, x=self._x(value), y=self._y(row) + drop, text_anchor=anchor)

    def _x(self, value: float) -> float:
        low, high = self.ends
        return SIDE + (WIDE - 2 * SIDE) * (value - low) / (high - low)

    def _y(self, row: float) -> float:
        return self.head + self.tall * row

    def _add(self, tag: str, tone: str, inside: str = "", **given: float | str) -> None:
        shown = (f'{name.replace("_", "-")}="{_short(value)}"' for name, value in given.items())
        self.drawn.append(f'<{tag} class="{tone}" {" ".join(shown)}>{inside}</{tag}>')


def _short(value: float | str) -> str:
    return value if isinstance(value, str) else f"{value:.2f}".rstrip("0").rstrip(".")


def _scaled(plot: _Plot, chart: Chart) -> None:
    """Bars, points or spans over a numbered axis, each below its label."""
    low, high = plot.ends
    count = len(chart.rows)
    for place, value in scale_ticks(low, high):
        plot.line((value, value), (0, count), "rule", 0.8)
        side = "start" if place < 0.03 else "end" if place > 0.97 else "middle"
        plot.text(value, count + 0.08, f"{value:g}".replace("-", "\u2212"), "soft", side, HANGS)
    plot.text((low + high) / 2, count + 0.62, chart.axis, "soft", "middle", HANGS)
    for at, row in enumerate(chart.rows):
        _labelled(plot, row, at + 0.40)
        if chart.kind == "spans":
            plot.bar(at + 0.62, 0.26, row.high, row.tone, row.low)
            plot.line((row.value, row.value), (at + 0.44, at + 0.80), "ink", 1.2)
        elif chart.kind == "bars":
            plot.bar(at + 0.62, 0.26, row.value, row.tone)
        else:
            plot.line((row.low, row.high), (at + 0.62, at + 0.62), row.tone, 2)
            plot.dot(row.value, at + 0.62, row.tone)


def _labelled(plot: _Plot, row: Row, place: float) -> None:
    """Label and text in one line where both have room; the text is in the table in any case."""
    plot.text(plot.ends[0], place, row.label)
    if len(row.label) + len(row.text) < 66:
        plot.text(plot.ends[1], place, row.text, "soft", "end")


def _ends(chart: Chart) -> tuple[float, float]:
    low, high = min(row.low for row in chart.rows), max(row.high for row in chart.rows)
    if chart.from_zero:
        low, high = min(low, 0.0), max(high, 0.0)
    room = 0.04 * (high - low) or 0.5
    return (low if low == 0 and chart.from_zero else low - room), high + room


def _lanes(plot: _Plot, chart: Chart) -> None:
    """Rows that reach to the column by which they are due."""
    for index, name in enumerate(chart.columns):
        plot.line((index + 1, index + 1), (0, len(chart.rows)), "rule", 0.8)
        plot.text(index + 0.98, -0.08, name, "soft", "end")
    for at, row in enumerate(chart.rows):
        _labelled(plot, row, at + 0.50)
        plot.bar(at + 0.66, 0.2, row.value, row.tone)
