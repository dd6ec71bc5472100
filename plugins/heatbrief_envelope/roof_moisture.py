"""Wet insulation under a roof membrane after sunset: it gives back the day's heat more slowly and stays warm."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, FactSpec, Step, StepOutput, setting
from heatbrief.detect import Area, Case, Criterion, conclude, fact_of, facts_for, find_areas, search_mask
from heatbrief.detect.films import taken_outside
from heatbrief.detect.subjects import looked_at, others_mask
from heatbrief.detect.words import said
from heatbrief.model import Finding, Gate, Quantity, Region, Rival, Thermogram

from heatbrief_envelope.search import is_line, share_of
from heatbrief_envelope.surfaces import known, words_of

NAME = "envelope.roof_moisture"
SHOWS = ("flat roof", "low-slope roof", "roof membrane", "roof deck")
RIVALS = ("reflection", "material change", "object edge")
SUNNY = FactSpec("sunny day", "whether the sun stood on the roof that day", choices=("yes", "no"), example="yes")
HIGH = FactSpec("day high", "highest outside air temperature of the day", unit="degC", example="16 degC")
ABOVE = FactSpec(
    "insulation above deck",
    "whether insulation lies above the deck and touches the membrane",
    choices=("yes", "no"),
    example="yes",
)
LEAST_HIGH_C = 10.0
"""50 degF, the stricter of 40 and 50 degF in two summaries of roof surveys (read)."""
AFTER_H, LATEST_H = 1.0, 8.0
"""Hours after the sun left in which stored heat shows best (common practice)."""
BELOW = "warmth from below: a heated room, a duct or a vent under the deck"


@dataclass(frozen=True)
class Settings:
    """What counts as warm."""

    least: float = setting(1.0, unit="K", positive=True, help="least contrast that is reported", example="1 K")
    smallest: float = setting(0.1, unit="m2", low=0, help="smallest area that is reported", example="0.1 m2")
    rule_set: str = setting("", help="practice whose wind and rain limits apply; empty: the stricter")


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Warm areas of declared roofs, photographed from outside after sunset."""
    findings: list[Finding] = []
    notes: list[str] = []
    for region in looked_at(context, SHOWS, subject):
        text = words_of(context, region)
        if "from inside" in text:
            continue
        if not taken_outside(text):
            notes.append(f"{subject.id}, {region.name}: say `from outside` in `shows` if the roof was seen from above.")
            continue
        inside = search_mask(subject, region, context) & ~others_mask(context, SHOWS, region, subject)
        areas = find_areas(subject, inside, "warm", smallest_m2=settings.smallest)
        findings.extend(
            _finding(subject, settings, context, region, area, share_of(area, inside))
            for area in areas
            if not is_line(subject, area)
        )
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def _finding(
    subject: Thermogram, settings: Settings, context: Context, region: Region, area: Area, share: Quantity
) -> Finding:
    case = Case(
        check=NAME,
        domain="envelope",
        subject=subject,
        context=context,
        region=region,
        area=area,
        purpose="roof moisture",
        rule_set=settings.rule_set or "default",
    )
    size = f"{area.area.value:.2g} m2" if area.area is not None else f"{area.pixels} pixels"
    return conclude(
        case,
        title=f"{region.name} stays warm over {size} after sunset",
        summary=f"An area of {size} reads {abs(area.contrast.value):.1f} K warmer than the roof around it after "
        "sunset. Consistent with wet insulation, which holds the day's heat; only a core taken there can tell.",
        criterion=Criterion(settings.least, because="gravel and laps of a dry roof differ by less (common practice)"),
        gates=("wind", "rain", "spot", *own_gates(case)),
        rivals=(*RIVALS, _ponding, _from_below),
        strong=("reflection", "material change", BELOW),
        severity="moisture",
        at_most="plan",
        actions=("envelope.roof-core", "envelope.repair-roof"),
        cautions=("envelope.ladders",),
        sources=("gate-astm-c1153", "gate-roof-practice"),
        measured=known(share_of_region=share),
        shares=f"{subject.id}:{region.name}:{area.ordinal}",
    )


