"""Risk of mould or condensation where a surface is colder than the room: relative humidity of the air there."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from heatbrief.api import Context, Step, StepOutput, propagated, setting
from heatbrief.detect import Case, Criterion, Reading, conclude, facts_for, read_region, search_mask
from heatbrief.detect.judge import share_above
from heatbrief.detect.subjects import looked_at, others_mask
from heatbrief.model import Conditions, Finding, Quantity, Region, Thermogram

from heatbrief_envelope.limit_sets import Design, Limit, LimitSet, limits_of, surface_limit
from heatbrief_envelope.surfaces import AIR_BEYOND, CELSIUS, airs_of, from_outside, known, temperature_factor

__all__ = ["STEP", "Settings", "run", "shortfall", "surface_humidity", "surface_limit"]

NAME = "envelope.condensation"
SHOWS = (
    "ceiling",
    "wall",
    "wall foot",
    "corner",
    "junction",
    "floor",
    "window frame",
    "sash",
    "skirting",
    "cold pipe",
    "supply register",
    "lintel",
)
RIVALS = ("reflection", "material change", "object edge", "recent touch")
MARK_K = 0.05


@dataclass(frozen=True)
class Settings:
    """Which humidity of the air at a surface counts as too high."""

    surface_humidity: float = setting(
        0.8,
        unit="1",
        low=0.5,
        high=1.0,
        example="80 %",
        help="relative humidity at the surface from which mould is taken to be possible",
    )
    limit_set: LimitSet = setting(
        "strictest",
        help="limits that apply; strictest: the highest of surface humidity, the design month if given, and the "
        "temperature factors 0.75 (UK and Ireland) and 0.70 (Germany) for dwellings",
    )
    design_outside: Quantity | None = setting(
        None, unit="degC", help="mean outside air of the coldest month", example="2 degC"
    )
    design_inside: Quantity | None = setting(
        None, unit="degC", help="usual inside air in that month", example="20 degC"
    )
    design_humidity: Quantity | None = setting(
        None, unit="1", low=0, high=1, help="usual inside humidity in that month", example="55 %"
    )
    colder: float = setting(
        1.0,
        unit="K",
        positive=True,
        help="least by which a surface must be colder than the room to be looked at",
        example="1 K",
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """The coldest spot of every declared surface against the limits of the chosen set."""
    now = context.conditions
    regions = [one for one in looked_at(context, SHOWS, subject) if not from_outside(context, one)]
    if not regions:
        return StepOutput()
    missing = [name for name in ("inside_air", "humidity") if getattr(now, name) is None]
    findings: list[Finding] = []
    notes: list[str] = []
    if missing:
        notes.append(f"{subject.id}: the risk of condensation needs {' and '.join(missing)} in `conditions`.")
    design = Design(settings.design_outside, settings.design_inside, settings.design_humidity)
    for region in regions if now.inside_air is not None else ():
        reading = read_region(subject, _mask(subject, region, context), region.name)
        if reading is None or reading.low is None or now.inside_air is None:
            continue
        airs = airs_of(context, region)
        limits = limits_of(settings.limit_set, region.shows, now, airs, settings.surface_humidity, design)
        if not limits or reading.low.high >= now.inside_air.value - settings.colder:
            continue
        if reading.low.low > limits[0].temperature.high:
            notes.append(
                f"{subject.id}, {region.name}: coldest {reading.low.value:.1f} degC, above the "
                f"{limits[0].temperature.value:.1f} degC of the limit set {limits[0].name} ({limits[0].because})."
            )
            continue
        findings.append(_finding(subject, settings, context, region, reading, limits))
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def _mask(subject: Thermogram, region: Region, context: Context) -> np.ndarray:
    result: np.ndarray = search_mask(subject, region, context) & ~others_mask(context, SHOWS, region, subject)
    return result


def surface_humidity(now: Conditions, surface: Quantity) -> Quantity | None:
    """Relative humidity of the room's air brought to the surface's temperature; above 1 water settles."""
    from heatbrief.physics.psychrometrics import saturation_pressure

    def share(air: float, humidity: float, surface: float) -> float:
        return float(humidity * saturation_pressure(air + CELSIUS) / saturation_pressure(surface + CELSIUS))

    if now.inside_air is None or now.humidity is None:
        return None
    return propagated(
        share,
        "1",
        "vapour of the room over saturation at the surface",
        air=now.inside_air,
        humidity=now.humidity,
        surface=surface,
    )


def shortfall_of(surface: Quantity, limit: Quantity) -> Quantity:
    """Limit minus surface [K], of either sign, with the bounds of both."""
    value = limit.value - surface.value
    low = value - math.hypot(limit.value - limit.low, surface.high - surface.value)
    high = value + math.hypot(limit.high - limit.value, surface.value - surface.low)
    return Quantity(value, "K", low, high, 0.95, "limit minus coldest spot")


def shortfall(surface: Quantity, limit: Quantity) -> Quantity:
    """By how much the surface is too cold [K], never below zero."""
    one = shortfall_of(surface, limit)
    return Quantity(max(one.value, 0.0), "K", max(one.low, 0.0), max(one.high, 0.0), one.coverage, one.method)


def _finding(
    subject: Thermogram,
    settings: Settings,
    context: Context,
    region: Region,
    reading: Reading,
    limits: tuple[Limit, ...],
) -> Finding:
    now, coldest, limit = context.conditions, reading.low, limits[0]
    assert coldest is not None
    case = Case(
        check=NAME,
        domain="envelope",
        subject=subject,
        context=context,
        region=region,
        reading=reading,
        purpose="moisture",
    )
    humid = None if now.humidity is None else surface_humidity(now, coldest)
    airs = airs_of(context, region)
    return conclude(
        case,
        title=f"Cold spot of {region.name}: humid air at the surface",
        summary=f"The coldest spot reads {coldest.value:.1f} degC; the limit set {limit.name} asks for at least "
        f"{limit.temperature.value:.1f} degC here ({limit.because}). {_said(humid)}If the room is often so, mould is "
        "possible; look for stains and measure the humidity for some days.",
        contrast=shortfall(coldest, limit.temperature),
        criterion=Criterion(
            MARK_K,
            because=f"the surface may not be colder than the limit set {limit.name} asks: {limit.because}",
            sources=(limit.source,),
        ),
        gates=("spot", "emissivity"),
        rivals=RIVALS,
        strong=("reflection", "material change"),
        severity="moisture",
        at_most="soon",
        actions=("envelope.log-humidity", "envelope.ventilate", "envelope.insulate-bridge"),
        cautions=("envelope.mould",),
        sources=("iso-13788", "irish-part-l", "din-4108-2"),
        classes=(*_classes(humid, settings), *_against(coldest, limits)),
        measured=known(
            lowest_temperature=coldest,
            surface_humidity=humid,
            limit_temperature=limit.temperature,
            temperature_factor=temperature_factor(coldest, airs) if airs.sign == "cold" else None,
        ),
        shares=f"{subject.id}:{region.name}:cold",
    )


def _said(humid: Quantity | None) -> str:
    if humid is None:
        return ""
    return (
        f"In this room's air the humidity there is {'about ' + f'{humid.value:.0%}' if humid.value < 1 else '100 %'}. "
    )


def _against(coldest: Quantity, limits: tuple[Limit, ...]) -> tuple[Mapping[str, str], ...]:
    """Every limit of the set that could be worked out, as a row with its probability."""
    rows = []
    for one in limits:
        gap = shortfall_of(coldest, one.temperature)
        below = share_above(gap, 0.0)
        rows.append(
            {
                "table": f"limit set {one.name}",
                "class": f"{'below' if below > 0.5 else 'not below'} {one.temperature.value:.1f} degC: {one.because}",
                "probability": f"{min(max(below, 1 - below), 0.99):.2f}",
                "source": one.source,
            }
        )
    return tuple(rows)


def _classes(humid: Quantity | None, settings: Settings) -> tuple[Mapping[str, str], ...]:
    if humid is None:
        return ()
    rows = []
    for limit, meaning in ((settings.surface_humidity, "mould possible if it lasts"), (1.0, "water settles")):
        share = share_above(humid, limit)
        rows.append(
            {
                "table": "humidity at the surface",
                "class": f"{'at or above' if share > 0.5 else 'below'} {limit:.0%}: {meaning}",
                "probability": f"{max(share, 1 - share):.2f}",
                "source": "iso-13788",
            }
        )
    return tuple(rows)


STEP = Step(
    name=NAME,
    stage="detect",
    version=2,
    run=run,
    settings=Settings,
    domain="envelope",
    summary="Coldest spot of surfaces against limits for mould and condensation, the stricter by default.",
    shows=SHOWS,
    facts=(AIR_BEYOND, *facts_for(RIVALS)),
    cautions=("envelope.mould",),
    sources=("iso-13788", "irish-part-l", "din-4108-2", "bre-ip-1-06"),
    status="stable",
    title="mould and condensation",
)
