"""One circuit of a panel: its rise at full load, the rise its load allows, and its twin."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from heatbrief.api import Context
from heatbrief.detect import Case
from heatbrief.model import Quantity, Thermogram
from heatbrief.physics import electrical

from heatbrief_electrical import classes, limits, rivals
from heatbrief_electrical.compared import LIKE_LOAD, Member, compare
from heatbrief_electrical.parts import DOMAIN, air_near
from heatbrief_electrical.reference import Reference, is_idle, over

LEAST_RISE_K = 3.0
"""Smaller rises are not referred to full load: the noise would be multiplied (common practice, own choice)."""


@dataclass(frozen=True)
class Circuit:
    """One breaker, with its rise held against the limit of its terminals or insulation (None where the load forbids
    it).

    twin_difference   its difference from a twin of like load [K], or None without one
    above             warmth over the panel's reference (its idle breakers, or the air) [K], which the ranking goes by
    full              the same at full load, for 40 % load and a rise of 3 K or more, else None
    """

    member: Member
    held: limits.Held | None
    twin_difference: float | None
    above: Quantity | None
    full: Quantity | None

    @property
    def name(self) -> str:
        """The owner's name of the circuit."""
        return self.member.region.name

    @property
    def idle(self) -> bool:
        """Whether its recorded load is about nothing."""
        return is_idle(self.member.load.share)

    @property
    def beside_twin(self) -> bool:
        """Whether the comparison of twins reports it."""
        return self.twin_difference is not None and self.twin_difference > rivals.ORDINARY_K

    @property
    def use(self) -> float:
        """Rise over what the load allows."""
        return self.held.rise.value / self.held.allowed.value if self.held is not None else 0.0


def circuit_of(
    member: Member, members: tuple[Member, ...], default: limits.Limit, reference: Reference | None, context: Context
) -> Circuit:
    """A breaker with its rise at full load and what its load allows; twins are those of its group at like load."""
    own = member.region.group
    twins = [one for one in members if one is not member and own and one.region.group == own and _alike(member, one)]
    twin = compare((member, *twins))[0].difference.value if twins else None
    limit = limits.limit_for(member.region, context, air_near(context, member.region), default)
    above, share = over(member, reference), member.load.share
    ranked = (
        above is not None and above.value >= LEAST_RISE_K and electrical.load_gate(share) in ("classed", "low load")
    )
    full = classes.at_full_load(above, share) if ranked and above is not None and share is not None else None
    return Circuit(member, limits.held(member.rise, share, limit), twin, above, full)


def _alike(first: Member, second: Member) -> bool:
    own, other = first.load.share, second.load.share
    return own is not None and other is not None and other > 0 and abs(own / other - 1) <= LIKE_LOAD


def ranking(circuits: tuple[Circuit, ...]) -> tuple[Circuit, ...]:
    """Circuits with 40 % load and 3 K rise or more, the largest rise at full load first."""
    found = [(-one.full.value, one.name, one) for one in circuits if one.full is not None]
    return tuple(one for _, _, one in sorted(found, key=lambda each: each[:2]))


def usual_rise(ranked: tuple[Circuit, ...]) -> float | None:
    """Median rise at full load [K] of the ranked circuits; None for fewer than three, where nothing is usual."""
    values = [one.full.value for one in ranked if one.full is not None]
    return float(np.median(values)) if len(values) >= 3 else None


def case_of(subject: Thermogram, context: Context, circuit: Circuit, check: str, tag: str) -> Case:
    """The case of a finding about one circuit."""
    return Case(
        check=check,
        domain=DOMAIN,
        subject=subject,
        context=context,
        region=circuit.member.region,
        reading=circuit.member.reading,
        purpose="electrical",
        tag=tag,
    )
