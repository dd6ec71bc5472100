"""One picture of irrigated ground: wet or shaded, decided only where the physics or the owner's word decides."""

from __future__ import annotations

from heatbrief.api import Context, Step, StepOutput
from heatbrief.detect import Area, Case, Criterion, conclude, fact_of, find_areas, search_mask
from heatbrief.detect.subjects import looked_at
from heatbrief.model import Finding, Gate, Region, Thermogram

from heatbrief_plumbing.air import known, wet_bulb_of
from heatbrief_plumbing.ground import (
    FACTS,
    SHADE,
    SHOWS,
    Reading,
    intended,
    read_ground,
    shade_rival,
    size_of,
    unit_of,
)
from heatbrief_plumbing.sun import sun_measured, sun_words
from heatbrief_plumbing.wet_ground import Settings

NAME = "plumbing.cold_ground"
BEFORE = (
    "Take one picture with the valve shut and two or more after it opens, from the same place, as one `sequence` "
    "with `valve` in the facts."
)
TITLES = {
    "wet": "Cold area in {}: more than shade makes",
    "shade": "Cold area in {}: more than water alone makes",
    "": "Cold area in {}: wet or shaded",
}
TEXTS = {
    "wet": "Consistent with wet ground: {}. Whether the water is meant to be there, one picture cannot tell.",
    "shade": "Consistent with shade: {}. Wet ground under the shade is not ruled out.",
    "": "One picture cannot tell wet ground from shade here: {}.",
}


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Cold areas of one picture that is not part of a sequence."""
    if context.view.sequence:
        return StepOutput()
    findings: list[Finding] = []
    for region in looked_at(context, SHOWS, subject):
        areas = find_areas(subject, search_mask(subject, region, context), "cold", smallest_m2=settings.smallest)
        findings.extend(
            _finding(subject, settings, context, region, area)
            for area in areas
            if abs(area.contrast.value) >= settings.least
        )
    return StepOutput(findings=tuple(findings))


def _finding(subject: Thermogram, settings: Settings, context: Context, region: Region, area: Area) -> Finding:
    case = Case(
        check=NAME, domain="plumbing", subject=subject, context=context, region=region, area=area, purpose="irrigation"
    )
    reading = read_ground(case)
    now = context.conditions
    return conclude(
        case,
        title=TITLES[reading.decided].format(region.name),
        summary=f"An area of {size_of(area)} reads {abs(area.contrast.value):.1f} {unit_of(area)} colder than the "
        f"ground around. {TEXTS[reading.decided].format(reading.evidence)}{sun_words(reading.sun)}",
        criterion=Criterion(settings.least, because="smaller differences are common on open ground (common practice)"),
        gates=(*_gates(reading, region, context), "rain", "spot"),
        rivals=(shade_rival(reading), "material change", "reflection", intended),
        strong=(SHADE,),
        severity="damage",
        at_most="plan" if reading.decided == "wet" else "watch",
        actions=("plumbing.picture-valve-shut", *(("plumbing.meter-test",) if reading.decided == "wet" else ())),
        sources=("plumbing-canal-survey", "wet-bulb-floor", "sky-berdahl-martin", "plumbing-sun"),
        measured=known(
            wet_bulb=wet_bulb_of(now.outside_air, now.outside_humidity),
            dry_ground_in_shade=reading.floors.dry,
            wet_ground_in_the_sun=reading.floors.water,
            wet_ground_in_shade=reading.floors.both,
        )
        | sun_measured(reading.sun),
        shares=f"{subject.id}:{region.name}:cold {area.ordinal}",
        next_time=(f"Have {reading.missing}.",) if reading.missing else (),
    )


def _gates(reading: Reading, region: Region, context: Context) -> tuple[Gate, ...]:
    valve = str(fact_of("valve", region, context) or "").strip().casefold()
    given = f"one picture with the valve {valve}" if valve else "one picture, and nothing about the valve"
    growth = Gate(
        "a picture before the valve opens",
        None if reading.decided == "wet" else False,
        f"asked: pictures before and after the valve opens; given: {given}; {reading.evidence}",
        "wet-bulb-floor" if reading.decided else "",
        BEFORE,
    )
    return (growth,)


STEP = Step(
    name=NAME,
    stage="detect",
    version=2,
    run=run,
    settings=Settings,
    domain="plumbing",
    summary="Cold areas of irrigated ground in one picture: wet, shaded, or undecided, with what would settle it.",
    shows=SHOWS,
    facts=FACTS,
    cautions=("plumbing.digging",),
    sources=("plumbing-canal-survey", "wet-bulb-floor", "plumbing-sun"),
    status="trial",
    title="cold places in the ground",
)
