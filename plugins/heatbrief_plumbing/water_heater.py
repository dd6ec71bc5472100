"""Water heaters and hot outlets: standby heat through the skin, and what a camera cannot say about the water."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, Step, StepOutput, propagated, setting
from heatbrief.detect import Area, Case, Criterion, conclude, facts_for, find_areas, read_region, said, search_mask
from heatbrief.detect.subjects import looked_at
from heatbrief.model import Finding, Gate, Quantity, Region, Rival, Thermogram

from heatbrief_plumbing.air import known
from heatbrief_plumbing.exposed import AROUND, WATER, air_around
from heatbrief_plumbing.pipe import FITTING as FITTING_FACT

NAME = "plumbing.water_heater"
TANKS = ("water heater", "hot water tank", "hot-water tank", "storage tank", "hot water cylinder")
OUTLETS = ("hot outlet", "hot tap", "hot-water outlet", "hot faucet")
RIVALS = ("reflection", "material change")
SKIN_RESISTANCE = 0.13
LEAST_PIXELS = 9
"""A tank seen by fewer pixels is not judged: three by three is the least spot (common practice, no source)."""
GUIDANCE = (
    {
        "table": "UK advice against bacteria",
        "class": "store at 60 degC or above; 50 degC at the outlet within a minute; growth at about 20 to 45 degC",
        "source": "plumbing-hse-legionella",
        "mark": "seen",
    },
    {
        "table": "US energy and child-safety advice",
        "class": "49 degC (120 degF) or below: at 60 degC a scald takes under 5 s, at 49 degC over 5 min",
        "source": "plumbing-us-heater",
        "mark": "seen",
    },
)
"""The two advices conflict; a mixing valve reconciles them. Shown side by side, never as a set point."""
CONFLICT = (
    "Advice on the water's temperature conflicts: hotter water scalds, cooler water can grow bacteria. A mixing valve "
    "serves both; local rules decide."
)
FITTING = "a pipe, burner, element cover or relief valve that is warm by nature"


@dataclass(frozen=True)
class Settings:
    """What insulation lets through."""

    resistance: float = setting(
        0.7,
        unit="m2 K/W",
        positive=True,
        help="least thermal resistance of a tank's insulation, about 25 mm of foam",
        example="0.7 m2 K/W",
    )
    least: float = setting(
        3.0, unit="K", positive=True, help="least warm place on a tank that is reported", example="3 K"
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """The skin of tanks as a whole, warm places on it, and what may be said of outlets."""
    findings: list[Finding | None] = []
    for region in looked_at(context, TANKS, subject):
        if region.shape in ("line", "point"):
            continue
        findings.extend(_tank(subject, settings, context, region))
    findings.extend(_outlet(subject, context, region) for region in looked_at(context, OUTLETS, subject))
    return StepOutput(findings=tuple(one for one in findings if one is not None))


def _case(subject: Thermogram, context: Context, region: Region, area: Area | None = None, tag: str = "") -> Case:
    return Case(
        check=NAME,
        domain="plumbing",
        subject=subject,
        context=context,
        region=region,
        area=area,
        purpose="plumbing",
        tag=tag,
    )


def skin_rise(water: float, air: float, resistance: float) -> float:
    """Rise of a tank's skin over the air [K]: (T_water - T_air) Rs / (R + Rs). Source: iso-6946."""
    return (water - air) * SKIN_RESISTANCE / (resistance + SKIN_RESISTANCE)


def _tank(subject: Thermogram, settings: Settings, context: Context, region: Region) -> list[Finding]:
    inside = search_mask(subject, region, context)
    reading = read_region(subject, inside, region.name)
    if reading is None or reading.pixels < LEAST_PIXELS:
        return []
    case = _case(subject, context, region)
    air, stated = air_around(case), case.fact("water_temperature")
    water = (
        stated if isinstance(stated, Quantity) else Quantity.between(45.0, 70.0, "degC", 57.0, "hot water, not stated")
    )
    made = []
    if air is not None and reading.mean is not None and reading.mean.unit == "degC":
        rise = propagated(
            lambda skin, air: max(skin - air, 0.0), "K", "mean skin minus air", skin=reading.mean, air=air
        )
        limit = skin_rise(water.high, air.low, settings.resistance)
        if rise is not None:
            made.append(_standby(case, rise, limit, reading.mean, settings, isinstance(stated, Quantity)))
    areas = find_areas(subject, inside, "warm", smallest=max(9, int(0.01 * inside.sum())))
    made.extend(
        _warm_place(_case(subject, context, region, area, "place"), settings)
        for area in areas
        if area.contrast.high >= settings.least or area.contrast.unit != "K"
    )
    return made


