"""Hot pipes in floors and walls: the ridge over the pipe is normal, a warm area that leaves it is not."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from heatbrief.api import Context, FactSpec, Step, StepOutput, setting
from heatbrief.detect import (
    Area,
    Case,
    Criterion,
    Field,
    conclude,
    facts_for,
    find_areas,
    fit_field,
    matches,
    own_regions,
    search_mask,
)
from heatbrief.detect.subjects import looked_at
from heatbrief.model import Finding, Gate, Quantity, Region, Rival, Thermogram

from heatbrief_plumbing.air import known
from heatbrief_plumbing.exposed import EXPOSED

NAME = "plumbing.pipe"
SHOWS = (
    "floor over the hot pipe",
    "floor over a hot pipe",
    "heated floor",
    "underfloor heating",
    "floor over pipe",
    "wall over pipe",
    "slab",
)
PLAIN = ("floor", "wall", "ceiling")
LINES = ("pipe", "hot pipe", "pipe route", "heating pipe")
RIVALS = ("reflection", "shade or sun", "material change", "recent touch", "lens shading", "object edge")
LONG = 5.0
FITTING = FactSpec(
    "fitting there",
    "whether a bend, joint, manifold or thinner cover is known at the spot",
    choices=("yes", "no"),
    example="no",
)


@dataclass(frozen=True)
class Settings:
    """What counts as leaving the ridge."""

    least: float = setting(
        1.0, unit="K", positive=True, help="least contrast over the ridge that is reported", example="1 K"
    )
    share: float = setting(
        0.3, unit="1", low=0.0, high=2.0, example="30 %", help="least contrast as a share of the ridge's own height"
    )
    smallest: float = setting(0.01, unit="m2", low=0, help="smallest area that is reported", example="0.01 m2")


@dataclass(frozen=True)
class Ridge:
    """The expected warm line over a pipe: `expected` (height, width) adds to the field; height [K or counts]; width at
    half [px]."""

    expected: np.ndarray
    height: float
    width: float
    distance: np.ndarray


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Warm areas that the ridge over the declared line does not explain; without a line, compact warm areas at most
    suspected."""
    lines = tuple(
        one
        for one in own_regions(context, subject)
        if one.shape == "line" and matches(LINES, one.shows) and not matches(EXPOSED, one.shows)
    )
    findings: list[Finding] = []
    in_order: list[str] = []
    for region in surfaces_of(subject, context, lines):
        if region.shape in ("line", "point"):
            continue
        inside = search_mask(subject, region, context)
        field = fit_field(subject.values, inside, "plane", noise=subject.noise())
        ridge = ridge_over(subject, field, lines) if lines else None
        if ridge is not None:
            # Fitted again without the ridge, so that the ridge does not count as unevenness of the floor.
            field = fit_field(
                (subject.values - ridge.expected).astype(np.float32), inside, "plane", noise=subject.noise()
            )
            field = replace(field, expected=(field.expected + ridge.expected).astype(np.float32))
            unit = "K" if subject.scale == "temperature" else "counts"
            in_order.append(
                f"{subject.id}, {region.name}: the ridge over the pipe is {ridge.height:+.1f} {unit} high and "
                f"{ridge.width:.0f} pixels wide: as expected."
            )
        areas = find_areas(subject, inside, "warm", smallest_m2=settings.smallest, field=field)
        findings.extend(
            _finding(subject, settings, context, region, area, ridge) for area in areas if area.elongation < LONG
        )
    return StepOutput(findings=tuple(findings), in_order=tuple(in_order))


def surfaces_of(subject: Thermogram, context: Context, lines: tuple[Region, ...]) -> tuple[Region, ...]:
    """Surfaces said to lie over a pipe, or any surface on a picture with a declared pipe or said to show one."""
    over = bool(lines) or matches(SHOWS, context.view.shows)
    return looked_at(context, (*SHOWS, *PLAIN) if over else SHOWS, subject)


