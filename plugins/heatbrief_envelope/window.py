"""Windows: the frame is read, glass is not. What glass mirrors is named as a reflection and never called a defect."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from heatbrief.api import Context, Step, StepOutput, setting
from heatbrief.detect import (
    Area,
    Case,
    Criterion,
    conclude,
    facts_for,
    find_areas,
    matches,
    own_regions,
    read_region,
    search_mask,
)
from heatbrief.detect.subjects import looked_at
from heatbrief.model import Finding, Region, Thermogram

from heatbrief_envelope.surfaces import AIR_BEYOND, Airs, airs_of, known, temperature_factor, with_airs

NAME = "envelope.window"
FRAMES = ("window frame", "sash", "door frame", "skylight frame")
GLASS = ("glass", "glazing", "pane", "mirror", "window")
SHOWS = (*FRAMES, *GLASS)
RIVALS = ("reflection", "shade or sun", "material change", "thermal lag", "recent touch", "object edge")


@dataclass(frozen=True)
class Settings:
    """How strict the search along the frame is."""

    least: float = setting(
        1.5, unit="K", positive=True, help="least contrast within a frame that is reported", example="1.5 K"
    )
    share: float = setting(
        0.12,
        unit="1",
        low=0.02,
        high=0.8,
        example="12 %",
        help="least contrast within a frame as a share of the inside-outside difference",
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Read declared frames for a part that stands out; list what shows in declared glass without judging it."""
    findings: list[Finding] = []
    notes: list[str] = []
    in_order: list[str] = []
    for region in own_regions(context, subject):
        if matches(FRAMES, region.shows):
            findings.extend(_frame(subject, settings, context, region))
        elif matches(GLASS, region.shows) and not matches(("shade", "curtain", "blind"), region.shows):
            in_order.extend(_glass(subject, region))
    if not findings and not in_order and not own_regions(context, subject) and looked_at(context, SHOWS, subject):
        notes.append(
            f"{subject.id}: a window without declared regions. Draw the glass and the frame as regions, so that the "
            "frame can be read "
            "and what the glass mirrors is left out."
        )
    return StepOutput(findings=tuple(findings), notes=tuple(notes), in_order=tuple(in_order))


def _frame(subject: Thermogram, settings: Settings, context: Context, region: Region) -> list[Finding]:
    airs, reading = airs_of(context, region), read_region(subject, region)
    if reading is None or (airs.difference is not None and airs.sign is None):
        return []
    inside = search_mask(subject, region, context, unless=FRAMES) & ~_glass_mask(subject, context, region)
    areas = find_areas(subject, inside, airs.sign or "either", kind="constant", smallest=6)
    return [_part(subject, settings, context, region, airs, area) for area in areas]


def _glass_mask(subject: Thermogram, context: Context, frame: Region) -> np.ndarray:
    """Pixels of declared glass, which a frame region drawn around the window may cover."""
    mask = ~subject.valid
    for region in own_regions(context, subject):
        if region is not frame and matches(GLASS, region.shows) and not matches(FRAMES, region.shows):
            mask = mask | region.mask(*subject.shape)
    return mask


def _part(subject: Thermogram, settings: Settings, context: Context, region: Region, airs: Airs, area: Area) -> Finding:
    drive = airs.difference
    limit = settings.least if drive is None else max(settings.least, settings.share * abs(drive.value))
    case = Case(
        check=NAME,
        domain="envelope",
        subject=subject,
        context=with_airs(context, airs),
        region=region,
        area=area,
        purpose="air leakage",
        rule_set="astm-c1060",
    )
    word = "warmer" if area.sign == "warm" else "colder"
    unit = "K" if area.contrast.unit == "K" else "counts"
    return conclude(
        case,
        title=f"Part of {region.name} {word} than the rest of it",
        summary=f"{abs(area.contrast.value):.1f} {unit} {word} than the rest of the same frame. Consistent with a seal "
        "that does not close or a gap beside "
        "the frame; metal fittings look alike.",
        criterion=Criterion(limit, because="smaller differences along one frame are common (common practice)"),
        gates=("difference", "wind", "sun", "spot"),
        rivals=RIVALS,
        strong=("reflection", "shade or sun", "material change", "thermal lag", "object edge"),
        severity="energy",
        at_most="plan",
        actions=("envelope.check-seals", "envelope.draught-strip"),
        cautions=("envelope.ladders",),
        sources=("irish-part-l",),
        measured=known(temperature_factor=temperature_factor(area.mean, airs)),
        shares=f"{subject.id}:{region.name}:{area.ordinal}",
    )


def _glass(subject: Thermogram, region: Region) -> list[str]:
    """What stands out in a pane: mirrored, so no finding."""
    areas = find_areas(subject, region.mask(*subject.shape) & subject.valid, "either", kind="smooth")
    lead = f"{subject.id}, {region.name}: glass mirrors what faces it, so no temperature is taken from it."
    if not areas:
        return [lead]
    unit = "K" if subject.scale == "temperature" else "counts"
    seen = " ".join(_mirrored(area, unit) for area in areas[:3])
    return [f"{lead} {seen} Consistent with a reflection, not a defect."]


def _mirrored(area: Area, unit: str) -> str:
    word = "warmer" if area.sign == "warm" else "colder"
    return (
        f"It seems {abs(area.contrast.value):.1f} {unit} {word} than the rest {area.centre[0]:.0f} px from the left and "
        f"{area.centre[1]:.0f} px from the top."
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=3,
    run=run,
    settings=Settings,
    domain="envelope",
    summary="Window frames part against the rest; what glass mirrors is never a defect.",
    shows=SHOWS,
    facts=(AIR_BEYOND, *facts_for(RIVALS)),
    cautions=("envelope.ladders",),
    sources=("irish-part-l",),
    status="stable",
    title="window frames",
)
