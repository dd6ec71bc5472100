"""A provisional scale for counts of unknown meaning, from regions whose temperature was measured otherwise."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from heatbrief.calibrate.known import ZERO_CELSIUS_K
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Region
from heatbrief.model.thermogram import ErrorSource, Picture
from heatbrief.physics.robust import mad_sigma

FACT = "known_temperature"
LEVEL = "known points, level"
UNSTATED_K = 1.0
"""Standard uncertainty of a known temperature given without bounds, as of a simple thermometer: our choice."""
CURVE_RAW, CURVE_SHOWN = 0.05, 0.15
"""How far, as a share of the span of the points, counts may bend between two points: raw counts of a detector nearly
follow temperature (the radiance of 8 to 14 um leaves its chord between 0 and 40 degC by 4.8 % of the span [computed]);
8-bit pictures were stretched for show. Our choices."""
LEAST_CONTRAST = 4.0
"""The points must differ by this many times the standard uncertainty of their difference, in counts and in kelvin."""
BEYOND = 1.0
"""Nothing is said further outside the points than this many times their span."""
LEAST_POINTS, _GRID = 2, 25


@dataclass(frozen=True)
class Point:
    """A region of known temperature: its median count and temperature [K], with standard uncertainties."""

    name: str
    count: float
    count_standard: float
    kelvin: float
    kelvin_standard: float


@dataclass(frozen=True)
class Line:
    """kelvin = level + slope (count - centre), level and slope uncorrelated; low, high: counts of the outermost points.

    curve  standard uncertainty [K] from the bend between the points, at the middle of their span
    """

    centre: float
    level: float
    slope: float
    level_standard: float
    slope_standard: float
    low: float
    high: float
    curve: float

    @property
    def zero(self) -> float:
        """Kelvin at count 0."""
        return self.level - self.slope * self.centre

    @property
    def reach(self) -> tuple[float, float]:
        """Counts between which a temperature is given."""
        span = self.high - self.low
        return self.low - BEYOND * span, self.high + BEYOND * span

    def errors(self) -> tuple[ErrorSource, ...]:
        """Sources of error in apparent kelvin: where the line lies, how steep it is, how far it may bend."""
        counts = np.linspace(*self.reach, _GRID)
        kelvin = self.level + self.slope * (counts - self.centre)
        along = (counts - self.low) / (self.high - self.low)
        order = np.argsort(kelvin)
        knots = tuple(float(one) for one in kelvin[order])
        rows = (
            (LEVEL, self.level_standard, "K", np.ones(_GRID)),
            ("known points, slope", self.slope_standard / abs(self.slope), "1", kelvin - self.level),
            ("known points, bend between them", self.curve, "K", 4.0 * along * (1.0 - along)),
        )
        return tuple(
            ErrorSource(name, name, standard, unit, knots, tuple(float(one) for one in sensitivity[order]))
            for name, standard, unit, sensitivity in rows
            if standard > 0.0
        )


def points_of(picture: Picture, regions: tuple[Region, ...], beyond: np.ndarray) -> tuple[Point, ...]:
    """The regions with a known temperature, in order; masked pixels and those `beyond` the recording are left out."""
    values = np.asarray(picture.values, np.float64)
    usable = np.isfinite(values) & ~beyond
    noise, points = count_noise(values), []
    for region in regions:
        known = region.facts.get(FACT)
        inside = values[region.mask(*values.shape) & usable]
        if not isinstance(known, Quantity) or not inside.size:
            continue
        # A region drawn a little too wide takes in some of what is beside it: median and MAD look past that.
        uneven = math.sqrt(max(mad_sigma(inside) ** 2 - noise**2, 0.0))
        points.append(
            Point(
                region.name,
                float(np.median(inside)),
                math.hypot(math.sqrt(math.pi / 2.0) * noise / math.sqrt(inside.size), uneven),
                known.value + ZERO_CELSIUS_K,
                known.standard or UNSTATED_K,
            )
        )
    return tuple(points)


def count_noise(values: np.ndarray) -> float:
    """Noise of one pixel in counts, from differences of neighbours; at least that of rounding."""
    steps = np.diff(np.asarray(values[:: max(1, len(values) // 64)], np.float64), axis=1)
    found = mad_sigma(steps[np.isfinite(steps)]) / math.sqrt(2.0)
    return max(found if math.isfinite(found) else 0.0, 1.0 / math.sqrt(12.0))


def line_through(points: tuple[Point, ...], bend: float) -> Line | str:
    """The weighted straight line through the points, or the reason why there is none.

    Both sides carry errors: the weight of a point is that of its temperature and of its count through the slope, found
    in a few rounds (York's effective variance). More scatter than the points' own bounds explain widens the result.
    bend: share of the span by which counts may bend between the points.
    """
    if len(points) < LEAST_POINTS:
        return (
            f"it needs at least two regions with `{FACT}` and there {'is one' if points else 'are none'} in the picture"
        )
    count = np.array([one.count for one in points])
    kelvin = np.array([one.kelvin for one in points])
    first, last = int(count.argmin()), int(count.argmax())
    for name, values, standards in (
        ("counts", count, [one.count_standard for one in points]),
        ("temperatures", kelvin, [one.kelvin_standard for one in points]),
    ):
        apart, standard = abs(values[last] - values[first]), math.hypot(standards[first], standards[last])
        if apart <= LEAST_CONTRAST * standard:
            return f"the {name} of the known points are too close together for their uncertainty"
    slope = (kelvin[last] - kelvin[first]) / (count[last] - count[first])
    for _ in range(5):
        weight = 1.0 / np.array([one.kelvin_standard**2 + (slope * one.count_standard) ** 2 for one in points])
        centre, level = float(np.average(count, weights=weight)), float(np.average(kelvin, weights=weight))
        around = count - centre
        slope = float(np.sum(weight * around * (kelvin - level)) / np.sum(weight * around**2))
    residual = kelvin - level - slope * around
    if slope == 0.0 or not _monotonic(points, np.sign(slope)):
        return "the temperatures of the known points do not rise or fall with their counts"
    freedom = len(points) - 2
    scatter = math.sqrt(max(1.0, float(np.sum(weight * residual**2)) / freedom)) if freedom else 1.0
    span = abs(slope) * float(count.max() - count.min())
    return Line(
        centre,
        level,
        slope,
        scatter / math.sqrt(float(weight.sum())),
        scatter / math.sqrt(float(np.sum(weight * around**2))),
        float(count.min()),
        float(count.max()),
        max(bend * span, float(np.abs(residual).max()) if freedom else 0.0),
    )


def _monotonic(points: tuple[Point, ...], sign: float) -> bool:
    """True when temperature follows the counts from point to point, as far as the points' bounds can tell."""
    ordered = sorted(points, key=lambda one: one.count)
    return all(
        sign * (after.kelvin - before.kelvin)
        > -LEAST_CONTRAST * math.hypot(before.kelvin_standard, after.kelvin_standard)
        for before, after in pairwise(ordered)
    )


def bend_of(picture: Picture) -> float:
    """How far the counts of such a picture may bend between points, as a share of their span."""
    return CURVE_SHOWN if picture.values.dtype.itemsize == 1 else CURVE_RAW


def scaled(picture: Picture, line: Line) -> tuple[Picture, int]:
    """The picture with its provisional scale, and how many pixels lie too far outside the points and are masked."""
    low, high = line.reach
    values = np.asarray(picture.values, np.float64)
    known = np.isfinite(values)
    outside = known & ((values < low) | (values > high))
    if outside.any():
        picture = replace(picture, values=np.where(outside, np.nan, values))
    return replace(picture, scale=(line.slope, line.zero), errors=(*picture.errors, *line.errors())), int(outside.sum())


def notes_of(points: tuple[Point, ...], line: Line, lost: int) -> tuple[str, ...]:
    """What the reader of the results must know about the scale."""
    names = ", ".join(f"{one.name} {one.kelvin - ZERO_CELSIUS_K:.4g} degC" for one in points)
    ends = sorted(line.level + line.slope * (end - line.centre) - ZERO_CELSIUS_K for end in (line.low, line.high))
    notes = [
        f"provisional scale from {len(points)} known points ({names}): best between "
        f"{ends[0]:.4g} and {ends[1]:.4g} degC, "
        "weaker the further outside"
    ]
    if line.slope < 0.0:
        notes.append("smaller counts are warmer in this picture")
    if lost:
        notes.append(f"{lost} pixels masked that lie further outside the known points than these lie apart")
    return tuple(notes)
