"""Charts as SVG text, the same bytes every time, in the colours of the page in light and dark."""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Mapping
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
    high = tall * count + foot + head
    figure = Figure(figsize=(WIDE, high), facecolor="none")
    axes = figure.add_axes((SIDE / WIDE, foot / high, 1 - 2 * SIDE / WIDE, tall * count / high))
    axes.set_ylim(count, 0)
    axes.set_axis_off()
    (_lanes if chart.columns else _scaled)(axes, chart)
    stream = io.BytesIO()
    nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
    FigureCanvasSVG(figure).print_svg(stream, metadata=nothing)
    return _dressed(stream.getvalue().decode("utf-8")).encode("utf-8")


def _tone(name: str) -> str:
    return TONES[name][0]


def _write(axes: Any, x: float, y: float, text: str, tone: str = "ink", **more: Any) -> None:
    axes.text(x, y, text, color=_tone(tone), parse_math=False, **more)


def _scaled(axes: Any, chart: Chart) -> None:
    """Bars, points or spans over a numbered axis, each below its label."""
    low, high = _ends(chart)
    axes.set_xlim(low, high)
    count = len(chart.rows)
    for place, value in scale_ticks(low, high):
        axes.plot([value, value], [0, count], color=_tone("rule"), linewidth=0.8, zorder=0)
        side = "left" if place < 0.03 else "right" if place > 0.97 else "center"
        _write(axes, value, count + 0.08, f"{value:g}".replace("-", "\u2212"), "soft", ha=side, va="top", clip_on=False)
    _write(axes, (low + high) / 2, count + 0.62, chart.axis, "soft", ha="center", va="top", clip_on=False)
    for at, row in enumerate(chart.rows):
        _write(axes, low, at + 0.40, row.label, ha="left", va="bottom")
        _write(axes, high, at + 0.40, row.text, "soft", ha="right", va="bottom") if _fits(row) else None
        if chart.kind == "spans":
            axes.barh(at + 0.62, row.high - row.low, left=row.low, height=0.26, color=_tone(row.tone))
            axes.plot([row.value, row.value], [at + 0.44, at + 0.80], color=_tone("ink"), linewidth=1.2)
        elif chart.kind == "bars":
            axes.barh(at + 0.62, row.value, height=0.26, color=_tone(row.tone))
        else:
            axes.plot([row.low, row.high], [at + 0.62] * 2, color=_tone(row.tone), linewidth=2, solid_capstyle="butt")
            axes.plot([row.value], [at + 0.62], marker="o", markersize=6, color=_tone(row.tone), linestyle="none")


def _fits(row: Row) -> bool:
    """Whether label and text have room in one line; the text is in the table in any case."""
    return len(row.label) + len(row.text) < 66


def _ends(chart: Chart) -> tuple[float, float]:
    low, high = min(row.low for row in chart.rows), max(row.high for row in chart.rows)
    if chart.from_zero:
        low, high = min(low, 0.0), max(high, 0.0)
    room = 0.04 * (high - low) or 0.5
    return (low if low == 0 and chart.from_zero else low - room), high + room


def _lanes(axes: Any, chart: Chart) -> None:
    """Rows that reach to the column by which they are due."""
    columns = len(chart.columns)
    axes.set_xlim(0, columns)
    for index, name in enumerate(chart.columns):
        axes.plot([index + 1, index + 1], [0, len(chart.rows)], color=_tone("rule"), linewidth=0.8, zorder=0)
        _write(axes, index + 0.98, -0.08, name, "soft", ha="right", va="bottom", clip_on=False)
    for at, row in enumerate(chart.rows):
        _write(axes, 0, at + 0.50, row.label, ha="left", va="bottom")
        if _fits(row):
            _write(axes, columns, at + 0.50, row.text, "soft", ha="right", va="bottom")
        axes.barh(at + 0.66, row.value, height=0.2, color=_tone(row.tone))


def _dressed(text: str) -> str:
    """Without a document type, with the page's colours for light and dark and fonts every machine has."""
    text = text[text.index("<svg") :]
    for name, (light, _) in TONES.items():
        text = text.replace(light, f"var(--{name})")
    text = re.sub(r"font: (\d+(?:\.\d+)?)px [^;\"]*", rf"font-size:\1px;{_FONT}".replace('"', "&quot;"), text)
    day, night = ("".join(f"--{name}:{pair[index]};" for name, pair in TONES.items()) for index in (0, 1))
    style = f"<style>svg{{{day}}}@media screen and (prefers-color-scheme:dark){{svg{{{night}}}}}</style>"
    return re.sub(r"(<svg[^>]*>)", lambda found: found.group(1) + style, text, count=1)
