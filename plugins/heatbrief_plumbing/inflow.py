"""Water of another temperature that enters open water, by its sharp front; also in pictures without a scale."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from heatbrief.api import Context, FactSpec, Step, StepOutput, setting
from heatbrief.detect import Area, Case, Criterion, conclude, facts_for, find_areas, search_mask
from heatbrief.detect.subjects import looked_at, others_mask
from heatbrief.model import Finding, Gate, Quantity, Region, Rival, Thermogram

NAME = "plumbing.inflow"
SHOWS = ("open water", "water surface", "river", "creek", "pond", "lake", "canal", "reservoir")
RIVALS = ("lens shading", "reflection", "shade or sun")
INTENDED = "water that is meant to enter there"
SHALLOW = "shallow or still water that follows the air and the sun faster"
FRONT_PX = 8.0
"""Widest front, 10 to 90 %, that counts as sharp: shading of a lens and slow mixing change over far more (common
practice, no source)."""
INLET = FactSpec(
    "inlet there", "whether a pipe, drain or stream is meant to enter there", choices=("yes", "no"), example="no"
)
DEPTH = FactSpec("shallow there", "whether the water is shallow or still there", choices=("yes", "no"), example="no")


@dataclass(frozen=True)
class Settings:
    """What counts as an inflow."""

    least: float = setting(
        0.5,
        unit="K",
        positive=True,
        help="least difference from the water around, for pictures with a scale",
        example="0.5 K",
    )
    smallest_share: float = setting(
        0.02, unit="1", low=0, high=0.5, help="smallest share of the water that is reported", example="2 %"
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Look at every declared stretch of water, or at the whole picture when its own words say it is one."""
    findings: list[Finding] = []
    for region in looked_at(context, SHOWS, subject):
        inside = search_mask(subject, region, context) & ~others_mask(context, SHOWS, region, subject)
        least = settings.smallest_share * inside.sum()
        areas = [area for area in find_areas(subject, inside) if area.pixels >= least]
        findings.extend(_finding(subject, settings, context, region, area, inside) for area in areas)
    return StepOutput(findings=tuple(findings))


def _finding(
    subject: Thermogram, settings: Settings, context: Context, region: Region, area: Area, inside: np.ndarray
) -> Finding:
    scaled = area.contrast.unit == "K"
    word = (
        ("warmer" if area.sign == "warm" else "colder") if scaled else "brighter" if area.sign == "warm" else "darker"
    )
    size = f"{area.area.value:.2g} m2" if area.area is not None else f"{area.pixels} pixels"
    by = f"{abs(area.contrast.value):.1f} K" if scaled else f"{abs(area.contrast.value):.0f} counts"
    unsaid = "" if scaled else " The picture has no temperature scale, so nothing is said about how large that is."
    case = Case(NAME, "plumbing", subject, context, region=region, area=area, purpose="plumbing")
    return conclude(
        case,
        title=f"Water {word} than the rest over {size}",
        summary=f"In {region.name} an area of {size} is {by} {word} than the water around it, "
        f"{area.contrast_to_noise:.0f} times what one pixel there varies.{unsaid} {_reading(area)}",
        criterion=Criterion(settings.least, because="smaller differences come with wind, depth and time of day"),
        gates=(_front(area), "wind", "sun", "spot"),
        rivals=(*RIVALS, _shallow, _intended),
        strong=("lens shading", "reflection", "shade or sun", INTENDED, SHALLOW),
        severity="damage",
        at_most="plan",
        actions=("plumbing.follow-inflow",),
        cautions=("plumbing.open-water",),
        measured={"share of region": _share(area, inside)},
        shares=f"{subject.id}:{region.name}:inflow {area.ordinal}",
    )


def _reading(area: Area) -> str:
    if _front(area).passed:
        return (
            "Its edge is sharp: consistent with other water entering and floating on it, such as a spring or a drain."
        )
    return "It has no sharp edge, so it is not told from slow changes of the water or of the picture."


def _front(area: Area) -> Gate:
    """Water that enters keeps a sharp front for a while; what fades over many pixels may be the lens or the air."""
    asked = f"asked: an edge of at most {FRONT_PX:.0f} pixels from 10 to 90 %"
    remedy = "Take the picture from nearer, with the place in its middle."
    if area.edge_width is None:
        return Gate("a sharp front", False, f"{asked}; given: no edge that could be measured", "", remedy)
    passed = area.edge_width <= FRONT_PX
    given = f"{asked}; given: {area.edge_width:.1f} pixels"
    return Gate("a sharp front", passed, given, "", "" if passed else remedy)


def _shallow(case: Case) -> Rival:
    """Depth decides how fast water follows the air; only somebody on the spot knows it."""
    shallow = case.yes("shallow there")
    if shallow is None:
        return Rival(SHALLOW, "not testable", "the depth of the water is not given", "`shallow there` in the facts")
    says = "shallow or still" if shallow else "neither shallow nor still"
    return Rival(SHALLOW, "not ruled out" if shallow else "ruled out", f"the water there is said to be {says}")


def _intended(case: Case) -> Rival:
    """An inlet looks the same as a leak; only the layout tells."""
    inlet = case.yes("inlet there")
    if inlet is None:
        return Rival(INTENDED, "not testable", "nothing is said about pipes there", "`inlet there` in the facts")
    says = "a pipe, drain or stream" if inlet else "no pipe, drain or stream"
    return Rival(INTENDED, "not ruled out" if inlet else "ruled out", f"the owner says that {says} enters there")


def _share(area: Area, inside: np.ndarray) -> Quantity:
    whole = max(int(inside.sum()), 1)
    value, rim = area.pixels / whole, 2.0 * float(np.sqrt(area.pixels)) / whole
    return Quantity(value, "1", max(0.0, value - rim), min(1.0, value + rim), 0.95, "pixels of the area over the water")


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain="plumbing",
    unscaled=True,
    summary="Water of another temperature that enters open water with a sharp front, with or without a scale.",
    shows=SHOWS,
    facts=(INLET, DEPTH, *facts_for(RIVALS)),
    cautions=("plumbing.open-water",),
    status="trial",
    title="other water entering open water",
)
