"""Compare regions with each other: twins in one picture, or the same part in two."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

import numpy as np

from heatbrief.detect.field import residual_sigma, sum3
from heatbrief.detect.measure import zone_allows_temperature
from heatbrief.detect.shared import absolute_standard, celsius, shared_standard
from heatbrief.model.once import inside_of, mean_of
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Region, bounding_box
from heatbrief.model.thermogram import ErrorSource, Thermogram

Of = Literal["mean", "peak", "low"]


@dataclass(frozen=True)
class Reading:
    """What one region reads.

    values     "mean", "peak", "low": kelvin, or counts when unscaled. Peak and low are the most extreme means of 3 x
               3 pixels,
               of single pixels in regions thinner than that
    standards  standard uncertainty of each from noise alone; shared errors are in `errors`
    apart      what each pixel of its box reads less the mean, and which of them are its own
    mean, peak, low   as quantities (degC, or count); None where the zone is fit for comparison only
    centre     (x, y) of its pixels [px]
    """

    name: str
    thermogram: str
    pixels: int
    scaled: bool
    values: dict[str, float]
    standards: dict[str, float]
    apart: tuple[np.ndarray, np.ndarray] = field(repr=False, compare=False)
    errors: tuple[ErrorSource, ...]
    mean: Quantity | None
    peak: Quantity | None
    low: Quantity | None
    centre: tuple[float, float] = (0.0, 0.0)

    @cached_property
    def spread(self) -> float:
        """Standard deviation of its pixels, which few ask for."""
        return math.sqrt(float(np.square(inside_of(*self.apart)).mean(dtype=np.float64)))


@dataclass(frozen=True)
class Comparison:
    """One region against the median of the others. `against` names the region in the middle, or the two around it."""

    name: str
    reading: Reading
    others: tuple[str, ...]
    difference: Quantity
    against: tuple[str, ...]


def read_region(thermogram: Thermogram, region: Region | np.ndarray, name: str = "") -> Reading | None:
    """Mean, hottest and coldest part of a region or mask; None when it holds no valid pixel."""
    if isinstance(region, Region):
        name = name or region.name
        region = region.mask(*thermogram.shape)
    mask = region & thermogram.valid
    pixels = int(np.count_nonzero(mask))
    if pixels == 0:
        return None
    x0, y0, x1, y1 = bounding_box(mask)
    values, within = thermogram.values[y0:y1, x0:x1], mask[y0:y1, x0:x1]
    middle = mean_of(thermogram.values, mask)
    apart = values - np.float32(middle)  # small, so that narrow numbers hold sums of it
    lowest, highest, around = _extremes(apart, within)
    found = {"mean": middle, "peak": middle + highest, "low": middle + lowest}
    noise = thermogram.noise() or _noise_seen(thermogram)
    selection = math.sqrt(2 * math.log1p(pixels / around)) / 2
    extreme = noise / math.sqrt(around) * (1 + selection)
    standards = {"mean": noise / math.sqrt(pixels), "peak": extreme, "low": extreme}
    errors = thermogram.errors_of(mask)
    scaled = thermogram.scale == "temperature"
    shown: dict[str, Quantity | None] = dict.fromkeys(found)
    if not scaled:
        shown = {one: Quantity.normal(found[one], "count", standards[one], _METHOD[one]) for one in found}
    elif zone_allows_temperature(thermogram, mask):
        shown = {
            one: celsius(found[one], math.hypot(standards[one], absolute_standard(errors, found[one])), _METHOD[one])
            for one in found
        }
    return Reading(
        name,
        thermogram.id,
        pixels,
        scaled,
        found,
        standards,
        (apart, within),
        errors,
        shown["mean"],
        shown["peak"],
        shown["low"],
        _centre(mask),
    )


_METHOD = {"mean": "mean of the region", "peak": "hottest 3 x 3 pixels", "low": "coldest 3 x 3 pixels"}


def _noise_seen(thermogram: Thermogram) -> float:
    """Noise of one pixel where none is stated: robust scatter of differences of neighbours."""
    return residual_sigma(np.diff(thermogram.values, axis=1)) / math.sqrt(2)


def _centre(mask: np.ndarray) -> tuple[float, float]:
    """Mean column and row of the pixels of a mask with at least one."""
    if mask.all():
        return (mask.shape[1] - 1) / 2.0, (mask.shape[0] - 1) / 2.0
    across, down = (np.count_nonzero(mask, axis=axis) for axis in (0, 1))
    return (
        float(across @ np.arange(across.size) / across.sum()),
        float(down @ np.arange(down.size) / down.sum()),
    )


def _extremes(apart: np.ndarray, mask: np.ndarray) -> tuple[float, float, int]:
    """Lowest and highest mean of 3 x 3 pixels that lie fully inside, or single pixels when there are none; and how
    many went into each."""
    full = _whole_neighbourhoods(mask)
    if not full.any():
        inside = apart[mask]
        return float(inside.min()), float(inside.max()), 1
    sums = sum3(apart)[1:-1, 1:-1]
    sums = sums if full.all() else sums[full]
    return float(sums.min()) / 9.0, float(sums.max()) / 9.0, 9


def _whole_neighbourhoods(mask: np.ndarray) -> np.ndarray:
    """Which pixels but those at the edge of the array have all of their 3 x 3 pixels in the mask."""
    if mask.all():
        return mask[1:-1, 1:-1]
    rows = mask[:-2] & mask[1:-1] & mask[2:]
    result: np.ndarray = rows[:, :-2] & rows[:, 1:-1] & rows[:, 2:]
    return result


def difference(first: Reading, second: Reading, of: Of = "mean") -> Quantity:
    """First minus second, "K" or "count", 95 %. Shared errors cancel as far as their effects agree and their reach
    goes, also across pictures of one camera; noise adds.

    Raises ValueError when one is scaled and the other is not.
    """
    if first.scaled != second.scaled:
        raise ValueError("a scaled and an unscaled picture cannot be compared")
    noise = math.hypot(first.standards[of], second.standards[of])
    systematic = 0.0
    if first.scaled:
        apart = math.dist(first.centre, second.centre)
        systematic = shared_standard(first.errors, first.values[of], second.errors, second.values[of], apart)
    return Quantity.normal(
        first.values[of] - second.values[of],
        "K" if first.scaled else "count",
        math.hypot(noise, systematic),
        f"{of} of one region minus {of} of another",
    )


def twins(readings: Sequence[Reading], of: Of = "mean") -> tuple[Comparison, ...]:
    """Each region against the median of the others, in the order given; empty for fewer than two.

    With an even number of others the median is the average of the two in the middle, and its bounds are the wider of
    theirs.
    Whether a small group allows a judgement is `heatbrief.physics.small_groups`.
    """
    return (
        tuple(_against_others(index, list(readings), of) for index in range(len(readings))) if len(readings) > 1 else ()
    )


def _against_others(index: int, readings: list[Reading], of: Of) -> Comparison:
    own = readings[index]
    others = sorted(
        (one for place, one in enumerate(readings) if place != index), key=lambda one: (one.values[of], one.name)
    )
    middle = others[(len(others) - 1) // 2 : len(others) // 2 + 1]
    each = [difference(own, one, of) for one in middle]
    value = sum(one.value for one in each) / len(each)
    half = max(one.half_width for one in each)
    quantity = Quantity(
        value, each[0].unit, value - half, value + half, 0.95, f"{of} minus the median {of} of the others"
    )
    return Comparison(own.name, own, tuple(one.name for one in others), quantity, tuple(one.name for one in middle))
