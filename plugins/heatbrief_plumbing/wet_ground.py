"""Irrigated ground: what grows after the valve opens against shade that was there before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

import numpy as np
from heatbrief.api import Context, Step, StepOutput, setting
from heatbrief.detect import Area, Case, Criterion, conclude, find_areas, read_region, search_mask
from heatbrief.detect.change import Change, change_of
from heatbrief.detect.sequence import Growth, area_growth
from heatbrief.detect.subjects import looked_at
from heatbrief.model import Finding, PixelScale, Quantity, Region, Thermogram

from heatbrief_plumbing.air import known, wet_bulb_of
from heatbrief_plumbing.floors import floors_of
from heatbrief_plumbing.ground import FACTS, SHOWS, intended, size_of, unit_of
from heatbrief_plumbing.shade import GROWN, NEW_SHADE, cold_before, growth_gate, moved_shade, new_shade
from heatbrief_plumbing.sun import sun_at, sun_measured, sun_of, sun_words

SEQUENCE = "plumbing.wet_ground"
STATIC_K = 1.0


@dataclass(frozen=True)
class Settings:
    """What counts as a wet spot."""

    least: float = setting(
        2.0,
        unit="K",
        positive=True,
        help="least cooling since the picture with the valve shut that is reported",
        example="2 K",
    )
    smallest: float = setting(0.02, unit="m2", low=0, help="smallest area that is reported", example="0.02 m2")
    static: bool = setting(True, help="also list cold patches that were there before the valve opened, as normal")


def run_sequence(subjects: Sequence[Thermogram], settings: Settings, context: Context) -> StepOutput:
    """Compare every picture after the valve opened with the last one before."""
    pictures = sorted(subjects, key=lambda one: (_moment(one), one.id))
    valves = [_valve(one, context) for one in pictures]
    shut = [place for place, valve in enumerate(valves) if valve == "shut"]
    first_open = valves.index("open") if "open" in valves else None
    if first_open is None or not shut or shut[0] > first_open:
        return StepOutput(
            notes=(
                f"sequence of {pictures[0].id}: asked for one picture with `valve: shut`, then at least one with "
                "`valve: open`.",
            )
        )
    start = max(place for place in shut if place < first_open)
    used = pictures[start:]
    before, last = used[0], used[-1]
    own = replace(
        context,
        conditions=context.conditions_of.get(last.id, context.conditions),
        view=context.views.get(last.id, context.view),
        facts=context.facts_of.get(last.id, context.facts),
    )
    change = change_of(last, before)
    signs: tuple[Literal["cold", "warm"], ...] = ("cold", "warm") if after_dark(own, last) else ("cold",)
    findings: list[Finding] = []
    for region in looked_at(own, SHOWS, last):
        inside = search_mask(last, region, own) & change.picture.valid
        found = {
            sign: find_areas(change.picture, inside, sign, kind="constant", smallest_m2=settings.smallest)
            for sign in ("cold", "warm")
        }
        already = cold_before(before, region, context)
        for sign in signs:
            growth = area_growth(used, inside, sign) if len(used) >= 3 else None
            other = found["warm" if sign == "cold" else "cold"]
            findings.extend(
                _wet(last, before, settings, own, region, area, growth, other, change, already) for area in found[sign]
            )
        areas = found["cold"]
        if settings.static:
            common = float(np.median(change.picture.values[inside])) if inside.any() else change.base
            findings.extend(
                _static(last, before, own, region, area, change, common)
                for area in _patches(before, region, context, settings, areas)
            )
    return StepOutput(findings=tuple(findings))


def _moment(one: Thermogram) -> float:
    """Seconds for sorting only; pictures without a time come first, in the order of their names."""
    try:
        return datetime.fromisoformat(one.taken).replace(tzinfo=None).timestamp()
    except ValueError:
        return float("-inf")


def _valve(one: Thermogram, context: Context) -> str:
    region_fact = next(
        (
            region.facts["valve"]
            for region in context.regions
            if region.thermogram == one.id and "valve" in region.facts
        ),
        None,
    )
    return str(region_fact or context.facts_of.get(one.id, {}).get("valve", "")).strip().casefold()


def _wet(
    last: Thermogram,
    before: Thermogram,
    settings: Settings,
    context: Context,
    region: Region,
    area: Area,
    growth: Growth | None,
    warm: tuple[Area, ...],
    change: Change,
    already: np.ndarray,
) -> Finding:
    now = read_region(last, area.mask(*last.shape))
    area = replace(area, mean=now.mean if now else None, surroundings=None)
    case = Case(
        check=SEQUENCE, domain="plumbing", subject=last, context=context, region=region, area=area, purpose="irrigation"
    )
    word = "colder" if area.sign == "cold" else "warmer"
    sun = sun_of(case)
    grown = (
        ""
        if growth is None or not growth.mask.any()
        else f" In the pictures since then it covered {_sizes(growth, last)}."
    )
    return conclude(
        case,
        title=f"Wet spot in {region.name} after the valve opened",
        summary=f"An area of {size_of(area)} became {abs(area.contrast.value):.1f} {unit_of(area)} {word} than "
        f"before, when the valve was shut.{grown} Consistent with water reaching the surface; shade that "
        f"was there before has been taken out.{sun_words(sun)}",
        criterion=Criterion(
            settings.least, because="smaller changes come from clouds, wind and drift (common practice)"
        ),
        gates=("rain", "spot", growth_gate(growth)),
        rivals=(moved_shade(area, warm), new_shade(area, already, sun), intended),
        strong=(GROWN, NEW_SHADE),
        severity="damage",
        at_most="soon",
        actions=(
            "plumbing.close-valve",
            "plumbing.meter-test",
            "plumbing.locate-buried-leak",
            "plumbing.repair-buried-line",
        ),
        cautions=("plumbing.digging", "plumbing.water-and-electricity"),
        sources=("plumbing-canal-survey", "wet-bulb-floor", "plumbing-night-sign"),
        measured=known(
            wet_bulb=wet_bulb_of(context.conditions.outside_air, context.conditions.outside_humidity),
            coldest_by_evaporation=floors_of(context.conditions, _dry_beside(last, region, area, context)).water,
            growth_rate=_rate(growth, last),
        )
        | sun_measured(sun),
        shares=f"{last.id}:{region.name}:wet {area.ordinal}",
    )


def after_dark(context: Context, last: Thermogram) -> bool:
    """Whether the sun was away, so that wet ground, which stores more heat, may be the warmer one (dossier P6)."""
    north, east = (context.facts.get(name) for name in ("latitude", "longitude"))
    if isinstance(north, Quantity) and isinstance(east, Quantity):
        sun = sun_at(last.taken, north.value, east.value)
        if sun is not None:
            return not sun.up
    return context.conditions.sun == "none"


def _dry_beside(last: Thermogram, region: Region, area: Area, context: Context) -> Quantity | None:
    """Median-like level of the region without the area [degC]."""
    rest = read_region(last, search_mask(last, region, context) & ~area.mask(*last.shape))
    return rest.mean if rest is not None else None


def _rate(growth: Growth | None, last: Thermogram) -> Quantity | None:
    if growth is None or growth.rate is None or last.pixel is None:
        return growth.rate if growth is not None else None
    return growth.rate.scaled(_pixel_there(growth, last.pixel), "m2/h", "robust slope of the area")


def _pixel_there(growth: Growth, scale: PixelScale) -> float:
    """Mean area of a pixel where the ground changed [m2]; of the picture's middle where that is not known."""
    size = growth.area
    return size.value / int(growth.mask.sum()) if size is not None and growth.mask.any() else scale.area


