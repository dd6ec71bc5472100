"""Pictures over time: when each was taken, and whether an area grew."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

import numpy as np

from heatbrief.detect.areas import find_areas
from heatbrief.detect.measure import target_area
from heatbrief.errors import StepError
from heatbrief.model.quantity import Quantity
from heatbrief.model.thermogram import Thermogram


@dataclass(frozen=True)
class Growth:
    """How an area that changed since the first picture grew.

    seconds      since the first picture
    pixels       number of pixels in each picture; contrast: their mean change [K or counts], 0 where there are none
    mask         pixels of the last picture's area, bool (height, width); area: its size on the target, where known
    rate         pixels per hour, robust slope over the pictures from the first in which there was something, with
                 bounds
    probability  that it grew, 0..1; grows when it is at least 0.95
    outlived     share of the last area that was already part of the area of the picture before
    """

    seconds: np.ndarray
    pixels: np.ndarray
    contrast: np.ndarray
    mask: np.ndarray
    area: Quantity | None
    rate: Quantity | None
    probability: float
    outlived: float

    @property
    def grows(self) -> bool:
        """True when growth is at least 95 % likely."""
        return self.probability >= 0.95


def seconds_of(thermograms: Sequence[Thermogram]) -> np.ndarray:
    """Seconds since the first picture, float64 (n,).

    Raises StepError when a picture has no time, when times with and without an offset are mixed, or when they do not
    rise.
    """
    moments = []
    for one in thermograms:
        try:
            moments.append(datetime.fromisoformat(one.taken))
        except ValueError:
            raise StepError(
                "no-time",
                f"{one.id} has no moment it was taken, so it cannot stand in a sequence",
                "Give `taken` for every picture of the sequence, such as 2026-07-14T16:20-07:00.",
            ) from None
    if len({moment.tzinfo is None for moment in moments}) > 1:
        raise StepError(
            "mixed-times",
            "some pictures of the sequence have a time zone and some have not",
            "Give `taken` with an offset for all, or for none.",
        )
    seconds = np.array([(moment - moments[0]).total_seconds() for moment in moments], float)
    if np.any(np.diff(seconds) <= 0):
        raise StepError(
            "times-out-of-order",
            "the pictures of the sequence do not follow each other in time",
            "Check `taken`: every picture must be later than the one before.",
        )
    return seconds


def _alike(thermograms: Sequence[Thermogram]) -> Sequence[Thermogram]:
    if len({one.shape for one in thermograms}) != 1 or len({one.scale for one in thermograms}) != 1:
        raise StepError(
            "sequence-not-alike",
            "the pictures of the sequence differ in size or scale",
            "Use pictures of one camera from one place.",
        )
    return thermograms


def area_growth(
    thermograms: Sequence[Thermogram],
    inside: np.ndarray | None = None,
    sign: Literal["warm", "cold"] = "cold",
    smallest: int = 9,
) -> Growth:
    """How the area that became colder (or warmer) than in the first picture grew.

    Every picture is compared with the first, so shade, materials and lens shading that stay drop out; a change common
    to the
    whole region drops out too. The camera must not have moved. Needs at least three pictures; raises StepError
    otherwise.
    """
    if len(thermograms) < 3:
        raise StepError(
            "sequence-too-short",
            f"growth needs at least three pictures, there are {len(thermograms)}",
            "Take one before and several after.",
        )
    seconds, first = seconds_of(_alike(thermograms)), thermograms[0]
    region = np.ones(first.shape, bool) if inside is None else inside
    pixels, contrast = np.zeros(len(thermograms)), np.zeros(len(thermograms))
    mask = before = np.zeros(first.shape, bool)
    for place, one in enumerate(thermograms[1:], 1):
        before = mask
        mask, contrast[place] = _changed(one, first, region, sign, smallest)
        pixels[place] = mask.sum()
    rate, probability = _trend(seconds, pixels)
    size = target_area(mask, first.pixel)
    outlived = float((mask & before).sum()) / mask.sum() if mask.any() else 0.0
    return Growth(seconds, pixels.astype(int), contrast, mask, size, rate, probability, outlived)


def _changed(
    now: Thermogram, first: Thermogram, region: np.ndarray, sign: Literal["warm", "cold"], smallest: int
) -> tuple[np.ndarray, float]:
    from dataclasses import replace

    change = replace(now, values=now.values - first.values, errors=(), zones=None, absolute=(), emissivity=())
    areas = find_areas(change, region, sign, kind="constant", smallest=smallest)
    mask = np.zeros(first.shape, bool)
    for area in areas:
        mask |= area.mask(*first.shape)
    level = (
        float(np.average([area.contrast.value for area in areas], weights=[area.pixels for area in areas]))
        if areas
        else 0.0
    )
    return mask, level


def _trend(seconds: np.ndarray, pixels: np.ndarray) -> tuple[Quantity | None, float]:
    """Theil-Sen slope [pixels per hour] from the last empty picture on, and the probability that it rises (Kendall's
    test)."""
    from scipy.stats import kendalltau, theilslopes

    shown = np.flatnonzero(pixels)
    if shown.size == 0:
        return None, 0.01
    start = max(int(shown[0]) - 1, 0)
    hours, sizes = seconds[start:] / 3600, pixels[start:]
    if sizes.size < 3:
        return None, 0.5
    slope, _, low, high = theilslopes(sizes, hours, alpha=0.95)
    rate = Quantity(
        float(slope),
        "px/h",
        float(min(low, slope)),
        float(max(high, slope)),
        0.95,
        "robust slope of the area in pixels",
    )
    test = kendalltau(hours, sizes, alternative="greater")
    likely = 1 - float(test.pvalue) if math.isfinite(test.pvalue) else 0.5
    return rate, min(max(likely, 0.01), 0.99)
