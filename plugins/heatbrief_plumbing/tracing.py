"""Lines of warmth or cold over pipes: where they run, how deep at most, and what can be seen at all."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from heatbrief.api import Context, FactSpec, Step, StepOutput, propagated, setting
from heatbrief.detect import Area, Case, Criterion, conclude, facts_for, find_areas, matches, own_regions, search_mask
from heatbrief.detect.subjects import looked_at
from heatbrief.model import Finding, Gate, Quantity, Rival, Thermogram

from heatbrief_plumbing.air import known
from heatbrief_plumbing.exposed import EXPOSED
from heatbrief_plumbing.ground import SOIL

NAME = "plumbing.trace"
SHOWS = (
    "floor over pipes",
    "underfloor heating",
    "heated floor",
    "slab over pipes",
    "wall over pipes",
    "ground over a pipe",
)
DEPTH = FactSpec("pipe_depth", "depth of the pipe's middle below the surface", unit="m", example="5 cm")
STARTED = FactSpec(
    "water_running_for", "how long hot or cold water had run when the picture was taken", unit="min", example="20 min"
)
RIVALS = ("reflection", "shade or sun", "object edge")
COVER_DIFFUSIVITY = (0.4e-6, 1.0e-6)
"""Floors of screed and concrete [m2/s] (common practice, no source); soils have their own, `soil`."""
SEEN_SHARE = 0.05
"""Share of a step that must have reached the surface for a line to be expected. Own choice."""
LIMIT_K = {"floor": 9.0, "edge": 15.0}
"""Floor over the room: 29 degC in a room of 20 degC where people stay, 35 degC along the edge. Source: en-1264."""
OTHER_LINE = "a joist, joint, cable or duct under the surface"


@dataclass(frozen=True)
class Settings:
    """What is traced."""

    smallest: float = setting(0.02, unit="m2", low=0, help="smallest line that is reported", example="0.02 m2")
    long: float = setting(5.0, unit="1", low=2.0, help="least length over width of a line", example="5")


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Long areas of surfaces said to cover pipes whose route is not declared."""
    if any(
        one.shape == "line" and matches(("pipe",), one.shows) and not matches(EXPOSED, one.shows)
        for one in own_regions(context, subject)
    ):
        return StepOutput()
    findings: list[Finding] = []
    notes: list[str] = []
    for region in looked_at(context, SHOWS, subject):
        if region.shape in ("line", "point"):
            continue
        case = Case(check=NAME, domain="plumbing", subject=subject, context=context, region=region, purpose="plumbing")
        arrived = share_arrived(case)
        inside = search_mask(subject, region, context)
        areas = [
            one
            for one in find_areas(subject, inside, kind="plane", smallest_m2=settings.smallest)
            if one.elongation >= settings.long or one.fill < 0.35
        ]
        findings.extend(_finding(case, area, arrived) for area in areas)
        if not areas:
            notes.append(f"{subject.id}, {region.name}: no line stands out. {can_be_seen(case, arrived)}")
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def diffusivity_of(case: Case) -> Quantity:
    """Of the stated soil with 40 % either way, else of screed and concrete [m2/s]. Source: de-vries-1963."""
    from heatbrief.physics.soil import soil

    name = str(case.fact("soil") or "").strip().casefold()
    try:
        value = soil(name).diffusivity
    except KeyError:
        return Quantity.between(*COVER_DIFFUSIVITY, "m2/s", 0.6e-6, "screed and concrete (common practice)")
    return Quantity.between(0.6 * value, 1.4 * value, "m2/s", value, f"{name}, density and moisture move it by 40 %")


def share_arrived(case: Case) -> Quantity | None:
    """Share of the water's step that can have reached the surface: at least nothing, at most twice the answer in deep
    ground. None without depth and time. Source: carslaw-jaeger."""
    depth, minutes = case.number("pipe_depth"), case.number("water_running_for")
    if depth is None or minutes is None or depth <= 0 or minutes <= 0:
        return None
    from heatbrief.physics.soil import step_response

    found = propagated(
        lambda kappa: float(step_response(depth, 60.0 * minutes, kappa)),
        "1",
        "plane source in deep ground; a pipe gives less, an insulated top up to twice",
        kappa=diffusivity_of(case),
    )
    return None if found is None else Quantity(found.value, "1", 0.0, min(2.0 * found.high, 1.0), 0.95, found.method)


