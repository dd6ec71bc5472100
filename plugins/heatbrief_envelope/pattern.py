"""Patches that stand out in pictures without a temperature scale: only their pattern is judged, never their size."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from heatbrief.api import Context, Step, StepOutput, setting
from heatbrief.detect import Area, Case, Criterion, conclude, facts_for
from heatbrief.detect.films import facing_of
from heatbrief.detect.measure import Sign
from heatbrief.detect.outline import grown
from heatbrief.detect.subjects import looked_at
from heatbrief.model import Finding, Region, Thermogram

from heatbrief_envelope.measures import practice_for
from heatbrief_envelope.search import is_line, searched, share_of
from heatbrief_envelope.surfaces import AIR_BEYOND, CONSTRUCTION, Airs, airs_of, with_airs, words_of

NAME = "envelope.pattern"
SHOWS = ("ceiling", "wall", "floor", "roof slope", "attic hatch", "attic door", "facade", "soffit")
RIVALS = ("reflection", "lens shading", "shade or sun", "material change", "thermal lag", "object edge")
SEARCHES = 3
"""A strong patch raises the scatter of its surface and hides a weak one, so the search is repeated without what it
found."""
RIM_SHARE = 0.0125
"""How far around a found patch its soft rim is left out of the next search, as a share of the picture's width."""
PLACES = {"down": "Ceiling", "up": "Floor", "sideways": "Wall"}


@dataclass(frozen=True)
class Settings:
    """How much of a surface a patch has to cover."""

    smallest_share: float = setting(
        0.01, unit="1", low=0, high=0.5, help="smallest share of the surface that is reported", example="2 %"
    )
    rule_set: str = setting(
        "",
        help="practice whose survey conditions apply; empty: astm-c1060 for light frame construction, en-13187 for "
        "heavy parts",
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Look at every declared surface of an unscaled picture, or at the whole picture; scaled ones have other checks."""
    if subject.scale != "unscaled":
        return StepOutput()
    findings: list[Finding] = []
    notes: list[str] = []
    for region in looked_at(context, SHOWS, subject):
        airs = airs_of(context, region)
        if airs.difference is not None and airs.sign is None:
            notes.append(
                f"{subject.id}, {region.name}: the air is as warm beyond as on this side, so no pattern there says "
                "anything about the surface."
            )
            continue
        areas, inside = _patches(subject, region, context, airs.sign, settings.smallest_share)
        findings.extend(_finding(subject, settings, context, region, airs, area, inside) for area in areas)
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def _patches(
    subject: Thermogram, region: Region, context: Context, sign: Sign | None, least: float
) -> tuple[list[Area], np.ndarray]:
    """Patches in reading order, and the searched pixels."""
    first = searched(subject, region, context, SHOWS, sign)
    areas = [area for area in _repeated(subject, region, context, sign, first.areas) if not is_line(subject, area)]
    areas = [area for area in areas if area.pixels >= least * first.inside.sum()]
    areas.sort(key=lambda area: (area.origin[::-1], area.sign))
    return [replace(area, ordinal=place) for place, area in enumerate(areas, 1)], first.inside


def _repeated(
    subject: Thermogram, region: Region, context: Context, sign: Sign | None, areas: tuple[Area, ...]
) -> Iterator[Area]:
    """The areas, then those that show once these are left out; what clings to an area left out is its rim."""
    rim = max(3, round(RIM_SHARE * subject.shape[1]))
    left_out = np.zeros(subject.shape, bool)
    for _ in range(SEARCHES):
        yield from (area for area in areas if not (grown(area.mask(*subject.shape), 2) & left_out).any())
        if not areas:
            return
        for area in areas:
            left_out |= grown(area.mask(*subject.shape), rim)
        rest = replace(subject, values=np.where(left_out, np.float32(np.nan), subject.values))
        areas = searched(rest, region, context, SHOWS, sign).areas


def _finding(
    subject: Thermogram,
    settings: Settings,
    context: Context,
    region: Region,
    airs: Airs,
    area: Area,
    inside: np.ndarray,
) -> Finding:
    place = PLACES[facing_of(words_of(context, region))]
    brighter = "brighter" if area.sign == "warm" else "darker"
    share = share_of(area, inside)
    reading = {
        "warm": " If brighter means warmer, that is consistent with heat passing more easily there.",
        "cold": " If darker means colder, that is consistent with heat passing more easily there.",
    }.get(airs.sign or "", "")
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
    return conclude(
        case,
        title=f"{place} {brighter} than its surroundings over {share.value:.0%} of it",
        summary=f"A patch of {area.pixels} pixels is {abs(area.contrast.value):.0f} counts {brighter} than the "
        f"{place.lower()} around it, {area.contrast_to_noise:.0f} times what one pixel there varies.{reading} The "
        "picture has no temperature scale, so nothing is said about how large the difference is.",
        criterion=Criterion(1.0, because="without a scale the difference cannot be compared with anything"),
        gates=("difference", "steady", "wind", "sun", "spot"),
        rivals=RIVALS,
        severity="energy",
        at_most="watch",
        actions=("envelope.picture-with-scale",),
        cautions=("envelope.ladders",),
        measured={"share of region": share},
        shares=f"{subject.id}:{region.name}:pattern {area.ordinal}",
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain="envelope",
    unscaled=True,
    summary="Patches that stand out in pictures without a temperature scale; never more than a suspicion.",
    shows=SHOWS,
    facts=(AIR_BEYOND, CONSTRUCTION, *facts_for(RIVALS)),
    cautions=("envelope.ladders",),
    sources=("gate-astm-c1060", "gate-en-13187"),
    status="trial",
    title="patterns without a temperature scale",
)
