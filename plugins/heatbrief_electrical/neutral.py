"""A neutral against its three phases: what its current explains of its warmth, and what the rest suggests."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from heatbrief.api import Context, propagated
from heatbrief.detect import Case, Criterion, conclude, figure, number
from heatbrief.model import Finding, Quantity, Rival, Thermogram
from heatbrief.physics import electrical

from heatbrief_electrical import rivals
from heatbrief_electrical.calculators import exponent_range, neutral_current, unbalance
from heatbrief_electrical.compared import LIKE_LOAD, Member
from heatbrief_electrical.parts import DOMAIN, air_near, cautions_for, gates_for, known

HARMONICS = "third harmonics, or a neutral that other circuits share"
LOOSE = "a poor contact in the neutral itself"


def current_unbalance(phases: tuple[Member, ...]) -> Quantity | None:
    """Unbalance of the currents of the phases; None when one is not given."""
    amps = [one.load.amps for one in phases if one.load.amps is not None]
    return None if len(amps) < len(phases) else unbalance(amps)


@dataclass(frozen=True)
class Neutral:
    """A neutral against its phases: the rise its vector-sum current explains, what is left over it [K], and what that
    suggests.

    current   neutral current that its warmth suggests if its contact is sound [A]; third: share of third harmonics in
              that
    """

    explained: Quantity
    excess: Quantity
    current: Quantity | None
    third: Quantity | None


def neutral_of(neutral: Member, phases: tuple[Member, ...]) -> Neutral | None:
    """None without the rises, or without the three currents.

    Rise and current go together as in the phases (the neutral as thick as they are), exponent 1.6 to 2.0.
    """
    amps = [one.load.amps for one in phases if one.load.amps]
    rises = [one.rise for one in phases if one.rise is not None and one.rise.value > 0]
    if neutral.rise is None or len(amps) < len(phases) or len(rises) < len(phases):
        return None
    rise, current = sorted(zip(rises, amps, strict=True), key=lambda pair: pair[0].value)[1]
    vector = neutral.load.amps or float(electrical.neutral_current(amps[0], amps[1], amps[2]))
    inputs = {"rise": rise, "exponent": exponent_range()}
    explained = propagated(
        lambda rise, exponent: rise * (vector / current) ** exponent, "K", "rise that its current explains", **inputs
    )
    excess = propagated(
        lambda own, rise, exponent: own - rise * (vector / current) ** exponent,
        "K",
        "rise beyond what its current explains",
        own=neutral.rise,
        **inputs,
    )
    if explained is None or excess is None:
        return None
    total = neutral_current(amps[0], amps[1], amps[2])
    suggested = propagated(
        lambda own, rise, exponent: current * (max(own, 0.0) / rise) ** (1 / exponent),
        "A",
        "current that its warmth suggests",
        own=neutral.rise,
        **inputs,
    )
    third = None
    if suggested is not None and total is not None:
        third = propagated(
            lambda suggested: (max(suggested**2 - total.value**2, 0.0) ** 0.5) / sum(amps),
            "1",
            "third harmonics that would make this current, as a share of the phase currents",
            suggested=suggested,
        )
    return Neutral(explained, excess, suggested, third)


def neutral_finding(
    subject: Thermogram, least: float, context: Context, neutral: Member, phases: tuple[Member, ...], check: str
) -> Finding | None:
    """A neutral that is warmer than the unbalance of its phases explains, by `least` [K] or more; else None."""
    found, off = neutral_of(neutral, phases), current_unbalance(phases)
    if found is None or found.excess.value < least:
        return None
    region, given = neutral.region, neutral.load.amps is not None
    cause = LOOSE if given else HARMONICS
    said = "its recorded current" if given else "the vector sum of the phase currents"
    suggested = "" if found.current is None or given else f" Its warmth suggests about {figure(found.current.value)} A."
    balanced = " The phases are about balanced." if off is not None and off.value <= LIKE_LOAD else ""
    case = Case(check, DOMAIN, subject, context, region, None, neutral.reading, "electrical", "default", "neutral")
    return conclude(
        case,
        title=f"{region.name}: warmer than its current explains"
        if given
        else f"{region.name}: warm while the phases leave it little current",
        summary=f"{region.name} is {number(neutral.rise.value if neutral.rise else 0.0, 'K')} over the air; {said} "
        f"explains about {number(max(found.explained.value, 0.0), 'K')}.{balanced}{suggested} The pattern is "
        f"consistent with {cause}. Have its current measured.",
        criterion=Criterion(
            least,
            because="smaller differences come from the exponent of rise against current",
            sources=("ohm-joule", "load-exponent"),
        ),
        contrast=found.excess,
        gates=gates_for(context, region, load=False),
        rivals=("reflection", rivals.neighbour_heat, _other_cause(given)),
        strong=("reflection", rivals.NEIGHBOUR),
        severity="safety",
        at_most="soon",
        actions=("electrical.measure-neutral",),
        cautions=cautions_for(context, region),
        sources=("astm-e1934-patterns",),
        measured=known(
            rise_over_air=neutral.rise,
            rise_its_current_explains=found.explained,
            current_that_its_warmth_suggests=None if given else found.current,
            third_harmonic_that_would_make_it=None if given else found.third,
            current_unbalance=off,
            air_temperature=air_near(context, region),
        ),
        shares=f"{subject.id}:{region.name}",
    )


def _other_cause(given: bool) -> Callable[[Case], Rival]:
    """The cause that the neutral's own current would tell from the one named."""

    def other(case: Case) -> Rival:
        if given:
            return Rival(HARMONICS, "ruled out", "its current was recorded and explains less than is seen")
        return Rival(
            LOOSE,
            "not testable",
            "the current of the neutral is not given",
            "the neutral's current (`load`), read by a licensed person",
        )

    other.__name__ = "other cause"
    return other
