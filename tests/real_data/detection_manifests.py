"""Manifests for the measurements with known faults; outlines and boxes are drawn by hand as an owner would."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

BOX_FRONT = (276, 142, 166, 172)
"""The front of the box a few pixels inside its edges: left, top, width, height."""

RIVER = {
    "110305": "[[0, 0], [240, 0], [300, 150], [310, 330], [230, 511], [0, 511]]",
    "110330": "[[40, 0], [280, 0], [275, 511], [40, 511]]",
    "110354": "[[50, 0], [290, 0], [300, 60], [345, 120], [340, 200], [335, 300], [345, 373], [345, 440], [350, 511], "
    "[50, 511]]",
    "110530": "[[0, 0], [390, 0], [330, 150], [290, 330], [160, 480], [0, 511]]",
}
"""The water of each frame up to its banks."""


def box(rows: Iterable[Mapping[str, str]], *, front: bool) -> str:
    """Rows of frames.csv as a survey from outside; `front`: whether the owner drew the front of the box.

    Zhang, C. (2024), UAV thermography for building facade inspection, BSD-3-Clause licence.
    """
    text = (
        "format: 1\nproperty: {name: Insulation box}\ninspect: [envelope]\n"
        "defaults: {size: [640, 480], shows: 'wall of a box, from outside'}\nthermograms:\n"
    )
    for row in rows:
        text += f"  - file: {row['file']}\n    conditions: {{inside_air: {row['inside_C']} degC, "
        text += f"outside_air: {row['outside_C']} degC}}\n"
        if front:
            text += f"    regions: [{{name: box front, box: {list(BOX_FRONT)}, shows: wall}}]\n"
    return text


def river(files: Iterable[str]) -> str:
    """Frames of the river with the water outlined. Abolt et al.; data by GitHub user chuckaustin, MIT licence."""
    text = "format: 1\nproperty: {name: River bend}\ninspect: [plumbing]\n"
    text += "defaults: {size: [640, 512], shows: river}\nthermograms:\n"
    for file in files:
        text += f"  - file: {file}\n    regions: [{{name: river, shows: river, outline: {RIVER[file[:6]]}}}]\n"
    return text


FLAT = """\
format: 1
property: {name: Uniform target}
inspect: [envelope]
conditions: {inside_air: 12 degC, outside_air: 0 degC}
defaults:
  scale: {kelvin_per_count: 0.025, zero_at: -100 degC}
  emissivity: 0.95
  size: [640, 512]
thermograms:
  - {file: flat_14-23-28-261_raw16.tiff, shows: wall}
  - {file: flat_14-24-43-269_raw16.tiff, shows: wall}
"""
"""A uniform target near 10 degC; the air temperatures are ours and fit it, so that the checks of surfaces judge it."""
# Sutherland et al. (2025), Metrology 5, 43, doi 10.3390/metrology5030043, MIT licence