def own_gates(case: Case) -> tuple[Gate, ...]:
    """What ASTM C1153 and two summaries of roof surveys ask besides wind and rain: sun that day, warmth, the hour, the
    build-up."""
    return (_sunny(case), _high(case), _hour(case), _build_up(case), _clear(case))


def _sunny(case: Case) -> Gate:
    return Gate(
        "a sunny day before",
        case.yes(SUNNY.name),
        f"asked: sun on the roof that day; given: {case.fact(SUNNY.name) or 'nothing'}",
        "gate-roof-practice",
        "Survey in the evening of a sunny day and give `sunny day`.",
    )


def _high(case: Case) -> Gate:
    high = fact_of(HIGH.name, case.region, case.context)
    passed = None if not isinstance(high, Quantity) else high.low >= LEAST_HIGH_C
    return Gate(
        "warmth of the day",
        passed,
        f"asked: at least {LEAST_HIGH_C:.0f} degC; given: {said(high) if isinstance(high, Quantity) else 'nothing'}",
        "gate-roof-practice",
        "Survey after a day of at least 10 degC and give `day high`.",
    )


def _hour(case: Case) -> Gate:
    now, remedy = case.conditions, "Photograph the roof 1 to 8 h after sunset and give `sun` and `hours_without_sun`."
    asked = f"asked: {AFTER_H:.0f} to {LATEST_H:.0f} h after the sun left the roof"
    if now.sun in ("direct", "low"):
        return Gate("after sunset", False, f"{asked}; given: {now.sun} sun", "gate-astm-c1153", remedy)
    hours = now.hours_without_sun
    if hours is None:
        return Gate("after sunset", None, f"{asked}; given: nothing", "gate-astm-c1153", remedy)
    passed = hours.low >= AFTER_H and hours.high <= LATEST_H
    return Gate("after sunset", passed, f"{asked}; given: {said(hours)}", "gate-astm-c1153", remedy)


def _build_up(case: Case) -> Gate:
    return Gate(
        "insulation above the deck",
        case.yes(ABOVE.name),
        f"asked: insulation that touches the membrane; given: {case.fact(ABOVE.name) or 'nothing'}",
        "gate-astm-c1153",
        "Say in `insulation above deck` how the roof is built; other roofs cannot be judged so.",
    )


def _clear(case: Case) -> Gate:
    sky = case.conditions.sky
    return Gate(
        "clear sky",
        None if sky is None else sky != "overcast",
        f"asked: a sky clear enough for the roof to cool; given: {sky or 'nothing'}",
        "",
        "Survey under a clear or partly cloudy sky and give `sky`.",
    )


def _ponding(case: Case) -> Rival:
    dry = case.conditions.hours_without_rain
    name = "water standing on the membrane, or gravel lying thicker"
    if case.yes("dry surface") is True:
        return Rival(name, "ruled out", "the surface is stated to be dry and even there")
    given = "" if dry is None else f"; no rain for {said(dry)}"
    return Rival(name, "not testable", f"warm after sunset as well{given}", "an ordinary photo of the surface by day")


def _from_below(case: Case) -> Rival:
    """A heated room warms a roof wherever its insulation is thin; without a difference of the airs it cannot."""
    drive = case.conditions.difference
    if drive is not None and drive.high < 5.0:
        return Rival(BELOW, "ruled out", f"inside is only {said(drive)} warmer than outside")
    return Rival(
        BELOW,
        "not testable",
        "a heated space below warms the roof where insulation is thin",
        "what lies under the spot",
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain="envelope",
    summary="Roof areas that stay warm after sunset: wet insulation suspected, a core decides.",
    shows=SHOWS,
    facts=(
        SUNNY,
        HIGH,
        ABOVE,
        FactSpec(
            "dry surface",
            "whether the roof's surface is dry and even at the spot",
            choices=("yes", "no"),
            example="yes",
        ),
        *facts_for(RIVALS),
    ),
    cautions=("envelope.ladders",),
    sources=("gate-astm-c1153", "gate-roof-practice"),
    status="trial",
    title="wet roof insulation",
)
