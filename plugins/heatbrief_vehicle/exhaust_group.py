"""A bank of exhaust runners as a whole: its settings and readings, and what is said when none or half of them stand
out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from heatbrief.api import Context, setting
from heatbrief.detect import Criterion, Reading, conclude, figure, number, twins
from heatbrief.model import Finding, Gate, Quantity, Region, Thermogram
from heatbrief.model.quantity import NORMAL_95
from heatbrief.physics.robust import mad_sigma
from heatbrief.physics.small_groups import GroupComparison, modified_z_limit

from heatbrief_vehicle.parts import DOMAIN
from heatbrief_vehicle.runner_gates import count_gate, start_gate
from heatbrief_vehicle.runners import SCATTER, RunnerCase, by_design, scatter_of

NAME = "vehicle.exhaust"
SOURCES = ("runner-practice", "small-group-simulation", "mixture-peak")
CAUTIONS = ("vehicle.running-engine", "vehicle.rotating-parts", "vehicle.hot-surfaces")
BECAUSE = "up to about 28 K between runners is ordinary at idle (common practice)"


@dataclass(frozen=True)
class Settings:
    """From when a runner counts as different."""

    least: float = setting(
        28.0,
        unit="K",
        positive=True,
        help="least difference from the other runners; up to about 28 K is ordinary at idle (common practice)",
        example="28 K",
    )


@dataclass(frozen=True)
class Runner:
    """A runner as read, with its place in the row from left to right."""

    region: Region
    reading: Reading
    place: float


def against_rest(runners: Sequence[Runner], group: GroupComparison, place: int) -> tuple[Quantity, float]:
    """Difference [K] of one runner from the median of those that do not stand out, and that median [K, absolute].

    Its bounds hold the errors of the picture and the scatter of those others, which a sound runner would share.
    """
    rest = [one for number_of, one in enumerate(runners) if number_of != place and not group.flagged[number_of]]
    own, values = runners[place], [one.reading.values["mean"] for one in rest]
    found = twins([own.reading, *(one.reading for one in rest)])[0].difference
    half = math.hypot(found.half_width, NORMAL_95 * mad_sigma(values))
    return Quantity(
        found.value,
        "K",
        found.value - half,
        found.value + half,
        found.coverage,
        "minus the median of the others, their scatter in the bounds",
    ), float(np.median(values))


def no_majority(
    subject: Thermogram,
    settings: Settings,
    context: Context,
    name: str,
    runners: Sequence[Runner],
    group: GroupComparison,
) -> Finding:
    """The finding that the group is split, so that nobody can say which runners differ: the coolest against the hottest."""
    values = [one.reading.values["mean"] for one in runners]
    lowest, highest = runners[int(np.argmin(values))], runners[int(np.argmax(values))]
    spread = twins([lowest.reading, highest.reading])[0].difference
    gate = Gate(
        "a majority to compare with",
        False,
        f"asked: more than half of the runners alike within {settings.least:g} K; given: fewer",
        "small-group-simulation",
        "Compare with readings of the maker, or have the cylinders tested one by one.",
    )
    case = RunnerCase(
        check=NAME,
        domain=DOMAIN,
        subject=subject,
        context=context,
        region=lowest.region,
        reading=lowest.reading,
        purpose="vehicle",
        tag="spread",
        difference=spread,
    )
    return conclude(
        case,
        title=f"{name}: no majority to compare with",
        summary=f"The runners differ by up to {number(abs(spread.value), 'K')} and half or more stand apart from "
        "the rest, so it cannot be said which ones differ.",
        criterion=Criterion(settings.least, because=BECAUSE, sources=("runner-practice",)),
        gates=(gate, start_gate(lowest.region, context)),
        rivals=(by_design,),
        strong=(),
        severity="damage",
        actions=("vehicle.read-counters",),
        cautions=CAUTIONS,
        sources=SOURCES,
        shares=f"{subject.id}:{name}",
    )


def alike(
    subject: Thermogram,
    settings: Settings,
    context: Context,
    name: str,
    runners: Sequence[Runner],
    group: GroupComparison,
) -> Finding:
    """No runner stands out: normal when the largest difference is below the limit with its bounds."""
    place = int(np.argmax(np.abs(group.deviation)))
    difference, usual = against_rest(runners, group, place)
    limit = modified_z_limit(len(runners)) if len(runners) > 3 else None
    case = RunnerCase(
        check=NAME,
        domain=DOMAIN,
        subject=subject,
        context=context,
        region=runners[place].region,
        reading=runners[place].reading,
        purpose="vehicle",
        tag="group",
        difference=difference,
        usual=usual,
        at_end=place in (0, len(runners) - 1),
    )
    beyond = abs(difference.value) >= settings.least
    why = (
        "; beyond the usual spread, but the others scatter too much to name it (limit of the modified z: "
        f"{figure(limit)})"
        if beyond and limit
        else ""
    )
    return conclude(
        case,
        title=f"{name}: {'scattered' if beyond else 'alike'}",
        summary=f"The runner that differs most, {runners[place].region.name}, is "
        f"{number(abs(difference.value), 'K')} from the median of the others{why}. "
        + (
            "A second picture soon after a cold start would tell."
            if beyond
            else "Differences of up to about 28 K are ordinary at idle."
        ),
        criterion=Criterion(settings.least, because=BECAUSE, sources=("runner-practice",)),
        gates=(
            start_gate(runners[place].region, context),
            count_gate(len(runners), settings.least),
            "spot",
            "emissivity",
        ),
        rivals=(by_design, scatter_of(group, place, limit)),
        strong=(SCATTER,),
        severity="damage",
        at_most="watch",
        actions=("vehicle.repeat-cold-start",),
        cautions=CAUTIONS,
        sources=SOURCES,
        shares=f"{subject.id}:{name}",
    )
