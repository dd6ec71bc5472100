"""Runners over a sequence after a cold start: in which order they warm, and which one lags."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from heatbrief.api import Context, Step, StepError, StepOutput, setting
from heatbrief.detect import Case, Criterion, conclude, difference, number, seconds_of
from heatbrief.model import Finding, Gate, Quantity, Thermogram
from heatbrief.model.quantity import NORMAL_95
from heatbrief.physics.robust import mad_sigma

from heatbrief_vehicle.exhaust_group import CAUTIONS, SOURCES
from heatbrief_vehicle.few import compare_few
from heatbrief_vehicle.parts import (
    DOMAIN,
    READS,
    SHIELDED,
    SURFACE_FACTS,
    Part,
    in_order,
    known,
    of_picture,
    parts_of,
    yes,
)
from heatbrief_vehicle.runner_gates import count_gate
from heatbrief_vehicle.runners import RUNNERS, by_design, reading_of

NAME = "vehicle.cold_start"
ALIKE_K = 15.0
"""Runners of a cold engine lie within this of each other (own choice)."""


@dataclass(frozen=True)
class Settings:
    """From when a runner lags."""

    least: float = setting(
        28.0,
        unit="K",
        positive=True,
        help="least difference in rise from the other runners (common practice)",
        example="28 K",
    )


@dataclass(frozen=True)
class Rise:
    """One runner over the sequence: rise from first to last picture [K], and when it had half the usual rise [s]."""

    last: Part
    change: Quantity
    first_kelvin: float
    half_time: float


def run(subject: Sequence[Thermogram], settings: Settings, context: Context) -> StepOutput:
    """Compare how far, and in which order, the runners of a sequence rise."""
    subject = in_order(subject)
    seconds = seconds_of(subject)
    notes: list[str] = []
    table = _curves(subject, context, notes)
    if len(table) < 3:
        return StepOutput(
            notes=(*notes, f"{subject[0].id}: {len(table)} runners in every picture; it takes three.")[-4:]
        )
    if len(subject) < 3:
        raise StepError(
            "sequence-too-short", "an order of warming needs three pictures or more", "Take one every 15 s."
        )
    rises = _rises(table, seconds)
    group = compare_few([one.change.value for one in rises], settings.least)
    if group.status == "no majority":
        note = "half or more of the runners rise unlike the rest; none can be named."
        return StepOutput(notes=(*notes, f"{subject[-1].id}: {note}"))
    odd = [place for place, flag in enumerate(group.flagged) if flag] or [int(np.argmax(np.abs(group.deviation)))]
    findings = (_finding(rises, group.flagged, place, settings, context) for place in odd)
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def _curves(subject: Sequence[Thermogram], context: Context, notes: list[str]) -> dict[str, list[Part]]:
    """Parts by name, for those bare ones that are in every picture."""
    table: dict[str, list[Part]] = {}
    for picture in subject:
        own = of_picture(context, picture)
        for part in parts_of(picture, own, RUNNERS, notes):
            if yes("shielded", part.region, own):
                notes.append(f"{picture.id}, {part.region.name}: behind a shield, left out of the comparison.")
            else:
                table.setdefault(part.region.name, []).append(part)
    return {name: table[name] for name in sorted(table) if len(table[name]) == len(subject)}


def _rises(table: dict[str, list[Part]], seconds: np.ndarray) -> list[Rise]:
    changes = {name: difference(parts[-1].reading, parts[0].reading) for name, parts in table.items()}
    half = 0.5 * float(np.median([one.value for one in changes.values()]))
    return [
        Rise(
            parts[-1],
            changes[name],
            parts[0].kelvin,
            reached(seconds, [one.kelvin - parts[0].kelvin for one in parts], half),
        )
        for name, parts in table.items()
    ]


def reached(seconds: np.ndarray, rise: Sequence[float], wanted: float) -> float:
    """When a rise first reaches a value, between readings along a straight line [s]; infinite when it does not."""
    high = np.maximum.accumulate(np.asarray(rise, float))
    if wanted <= 0.0 or high[-1] < wanted:
        return float("inf")
    place = int(np.argmax(high >= wanted))
    if place == 0:
        return float(seconds[0])
    step = (wanted - high[place - 1]) / (high[place] - high[place - 1])
    return float(seconds[place - 1] + step * (seconds[place] - seconds[place - 1]))


def order_of(rises: Sequence[Rise]) -> str:
    """Names with the time at which each had half of the usual rise, earliest first."""
    ordered = sorted(rises, key=lambda one: (one.half_time, one.last.region.name))
    return ", ".join(
        f"{one.last.region.name} ({'not reached' if np.isinf(one.half_time) else number(round(one.half_time), 's')})"
        for one in ordered
    )


def _finding(rises: Sequence[Rise], flagged: np.ndarray, place: int, settings: Settings, context: Context) -> Finding:
    rise, named = rises[place], bool(flagged[place])
    own = of_picture(context, rise.last.subject)
    rest = [one.change for number_of, one in enumerate(rises) if number_of != place and not flagged[number_of]]
    usual = float(np.median([one.value for one in rest]))
    half = float(np.hypot(rise.change.half_width, NORMAL_95 * mad_sigma([one.value for one in rest])))
    apart = rise.change.value - usual
    spread = float(np.ptp([one.first_kelvin for one in rises]))
    cold = Gate(
        "cold at the first picture",
        spread <= ALIKE_K,
        f"asked: runners within {ALIKE_K:g} K of each other before the start; given: {number(spread, 'K')}",
        "runner-practice",
        "" if spread <= ALIKE_K else "Take the first picture before the engine is started from cold.",
    )
    case = Case(
        NAME, DOMAIN, rise.last.subject, own, rise.last.region, reading=rise.last.reading, purpose="vehicle", tag="rise"
    )
    name = rise.last.region.name
    return conclude(
        case,
        title=f"{name}: {'lags' if apart < 0 else 'leads'} the others" if named else "Runners warm alike",
        summary=f"Half of the usual rise was reached in this order: {order_of(rises)}. {name} rose "
        f"{number(abs(apart), 'K')} "
        f"{'less' if apart < 0 else 'more'} than the median of the others. "
        + (reading_of(apart < 0) if named else "Differences of up to about 28 K are ordinary."),
        criterion=Criterion(
            settings.least, because="up to about 28 K is ordinary (common practice)", sources=SOURCES[:1]
        ),
        contrast=Quantity(apart, "K", apart - half, apart + half, 0.95, "rise minus the median rise of the others"),
        gates=(cold, count_gate(len(rises), settings.least), "spot", "emissivity"),
        rivals=("reflection", by_design),
        strong=("reflection",),
        severity="damage",
        at_most="now" if named else "watch",
        actions=("vehicle.read-counters", "vehicle.check-cylinder") if named else (),
        cautions=CAUTIONS,
        sources=SOURCES,
        measured=known(rise=rise.change),
        shares=f"{rise.last.subject.id}:{name}",
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    scope="sequence",
    shows=RUNNERS,
    facts=(SHIELDED, *SURFACE_FACTS),
    summary="Order in which exhaust runners warm after a cold start, and which one lags.",
    reads=READS,
    cautions=CAUTIONS,
    sources=SOURCES,
    title="exhaust after a cold start",
)
