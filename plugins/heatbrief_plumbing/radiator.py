"""Radiators: cold low in the middle is consistent with sludge, cold along the top with air."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from heatbrief.api import Context, FactSpec, Step, StepOutput, propagated, setting
from heatbrief.detect import Area, Case, Criterion, conclude, facts_for, find_areas, matches, read_region, search_mask
from heatbrief.detect.subjects import looked_at
from heatbrief.model import Finding, Gate, Quantity, Region, Rival, Thermogram

from heatbrief_plumbing.air import known

NAME = "plumbing.radiator"
SHOWS = ("radiator",)
VEHICLE = ("engine radiator", "car", "vehicle", "engine")
RIVALS = ("reflection", "material change", "object edge")
RUNNING = FactSpec(
    "heating for", "how long the heating had run when the picture was taken", unit="min", example="30 min"
)
WARM_K, SETTLED_MIN = 10.0, 15.0
SMALLEST = 0.02
BUT_MIDDLE = "water that has not yet come round"


@dataclass(frozen=True)
class Settings:
    """What counts as a cold part."""

    least: float = setting(3.0, unit="K", positive=True, help="least contrast that is reported", example="3 K")
    share: float = setting(
        0.15,
        unit="1",
        low=0.02,
        high=0.9,
        example="15 %",
        help="least contrast as a share of the radiator's rise over the room",
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Cold parts of declared radiators that the fall from flow to return does not explain."""
    findings: list[Finding] = []
    for region in looked_at(context, SHOWS, subject):
        if matches(VEHICLE, f"{region.shows} {context.view.shows}"):
            continue
        inside = search_mask(subject, region, context)
        reading = read_region(subject, inside, region.name)
        if reading is None:
            continue
        areas = find_areas(subject, inside, "cold", kind="plane", smallest=max(9, int(SMALLEST * inside.sum())))
        findings.extend(_finding(subject, settings, context, region, area, inside, reading.peak) for area in areas)
    return StepOutput(findings=tuple(findings))


def place_of(area: Area, inside: np.ndarray) -> str:
    """ "low", "high" or "other": where in the radiator the cold part lies, the picture taken upright."""
    rows, columns = np.flatnonzero(inside.any(axis=1)), np.flatnonzero(inside.any(axis=0))
    height, width = max(len(rows), 1), max(len(columns), 1)
    middle = (area.centre[1] - rows[0]) / height
    across = (area.box[2] - area.box[0]) / width
    beside = abs((area.centre[0] - columns[0]) / width - 0.5)
    if middle > 0.6 and beside < 0.25:
        return "low"
    return "high" if middle < 0.35 and across > 0.4 else "other"


TEXTS = {
    "low": (
        "Radiator cold low in the middle",
        "consistent with sludge that has settled there",
        ("plumbing.flush-radiator",),
    ),
    "high": ("Radiator cold along the top", "consistent with air trapped there", ("plumbing.bleed-radiator",)),
    "other": (
        "Part of the radiator stays cold",
        "consistent with water that does not reach that part",
        ("plumbing.balance-heating",),
    ),
}


def _finding(
    subject: Thermogram,
    settings: Settings,
    context: Context,
    region: Region,
    area: Area,
    inside: np.ndarray,
    hottest: Quantity | None,
) -> Finding:
    place = place_of(area, inside)
    title, likely, actions = TEXTS[place]
    rise = (
        None
        if hottest is None or context.conditions.inside_air is None
        else propagated(
            lambda hottest, air: hottest - air,
            "K",
            "hottest part minus room air",
            hottest=hottest,
            air=context.conditions.inside_air,
        )
    )
    limit = settings.least if rise is None else max(settings.least, settings.share * rise.value)
    case = Case(
        check=NAME, domain="plumbing", subject=subject, context=context, region=region, area=area, purpose="plumbing"
    )
    unit = "K" if area.contrast.unit == "K" else "counts"
    return conclude(
        case,
        title=title,
        summary=f"{abs(area.contrast.value):.1f} {unit} colder than the fall from flow to return explains: {likely}.",
        criterion=Criterion(
            limit,
            because="the designed fall from flow to return is taken out; smaller differences are common (common "
            "practice)",
        ),
        gates=("spot", _heated(rise)),
        rivals=(*RIVALS, _settled),
        strong=("reflection", BUT_MIDDLE),
        severity="comfort",
        at_most="plan",
        actions=(*actions,),
        cautions=("plumbing.scald",),
        sources=("en-442", "plumbing-radiator-pattern"),
        measured=known(rise_over_room=rise),
        shares=f"{subject.id}:{region.name}:{area.ordinal}",
    )


def _heated(rise: Quantity | None) -> Gate:
    asked = f"asked: the hottest part at least {WARM_K:g} K over the room; given: "
    remedy = "Take the picture while the heating has run for a quarter of an hour or more, and give `inside_air`."
    if rise is None:
        return Gate("heating on", None, asked + "no room air, or no temperature", "", remedy)
    passed = True if rise.low >= WARM_K else None if rise.high >= WARM_K else False
    return Gate("heating on", passed, asked + f"{rise.value:.0f} K", "", "" if passed else remedy)


def _settled(case: Case) -> Rival | None:
    """A radiator that is still filling with warm water is cold at the far end for some minutes."""
    minutes = case.number("heating for")
    if minutes is None:
        return Rival(
            BUT_MIDDLE,
            "not testable",
            "how long the heating had run is not given",
            "how long the heating had run (`heating for`)",
        )
    return Rival(
        BUT_MIDDLE,
        "ruled out" if minutes >= SETTLED_MIN else "not ruled out",
        f"the heating had run for {minutes:.0f} minutes; {SETTLED_MIN:.0f} are asked",
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain="plumbing",
    summary="Cold parts of radiators by place: low in the middle, along the top, elsewhere.",
    shows=SHOWS,
    facts=(RUNNING, *facts_for(RIVALS)),
    cautions=("plumbing.scald",),
    sources=("en-442", "plumbing-radiator-pattern"),
    status="trial",
    title="cold parts of a radiator",
)
