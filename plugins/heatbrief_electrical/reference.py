"""What the ranking of a panel counts from: its idle breakers, else the air beside it and a fit over all circuits."""

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
INSIDE_K = 1.0
"""Standard uncertainty of how much warmer than the air a panel is inside. Own choice."""
LOOSEST_K = 3.0
"""A fit alone that is less sure than this is no reference. Own choice."""
FEWEST, WIDEST = 5, 1.8
"""A fit needs so many circuits, and loads of which the largest is this many times the smallest. Own choice."""


@dataclass(frozen=True)
class Reference:
    """Where a breaker without load would stand in this panel.

    reading   an idle breaker, so that errors of the whole picture cancel; else None
    kelvin    of the fit or the idle breakers; standard: its standard uncertainty apart from errors of the whole picture
              [K]
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
    """Idle breakers of the panel; else the air beside it weighed with the level to which rises fall with the load; None
    for neither.

    A panel warms all its breakers, and the camera's own error is the same for all: both go into the reference.
    """
    idle = sorted((one for one in members if is_idle(one.load.share)), key=lambda one: one.reading.values["mean"])
    if idle:
        middle = idle[(len(idle) - 1) // 2].reading
        spread = float(np.std([one.reading.values["mean"] for one in idle])) if len(idle) > 1 else 0.3
        return Reference(middle, middle.values["mean"], max(spread, 0.3), "the idle breakers of the panel")
    found = [one for one in (_air(members), _fit(members)) if one is not None]
    if not found or (len(found) == 1 and found[0][1] > LOOSEST_K):
        return None
    weights = np.array([1.0 / standard**2 for _, standard in found])
    level = float(np.average([value for value, _ in found], weights=weights))
    said = (
        "the air beside the panel"
        if len(found) == 1
        else "the air beside the panel, weighed with the fall of all circuits with load"
    )
    return Reference(None, level, float(weights.sum() ** -0.5), said)


def _air(members: tuple[Member, ...]) -> tuple[float, float] | None:
    """(level [K] as this camera reads it, standard uncertainty) of the air, from the rises over it."""
    known = [
        (one.reading.values["mean"] - one.rise.value, one.rise.half_width / NORMAL_95)
        for one in members
        if one.rise is not None
    ]
    if not known:
        return None
    level = float(np.median([value for value, _ in known]))
    return level, math.hypot(float(np.median([standard for _, standard in known])), INSIDE_K)


def _fit(members: tuple[Member, ...]) -> tuple[float, float] | None:
    """The same from the median of pairwise slopes of temperature against load share to the power of 1.8, so that one
    bad
    contact does not lead it. The uncertainty is that of the intercept of a straight line with the scatter seen.
    """
    known = [(one.load.share, one.reading.values["mean"]) for one in members if one.load.share]
    shares = [share for share, _ in known]
    if len(known) < FEWEST or max(shares) < WIDEST * min(shares):
        return None
    heat, warm = np.array(shares) ** LOAD_EXPONENTS[1], np.array([value for _, value in known])
    slopes = [
        (warm[a] - warm[b]) / (heat[a] - heat[b])
        for a, b in combinations(range(len(heat)), 2)
        if abs(heat[a] - heat[b]) > 0.05
    ]
    if not slopes or np.median(slopes) <= 0:
        return None
    levels = warm - float(np.median(slopes)) * heat
    level = float(np.median(levels))
    scatter = max(1.4826 * float(np.median(np.abs(levels - level))), 0.3)
    spread = float(np.sum((heat - heat.mean()) ** 2))
    return level, scatter * math.sqrt(1.0 / len(known) + float(heat.mean()) ** 2 / spread)


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