def ridge_over(subject: Thermogram, field: Field, lines: tuple[Region, ...]) -> Ridge | None:
    """The median cross-section over the lines, falling away from them; None where it is no ridge.

    The median along the line is not moved by a swelling over less than half of it.
    """
    from scipy.ndimage import distance_transform_edt

    mask = np.zeros(subject.shape, bool)
    for one in lines:
        mask |= one.mask(*subject.shape)
    usable = field.inside & np.isfinite(field.expected)
    if not (mask & usable).any():
        return None
    distance = distance_transform_edt(~mask)
    residual = np.where(usable, subject.values - np.where(usable, field.expected, 0.0), np.nan)
    reach = int(min(max(subject.shape) // 4, distance[usable].max()))
    bins = np.rint(distance).astype(int)
    section = np.array(
        [
            np.nanmedian(residual[usable & (bins == step)]) if (usable & (bins == step)).any() else 0.0
            for step in range(reach + 1)
        ]
    )
    section = np.minimum.accumulate(section - min(float(np.median(section[-max(3, reach // 4) :])), float(section[0])))
    section = np.maximum(section, 0.0)
    if section[0] < 3.0 * field.scatter(int(mask.sum())):
        return None
    half = int(np.argmax(section < 0.5 * section[0])) if (section < 0.5 * section[0]).any() else reach
    expected = np.interp(distance, np.arange(reach + 1), section, right=0.0)
    return Ridge(expected, float(section[0]), 2.0 * half, distance)


def _finding(
    subject: Thermogram, settings: Settings, context: Context, region: Region, area: Area, ridge: Ridge | None
) -> Finding:
    case = Case(
        check=NAME, domain="plumbing", subject=subject, context=context, region=region, area=area, purpose="plumbing"
    )
    limit = max(settings.least, settings.share * ridge.height) if ridge else settings.least
    size = f"{area.area.value:.2g} m2" if area.area else f"{area.pixels} pixels"
    unit = "K" if area.contrast.unit == "K" else "counts"
    place = _distance(subject, area, ridge)
    gates: list[str | Gate] = (
        ["spot", "emissivity"]
        if ridge
        else [
            "spot",
            "emissivity",
            Gate(
                "the route of the pipe",
                None,
                "asked: a line region over the pipe's route; given: none, so the ridge over the pipe could not be "
                "taken out",
                "",
                "Draw the route as a line region that shows `pipe`, or take a picture in the first minutes after hot "
                "water starts to run.",
            ),
        ]
    )
    return conclude(
        case,
        title=f"Warm area that leaves the pipe in {region.name}" if ridge else f"Warm area in {region.name}",
        summary=f"An area of {size} reads {abs(area.contrast.value):.1f} {unit} warmer than the floor "
        + (f"and the ridge over the pipe explain. Its middle lies {place} the pipe. " if ridge else "around it. ")
        + "Consistent with hot water spreading under the surface.",
        criterion=Criterion(
            limit, because="the ridge over a sound pipe varies by less along its way (common practice)"
        ),
        gates=gates,
        rivals=(*RIVALS, _fitting),
        strong=("reflection", "shade or sun", FITTING_THERE),
        severity="damage",
        at_most="soon",
        actions=("plumbing.meter-test", "plumbing.pressure-test", "plumbing.find-leak", "plumbing.repair-pipe"),
        cautions=("plumbing.scald", "plumbing.water-and-electricity", "plumbing.opening-floor"),
        sources=("en-1264", "plumbing-floor-tracing"),
        measured=known(ridge_height=_ridge_height(case, ridge)),
        shares=f"{subject.id}:{region.name}:warm {area.ordinal}",
    )


def _ridge_height(case: Case, ridge: Ridge | None) -> Quantity | None:
    if ridge is None or case.unscaled:
        return None
    return Quantity.normal(
        ridge.height, "K", max(case.subject.noise() / 5.0, 0.05 * ridge.height), "median cross-section over the pipe"
    )


def _distance(subject: Thermogram, area: Area, ridge: Ridge | None) -> str:
    if ridge is None:
        return ""
    x, y = (round(value) for value in area.centre)
    pixels = float(ridge.distance[min(y, subject.shape[0] - 1), min(x, subject.shape[1] - 1)])
    if pixels <= 1.5:
        return "over"
    return f"{pixels * subject.pixel.width:.2f} m from" if subject.pixel else f"{math.floor(pixels)} pixels from"


FITTING_THERE = "a bend, joint or thinner cover over the pipe"


def _fitting(case: Case) -> Rival | None:
    """A fitting or a thinner cover brings heat up too, but from the start and without spreading."""
    there = case.yes("fitting there")
    if there is None:
        return Rival(
            FITTING_THERE,
            "not testable",
            "nothing is known about fittings at the spot",
            "a picture in the first minutes after hot water starts, or the meter watched with every tap shut",
        )
    return Rival(
        FITTING_THERE,
        "not ruled out" if there else "ruled out",
        f"the owner says that {'a' if there else 'no'} fitting is there",
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=3,
    run=run,
    settings=Settings,
    domain="plumbing",
    summary="Warm areas that the ridge over a hot pipe does not explain.",
    shows=(*SHOWS, *LINES),
    facts=(FITTING, *facts_for(RIVALS)),
    cautions=("plumbing.scald",),
    sources=("en-1264", "plumbing-floor-tracing"),
    status="trial",
    title="leaks along a hot pipe",
)
