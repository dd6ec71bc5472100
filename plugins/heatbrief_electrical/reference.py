"""What the breakers of a panel are compared with for the ranking: its idle breakers, a fit over all, or the air."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from heatbrief.detect import Reading, difference
from heatbrief.model import Quantity
from heatbrief.model.quantity import NORMAL_95
from heatbrief.physics.electrical import LOAD_EXPONENTS

from heatbrief_electrical.compared import Member

IDLE_SHARE = 0.05
"""Up to this share of its rating a circuit counts as idle: it makes less than 1 % of its rated heat."""
FEWEST, WIDEST = 5, 1.8
"""A fit needs so many circuits, and loads of which the largest is this many times the smallest. Own choice."""


@dataclass(frozen=True)
class Reference:
    """Where a breaker without load would stand in this panel.

    reading   an idle breaker, so that errors of the whole picture cancel; else None
    kelvin    of the fit or the idle breakers; standard: its standard uncertainty apart from errors of the whole picture [K]
    said      in words
    """

    reading: Reading | None
    kelvin: float
    standard: float
    said: str


def is_idle(share: float | None) -> bool:
    """Whether a recorded load is about nothing."""
    return share is not None and share < IDLE_SHARE


def reference_of(members: tuple[Member, ...]) -> Reference | None:
    """Idle breakers of the panel; without them the level to which rises fall with the load; None when neither is there.

    A panel warms all its breakers, and the camera's own error is the same for all: both go into the reference.
    """
    idle = sorted((one for one in members if is_idle(one.load.share)), key=lambda one: one.reading.values["mean"])
    if idle:
        middle = idle[(len(idle) - 1) // 2].reading
        spread = float(np.std([one.reading.values["mean"] for one in idle])) if len(idle) > 1 else 0.3
        return Reference(middle, middle.values["mean"], max(spread, 0.3), "the idle breakers of the panel")
    return _fit(members)


def _fit(members: tuple[Member, ...]) -> Reference | None:
    """Median of pairwise slopes of temperature against load share to the power of 1.8, so that one bad contact does not lead it."""
    known = [(one.load.share, one.reading.values["mean"]) for one in members if one.load.share]
    shares = [share for share, _ in known]
    if len(known) < FEWEST or max(shares) < WIDEST * min(shares):
        return None
    heat = np.array(shares) ** LOAD_EXPONENTS[1]
    warm = np.array([value for _, value in known])
    slopes = [
        (warm[a] - warm[b]) / (heat[a] - heat[b])
        for a, b in combinations(range(len(heat)), 2)
        if abs(heat[a] - heat[b]) > 0.05
    ]
    if not slopes or np.median(slopes) <= 0:
        return None
    levels = warm - float(np.median(slopes)) * heat
    scatter = 1.4826 * float(np.median(np.abs(levels - np.median(levels))))
    standard = max(0.3, scatter * 2.0 / math.sqrt(len(known)))
    return Reference(
        None, float(np.median(levels)), standard, "the level to which the panel's circuits fall with their load"
    )


def over(member: Member, reference: Reference | None) -> Quantity | None:
    """Warmth of a breaker over the reference [K], else its rise over the air, else None."""
    if reference is None:
        return member.rise
    if reference.reading is not None:
        plain = difference(member.reading, reference.reading)
        if plain.unit != "K":
            return None
    else:
        plain = Quantity.normal(member.reading.values["mean"] - reference.kelvin, "K", member.reading.standards["mean"])
    more = NORMAL_95 * math.hypot(reference.standard, member.placed)
    half = math.hypot(plain.half_width, more)
    return Quantity(
        plain.value, "K", plain.value - half, plain.value + half, 0.95, f"mean of the region over {reference.said}"
    )
