"""Risk of mould or condensation where a surface is colder than the room: relative humidity of the air there."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from heatbrief.api import Context, Step, StepOutput, propagated, setting
from heatbrief.detect import Case, Criterion, conclude, facts_for, read_region, search_mask
from heatbrief.detect.judge import share_above
from heatbrief.detect.subjects import looked_at, others_mask
from heatbrief.model import Conditions, Finding, Quantity, Region, Thermogram

from heatbrief_envelope.surfaces import CELSIUS, airs_of, from_outside, known, temperature_factor

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
    colder: float = setting(
        1.0,
        unit="K",
        positive=True,
        help="least by which a surface must be colder than the room to be looked at",
        example="1 K",
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """The coldest spot of every declared surface against the temperature at which the room's air would be too humid
    there."""
    now = context.conditions
    regions = [one for one in looked_at(context, SHOWS, subject) if not from_outside(context, one)]
    if not regions:
        return StepOutput()
    if now.inside_air is None or now.humidity is None:
        missing = " and ".join(
            name for name, value in (("inside_air", now.inside_air), ("humidity", now.humidity)) if value is None
        )
        return StepOutput(notes=(f"{subject.id}: the risk of condensation needs {missing} in `conditions`.",))
    limit = surface_limit(now, settings.surface_humidity)
    findings: list[Finding] = []
    notes: list[str] = []
    for region in regions:
        reading = read_region(subject, _mask(subject, region, context), region.name)
        if reading is None or reading.low is None:
            continue
        if reading.low.high >= now.inside_air.value - settings.colder or limit is None:
            continue
        if reading.low.low > limit.high:
            notes.append(
                f"{subject.id}, {region.name}: coldest {reading.low.value:.1f} degC, above the {limit.value:.1f} degC "
                "at which the air there "
                f"would reach {settings.surface_humidity:.0%}."
            )
            continue
        findings.append(_finding(subject, settings, context, region, reading.low, limit))
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def _mask(subject: Thermogram, region: Region, context: Context) -> np.ndarray:
    return search_mask(subject, region, context) & ~others_mask(context, SHOWS, region, subject)


def surface_limit(now: Conditions, surface_humidity: float) -> Quantity | None:
    """Surface temperature [degC] at which the room's air reaches a relative humidity there. Source: iso-13788."""
    from heatbrief.physics.psychrometrics import surface_limit_temperature

    return propagated(
        lambda air, humidity: (
            float(surface_limit_temperature(air + CELSIUS, min(max(humidity, 0.01), 1.0), surface_humidity)) - CELSIUS
        ),
        "degC",
        f"surface at {surface_humidity:.0%} relative humidity",
        air=now.inside_air,
        humidity=now.humidity,
    )  # type: ignore[arg-type]


def surface_humidity(now: Conditions, surface: Quantity) -> Quantity | None:
    """Relative humidity of the room's air brought to the surface's temperature; above 1 water settles."""
    from heatbrief.physics.psychrometrics import saturation_pressure

    def share(air: float, humidity: float, surface: float) -> float:
        return float(humidity * saturation_pressure(air + CELSIUS) / saturation_pressure(surface + CELSIUS))

    return propagated(
        share,
        "1",
        "vapour of the room over saturation at the surface",
        air=now.inside_air,
        humidity=now.humidity,
        surface=surface,
    )  # type: ignore[arg-type]


def shortfall(surface: Quantity, limit: Quantity) -> Quantity:
    """By how much the surface is too cold [K], never below zero, with the bounds of both."""
    value = limit.value - surface.value
    low = value - math.hypot(limit.value - limit.low, surface.high - surface.value)
    high = value + math.hypot(limit.high - limit.value, surface.value - surface.low)
    return Quantity(max(value, 0.0), "K", max(low, 0.0), max(high, 0.0), 0.95, "limit minus coldest spot")


def _finding(
    subject: Thermogram, settings: Settings, context: Context, region: Region, coldest: Quantity, limit: Quantity
) -> Finding:
    now = context.conditions
    reading = read_region(subject, _mask(subject, region, context), region.name)
    case = Case(
        check=NAME,
        domain="envelope",
        subject=subject,
        context=context,
        region=region,
        reading=reading,
        purpose="moisture",
    )
    humid = surface_humidity(now, coldest)
    airs = airs_of(context, region)
    said = f"about {humid.value:.0%}" if humid is not None and humid.value < 1 else "100 %"
    return conclude(
        case,
        title=f"Cold spot of {region.name}: humid air at the surface",
        summary=f"The coldest spot reads {coldest.value:.1f} degC. In this room's air the humidity there is {said} "
        f"({settings.surface_humidity:.0%} is reached at {limit.value:.1f} degC). If the room is often so, mould is "
        "possible; "
        "look for stains and measure the humidity for some days.",
        contrast=shortfall(coldest, limit),
        criterion=Criterion(
            MARK_K,
            because=f"the surface may not be colder than where the air reaches {settings.surface_humidity:.0%}",
            sources=("iso-13788",),
        ),
        gates=("spot", "emissivity"),
        rivals=RIVALS,
        strong=("reflection", "material change"),
        severity="moisture",
        at_most="soon",
        actions=("envelope.log-humidity", "envelope.ventilate", "envelope.insulate-bridge"),
        cautions=("envelope.mould",),
        sources=("iso-13788", "irish-part-l", "din-4108-2"),
        classes=_classes(humid, settings),
        measured=known(
            lowest_temperature=coldest,
            surface_humidity=humid,
            limit_temperature=limit,
            temperature_factor=temperature_factor(coldest, airs) if airs.sign == "cold" else None,
        ),
        shares=f"{subject.id}:{region.name}:cold",
    )


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
    version=1,
    run=run,
    settings=Settings,
    domain="envelope",
    summary="Relative humidity at the coldest spot of surfaces colder than the room.",
    shows=SHOWS,
    facts=facts_for(RIVALS),
    cautions=("envelope.mould",),
    sources=("iso-13788", "irish-part-l"),
    status="trial",
)
