"""A breaker that is warm without load: electronics in it, heat from a neighbour, or something to have looked at."""

from __future__ import annotations

from heatbrief.detect import Case, Criterion, conclude, number
from heatbrief.model import Finding, Rival
from heatbrief.model.finding import RivalStatus

from heatbrief_electrical import rivals
from heatbrief_electrical.circuit import Circuit
from heatbrief_electrical.parts import ELECTRONICS, air_near, cautions_for, is_outdoors, known

ELECTRONIC = "electronics in the breaker (arc-fault or ground-fault protection, a trip unit)"
NOT_IDLE = "a load that was there after all"
EXPLAINED = {
    "electronics": "idle; warm by its electronics, as stated",
    "neighbour": "idle; warmed by the parts beside it",
    "refer": "idle but warm; has a page of its own",
}


def idle_state(case: Case, circuit: Circuit) -> str:
    """Why an idle breaker is warm: "electronics", "neighbour", "refer", or "" when it is not idle and warm, bounds
    included.
    """
    rise = circuit.member.rise
    if not circuit.idle or rise is None or rise.low <= rivals.ORDINARY_K:
        return ""
    if case.yes(ELECTRONICS.name):
        return "electronics"
    neighbour = rivals.neighbour_heat(case)
    return "neighbour" if neighbour is not None and neighbour.status == "not ruled out" else "refer"


def idle_finding(case: Case, circuit: Circuit) -> Finding:
    """An idle breaker that no warmer part beside it and no stated electronics explain."""
    context, region, rise = case.context, circuit.member.region, circuit.member.rise
    outside = ("wind", "sun") if is_outdoors(context, region) else ()
    return conclude(
        case,
        title=f"{circuit.name}: warm without load",
        summary=f"{circuit.name} is {number(rise.value, 'K') if rise else ''} over the air with about no load "
        "recorded. Many breakers with electronics are warm all the time, which is ordinary; otherwise the pattern is "
        "consistent with a load that was not recorded or with heat from inside the panel.",
        criterion=Criterion(
            rivals.ORDINARY_K, because="an idle breaker is about as warm as the panel around it (common practice)"
        ),
        contrast=rise,
        gates=("spot", "emissivity", *outside),
        rivals=("reflection", rivals.neighbour_heat, electronics, load_read),
        strong=("reflection", rivals.NEIGHBOUR, ELECTRONIC),
        severity="safety",
        at_most="plan",
        actions=("electrical.identify-breaker",),
        cautions=cautions_for(context, region),
        sources=("astm-e1934-patterns",),
        measured=known(rise_over_air=rise, air_temperature=air_near(context, region)),
        shares=f"{case.subject.id}:{circuit.name}",
        next_time=("Give the words on the breaker's label (`electronics: yes` or `no`).",),
    )


def electronics(case: Case) -> Rival:
    """Whether the breaker's label names electronics."""
    stated = case.yes(ELECTRONICS.name)
    if stated is False:
        return Rival(ELECTRONIC, "ruled out", "its label names none, as stated")
    return Rival(
        ELECTRONIC,
        "not ruled out",
        "it is not stated what kind of breaker it is; those with electronics are warm all the time",
    )


def load_read(case: Case) -> Rival:
    """Whether the load was held for long enough to have cooled down."""
    held = case.number("load held")
    if held is None:
        return Rival(
            NOT_IDLE,
            "not testable",
            "it is not known for how long it had been idle",
            "for how long the load had been the same (`load held`)",
        )
    status: RivalStatus = "ruled out" if held >= rivals.HELD_MINUTES else "not ruled out"
    return Rival(
        NOT_IDLE,
        status,
        f"the load had been about the same for {held:.0f} min; {rivals.HELD_MINUTES:.0f} min are asked",
    )
