"""Missing, thin or displaced insulation in ceilings, walls, floors and roof slopes of frame buildings."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, Step, StepOutput, setting
from heatbrief.detect import Area, Case, Criterion, conclude, facts_for
from heatbrief.detect.films import facing_of
from heatbrief.detect.subjects import looked_at
from heatbrief.model import Finding, Region, Rival, Thermogram
from heatbrief.model.text import matches

from heatbrief_envelope.measures import because, below, least_contrast, measures, practice_for
from heatbrief_envelope.search import Searched, framing_note, is_line, searched, share_of
from heatbrief_envelope.surfaces import AIR_BEYOND, CONSTRUCTION, METER, Airs, airs_of, with_airs, words_of

NAME = "envelope.insulation"
SHOWS = ("ceiling", "wall", "floor", "roof slope", "attic hatch", "attic door", "facade", "soffit")
LEFT_OUT = ("wall foot", "skirting", "baseboard", "pipe", "heated floor", "underfloor", "shower", "window", "duct")
"""Surfaces whose patterns have other causes first: they belong to other checks."""
RIVALS = ("reflection", "lens shading", "shade or sun", "material change", "thermal lag", "object edge")
DAMP = "a damp patch that cools as it dries"
SHARP_M, STRAIGHT = 0.06, 0.8
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
        notes.extend(framing_note(region, found.framing, subject))
        findings.extend(
            _finding(subject, settings, context, region, airs, found, area)
            for area in found.areas
            if not is_line(subject, area)
        )
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


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
    return conclude(
        case,
        title=f"{place} {word} than its surroundings over {size}",
        summary=f"An area of {size} reads {abs(area.contrast.value):.1f} {unit} {word} than the {place.lower()} around "
        "it, after framing is taken out. "
        + (
            _reading(airs) if not below(area.contrast, limit) else "That is less than thin insulation would make of it."
        ),
        criterion=Criterion(limit, because=because(settings.least_change, airs), sources=("iso-6946",)),
        gates=("difference", "steady", "wind", "sun", "spot"),
        rivals=(*RIVALS, damp, air_movement),
        strong=("reflection", "lens shading", "shade or sun", DAMP, "thermal lag"),
        severity="energy",
        at_most="plan",
        actions=_actions(place),
        cautions=_cautions(place, text),
        sources=("iso-6946", "iso-13789", "energyplus-inside"),
        measured=measures(subject, region, airs, area, text, context, share=share_of(area, found.inside)),
        shares=f"{subject.id}:{region.name}:{area.ordinal}",
    )


def _reading(airs: Airs) -> str:
    drive = airs.difference
    if drive is None:
        return "With the air temperatures inside and beyond it could be said whether heat passes more easily there."
    way = "in" if drive.value < 0 else "out"
    return (
        f"With {airs.given} {abs(drive.value):.0f} K {'warmer' if drive.value < 0 else 'colder'} than the air on this "
        f"side, heat passes {way} "
        "more easily there: consistent with insulation that is missing, thin or displaced."
    )


def damp(case: Case) -> Rival | None:
    """Drying cools too, but water spreads with a soft, wandering edge and stops at no stud; a moisture meter settles
    it."""
    area, says = case.area, str(case.fact("moisture meter") or "").strip().casefold()
    if area is None or area.sign == "warm":
        return (
            Rival(DAMP, "ruled out", "the area is warmer than its surroundings; drying cools")
            if area is not None
            else None
        )
    if says in ("wet", "dry"):
        return Rival(DAMP, "ruled out" if says == "dry" else "not ruled out", f"the moisture meter says {says}")
    pixel = case.subject.pixel
    edge = None if area.edge_width is None else area.edge_width * (pixel.width if pixel else 0.01)
    if edge is not None and edge <= SHARP_M and area.fill >= STRAIGHT:
        return Rival(
            DAMP,
            "ruled out",
            f"it fills {area.fill:.0%} of the box around it and its edge is {100 * edge:.0f} cm wide, as a bay between "
            "members; "
            "water spreads with a soft, wandering edge",
        )
    return Rival(
        DAMP,
        "not testable",
        f"it fills {area.fill:.0%} of the box around it"
        + ("" if edge is None else f", with an edge {100 * edge:.0f} cm wide"),
        "a moisture meter reading at the spot and beside it (`moisture meter`)",
    )


def air_movement(case: Case) -> Rival | None:
    """Air that moves behind or over the surface fans out from an edge and fades; a bay without insulation fills its
    outline."""
    area = case.area
    if area is None:
        return None
    filled = f"the area fills {area.fill:.0%} of the box around it"
    if area.fill >= 0.7 and not area.touches_edge:
        return Rival(
            "air moving through or behind the surface",
            "ruled out",
            f"{filled} and ends inside the surface; a stream of air fans out from an edge and fades",
        )
    return Rival(
        "air moving through or behind the surface",
        "not testable",
        f"{filled}" + (" and reaches the edge of the region" if area.touches_edge else ""),
        "the same view with a fan holding a pressure difference",
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
    version=1,
    run=run,
    settings=Settings,
    domain="envelope",
    summary="Missing, thin or displaced insulation; regular framing is expected and not a defect.",
    shows=SHOWS,
    facts=(AIR_BEYOND, CONSTRUCTION, METER, *facts_for(RIVALS)),
    cautions=("envelope.attic", "envelope.old-wiring"),
    sources=("iso-6946", "iso-13789", "gate-astm-c1060", "gate-en-13187"),
    status="trial",
)
