"""Charts as SVG text, the same bytes every time, in the colours of the page in light and dark."""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from heatbrief.site.charts import Chart, Row
from heatbrief.site.figures import scale_ticks

if TYPE_CHECKING:
    from matplotlib.typing import RcKeyType

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
WIDE, ROW, FOOT, HEAD, SIDE = 5.2, 0.42, 0.52, 0.12, 0.1
"""Inches: width of a chart, height of a row, of the axis below and the room above, and the empty edge."""
SMALL = 9.0
_SETTINGS: dict[RcKeyType, str | float] = {
    "svg.hashsalt": "heatbrief",
    "svg.fonttype": "none",
    "font.family": "DejaVu Sans",
    "font.size": SMALL,
}
_FONT = 'font-family:system-ui,"Segoe UI",Roboto,"Noto Sans","DejaVu Sans",Arial,sans-serif'


def draw_charts(charts: Mapping[str, Chart]) -> dict[str, bytes]:
    """SVG files by path. The plotting library is imported here, where it is needed."""
    if not charts:
        return {}
    import matplotlib

    with warnings.catch_warnings(), matplotlib.rc_context(_SETTINGS):
        warnings.simplefilter("ignore", UserWarning)  # letters its font lacks; the browser has others
        return {path: draw_chart(chart) for path, chart in charts.items()}


def draw_chart(chart: Chart) -> bytes:
    """One chart."""
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    count, tall = len(chart.rows), ROW if not chart.columns else 0.33
    head = HEAD + (0.2 if chart.columns else 0.0)
    foot = FOOT if not chart.columns else 0.1
    figure = Figure(figsize=(WIDE, tall * count + foot + head), facecolor="none")
    ends = (0.0, float(len(chart.columns))) if chart.columns else _ends(chart)
    (_lanes if chart.columns else _scaled)(_Plot(figure, ends, count, tall, foot), chart)
    stream = io.BytesIO()
    nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
    FigureCanvasSVG(figure).print_svg(stream, metadata=nothing)
    return _dressed(stream.getvalue().decode("utf-8")).encode("utf-8")


class _Plot:
    """Rows from the top, each one high, over a range of values; without what the library draws around a plot of its own.

    ends  values at the edges; tall: inches of a row; foot: inches below the last row
    """

    def __init__(self, figure: Any, ends: tuple[float, float], count: int, tall: float, foot: float) -> None:
        from matplotlib.transforms import Affine2D

        scale = (WIDE - 2 * SIDE) / (ends[1] - ends[0])
        place = Affine2D().translate(-ends[0], -count).scale(scale, -tall).translate(SIDE, foot)
        self.figure, self.ends, self.place = figure, ends, place + figure.dpi_scale_trans

    def line(self, x: Sequence[float], y: Sequence[float], tone: str, **more: Any) -> None:
        """A line, or its points alone."""
        from matplotlib.lines import Line2D

        self.figure.add_artist(Line2D(x, y, color=_tone(tone), transform=self.place, **more))

    def bar(self, middle: float, height: float, value: float, tone: str, start: float = 0.0) -> None:
        """A bar to a value, from zero if not said otherwise."""
        from matplotlib.patches import Rectangle

        low, high = sorted(min(max(end, self.ends[0]), self.ends[1]) for end in (start, value))
        corner = (low, middle - height / 2)
        look = {"facecolor": _tone(tone), "linewidth": 0.0, "transform": self.place}
        self.figure.add_artist(Rectangle(corner, high - low, height, **look))

    def text(self, x: float, y: float, text: str, tone: str = "ink", **more: Any) -> None:
        """Words at a place."""
        self.figure.text(x, y, text, color=_tone(tone), parse_math=False, transform=self.place, **more)


def _tone(name: str) -> str:
    return TONES[name][0]


def _scaled(plot: _Plot, chart: Chart) -> None:
    """Bars, points or spans over a numbered axis, each below its label."""
    low, high = plot.ends
    count = len(chart.rows)
    for place, value in scale_ticks(low, high):
        plot.line([value, value], [0, count], "rule", linewidth=0.8, zorder=0)
        side = "left" if place < 0.03 else "right" if place > 0.97 else "center"
        plot.text(value, count + 0.08, f"{value:g}".replace("-", "\u2212"), "soft", ha=side, va="top")
    plot.text((low + high) / 2, count + 0.62, chart.axis, "soft", ha="center", va="top")
    for at, row in enumerate(chart.rows):
        plot.text(low, at + 0.40, row.label, ha="left", va="bottom")
        if _fits(row):
            plot.text(high, at + 0.40, row.text, "soft", ha="right", va="bottom")
        if chart.kind == "spans":
            plot.bar(at + 0.62, 0.26, row.high, row.tone, row.low)
            plot.line([row.value, row.value], [at + 0.44, at + 0.80], "ink", linewidth=1.2)
        elif chart.kind == "bars":
            plot.bar(at + 0.62, 0.26, row.value, row.tone)
        else:
            plot.line([row.low, row.high], [at + 0.62] * 2, row.tone, linewidth=2, solid_capstyle="butt")
            plot.line([row.value], [at + 0.62], row.tone, marker="o", markersize=6, linestyle="none")


def _fits(row: Row) -> bool:
    """Whether label and text have room in one line; the text is in the table in any case."""
    return len(row.label) + len(row.text) < 66


def _ends(chart: Chart) -> tuple[float, float]:
    low, high = min(row.low for row in chart.rows), max(row.high for row in chart.rows)
    if chart.from_zero:
        low, high = min(low, 0.0), max(high, 0.0)
    room = 0.04 * (high - low) or 0.5
    return (low if low == 0 and chart.from_zero else low - room), high + room


def _lanes(plot: _Plot, chart: Chart) -> None:
    """Rows that reach to the column by which they are due."""
    for index, name in enumerate(chart.columns):
        plot.line([index + 1, index + 1], [0, len(chart.rows)], "rule", linewidth=0.8, zorder=0)
        plot.text(index + 0.98, -0.08, name, "soft", ha="right", va="bottom")
    for at, row in enumerate(chart.rows):
        plot.text(0, at + 0.50, row.label, ha="left", va="bottom")
        if _fits(row):
            plot.text(len(chart.columns), at + 0.50, row.text, "soft", ha="right", va="bottom")
        plot.bar(at + 0.66, 0.2, row.value, row.tone)


def _dressed(text: str) -> str:
    """Without a document type, with the page's colours for light and dark and fonts every machine has."""
    text = text[text.index("<svg") :]
    for name, (light, _) in TONES.items():
        text = text.replace(light, f"var(--{name})")
    text = re.sub(r"font: (\d+(?:\.\d+)?)px [^;\"]*", rf"font-size:\1px;{_FONT}".replace('"', "&quot;"), text)
    day, night = ("".join(f"--{name}:{pair[index]};" for name, pair in TONES.items()) for index in (0, 1))
    style = f"<style>svg{{{day}}}@media screen and (prefers-color-scheme:dark){{svg{{{night}}}}}</style>"
    return re.sub(r"(<svg[^>]*>)", lambda found: found.group(1) + style, text, count=1)