def can_be_seen(case: Case, arrived: Quantity | None) -> str:
    """What depth and time allow, in a sentence."""
    depth = case.number("pipe_depth")
    if depth is None:
        return "Give `pipe_depth` and `water_running_for` to learn what could have shown."
    days = (
        "A dry line deeper than about 0.3 m does not show on the same day; water that reached the top does."
        if depth >= 0.25
        else ""
    )
    if arrived is None:
        return days or "Give `water_running_for` to learn what could have shown."
    if arrived.high < SEEN_SHARE:
        most = f"at most {arrived.high:.1%} of the water's warmth has come up from {depth:.2f} m"
        return f"Nothing could show yet: {most}. {days}".strip()
    return f"At most {arrived.high:.0%} of the water's warmth can have come up from {depth:.2f} m. {days}".strip()


def depth_of(case: Case, area: Area) -> Quantity | None:
    """Greatest depth by the width of a line: at half height, a line under a plane is twice its depth wide; blur and the
    floor's own spreading only widen it. None where the size of a pixel is not known. Source: carslaw-jaeger."""
    pixel = case.subject.pixel
    if pixel is None:
        return None
    length = max(area.pixels / max(area.width, 1.0), _longest(area))
    half = 0.5 * area.pixels / max(length, 1.0) * pixel.width
    return Quantity.between(
        0.2 * half, 1.5 * half, "m", half, "half the width of the line at half height: its greatest depth"
    )


def _longest(area: Area) -> float:
    """Length of the line along its middle [px]: the ridge of the distance to its rim."""
    from scipy.ndimage import distance_transform_edt, maximum_filter

    padded = np.pad(area.bits, 1)
    away = distance_transform_edt(padded)
    return float(((away >= maximum_filter(away, 3) - 1e-9) & padded).sum()) / 1.5


def _finding(base: Case, area: Area, arrived: Quantity | None) -> Finding:
    case = Case(
        check=NAME,
        domain="plumbing",
        subject=base.subject,
        context=base.context,
        region=base.region,
        area=area,
        purpose="plumbing",
    )
    air, region = base.conditions.inside_air, base.region
    assert region is not None
    over = (
        None
        if air is None or area.mean is None
        else propagated(lambda skin, air: max(skin - air, 0.0), "K", "surface minus room air", skin=area.mean, air=air)
    )
    limit = LIMIT_K["edge" if base.yes("edge zone") else "floor"]
    word = "warm" if area.sign == "warm" else "cold"
    unit = "K" if area.contrast.unit == "K" else "counts"
    warm_floor = area.sign == "warm" and over is not None
    return conclude(
        case,
        contrast=over if warm_floor else None,
        title=f"{word.capitalize()} line in {region.name}",
        summary=f"A line reads {abs(area.contrast.value):.1f} {unit} {word}er than the surface around it. Consistent "
        f"with a pipe that carries {word} water. {can_be_seen(case, arrived)}",
        criterion=Criterion(
            limit if warm_floor else 50.0,
            because="a line over a sound pipe is no fault; heated floors are limited in temperature",
            sources=("en-1264",),
        ),
        gates=("spot", _time(arrived)),
        rivals=(*RIVALS, _other_line),
        severity="comfort",
        at_most="watch",
        actions=("plumbing.mark-route",),
        cautions=("plumbing.opening-floor",),
        sources=("en-1264", "carslaw-jaeger", "plumbing-floor-tracing"),
        measured=known(greatest_depth=depth_of(case, area), share_arrived=arrived),
    )


def _time(arrived: Quantity | None) -> Gate:
    asked = f"asked: time for {SEEN_SHARE:.0%} of the water's warmth to come up; given: "
    remedy = "Give `pipe_depth` and `water_running_for`, or wait longer."
    if arrived is None:
        return Gate("time to the surface", None, asked + "no depth, or no time", "", remedy)
    passed = arrived.high >= SEEN_SHARE
    return Gate(
        "time to the surface", passed, asked + f"at most {arrived.high:.0%}", "carslaw-jaeger", "" if passed else remedy
    )


def _other_line(case: Case) -> Rival:
    return Rival(
        OTHER_LINE,
        "not testable",
        "the picture shows a line, not what lies under it",
        "pictures before and some minutes after the water starts",
    )


EDGE = FactSpec(
    "edge zone", "whether the place lies in the edge zone of a heated floor", choices=("yes", "no"), example="no"
)
STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain="plumbing",
    summary="Where pipes run under floors, walls and ground; what depth and time allow to be seen.",
    shows=SHOWS,
    facts=(DEPTH, STARTED, SOIL, EDGE, *facts_for(RIVALS)),
    cautions=("plumbing.opening-floor",),
    sources=("en-1264", "carslaw-jaeger", "de-vries-1963"),
    status="trial",
    title="where pipes run",
)
