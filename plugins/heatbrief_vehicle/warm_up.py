"""Warm-up of an engine over a sequence: time constant, when the thermostat opened, and whether it stays open or
shut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from heatbrief.api import Context, FactSpec, Step, StepError, StepOutput, setting
from heatbrief.detect import Case, Criterion, conclude, number, seconds_of
from heatbrief.model import Finding, Gate, Quantity, Rival, Thermogram
from heatbrief.physics.planck import ZERO_CELSIUS_K

from heatbrief_vehicle.parts import DOMAIN, READS, SURFACE_FACTS, Part, amount, in_order, known, of_picture, parts_of
from heatbrief_vehicle.thermostat import FULL_C, START_C, WarmUp, outside_the_range, warm_up

NAME = "vehicle.warm_up"
ENGINE = ("thermostat housing", "engine block", "cylinder head", "engine outlet hose")
RADIATOR = ("radiator inlet", "radiator hose", "radiator tank", "engine radiator")
START = FactSpec(
    "thermostat_start", "temperature at which the thermostat starts to open", unit="degC", example="82 degC"
)
FULL = FactSpec("thermostat_full", "temperature at which the thermostat is wide open", unit="degC", example="95 degC")
CAUTIONS = ("vehicle.running-engine", "vehicle.rotating-parts", "vehicle.coolant", "vehicle.hot-surfaces")
SOURCES = ("thermostat-manuals", "first-order")
ELSEWHERE = "a thermostat at the radiator's outlet, a map-controlled one, or an electric pump"
SAYS = {
    "opened": "The radiator side followed at {at}: as the thermostat's figures say.",
    "opened early": "The radiator side followed at {at}, earlier than the figures say: consistent with a "
    "thermostat that opens early or leaks.",
    "opened late": "The radiator side followed only at {at}: consistent with a thermostat that opens late.",
    "from the start": "The radiator side rose from the start together with the engine: consistent with a "
    "thermostat stuck open.",
    "stayed shut": "The engine side reached {top} and the radiator side stayed cold: consistent with a thermostat "
    "stuck shut, "
    "a pump that moves nothing, or air in the system. Stop the engine before the needle climbs.",
    "not warm yet": "The engine side reached {top} and the radiator side stayed cold, as it should before the "
    "thermostat opens.",
    "no radiator side": "Only the engine side was in the pictures, so nothing can be said about the thermostat.",
}


@dataclass(frozen=True)
class Settings:
    """From when an opening counts as off."""

    least: float = setting(
        5.0, unit="K", positive=True, help="how far outside the thermostat's figures is looked at", example="5 K"
    )


def run(subject: Sequence[Thermogram], settings: Settings, context: Context) -> StepOutput:
    """One finding for the warm-up of a sequence that shows an engine side."""
    notes: list[str] = []
    subject = in_order(subject)
    seconds = seconds_of(subject)
    series = {kind: _series(subject, context, words, notes) for kind, words in (("engine", ENGINE), ("rad", RADIATOR))}
    if len(series["engine"]) != len(subject):
        notes.append(f"{subject[-1].id}: the engine side has to be a region in every picture of the sequence.")
        return StepOutput(notes=tuple(notes))
    if len(subject) < 4:
        raise StepError("sequence-too-short", "a warm-up needs four pictures or more", "Take one every two minutes.")
    engine = series["engine"]
    last = engine[-1]
    own = of_picture(context, last.subject)
    start = amount("thermostat_start", last.region, own) or START_C
    full = amount("thermostat_full", last.region, own) or FULL_C
    radiator = _celsius(series["rad"]) if len(series["rad"]) == len(subject) else None
    found = warm_up(seconds, _celsius(engine), radiator, start, full)
    return StepOutput(findings=(_finding(found, last, start, full, settings, own),), notes=tuple(notes))


def _series(subject: Sequence[Thermogram], context: Context, words: Sequence[str], notes: list[str]) -> list[Part]:
    """The first such part of each picture; pictures without one are left out."""
    found: list[Part] = []
    for picture in subject:
        parts = parts_of(picture, of_picture(context, picture), words, notes)
        found.extend(parts[:1])
    return found


def _celsius(parts: Sequence[Part]) -> np.ndarray:
    return np.array([part.kelvin - ZERO_CELSIUS_K for part in parts])


def _finding(
    found: WarmUp, last: Part, start: Quantity, full: Quantity, settings: Settings, context: Context
) -> Finding:
    off = outside_the_range(found, start, full)
    fit = found.fit
    sure = fit is not None and np.isfinite(fit.time_constant_error) and fit.time_constant_error < fit.time_constant
    tau = Quantity.normal(fit.time_constant, "s", fit.time_constant_error, "first-order fit") if fit and sure else None
    told = SAYS[found.kind].format(
        at=number(found.opened_c or 0.0, "degC"),
        top=number(found.highest, "degC"),
    )
    own = amount("thermostat_start", last.region, context) is not None
    figures = Gate(
        "the vehicle's own thermostat",
        True if own else None,
        f"asked: its own opening figures; used: {start.low:g} to {start.high:g} degC start, {full.low:g} to "
        f"{full.high:g} degC full",
        "thermostat-manuals",
        "" if own else "Give `thermostat_start` and `thermostat_full` from the manual or the part.",
    )
    warm = Gate(
        "warm enough to tell",
        found.kind not in ("not warm yet", "no radiator side"),
        f"asked: both sides until the radiator follows; given: {found.kind}",
        "",
        "Go on until the radiator side is warm, or stop when the needle climbs; have both sides in view.",
    )
    case = Case(
        NAME, DOMAIN, last.subject, context, last.region, reading=last.reading, purpose="vehicle", tag="warm-up"
    )
    return conclude(
        case,
        title=f"Warm-up: {found.kind}",
        summary=f"{told} Figures are of surfaces, which read some kelvin below the coolant.",
        criterion=Criterion(
            settings.least, because="surfaces follow the coolant within a few kelvin", sources=SOURCES[:1]
        ),
        contrast=off,
        gates=(warm, figures, "spot", "emissivity"),
        rivals=("reflection", elsewhere),
        strong=("reflection",),
        severity="damage",
        actions=("vehicle.check-cooling",),
        cautions=CAUTIONS,
        sources=SOURCES,
        measured=known(
            time_constant=tau,
            opening_seen_at=None
            if found.opened_c is None
            else Quantity.between(
                found.opened_c - 2,
                found.opened_c + 10,
                "degC",
                found.opened_c,
                "surface at the bend; coolant up to 10 K more",
            ),
            opened_after=None
            if found.opened_at is None
            else Quantity.exact(round(found.opened_at), "s", "since the first picture"),
        ),
        shares=f"{last.subject.id}:thermostat",
    )


def elsewhere(case: Case) -> Rival | None:
    """Not every engine has its thermostat at the hot end."""
    return Rival(ELSEWHERE, "not testable", "the layout is not seen in a picture", "where the thermostat sits (manual)")


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    scope="sequence",
    shows=ENGINE,
    facts=(START, FULL, *SURFACE_FACTS),
    summary="Warm-up after a cold start: time constant, opening of the thermostat, stuck open or shut.",
    reads=READS,
    cautions=CAUTIONS,
    sources=SOURCES,
    title="warm-up after a cold start",
)