def _sizes(growth: Growth, last: Thermogram) -> str:
    """The sizes one after the other, in square metres where the size of a pixel is known."""
    scale, unit = (_pixel_there(growth, last.pixel), "m2") if last.pixel is not None else (1.0, "pixels")
    shown = [f"{count * scale:.2g}" if last.pixel else str(count) for count in growth.pixels]
    return (", ".join(shown[:-1]) + f" and then {shown[-1]}" if len(shown) > 1 else shown[0]) + f" {unit}"


def _patches(
    before: Thermogram, region: Region, context: Context, settings: Settings, wet: tuple[Area, ...]
) -> tuple[Area, ...]:
    """Cold patches of the first picture that are not mainly what later became wet."""
    own = replace(region, thermogram=before.id)
    inside = search_mask(before, own, context)
    taken = np.zeros(before.shape, bool)
    for one in wet:
        taken |= one.mask(*before.shape)
    found = find_areas(before, inside, "cold", kind="constant", smallest_m2=settings.smallest)
    return tuple(
        one
        for one in found
        if abs(one.contrast.value) >= settings.least and (one.mask(*before.shape) & taken).sum() < 0.5 * one.pixels
    )


def _static(
    last: Thermogram, before: Thermogram, context: Context, region: Region, area: Area, change: Change, common: float
) -> Finding:
    """A cold patch that was there before: judged by how much it changed beyond the rest of the ground, not by how cold
    it is."""
    mask = area.mask(*last.shape)
    now = read_region(change.picture, mask)
    moved = (
        Quantity.between(0.0, 0.0, area.contrast.unit)
        if now is None
        else Quantity.normal(
            now.values["mean"] - common,
            area.contrast.unit,
            max(now.spread / max(now.pixels, 1) ** 0.5, now.standards["mean"]),
            "change since the valve was shut",
        )
    )
    case = Case(
        check=SEQUENCE,
        domain="plumbing",
        subject=before,
        context=context,
        region=region,
        area=area,
        purpose="irrigation",
        tag="before",
    )
    unit = unit_of(area)
    return conclude(
        case,
        title=f"Cold patch in {region.name} that was there before water ran",
        summary=f"An area of {size_of(area)} was {abs(area.contrast.value):.1f} {unit} colder than the ground "
        "around already with the valve shut, and changed by "
        f"{moved.value:+.1f} {unit} more than the ground since. Consistent with shade; not with water from this line.",
        contrast=deepened(moved),
        criterion=Criterion(STATIC_K, because="a wet spot of this line appears or deepens only after the valve opens"),
        gates=("spot",),
        severity="damage",
        at_most="watch",
        actions=("plumbing.meter-test",),
        sources=("plumbing-canal-survey",),
        measured={"contrast before": area.contrast},
    )


def deepened(moved: Quantity) -> Quantity:
    """Only further cooling counts: a patch that warmed dried or lost its shade."""
    return Quantity(
        min(moved.value, 0.0), moved.unit, min(moved.low, 0.0), min(moved.high, 0.0), moved.coverage, moved.method
    )


STEPS = (
    Step(
        name=SEQUENCE,
        stage="detect",
        version=3,
        run=run_sequence,
        settings=Settings,
        domain="plumbing",
        scope="sequence",
        summary="Ground that becomes wet after the valve opens, against shade that was there before.",
        shows=SHOWS,
        facts=FACTS,
        cautions=("plumbing.digging",),
        sources=("plumbing-canal-survey", "wet-bulb-floor"),
        status="trial",
        title="ground that becomes wet",
    ),
)
