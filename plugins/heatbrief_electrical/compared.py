"""Like parts of one group against each other, at like load or corrected to it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from heatbrief.api import Context, propagated
from heatbrief.detect import Case, Reading, difference, read_region, search_mask, twins
from heatbrief.model import Quantity, Region, Thermogram
from heatbrief.model.quantity import NORMAL_95
from heatbrief.physics import electrical

from heatbrief_electrical.parts import Load, air_near, load_of, rise_over

LIKE_LOAD = 0.10
"""Twins need loads within 10 % (common practice, no source)."""
HALF_PIXEL = 0.5 / math.sqrt(3.0)
"""Standard uncertainty of a place known to within half a pixel [px]."""


@dataclass(frozen=True)
class Member:
    """One part of a group as read.

    rise    over the air beside it [K], None when either is not known
    placed  standard uncertainty of the mean from where the region was drawn, within half a pixel [K, or counts]
    """

    region: Region
    reading: Reading
    load: Load
    rise: Quantity | None
    placed: float = 0.0


@dataclass(frozen=True)
class Compared:
    """A member against the others.

    difference   mean minus what its twins let expect at its load [K], with bounds; hottest: the same of the hottest 3 x
                 3 pixels,
                 None when loads differ
    against      names of the twins in the middle
    load_ratio   own load over that of the twins, None when one is not known; corrected: whether the difference allows
                 for it
    """

    member: Member
    difference: Quantity
    hottest: Quantity | None
    against: tuple[str, ...]
    load_ratio: float | None
    corrected: bool
    others: tuple[Member, ...]


@dataclass(frozen=True)
class TwinCase(Case):
    """A case about a comparison, so that gates and rivals see its difference as the contrast."""

    compared: Compared | None = None

    @property
    def contrast(self) -> Quantity | None:
        """The difference from the twins."""
        return None if self.compared is None else self.compared.difference

    @property
    def warm(self) -> bool | None:
        """Whether the part is the warmer one."""
        return None if self.compared is None else self.compared.difference.value > 0


def members_of(
    subject: Thermogram, regions: Sequence[Region], context: Context
) -> tuple[tuple[Member, ...], tuple[str, ...]]:
    """The regions that hold a valid pixel, and the names of those that do not."""
    members, empty = [], []
    for region in regions:
        reading = read_region(subject, search_mask(subject, region, context), region.name)
        if reading is None:
            empty.append(region.name)
            continue
        rise = rise_over(reading.mean, air_near(context, region))
        members.append(Member(region, reading, load_of(region, context), rise, placement(subject, region)))
    return tuple(members), tuple(empty)


def placement(subject: Thermogram, region: Region) -> float:
    """Standard uncertainty [K] that drawing a region half a pixel off gives its mean, from the means of the region
    moved by a pixel.
    """
    mask = region.mask(*subject.shape) & subject.valid
    if not mask.any():
        return 0.0
    here = float(subject.values[mask].mean(dtype=np.float64))
    steps = []
    for axis in (0, 1):
        ends = [_moved_mean(subject, mask, axis, step, here) for step in (-1, 1)]
        steps.append(max(abs(ends[1] - ends[0]) / 2, abs(here - (ends[0] + ends[1]) / 2)))
    return HALF_PIXEL * math.hypot(*steps)


def _moved_mean(subject: Thermogram, mask: np.ndarray, axis: int, step: int, otherwise: float) -> float:
    """Mean of the mask moved by a pixel; what would leave the picture stays behind."""
    moved = np.roll(mask, step, axis)
    edge = (0 if step > 0 else -1,) if axis == 0 else (slice(None), 0 if step > 0 else -1)
    moved[edge] = False
    moved &= subject.valid
    return float(subject.values[moved].mean(dtype=np.float64)) if moved.any() else otherwise


def _widened(found: Quantity, *standards: float) -> Quantity:
    """With independent standard uncertainties added to its bounds."""
    more = NORMAL_95 * math.hypot(*standards)
    low, high = math.hypot(found.value - found.low, more), math.hypot(found.high - found.value, more)
    return Quantity(found.value, found.unit, found.value - low, found.value + high, found.coverage, found.method)


def compare(members: Sequence[Member], like: float = LIKE_LOAD) -> tuple[Compared, ...]:
    """Each member against the median of the others; empty for fewer than two.

    Loads that differ by more than `like` are allowed for where the air is known.
    """
    plain, hottest = (twins([one.reading for one in members], of) for of in ("mean", "peak"))
    found = []
    for place, member in enumerate(members):
        others = tuple(one for number, one in enumerate(members) if number != place)
        if not others:
            return ()
        ratio = _load_ratio(member, others)
        if ratio is None or abs(ratio - 1) <= like:
            apart = _widened(plain[place].difference, member.placed, max(one.placed for one in others))
            found.append(Compared(member, apart, hottest[place].difference, plain[place].against, ratio, False, others))
            continue
        corrected = _corrected(member, others)
        if corrected is None:
            apart = _widened(plain[place].difference, member.placed, max(one.placed for one in others))
            found.append(Compared(member, apart, None, plain[place].against, ratio, False, others))
        else:
            found.append(Compared(member, corrected[0], None, (corrected[1],), ratio, True, others))
    return tuple(found)


def _load_ratio(member: Member, others: Sequence[Member]) -> float | None:
    """Own load over the load of the twin it differs from most; None when a load is not known, infinite over an idle
    one.
    """
    own, loads = member.load.amps, [one.load.amps for one in others if one.load.amps is not None]
    if own is None or len(loads) < len(others):
        own, loads = member.load.share, [one.load.share for one in others if one.load.share is not None]
        if own is None or len(loads) < len(others):
            return None
    ratios = [1.0 if own == load else own / load if load else float("inf") for load in loads]
    return max(ratios, key=lambda ratio: abs(ratio - 1))


def _corrected(member: Member, others: Sequence[Member]) -> tuple[Quantity, str] | None:
    """Difference from the median of the twins, each twin's rise over the air brought to this part's load; None when it
    cannot be.

    d = (T - Ttwin) - ((I/Itwin)^n - 1) (Ttwin - Tair), n from 1.6 to 2.0: what the load explains is taken off, with its
    bounds.
    """
    found = []
    for one in others:
        ratio = _load_ratio(member, (one,))
        if one.rise is None or ratio is None or not 0 < ratio < float("inf"):
            return None
        low, usual, high = electrical.LOAD_EXPONENTS
        apart = _widened(difference(member.reading, one.reading), member.placed, one.placed)
        value = propagated(
            _left(ratio),
            "K",
            f"minus the twin's rise brought to this load, exponent {low:g} to {high:g}",
            difference=apart,
            rise=one.rise,
            exponent=Quantity.between(low, high, "1", usual),
        )
        if value is None:
            return None
        found.append((value, one.region.name))
    found.sort(key=lambda pair: (pair[0].value, pair[1]))
    return found[len(found) // 2]


def _left(ratio: float) -> Callable[[float, float, float], float]:
    def left(difference: float, rise: float, exponent: float) -> float:
        return difference - (float(electrical.rise_at_load(1.0, 1.0, ratio, exponent)) - 1.0) * rise

    return left
