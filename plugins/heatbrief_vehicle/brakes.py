"""Wheels of one axle after the same drive: the warm one drags, the cold one may not brake. Across the pictures of a survey."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from heatbrief.api import Context, Step, StepOutput, setting
from heatbrief.detect import (
    Case,
    Criterion,
    Reading,
    conclude,
    difference,
    matches,
    number,
    own_regions,
    read_region,
    search_mask,
)
from heatbrief.model import Finding, Gate, Region, Rival, Thermogram

from heatbrief_vehicle.parts import DOMAIN, SINCE_STOP, SURFACE_FACTS, seconds

NAME = "vehicle.brakes"
BRAKES = ("brake", "brake disc", "brake disk", "brake rotor", "brake drum", "brake caliper")
HUBS = ("wheel hub", "wheel bearing", "bearing hub")
SHOWS = (*BRAKES, *HUBS)
ALIKE_S = 60.0
"""Wheels photographed within this time of each other after the stop are compared (own choice)."""
WHICH = "the other side being the one that differs"
CAUTIONS = ("vehicle.hot-surfaces", "vehicle.brakes", "vehicle.lifting")


@dataclass(frozen=True)
class Settings:
    """From when two sides count as different."""

    least: float = setting(
        30.0, unit="K", positive=True, help="least difference between brakes of one axle (common practice; no published limit exists)", example="30 K"
    )
    least_hub: float = setting(20.0, unit="K", positive=True, help="least difference between hubs of one axle (common practice)", example="20 K")


@dataclass(frozen=True)
class Side:
    """One wheel's part as read, with the picture it is in."""

    subject: Thermogram
    region: Region
    reading: Reading


def run(subject: Sequence[Thermogram], settings: Settings, context: Context) -> StepOutput:
    """Compare the parts of every group over all pictures given; a group is one axle with two sides."""
    axles: dict[tuple[str, bool], list[Side]] = {}
    notes: list[str] = []
    for picture in sorted(subject, key=lambda one: one.id):
        own = of_picture(context, picture)
        if picture.scale != "temperature":
            notes.append(f"{picture.id}: without a temperature scale, so its wheels are not compared.")
            continue
        for region in own_regions(context, picture):
            if not region.group or not matches(SHOWS, region.shows):
                continue
            reading = read_region(picture, search_mask(picture, region, own), region.name)
            if reading is None:
                notes.append(f"{picture.id}, {region.name}: no pixel with a value in the region.")
            else:
                axles.setdefault((region.group, matches(HUBS, region.shows)), []).append(Side(picture, region, reading))
    findings = []
    for (group, hub), sides in sorted(axles.items()):
        if len(sides) == 2:
            findings.append(_finding(settings, context, group, hub, *sorted(sides, key=lambda one: (-one.reading.values["mean"], one.region.name))))
        else:
            notes.append(f"group {group}: a comparison needs the two sides of one axle, got {len(sides)}.")
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def of_picture(context: Context, picture: Thermogram) -> Context:
    """The context of one picture of the survey."""
    return replace(
        context,
        view=context.views.get(picture.id, context.view),
        conditions=context.conditions_of.get(picture.id, context.conditions),
        facts=context.facts_of.get(picture.id, context.facts),
    )


def _finding(settings: Settings, context: Context, group: str, hub: bool, warm: Side, cold: Side) -> Finding:
    least = settings.least_hub if hub else settings.least
    own = of_picture(context, warm.subject)
    apart = difference(warm.reading, cold.reading)
    case = Case(check=NAME, domain=DOMAIN, subject=warm.subject, context=own, region=warm.region, reading=warm.reading, purpose="vehicle", tag=group)
    words = (
        "consistent with a worn or dry bearing on the warmer side"
        if hub
        else "consistent with a brake that drags on the warmer side or one that works little on the colder side; either side may be the one to mend"
    )
    above = apart.value >= least
    return conclude(
        case,
        title=f"{group}: {'sides differ' if above else 'sides alike'}",
        summary=f"{warm.region.name} is {number(apart.value, 'K')} warmer than {cold.region.name} after the same drive"
        + (f": {words}." if above else f"; from {least:g} K one looks closer."),
        criterion=Criterion(least, because="no published limit exists; this is common practice", sources=("brake-sides",)),
        contrast=apart,
        gates=(_same_time(warm, cold, context), "spot", "emissivity"),
        rivals=(*(() if hub else (either_side,)), same_drive),
        strong=(),
        severity="safety",
        at_most="soon" if above else "watch",
        actions=("vehicle.check-brakes",),
        cautions=CAUTIONS,
        sources=("brake-sides", "brake-trial"),
        measured={"colder side": cold.reading.mean} if cold.reading.mean is not None else {},
        shares=f"{group}:{'hub' if hub else 'brake'}",
    )


def _same_time(warm: Side, cold: Side, context: Context) -> Gate:
    """Brakes cool within minutes, so both sides are taken soon after each other, or in one picture."""
    asked = f"asked: both sides within {ALIKE_S:.0f} s of each other"
    remedy = "Photograph both sides right after one drive and give `since_stop` for each."
    if warm.subject.id == cold.subject.id:
        return Gate("same time after the stop", True, f"{asked}; given: one picture", "")
    times = [seconds("since_stop", one.region, of_picture(context, one.subject)) for one in (warm, cold)]
    if None in times:
        return Gate("same time after the stop", None, f"{asked}; given: nothing for {'both' if times == [None, None] else 'one of them'}", "", remedy)
    apart = abs(times[0] - times[1])  # type: ignore[operator]
    return Gate("same time after the stop", apart <= ALIKE_S, f"{asked}; given: {apart:.0f} s apart", "", "" if apart <= ALIKE_S else remedy)


def either_side(case: Case) -> Rival | None:
    """In a roadside trial the cold wheels were many more than the hot ones."""
    return Rival(
        WHICH,
        "not testable",
        "a difference does not say which side is at fault; in a roadside trial cold wheels were far more common than hot ones",
        "both sides tested on a brake tester",
    )


def same_drive(case: Case) -> Rival | None:
    """Sun, wind and a tight bend warm or cool one side."""
    sun = case.conditions.sun
    status = "ruled out" if sun == "none" else "not testable" if sun is None else "not ruled out"
    return Rival(
        "sun or wind on one side", status, f"sun on the vehicle: {sun or 'not given'}", "" if sun else "whether sun stood on one side (`sun`)"
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    scope="survey",
    shows=SHOWS,
    facts=(SINCE_STOP, *SURFACE_FACTS),
    summary="Compares the two sides of an axle after the same drive; the cold side counts too.",
    reads=("conditions", "camera", "regions", "facts", "view"),
    cautions=CAUTIONS,
    sources=("brake-sides", "brake-trial"),
)
