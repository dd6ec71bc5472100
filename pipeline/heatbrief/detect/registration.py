"""Pictures of one view brought over each other: shifts of a camera that moved a little, to a part of a pixel.

Phase correlation (Kuglin & Hines 1975 [memory]) finds the peak, a local Fourier sum around it the part of a pixel
(Guizar-Sicairos, Thurman & Fienup 2008 [memory]). Translation only: turning and zooming show in the residual.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from heatbrief.errors import StepError
from heatbrief.model.thermogram import Thermogram

FINEST = 0.02
"""Shifts are found in steps of this many pixels."""
LEAST_GAIN = 0.95
"""A shift counts when it leaves at most this share of the difference of fine detail that no shift leaves."""
LEAST_STRENGTH = 7.0
"""... and when its peak stands this many standard deviations above the rest; chance alone reaches 5 in a megapixel."""
NEGLIGIBLE = 0.1
"""Shifts below this many pixels are not worth smoothing a picture for."""
_SMALLEST, _COARSE, _KEEP = 16, 10, 4.0


@dataclass(frozen=True)
class Shift:
    """How a picture has to be moved to lie on the first one.

    x, y      [px], to the right and down
    residual  root mean square of what stays different in the fine detail, and `before` without moving [K or counts]
    found     False when moving explains nothing: the shift is 0 then
    """

    x: float
    y: float
    residual: float
    before: float
    found: bool

    @property
    def length(self) -> float:
        """Distance moved [px]."""
        return float(np.hypot(self.x, self.y))


def shifts(stack: Sequence[np.ndarray] | np.ndarray) -> tuple[Shift, ...]:
    """The shift of every picture of a stack (n, height, width) onto the first; NaN is allowed.

    A change of temperature common to all pixels, slow gradients and single masked pixels do not disturb it. Raises
    StepError when the pictures differ in size.
    """
    pictures = [np.asarray(one, np.float64) for one in stack]
    if len({one.shape for one in pictures}) > 1:
        raise StepError(
            "sequence-not-alike",
            "the pictures of the sequence differ in size",
            "Use pictures of one camera from one place.",
        )
    if not pictures or min(pictures[0].shape) < _SMALLEST:
        return tuple(Shift(0.0, 0.0, 0.0, 0.0, False) for _ in pictures)
    first = _detail(pictures[0])
    return tuple(
        _shift(first, _detail(one)) if number else Shift(0.0, 0.0, 0.0, 0.0, True)
        for number, one in enumerate(pictures)
    )


def aligned(thermograms: Sequence[Thermogram]) -> tuple[Thermogram, ...]:
    """The pictures of one view moved onto the first: values between pixels linearly, zones to the nearest pixel.

    What comes from outside is NaN. Pictures that have not moved by more than NEGLIGIBLE pixels, or whose shift was not
    found, stay as they are. `facts["shift"]` says what was done.
    """
    found = shifts([one.values for one in thermograms])
    return tuple(_moved(one, shift) for one, shift in zip(thermograms, found, strict=True))


def _detail(values: np.ndarray) -> np.ndarray:
    """Edges and texture: the picture less its own slow part, in proportion to its usual detail so that one hot spot
    does not decide, faded towards the rim so that the rim itself is not matched."""
    from scipy.ndimage import gaussian_filter

    good = np.isfinite(values)
    level = np.median(values[good]) if good.any() else 0.0
    filled = np.where(good, values, level)
    detail = np.where(good, gaussian_filter(filled, 0.7) - gaussian_filter(filled, 6.0), 0.0)
    usual = 1.4826 * float(np.median(np.abs(detail - np.median(detail))))
    limit = _KEEP * usual if usual > 0.0 else float(np.abs(detail).max()) or 1.0
    return limit * np.tanh(detail / limit)


def _shift(first: np.ndarray, other: np.ndarray) -> Shift:
    y, x, strength = _peak(first, other)
    whole_y, whole_x = round(y), round(x)
    if (whole_y or whole_x) and strength >= LEAST_STRENGTH:
        # Once more with the part that both show, so that what only one shows does not pull the peak towards no shift.
        part = _overlap(first.shape, whole_y, whole_x)
        if min(side.stop - side.start for side in part[0]) >= _SMALLEST:
            more_y, more_x, strength = _peak(first[part[0]], other[part[1]])
            y, x = whole_y + more_y, whole_x + more_x
    before, after = _difference(first, other, 0.0, 0.0), _difference(first, other, y, x)
    small = max(abs(x), abs(y)) <= 1.0
    if strength < LEAST_STRENGTH or not (small or after <= LEAST_GAIN * before):
        return Shift(0.0, 0.0, before, before, False)
    return Shift(x, y, after, before, True)


def _peak(first: np.ndarray, other: np.ndarray) -> tuple[float, float, float]:
    """(y, x) of the best match, and how many standard deviations its peak stands above the rest."""
    height, width = first.shape
    window = np.outer(np.hanning(height), np.hanning(width))
    spectrum = np.fft.fft2(first * window) * np.conj(np.fft.fft2(other * window))
    size = np.abs(spectrum)
    # Whitening alone lifts frequencies that hold noise only; damping them keeps the peak where the detail is.
    cross = spectrum / np.sqrt(size * size + np.median(size) ** 2 + 1e-300)
    peak = np.fft.ifft2(cross).real
    y, x = (int(at) for at in np.unravel_index(int(np.argmax(peak)), peak.shape))
    strength = float((peak[y, x] - peak.mean()) / (peak.std() or 1.0))
    y, x = (y - height if y > height // 2 else y), (x - width if x > width // 2 else x)
    return (*_refined(cross, float(y), float(x)), strength)


def _overlap(shape: tuple[int, ...], y: int, x: int) -> tuple[tuple[slice, slice], tuple[slice, slice]]:
    """The parts of the first and of the other picture that show the same, for a whole shift of the other."""
    sides = [
        (slice(max(by, 0), side + min(by, 0)), slice(max(-by, 0), side + min(-by, 0)))
        for side, by in zip(shape, (y, x), strict=True)
    ]
    return (sides[0][0], sides[1][0]), (sides[0][1], sides[1][1])


def _refined(cross: np.ndarray, y: float, x: float) -> tuple[float, float]:
    """The place of the peak to FINEST pixels: the inverse Fourier sum on ever finer grids around it."""
    height, width = cross.shape
    rows, columns = np.fft.fftfreq(height), np.fft.fftfreq(width)
    step = 1.0
    while step > FINEST:
        fine = max(step / _COARSE, FINEST)
        around = np.arange(-_COARSE, _COARSE + 1) * fine
        down = np.exp(2j * np.pi * np.outer(y + around, rows))
        across = np.exp(2j * np.pi * np.outer(columns, x + around))
        values = (down @ cross @ across).real
        at_y, at_x = np.unravel_index(int(np.argmax(values)), values.shape)
        y, x, step = y + float(around[at_y]), x + float(around[at_x]), fine
    return round(y / FINEST) * FINEST, round(x / FINEST) * FINEST


def _difference(first: np.ndarray, other: np.ndarray, y: float, x: float) -> float:
    """Root mean square difference in the part that both show after moving `other` by (y, x)."""
    moved = _move(other, y, x)
    both = np.isfinite(moved)
    return float(np.sqrt(np.mean(np.square(first[both] - moved[both])))) if both.any() else float("inf")


def _move(values: np.ndarray, y: float, x: float) -> np.ndarray:
    """Values moved down by y and right by x, NaN where nothing comes from; a NaN stays one in the pixels it adds to."""
    from scipy.ndimage import shift

    return shift(values, (y, x), order=1, mode="constant", cval=np.nan, prefilter=False)


def _moved(thermogram: Thermogram, by: Shift) -> Thermogram:
    facts = {**thermogram.facts, "shift": (by.x, by.y)}
    if not by.found or by.length <= NEGLIGIBLE:
        return replace(thermogram, facts={**facts, "shift": (0.0, 0.0)})
    from scipy.ndimage import shift

    values = _move(np.asarray(thermogram.values, np.float64), by.y, by.x).astype(np.float32)
    zones = thermogram.zones
    if zones is not None:
        zones = shift(zones, (round(by.y), round(by.x)), order=0, mode="nearest")
    return replace(thermogram, values=values, zones=zones, facts=facts)
