"""The place on a colour bar's curve that is nearest to a colour, how sure it is, and whether another is as near."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from heatbrief.readers.colour_curve import Curve

NEARBY, NEARBY_DEVIATIONS = 0.03, 5.0
"""A place further than this share, and than so many standard deviations, makes a pixel doubtful if it is as near."""
RIVAL = 6.0
"""How much the squared distance of such a place may exceed the least: 2.4 standard deviations."""
_CHUNK = 4_000_000


@dataclass(frozen=True)
class Match:
    """For each colour (k,): share along the bar, residual distance in standard deviations, standard uncertainty of the
    share, whether a place far away on the bar is nearly as near; offset (k, 3) from the bar in the metric's axes."""

    share: np.ndarray
    residual: np.ndarray
    standard: np.ndarray
    doubtful: np.ndarray
    offset: np.ndarray


def match(colours: np.ndarray, curve: Curve, metric: np.ndarray) -> Match:
    """The place of each colour (k, 3). `metric` (3, 3) turns colour differences into standard deviations.

    The nearest sample is found first, then the nearest point of the two stretches beside it.
    """
    points, samples = colours @ metric.T, curve.colours @ metric.T
    size = max(1, _CHUNK // len(samples))
    reach = _reach(samples, curve.share)
    level = _level(samples, curve, metric, reach)
    parts = [_nearest(points[at : at + size], samples, curve.share, reach) for at in range(0, len(points), size)]
    share, offset, rival = (np.concatenate(one) for one in zip(*parts, strict=True))
    squared = (offset**2).sum(axis=1)
    standard = np.interp(share, curve.share, level)
    return Match(share, np.sqrt(squared), standard, rival < squared + RIVAL, offset)


def _reach(samples: np.ndarray, share: np.ndarray) -> np.ndarray:
    """How far along the bar (m,) an error of some standard deviations of colour may lead, measured along the curve."""
    path = np.r_[0.0, np.cumsum(np.sqrt((np.diff(samples, axis=0) ** 2).sum(axis=1)))]
    low, high = _around(len(samples))
    level = (share[high] - share[low]) / np.maximum(path[high] - path[low], 1e-6)
    result: np.ndarray = np.clip(NEARBY_DEVIATIONS * level, NEARBY, 0.5)
    return result


def _level(samples: np.ndarray, curve: Curve, metric: np.ndarray, reach: np.ndarray) -> np.ndarray:
    """Share of the bar per standard deviation of colour (m,): by the slope, and by places nearby that are as near.

    Where the colours turn back sharply, the two sides of the turn cannot be told apart though each changes fast.
    """
    level = 1.0 / np.maximum(np.hypot(*slopes(curve, metric)), 1e-6)
    squared = ((samples[:, None, :] - samples[None, :, :]) ** 2).sum(axis=-1)
    apart = np.abs(curve.share[:, None] - curve.share[None, :])
    alike = np.where((squared < RIVAL) & (apart <= reach[:, None]), apart, 0.0)
    result: np.ndarray = np.maximum(level, alike.max(axis=1) / RIVAL**0.5)
    return result


def _nearest(
    points: np.ndarray, samples: np.ndarray, share: np.ndarray, reach: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Share, offset and the squared distance of the best place further away on the bar than `reach` (m,)."""
    squared = (points**2).sum(axis=1)[:, None] + (samples**2).sum(axis=1)[None] - 2.0 * points @ samples.T
    index = squared.argmin(axis=1)
    far = np.abs(share[index][:, None] - share[None]) > reach[index][:, None]
    rival = np.where(far, squared, np.inf).min(axis=1)
    best = points - samples[index]
    found, least = share[index].copy(), (best**2).sum(axis=1)
    for side in (-1, 1):
        other = np.clip(index + side, 0, len(samples) - 1)
        along = samples[other] - samples[index]
        length = np.maximum((along**2).sum(axis=1), 1e-12)
        part = np.clip(((points - samples[index]) * along).sum(axis=1) / length, 0.0, 1.0)
        offset = points - samples[index] - part[:, None] * along
        distance = (offset**2).sum(axis=1)
        better = distance < least
        found[better] = (share[index] + part * (share[other] - share[index]))[better]
        best[better], least[better] = offset[better], distance[better]
    return found, best, rival


def slopes(curve: Curve, metric: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """At each sample, change per share of the bar along the metric's first axis, and along the other two."""
    samples = curve.colours @ metric.T
    low, high = _around(len(samples))
    moved = np.abs(samples[high] - samples[low]) / (curve.share[high] - curve.share[low])[:, None]
    return moved[:, 0], np.hypot(moved[:, 1], moved[:, 2])


def _around(count: int) -> tuple[np.ndarray, np.ndarray]:
    """Indices of the places between which a slope is taken: 1.5 % of the bar, at least two samples each way."""
    at, wide = np.arange(count), max(2, count // 128)
    return np.maximum(at - wide, 0), np.minimum(at + wide, count - 1)
