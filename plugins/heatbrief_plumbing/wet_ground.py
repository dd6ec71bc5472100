"""Irrigated ground: what grows after the valve opens against shade that was there before. One picture cannot decide."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
from heatbrief.api import Context, FactSpec, Step, StepOutput, setting
from heatbrief.detect import Area, Case, Criterion, conclude, fact_of, find_areas, read_region, search_mask
from heatbrief.detect.change import Change, change_of
from heatbrief.detect.sequence import Growth, area_growth
from heatbrief.detect.subjects import looked_at
from heatbrief.model import Finding, Gate, Quantity, Region, Rival, Thermogram

from heatbrief_plumbing.air import known, wet_bulb_of

SEQUENCE, SINGLE = "plumbing.wet_ground", "plumbing.cold_ground"
SHOWS = ("irrigated ground", "planting bed", "lawn", "irrigation", "buried line", "flower bed", "turf")
VALVE = FactSpec("valve", "whether water ran when the picture was taken", choices=("shut", "open"), example="shut")
GROWN = "a patch that stayed or moved, such as shade"
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
    findings: list[Finding] = []
    for region in looked_at(own, SHOWS, last):
        inside = search_mask(last, region, own) & change.picture.valid
        growth = area_growth(used, inside) if len(used) >= 3 else None
        areas = find_areas(change.picture, inside, "cold", kind="constant", smallest_m2=settings.smallest)
        warm = find_areas(change.picture, inside, "warm", kind="constant", smallest_m2=settings.smallest)
        findings.extend(_wet(last, before, settings, own, region, area, growth, warm, change) for area in areas)
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
) -> Finding:
    now = read_region(last, area.mask(*last.shape))
    area = replace(area, mean=now.mean if now else None, surroundings=None)
    case = Case(
        check=SEQUENCE, domain="plumbing", subject=last, context=context, region=region, area=area, purpose="irrigation"
    )
    size = f"{area.area.value:.2g} m2" if area.area else f"{area.pixels} pixels"
    unit = "K" if area.contrast.unit == "K" else "counts"
    grown = (
        ""
        if growth is None or not growth.mask.any()
        else f" In the pictures since then it covered {_sizes(growth)} pixels."
    )
    return conclude(
        case,
        title=f"Wet spot in {region.name} after the valve opened",
        summary=f"An area of {size} became {abs(area.contrast.value):.1f} {unit} colder than in {before.id}, when the "
        f"valve was shut.{grown} "
        "Consistent with water reaching the surface; shade that was there before has been taken out.",
        criterion=Criterion(
            settings.least, because="smaller changes come from clouds, wind and drift (common practice)"
        ),
        gates=("rain", "spot", _growth_gate(growth)),
        rivals=(_moved_shade(area, warm), _intended),
        strong=(GROWN,),
        severity="damage",
        at_most="soon",
        actions=(
            "plumbing.close-valve",
            "plumbing.meter-test",
            "plumbing.locate-buried-leak",
            "plumbing.repair-buried-line",
        ),
        cautions=("plumbing.digging", "plumbing.water-and-electricity"),
        sources=("plumbing-canal-survey", "wet-bulb-floor"),
        measured=known(
            wet_bulb=wet_bulb_of(context.conditions.outside_air, context.conditions.outside_humidity),
            growth_rate=growth.rate if growth is not None else None,
        ),
        shares=f"{last.id}:{region.name}:wet {area.ordinal}",
    )


def _sizes(growth: Growth) -> str:
    shown = [str(count) for count in growth.pixels]
    return ", ".join(shown[:-1]) + f" and then {shown[-1]}" if len(shown) > 1 else shown[0]


def _growth_gate(growth: Growth | None) -> Gate:
    """Growth through at least three pictures is what water does; two pictures show only that something changed."""
    if growth is None:
        return Gate(
            "three pictures or more",
            None,
            "asked: at least three pictures from the one with the valve shut; given: two",
            "",
            "Take one picture with the valve shut and two or more after it opens, some minutes apart.",
        )
    if growth.grows:
        return Gate(
            "growth", True, f"the area grew from picture to picture with a probability of {growth.probability:.0%}"
        )
    return Gate(
        "growth",
        None,
        f"growth has a probability of {growth.probability:.0%}, 95 % are asked",
        "",
        "Take more pictures after the valve opens, some minutes apart, from the same place.",
    )


def _moved_shade(area: Area, warm: tuple[Area, ...]) -> Callable[[Case], Rival]:
    """A shadow that moves leaves a warm strip about as large where it was; a wet spot leaves none."""
    size = sum(one.pixels for one in warm if _near(one, area))

    def moved_shade(case: Case) -> Rival:
        if size >= 0.3 * area.pixels:
            return Rival(GROWN, "not ruled out", f"beside it {size} pixels became warmer, as where a shadow moved away")
        return Rival(
            GROWN,
            "ruled out",
            f"it is not in the picture before the valve opened, and only {size} pixels beside it became warmer; "
            f"a moving shadow of {area.pixels} pixels would leave about as many",
        )

    return moved_shade


def _near(one: Area, other: Area) -> bool:
    reach = max(other.box[2] - other.box[0], other.box[3] - other.box[1])
    return bool(
        np.hypot(one.centre[0] - other.centre[0], one.centre[1] - other.centre[1])
        <= 1.5 * reach + 0.5 * max(one.box[2] - one.box[0], one.box[3] - one.box[1])
    )


def _intended(case: Case) -> Rival:
    """Water where it is meant to go looks the same; only the layout tells."""
    drip = case.yes("emitter there")
    name = "water coming out where it is meant to"
    if drip is None:
        return Rival(
            name,
            "not testable",
            "the places of heads and emitters are not given",
            "`emitter there` in the facts of the region",
        )
    return Rival(
        name,
        "not ruled out" if drip else "ruled out",
        f"the owner says that {'a' if drip else 'no'} head or emitter is there",
    )


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
    unit = "K" if area.contrast.unit == "K" else "counts"
    return conclude(
        case,
        title=f"Cold patch in {region.name} that was there before water ran",
        summary=f"An area of {area.pixels} pixels was {abs(area.contrast.value):.1f} {unit} colder than the ground "
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


def run_single(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """One picture of irrigated ground: a cold area is listed as undecided, with the fact that would settle it."""
    if context.view.sequence:
        return StepOutput()
    findings = []
    for region in looked_at(context, SHOWS, subject):
        areas = find_areas(subject, search_mask(subject, region, context), "cold", smallest_m2=settings.smallest)
        findings.extend(
            _undecided(subject, settings, context, region, area)
            for area in areas
            if abs(area.contrast.value) >= settings.least
        )
    return StepOutput(findings=tuple(findings))


def _undecided(subject: Thermogram, settings: Settings, context: Context, region: Region, area: Area) -> Finding:
    valve = str(fact_of("valve", region, context) or "").strip().casefold()
    given = f"one picture with the valve {valve}" if valve else "one picture, and nothing about the valve"
    alone = Gate(
        "a picture before the valve opens",
        False,
        f"asked: pictures before and after the valve opens; given: {given}. Shade looks the same as wet ground",
        "",
        "Take one picture with the valve shut and two or more after it opens, from the same place, as one `sequence` "
        "with `valve` in the facts.",
    )
    case = Case(
        check=SINGLE,
        domain="plumbing",
        subject=subject,
        context=context,
        region=region,
        area=area,
        purpose="irrigation",
    )
    unit = "K" if area.contrast.unit == "K" else "counts"
    return conclude(
        case,
        title=f"Cold area in {region.name}: wet or shaded",
        summary=f"{abs(area.contrast.value):.1f} {unit} colder than the ground around. One picture cannot tell wet "
        "ground from shade.",
        criterion=Criterion(settings.least, because="smaller differences are common on open ground (common practice)"),
        gates=(alone, "rain", "spot"),
        rivals=("shade or sun", _intended),
        severity="damage",
        at_most="watch",
        actions=("plumbing.picture-valve-shut",),
        sources=("plumbing-canal-survey", "wet-bulb-floor"),
        measured=known(wet_bulb=wet_bulb_of(context.conditions.outside_air, context.conditions.outside_humidity)),
    )


EMITTER = FactSpec(
    "emitter there", "whether a head, emitter or drain is meant to wet this place", choices=("yes", "no"), example="no"
)
STEPS = (
    Step(
        name=SEQUENCE,
        stage="detect",
        version=1,
        run=run_sequence,
        settings=Settings,
        domain="plumbing",
        scope="sequence",
        summary="Ground that becomes wet after the valve opens, against shade that was there before.",
        shows=SHOWS,
        facts=(VALVE, EMITTER),
        cautions=("plumbing.digging",),
        sources=("plumbing-canal-survey", "wet-bulb-floor"),
        status="trial",
    ),
    Step(
        name=SINGLE,
        stage="detect",
        version=1,
        run=run_single,
        settings=Settings,
        domain="plumbing",
        summary="Cold areas of irrigated ground in one picture: undecided, with what would settle it.",
        shows=SHOWS,
        facts=(VALVE, EMITTER),
        cautions=("plumbing.digging",),
        sources=("plumbing-canal-survey",),
        status="trial",
    ),
)
