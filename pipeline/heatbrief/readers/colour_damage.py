"""Colours on a bar's curve in spite of compression, marks and blending: the size of the damage, what cannot be used."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from heatbrief.readers.colour_curve import Curve
from heatbrief.readers.colour_match import Match, match, slopes
from heatbrief.readers.compression import LUMA_CHROMA, Compression, LumaError

OFF_LIMIT = 5.0
"""Standard deviations from the bar at which a colour is not one of the bar's."""
STRAY = 30.0
"""Levels from the bar beyond which a colour says nothing about the damage to the bar's own colours."""
LEAST_LEVELS = 0.8
"""Standard deviation of a colour channel when nothing was compressed: rounding, with room for resampling."""
LEAST_LUMA = 0.5
CHROMA_FIRST = 4.0


def matched(colours: np.ndarray, weight: np.ndarray, curve: Curve, luma: LumaError | None) -> tuple[Match, float]:
    """Colours (k, 3) that `weight` (k,) pixels have, matched in a metric whose scale is the damage's.

    The damage is known for luma and seen as residuals for the rest.

    luma  what compression did to the luma, or None for pictures that were not compressed
    With the match comes the part of the error that a block of pixels has in common, as a factor.
    """
    weight = weight * (match(colours, curve, np.eye(3)).residual < STRAY)
    if luma is None:
        return _undamaged(colours, weight, curve)
    level = max(luma.pixel, LEAST_LUMA)
    # Led by luma, the distance in chroma shows what chroma lost; a fit to both would hide it.
    wide = CHROMA_FIRST * level + CHROMA_FIRST
    found = match(colours, curve, LUMA_CHROMA / np.array([[level], [wide], [wide]]))
    seen = [wide * np.sqrt(_typical(found.offset[:, one] ** 2, weight)) for one in (1, 2)]
    bright, tinted = (np.interp(found.share, curve.share, one) for one in slopes(curve, LUMA_CHROMA))
    # Where colours change fast, so does what chroma lost: as a share of the bar the loss is the same everywhere.
    lost = np.hypot(found.offset[:, 1], found.offset[:, 2]) * wide / np.maximum(tinted, 1e-6)
    clear = weight * (bright > np.median(bright) / 2.0)
    sizes = np.array([level, *np.maximum(seen, level)])
    found = match(colours, curve, LUMA_CHROMA / sizes[:, None])
    bright, tinted = (np.interp(found.share, curve.share, one) for one in slopes(curve, LUMA_CHROMA / sizes[:, None]))
    by_chroma = np.maximum(1.0 / np.maximum(tinted, 1e-6), np.sqrt(_typical(lost**2, clear, 2.0)))
    standard = np.minimum(1.0 / np.maximum(bright, 1e-6), by_chroma)
    return replace(found, standard=standard), min(luma.block / level, 1.0)


def _undamaged(colours: np.ndarray, weight: np.ndarray, curve: Curve) -> tuple[Match, float]:
    least = max(LEAST_LEVELS, curve.spread)
    found = match(colours, curve, np.eye(3) / least)
    seen = max(curve.spread, least * float(np.sqrt(_typical(found.residual**2, weight) / 2.0)))
    scale = max(LEAST_LEVELS, seen)
    found = match(colours, curve, np.eye(3) / scale)
    return replace(found, standard=found.standard * seen / scale), 0.0


def _typical(squared: np.ndarray, weight: np.ndarray, reach: float = 1.0) -> float:
    """Mean square of the normal distribution that has as much weight within `reach` deviations: strays do not count.

    reach  1 looks at the middle 68 %, 2 at 95 %, which also sees wide tails
    """
    order = np.argsort(squared)
    total = np.cumsum(weight[order])
    if not total[-1]:
        return 0.0
    part = {1.0: 0.6827, 2.0: 0.9545}[reach] * total[-1]
    return float(squared[order][np.searchsorted(total, part)]) / reach**2


def spread(off: np.ndarray, offset: np.ndarray, compression: Compression | None, at: tuple[int, int]) -> np.ndarray:
    """Off-bar pixels with what they blend into: a pixel around, and the whole block where a mark was compressed.

    offset  (height, width, 3) from the bar in standard deviations. Chroma blurred over an edge of the scene is off
            in opposite ways on its two sides; a mark is off in one way, which a mean over neighbours shows, or in luma.
    """
    from scipy.ndimage import binary_dilation, uniform_filter

    grown = binary_dilation(off, np.ones((3, 3), bool))
    if compression is None or not off.any():
        return grown
    around = (2 * compression.down + 1, 2 * compression.across + 1)
    mean = np.stack([uniform_filter(offset[..., axis], around, mode="nearest") for axis in range(3)], axis=-1)
    strong = off & (((mean**2).sum(axis=-1) > OFF_LIMIT**2) | (np.abs(offset[..., 0]) > 2.0 * OFF_LIMIT))
    for side, thick in ((strong, compression.down), (strong.T, compression.across)):
        side[:thick] = side[-thick:] = False  # what lies beyond the picture's edge bleeds in, one way only
    wide, tall = compression.block
    rows, columns = (
        (np.arange(side) + start) // size for side, start, size in zip(off.shape, at[::-1], (tall, wide), strict=True)
    )
    hit = np.zeros((rows[-1] + 1, columns[-1] + 1), bool)
    where = np.nonzero(strong)
    hit[rows[where[0]], columns[where[1]]] = True
    result: np.ndarray = grown | hit[np.ix_(rows, columns)]
    return result
