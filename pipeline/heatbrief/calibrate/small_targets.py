"""What lens and pixels take away from small parts of a picture: error of size of source, and too few pixels to read."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from heatbrief.physics.geometry import LEAST_PIXELS_MEASURED, LEAST_PIXELS_PRACTICE, pixel_kernel

BLUR_PX = 0.6
"""Standard deviation of the point spread supposed of an unknown lens: the upper end of the usual 0.4 to 0.6 pixels
(common practice, no source)."""
LEAST_LOSS = 1e-4
_PAD = 6
_INNER, _OUTER = 2, 5


@dataclass(frozen=True)
class Loss:
    """What blur may take from a part that is just as large as what it shows, for its mean and its most extreme pixel.

    mean, peak     share of the contrast that is lost
    background     mean temperature around the part [K]
    """

    mean: float
    peak: float
    background: float

    def shortfall(self, reading: float, peak: bool) -> float:
        """By how much the truth may lie beyond the reading [K], away from the background (signed)."""
        share = self.peak if peak else self.mean
        return (reading - self.background) * share / (1.0 - share)


def loss_of(values: np.ndarray, mask: np.ndarray) -> Loss | None:
    """The loss of a part of a picture, or None where it is nothing: no surroundings in view, or no rim."""
    if mask.all():
        return None
    from scipy.ndimage import binary_dilation, correlate1d

    rows, columns = _around(mask)
    inside, near = mask[rows, columns], values[rows, columns]
    inner = binary_dilation(inside, iterations=_INNER)
    ring = binary_dilation(inner, iterations=_OUTER - _INNER) & ~inner & np.isfinite(near)
    if not ring.any():
        return None
    padded = np.pad(inside.astype(float), _PAD, mode="edge")
    kernel = pixel_kernel(BLUR_PX)
    seen = correlate1d(correlate1d(padded, kernel, axis=0), kernel, axis=1)[_PAD:-_PAD, _PAD:-_PAD][inside]
    mean, peak = 1.0 - float(seen.mean()), 1.0 - float(seen.max())
    if mean < LEAST_LOSS:
        return None
    return Loss(min(mean, 0.95), min(max(peak, 0.0), 0.95), float(near[ring].mean(dtype=np.float64)))


def _around(mask: np.ndarray) -> tuple[slice, slice]:
    """Rows and columns of a mask and a few around, within the picture."""
    found = []
    for axis in (1, 0):
        places = np.flatnonzero(mask.any(axis=axis))
        length = mask.shape[1 - axis]
        found.append(slice(max(0, int(places[0]) - _PAD), min(length, int(places[-1]) + 1 + _PAD)))
    return found[0], found[1]


def narrowest(mask: np.ndarray, most: int | None = None) -> int:
    """Side in pixels of the largest square that fits into a mask; squares beyond `most` are not tried."""
    if not mask.any():
        return 0
    rows, columns = _around(mask)
    current = np.pad(mask[rows, columns], 1)
    side = 0
    while side != most and current.any():
        side += 1
        # A square of side n + 1 starts where squares of side n start in all four corners of a 2 x 2 step.
        current = current[:-1, :-1] & current[1:, :-1] & current[:-1, 1:] & current[1:, 1:]
    return side


def size_note(mask: np.ndarray) -> str:
    """A reservation about a part with too few pixels, or ""."""
    side = narrowest(mask, LEAST_PIXELS_MEASURED)
    if 0 < side < LEAST_PIXELS_PRACTICE:
        return (
            f"only {side} {'pixel' if side == 1 else 'pixels'} wide: less than {LEAST_PIXELS_PRACTICE} by "
            f"{LEAST_PIXELS_PRACTICE}, so what is around is read too; take the picture from nearer"
        )
    if 0 < side < LEAST_PIXELS_MEASURED:
        return (
            f"{side} pixels wide: enough to read, but fewer than the {LEAST_PIXELS_MEASURED} that make blur unimportant"
        )
    return ""
