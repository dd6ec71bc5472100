"""One circuit of a panel: its rise at full load, the rise its load allows, and its twin."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from heatbrief.api import propagated
from heatbrief.model import Quantity
from heatbrief.physics import electrical

from heatbrief_electrical import classes, rivals
from heatbrief_electrical.compared import LIKE_LOAD, Member, compare

LEAST_RISE_K = 3.0
"""Smaller rises are not referred to full load: the noise would be multiplied (common practice, own choice)."""


@dataclass(frozen=True)
class Circuit:
    """One breaker: its rise brought to full load [K], what its load allows [K] (None when the load does not let it be judged).

    twin_difference   its difference from a twin of like load [K], or None without one
    """

    member: Member
    full: Quantity | None
    allowed: Quantity | None
    twin_difference: float | None

    @property
    def name(self) -> str:
        """The owner's name of the circuit."""
        return self.member.region.name

    @property
    def beside_twin(self) -> bool:
        """Whether the comparison of twins reports it."""
        return self.twin_difference is not None and self.twin_difference > rivals.ORDINARY_K

    @property
    def use(self) -> float:
        """Rise over what the load allows."""
        rise = self.member.rise
        return rise.value / self.allowed.value if rise is not None and self.allowed is not None else 0.0


def circuit_of(member: Member, members: tuple[Member, ...], rated_rise: float) -> Circuit:
    """A breaker with its rise at full load and what its load allows; twins are those of its group at like load."""
    share = member.load.share
    twins = [one for one in members if one is not member and member.region.group and one.region.group == member.region.group and _alike(member, one)]
    twin = compare((member, *twins))[0].difference.value if twins else None
    if electrical.load_gate(share) not in ("classed", "low load") or share is None:
        return Circuit(member, None, None, twin)
    low, usual, high = electrical.LOAD_EXPONENTS
    allowed = propagated(
        _allowed(rated_rise, share),
        "K",
        f"rated rise times load share to the power of {low:g} to {high:g}",
        exponent=Quantity.between(low, high, "1", usual),
    )
    rise = member.rise
    return Circuit(member, classes.at_full_load(rise, share) if rise is not None and rise.value >= LEAST_RISE_K else None, allowed, twin)


def _alike(first: Member, second: Member) -> bool:
    own, other = first.load.share, second.load.share
    return own is not None and other is not None and other > 0 and abs(own / other - 1) <= LIKE_LOAD


def _allowed(rated_rise: float, share: float):
    return lambda exponent: float(electrical.allowed_temperature(0.0, rated_rise, share, exponent))


def ranking(circuits: tuple[Circuit, ...]) -> tuple[Circuit, ...]:
    """Circuits with 40 % load and 3 K rise or more, the largest rise at full load first."""
    found = [one for one in circuits if one.full is not None]
    return tuple(sorted(found, key=lambda one: (-one.full.value, one.name)))  # type: ignore[union-attr]


def usual_rise(ranked: tuple[Circuit, ...]) -> float | None:
    """Median rise at full load [K] of the ranked circuits; None for fewer than three, where nothing is usual."""
    values = [one.full.value for one in ranked if one.full is not None]
    return float(np.median(values)) if len(values) >= 3 else None
