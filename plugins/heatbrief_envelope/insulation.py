"""Missing, thin or displaced insulation in ceilings, walls, floors and roof slopes of frame buildings."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, Step, StepOutput, setting
from heatbrief.detect import Area, Case, Criterion, conclude, facts_for
from heatbrief.detect.films import facing_of
from heatbrief.detect.subjects import looked_at
from heatbrief.model import Finding, Region, Thermogram
from heatbrief.model.text import matches

from heatbrief_envelope.empty_bays import empty_bays, inverted
from heatbrief_envelope.expected import EXPECTED
from heatbrief_envelope.insulation_kind import kind_of, kind_rows
from heatbrief_envelope.insulation_rivals import DAMP, air_movement, damp
from heatbrief_envelope.measures import because, below, least_contrast, measures, practice_for
from heatbrief_envelope.outside import outside_gates
from heatbrief_envelope.report_facts import REPORT_FACTS
from heatbrief_envelope.search import Searched, framing_note, is_line, searched, share_of
from heatbrief_envelope.surfaces import (
    AIR_BEYOND,
    CONSTRUCTION,
    METER,
    Airs,
    airs_of,
    from_outside,
    with_airs,
    words_of,
)

NAME = "envelope.insulation"
SHOWS = ("ceiling", "wall", "floor", "roof slope", "attic hatch", "attic door", "facade", "soffit")
LEFT_OUT = ("wall foot", "skirting", "baseboard", "pipe", "heated floor", "underfloor", "shower", "window", "duct")
"""Surfaces whose patterns have other causes first: they belong to other checks."""
RIVALS = ("reflection", "lens shading", "shade or sun", "material change", "thermal lag", "object edge")
PLACES = {"down": "Ceiling", "up": "Floor", "sideways": "Wall"}


@dataclass(frozen=True)
class Settings:
    """How strict the search is."""

    smallest: float = setting(0.05, unit="m2", low=0, help="smallest area that is reported", example="0.05 m2")
    least_change: float = setting(
        0.3,
        unit="W/m2/K",
        positive=True,
        help="least rise in heat transmittance over the surroundings that counts as a defect",
        example="0.3 W/m2/K",
    )
    rule_set: str = setting(
        "",
        help="practice whose survey conditions apply; empty: astm-c1060 for light frame construction, en-13187 for "
        "heavy parts",
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Look at every declared surface, or at the whole picture when its own words say it is one."""
    findings: list[Finding] = []
    notes: list[str] = []
    in_order: list[str] = []
    for region in looked_at(context, SHOWS, subject):
        if matches(LEFT_OUT, words_of(context, region)):
            continue
        airs = airs_of(context, region)
        if airs.difference is not None and airs.sign is None:
            notes.append(
                f"{subject.id}, {region.name}: the air is as warm beyond as on this side, so nothing can be told about "
                "insulation."
            )
            continue
        found = searched(subject, region, context, SHOWS, airs.sign, settings.smallest)
        if inverted(found.framing, airs, subject):
            findings.append(empty_bays(subject, settings, context, region, airs, found))
        else:
            in_order.extend(framing_note(region, found.framing, subject))
        findings.extend(
            _finding(subject, settings, context, region, airs, found, area)
            for area in found.areas
            if not is_line(subject, area)
        )
    return StepOutput(findings=tuple(findings), notes=tuple(notes), in_order=tuple(in_order))


def _finding(
    subject: Thermogram, settings: Settings, context: Context, region: Region, airs: Airs, found: Searched, area: Area
) -> Finding:
    case = Case(
        check=NAME,
        domain="envelope",
        subject=subject,
        context=with_airs(context, airs),
        region=region,
        area=area,
        purpose="insulation",
        rule_set=settings.rule_set or practice_for(region, context),
    )
    text = words_of(context, region)
    place = PLACES[facing_of(text)]
    word = "warmer" if area.sign == "warm" else "colder"
    limit = least_contrast(settings.least_change, text, airs)
    size = f"{area.area.value:.2g} m2" if area.area is not None else f"{area.pixels} pixels"
    unit = "K" if area.contrast.unit == "K" else "counts"
    numbers = measures(subject, region, airs, area, text, context, share=share_of(area, found.inside))
    return conclude(
        case,
        title=f"{place} {word} than its surroundings over {size}",
        summary=f"An area of {size} reads {abs(area.contrast.value):.1f} {unit} {word} than the {place.lower()} around "
        "it, after framing is taken out. "
        + (
            _reading(airs, kind_of(place, area, found.inside, numbers))
            if not below(area.contrast, limit)
            else "That is less than thin insulation would make of it."
        ),
        criterion=Criterion(limit, because=because(settings.least_change, airs), sources=("iso-6946",)),
        gates=(
            "difference",
            "steady",
            "wind",
            "sun",
            "spot",
            *(outside_gates(case) if from_outside(context, region) else ()),
        ),
        rivals=(*RIVALS, damp, air_movement),
        strong=("reflection", "lens shading", "shade or sun", DAMP, "thermal lag"),
        severity="energy",
        at_most="plan",
        actions=_actions(place),
        cautions=_cautions(place, text),
        sources=("iso-6946", "iso-13789", "energyplus-inside"),
        measured=numbers,
        classes=kind_rows(numbers),
        shares=f"{subject.id}:{region.name}:{area.ordinal}",
    )


def _reading(airs: Airs, kind: str) -> str:
    drive = airs.difference
    if drive is None:
        return "With the air temperatures inside and beyond it could be said whether heat passes more easily there."
    way = "in" if drive.value < 0 else "out"
    return (
        f"With {airs.given} {abs(drive.value):.0f} K {'warmer' if drive.value < 0 else 'colder'} than the air on this "
        f"side, heat passes {way} "
        f"more easily there: consistent with {kind}."
    )


def _actions(place: str) -> tuple[str, ...]:
    confirm = {"Ceiling": "envelope.look-in-attic", "Wall": "envelope.borescope", "Floor": "envelope.look-below"}[place]
    repair = {
        "Ceiling": "envelope.add-attic-insulation",
        "Wall": "envelope.fill-wall",
        "Floor": "envelope.add-floor-insulation",
    }[place]
    return (confirm, "envelope.air-seal", repair)


def _cautions(place: str, text: str) -> tuple[str, ...]:
    if place == "Ceiling":
        return ("envelope.attic", "envelope.attic-heat", "envelope.vermiculite", "envelope.old-wiring")
    return (
        ("envelope.old-wiring", "envelope.wall-opening")
        if place == "Wall"
        else ("envelope.crawl-space", "envelope.old-wiring")
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=3,
    run=run,
    settings=Settings,
    domain="envelope",
    summary="Missing, thin or displaced insulation; regular framing is expected and not a defect.",
    shows=SHOWS,
    facts=(AIR_BEYOND, CONSTRUCTION, METER, *EXPECTED, *REPORT_FACTS, *facts_for(RIVALS)),
    cautions=("envelope.attic", "envelope.old-wiring"),
    sources=(
        "iso-6946",
        "iso-13789",
        "gate-astm-c1060",
        "gate-en-13187",
        "wet-bulb-floor",
        "envelope-surface-examples",
    ),
    status="stable",
    title="missing insulation",
)