def _standby(case: Case, rise: Quantity, limit: float, skin: Quantity, settings: Settings, stated: bool) -> Finding:
    region = case.region
    assert region is not None
    remedy = "Give `water_temperature`, measured with a thermometer at the nearest tap."
    gate = Gate(
        "temperature of the water",
        True if stated else None,
        "asked: the stored water's temperature; given: " + ("yes" if stated else "none, 45 to 70 degC assumed"),
        "",
        "" if stated else remedy,
    )
    return conclude(
        case,
        contrast=rise,
        title=f"Heat through the skin of {region.name}",
        summary=f"The skin reads {said(skin)}, {rise.value:.1f} K over the air; sound insulation lets it rise by up to "
        f"{limit:.1f} K. " + ("Consistent with thin or missing insulation. " if rise.low > limit else "") + CONFLICT,
        criterion=Criterion(
            limit,
            because=f"a tank with {settings.resistance:g} m2 K/W of insulation rises by no more",
            sources=("iso-6946",),
        ),
        gates=("spot", "emissivity", gate),
        rivals=RIVALS,
        strong=("reflection",),
        severity="energy",
        at_most="plan",
        actions=("plumbing.insulate-tank",),
        cautions=("plumbing.scald", "plumbing.stored-water"),
        sources=("iso-6946", "plumbing-hse-legionella", "plumbing-us-heater"),
        measured=known(skin_rise=rise, skin=skin),
        classes=GUIDANCE,
        shares=f"{case.subject.id}:{region.name}:skin",
    )


def _warm_place(case: Case, settings: Settings) -> Finding:
    area, region = case.area, case.region
    assert area is not None and region is not None
    unit = "K" if area.contrast.unit == "K" else "counts"
    size = f"{area.area.value:.2g} m2" if area.area else f"{area.pixels} pixels"
    return conclude(
        case,
        title=f"Warm place on {region.name}",
        summary=f"A place of {size} reads {area.contrast.value:.1f} {unit} warmer than the rest of the skin. "
        "Consistent with insulation that is thin, wet or missing there.",
        criterion=Criterion(settings.least, because="skins of sound tanks vary by less (common practice)"),
        gates=("spot", "emissivity"),
        rivals=(*RIVALS, _fitting),
        strong=("reflection", FITTING),
        severity="energy",
        at_most="plan",
        actions=("plumbing.insulate-tank",),
        cautions=("plumbing.scald",),
        shares=f"{case.subject.id}:{region.name}:skin",
    )


def _fitting(case: Case) -> Rival:
    there = case.yes("fitting there")
    if there is None:
        return Rival(
            FITTING,
            "not testable",
            "fittings at the spot are not given",
            "an ordinary photo of the spot, or `fitting there`",
        )
    return Rival(
        FITTING,
        "not ruled out" if there else "ruled out",
        f"the owner says that {'a' if there else 'no'} fitting is there",
    )


def _outlet(subject: Thermogram, context: Context, region: Region) -> Finding | None:
    """What the skin of an outlet allows to be said: nothing certain about the water in it."""
    case = _case(subject, context, region)
    reading = read_region(subject, region)
    if reading is None:
        return None
    stated = case.fact("water_temperature")
    gate = Gate(
        "water measured with a thermometer",
        False,
        "asked: a thermometer in the running water, because a camera sees the skin of pipe or tap and bright metal "
        "reads far too low; given: "
        + (f"{said(stated)}, shown beside the advice" if isinstance(stated, Quantity) else "the skin only"),
        "plumbing-hse-legionella",
        "Hold a thermometer in the running water after one minute.",
    )
    skin = (
        f"The skin reads {said(reading.peak)}; the water is warmer by an unknown amount. "
        if reading.peak is not None and reading.peak.unit == "degC"
        else ""
    )
    return conclude(
        case,
        title=f"{region.name}: water temperature is not seen",
        summary=skin + CONFLICT,
        criterion=Criterion(1.0, because="for information only"),
        gates=(gate,),
        severity="comfort",
        at_most="watch",
        actions=("plumbing.measure-outlet",),
        cautions=("plumbing.scald", "plumbing.stored-water"),
        sources=("plumbing-hse-legionella", "plumbing-us-heater", "plumbing-scald-table"),
        measured=known(stated_water=stated if isinstance(stated, Quantity) else None),
        classes=GUIDANCE,
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain="plumbing",
    summary="Standby heat of water heaters by their skin; what may be said of outlets.",
    shows=(*TANKS, *OUTLETS),
    facts=(WATER, AROUND, FITTING_FACT, *facts_for(RIVALS)),
    cautions=("plumbing.scald", "plumbing.stored-water"),
    sources=("iso-6946", "plumbing-hse-legionella", "plumbing-us-heater"),
    status="trial",
    title="standby heat of water heaters",
)
