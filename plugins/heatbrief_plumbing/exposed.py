"""What the checks of exposed pipes share: words, facts, and the readings along a pipe."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from heatbrief.api import Context, FactSpec
from heatbrief.detect import Case, matches, own_regions, search_mask
from heatbrief.model import Quantity, Region, Thermogram

EXPOSED = (
    "exposed pipe",
    "pipe run",
    "hot-water pipe",
    "cold-water pipe",
    "cold pipe",
    "chilled pipe",
    "insulated pipe",
    "lagged pipe",
    "bare pipe",
)
COLD = ("cold-water pipe", "cold pipe", "chilled pipe")
WATER = FactSpec(
    "water_temperature",
    "temperature of the water in the pipe or tank, by a thermometer",
    unit="degC",
    example="60 degC",
)
DIAMETER = FactSpec("pipe_diameter", "outside diameter of the bare pipe", unit="m", example="22 mm")
COVER = FactSpec("pipe_insulation", "thickness of the pipe's insulation where there is some", unit="m", example="13 mm")
AROUND = FactSpec(
    "air_around", "air temperature around the pipe, when it is not the room's", unit="degC", example="5 degC"
)


@dataclass(frozen=True)
class Along:
    """Values along a pipe: one step each half pixel of its middle line, or each row of a box.

    values   kelvin or counts (n,); length: of the whole run [m], None where the size of a pixel is not known
    """

    values: np.ndarray
    length: Quantity | None
    mask: np.ndarray


def exposed_regions(subject: Thermogram, context: Context) -> tuple[Region, ...]:
    """Declared regions that show an exposed pipe."""
    return tuple(
        one
        for one in own_regions(context, subject)
        if one.shape != "point" and one.shows and matches(EXPOSED, one.shows)
    )


def air_around(case: Case) -> Quantity | None:
    """The stated air around the pipe, else the room's [degC]."""
    stated = case.fact("air_around")
    return stated if isinstance(stated, Quantity) else case.conditions.inside_air


def along(subject: Thermogram, region: Region, context: Context) -> Along | None:
    """Readings along a pipe drawn as a line, or over the rows or columns of a box or polygon; None without any."""
    mask = search_mask(subject, region, context)
    if region.shape == "line" and len(region.points) >= 2:
        return _along_line(subject, region, mask)
    if mask.sum() < 3:
        return None
    rows, columns = np.nonzero(mask)
    down = np.ptp(rows) >= np.ptp(columns)
    place, count = (rows, np.ptp(rows) + 1) if down else (columns, np.ptp(columns) + 1)
    place = place - place.min()
    sums = np.bincount(place, subject.values[mask].astype(float), count)
    numbers = np.bincount(place, minlength=count)
    values = sums[numbers > 0] / numbers[numbers > 0]
    pixel = None if subject.pixel is None else (subject.pixel.height if down else subject.pixel.width)
    return Along(values, _length(subject, float(count), pixel), mask)


def _along_line(subject: Thermogram, region: Region, mask: np.ndarray) -> Along | None:
    if not mask.any():
        return None
    points, total, metres = np.asarray(region.points, float), 0.0, 0.0
    values: list[float] = []
    sized = subject.pixel
    for start, end in pairwise(points):
        span = end - start
        step = float(np.hypot(*span))
        count = max(int(2 * step), 1)
        values.extend(_reading_at(subject, start + share * span) for share in (np.arange(count) + 0.5) / count)
        total += step
        metres += 0.0 if sized is None else float(np.hypot(span[0] * sized.width, span[1] * sized.height))
    kept = np.array(values)[np.isfinite(values)]
    if kept.size < 3:
        return None
    return Along(kept, _length(subject, metres, 1.0 if sized is not None else None), mask)


def _reading_at(subject: Thermogram, place: np.ndarray) -> float:
    """The pixel a place lies in; NaN outside the picture."""
    x, y = (round(float(one)) for one in place)
    height, width = subject.shape
    return float(subject.values[y, x]) if 0 <= x < width and 0 <= y < height else float("nan")


def _length(subject: Thermogram, count: float, pixel: float | None) -> Quantity | None:
    if pixel is None or subject.pixel is None:
        return None
    value = count * pixel
    return Quantity.between(
        value * max(0.0, 1 - 1.96 * subject.pixel.relative),
        value * (1 + 1.96 * subject.pixel.relative),
        "m",
        value,
        "length along the pipe in the picture",
    )
