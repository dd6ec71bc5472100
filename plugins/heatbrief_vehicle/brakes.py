"""Wheels of one axle after the same drive: the warm one drags, the cold one may not brake. Across the pictures of a
survey."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from heatbrief.api import Context, FactSpec, Step, StepOutput, setting
from heatbrief.detect import (
    Case,
    Criterion,
    conclude,
    difference,
    matches,
    number,
)
from heatbrief.model import Finding, Gate, Rival, Thermogram
from heatbrief.model.finding import RivalStatus

from heatbrief_vehicle.parts import (
    DOMAIN,
    READS,
    SINCE_STOP,
    SURFACE_FACTS,
    Part,
    amount,
    by_group,
    known,
    of_picture,
    parts_of,
    seconds,
)

NAME = "vehicle.brakes"
BRAKES = ("brake", "brake disc", "brake disk", "brake rotor", "brake drum", "brake caliper")
HUBS = ("wheel hub", "wheel bearing", "bearing hub")
SHOWS = (*BRAKES, *HUBS)
ALIKE_S = 60.0
"""Wheels photographed within this time of each other after the stop are compared (own choice)."""
MASS = FactSpec("vehicle_mass", "mass of the vehicle with its load", unit="kg", example="1500 kg")
SPEED = FactSpec("stop_speed", "speed from which the vehicle was stopped", unit="m/s", example="100 km/h")
ROTOR = FactSpec("rotor_mass", "mass of one brake rotor", unit="kg", example="8 kg")
DISC = FactSpec("rotor_area", "area of both faces of one rotor", unit="m2", example="0.1 m2")
BRAKE_AMOUNTS = ("vehicle_mass", "stop_speed", "rotor_mass", "rotor_area")
WHICH = "the other side being the one that differs"
CAUTIONS = ("vehicle.hot-surfaces", "vehicle.brakes", "vehicle.lifting")


@dataclass(frozen=True)
class Settings:
    """From when two sides count as different."""

    least: float = setting(
        30.0,
        unit="K",
        positive=True,
        help="least difference between brakes of one axle (common practice; no published limit exists)",
        example="30 K",
    )
    least_hub: float = setting(
        20.0,
        unit="K",
        positive=True,
        help="least difference between hubs of one axle (common practice)",
        example="20 K",
    )


def run(subject: Sequence[Thermogram], settings: Settings, context: Context) -> StepOutput:
    """Compare the parts of every group over all pictures given; a group is one axle with two sides."""
    axles: dict[tuple[str, bool], list[Part]] = {}
    notes: list[str] = []
    for picture in sorted(subject, key=lambda one: one.id):
        if picture.scale != "temperature":
            notes.append(f"{picture.id}: without a temperature scale, so its wheels are not compared.")
            continue
        for group, parts in by_group(parts_of(picture, of_picture(context, picture), SHOWS, notes)).items():
            for part in parts if group else ():
                axles.setdefault((group, matches(HUBS, part.region.shows)), []).append(part)
    findings = []
    for (group, hub), sides in sorted(axles.items()):
        if len(sides) == 2:
            warm, cold = sorted(sides, key=lambda one: (-one.kelvin, one.region.name))
            findings.append(_finding(settings, context, group, hub, warm, cold))
        else:
            notes.append(f"group {group}: a comparison needs the two sides of one axle, got {len(sides)}.")
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def _finding(settings: Settings, context: Context, group: str, hub: bool, warm: Part, cold: Part) -> Finding:
    least = settings.least_hub if hub else settings.least
    own = of_picture(context, warm.subject)
    apart = difference(warm.reading, cold.reading)
    case = Case(
        check=NAME,
        domain=DOMAIN,
        subject=warm.subject,
        context=own,
        region=warm.region,
        reading=warm.reading,
        purpose="vehicle",
        tag=group,
    )
    words = (
        "consistent with a worn or dry bearing on the warmer side"
        if hub
        else "consistent with a brake that drags on the warmer side or one that works little on the colder side; "
        "either side may be the one to mend"
    )
    above = apart.value >= least
    return conclude(
        case,
        title=f"{group}: {'sides differ' if above else 'sides alike'}",
        summary=f"{warm.region.name} is {number(apart.value, 'K')} warmer than {cold.region.name} after the same drive"
        + (f": {words}." if above else f"; from {least:g} K one looks closer."),
        criterion=Criterion(
            least, because="no published limit exists; this is common practice", sources=("brake-sides",)
        ),
        contrast=apart,
        gates=(_same_time(warm, cold, context), "spot", "emissivity"),
        rivals=(*(() if hub else (either_side,)), same_drive),
        strong=(),
        severity="safety",
        at_most="soon" if above else "watch",
        actions=("vehicle.check-brakes",),
        cautions=CAUTIONS,
        sources=("brake-sides", "brake-trial"),
        measured=known(
            colder_side=cold.reading.mean,
            **{name: amount(name, warm.region, own) for name in BRAKE_AMOUNTS if not hub},
        ),
        shares=f"{group}:{'hub' if hub else 'brake'}",
    )


def _same_time(warm: Part, cold: Part, context: Context) -> Gate:
    """Brakes cool within minutes, so both sides are taken soon after each other, or in one picture."""
    asked = f"asked: both sides within {ALIKE_S:.0f} s of each other"
    remedy = "Photograph both sides right after one drive and give `since_stop` for each."
    if warm.subject.id == cold.subject.id:
        return Gate("same time after the stop", True, f"{asked}; given: one picture", "")
    first, second = times = [
        seconds("since_stop", one.region, of_picture(context, one.subject)) for one in (warm, cold)
    ]
    if first is None or second is None:
        return Gate(
            "same time after the stop",
            None,
            f"{asked}; given: nothing for {'both' if times == [None, None] else 'one of them'}",
            "",
            remedy,
        )
    apart = abs(first - second)
    return Gate(
        "same time after the stop",
        apart <= ALIKE_S,
        f"{asked}; given: {apart:.0f} s apart",
        "",
        "" if apart <= ALIKE_S else remedy,
    )


def either_side(case: Case) -> Rival | None:
    """In a roadside trial the cold wheels were many more than the hot ones."""
    return Rival(
        WHICH,
        "not testable",
        "a difference does not say which side is at fault; in a roadside trial cold wheels were far more common "
        "than hot ones",
        "both sides tested on a brake tester",
    )


def same_drive(case: Case) -> Rival | None:
    """Sun, wind and a tight bend warm or cool one side."""
    sun = case.conditions.sun
    status: RivalStatus = "ruled out" if sun == "none" else "not testable" if sun is None else "not ruled out"
    return Rival(
        "sun or wind on one side",
        status,
        f"sun on the vehicle: {sun or 'not given'}",
        "" if sun else "whether sun stood on one side (`sun`)",
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=2,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    scope="survey",
    shows=SHOWS,
    facts=(SINCE_STOP, MASS, SPEED, ROTOR, DISC, *SURFACE_FACTS),
    summary="Compares the two sides of an axle after the same drive; the cold side counts too.",
    reads=READS,
    cautions=CAUTIONS,
    sources=("brake-sides", "brake-trial"),
    title="brakes of an axle",
)
