"""What can be said about the look without a browser: contrast, and every class of state in words."""

from __future__ import annotations

import re

import pytest
from heatbrief_site import resource

CSS = resource("theme/css/site.css").read_text("utf-8")


def palettes() -> dict[str, dict[str, str]]:
    """Custom properties of the light and the dark palette."""
    light, dark = (
        dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", block))
        for block in re.findall(r":root \{(.*?)\}", CSS, re.DOTALL)[:2]
    )
    return {"light": light, "dark": {**light, **dark}}


def luminance(colour: str) -> float:
    """Relative luminance of WCAG 2 [memory]."""
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    bright, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


def test_contrast_formula():
    # WCAG 2 [memory]: black on white is 21:1; #767676 on white is the lightest grey that passes 4.5
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_has_enough_contrast(scheme):
    colours = palettes()[scheme]
    grounds = ("paper", "sheet", "warn-paper", "note-paper")
    for ink in ("ink", "soft", "accent", "now", "ok", "open", "bad", "dim"):
        for ground in grounds:
            assert contrast(colours[ink], colours[ground]) >= 4.5, (scheme, ink, ground)
    for state in ("now", "soon", "plan", "watch", "none"):
        assert contrast(colours[state], colours["on-state"]) >= 4.5, (scheme, state)


def test_filter_script_is_small_and_ours():
    script = resource("theme/js/filter.js").read_text("utf-8")
    assert len(script.splitlines()) <= 45
    assert not re.search(r"fetch|XMLHttpRequest|innerHTML|eval|document\.write|import", script)
