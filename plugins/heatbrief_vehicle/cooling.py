"""An engine's radiator: the drop from inlet to outlet, and bands of tubes that stay cold."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, FactSpec, Step, StepOutput, setting
from heatbrief.detect import Case, Criterion, chosen_regions, conclude, find_areas, number, search_mask
from heatbrief.detect.measure import Area, zone_allows_temperature
from heatbrief.model import Finding, Gate, Quantity, Region, Rival, Thermogram

from heatbrief_vehicle.core import Flow, flow_of, warm_gate, without_rim
from heatbrief_vehicle.parts import DOMAIN, READS, SINCE_START, SURFACE_FACTS, amount, known, seconds

NAME = "vehicle.cooling"
COOLANT_FLOW = FactSpec(
    "coolant_flow", "flow of coolant through the radiator, read by a workshop", unit="L/min", example="30 L/min"
)
SHOWS = ("engine radiator", "car radiator", "coolant radiator", "radiator core", "vehicle radiator")
CAUTIONS = ("vehicle.running-engine", "vehicle.rotating-parts", "vehicle.coolant", "vehicle.hot-surfaces")
SOURCES = ("radiator-practice", "thermostat-manuals")
PARTLY_OPEN = "a thermostat that was only partly open, or a slow pump at idle"
OUTSIDE = "dirt, bent fins, a part in front of the core, or air of the fan"


@dataclass(frozen=True)
class Settings:
    """From when a band counts, and the usual drop."""

    least: float = setting(
        5.0, unit="K", positive=True, help="least difference of a band from the core around it", example="5 K"
    )
    largest_drop: float = setting(
        20.0,
        unit="K",
        positive=True,
        help="drop from which a low flow is suspected; 5 to 15 K is usual (common practice), a third more for idling",
        example="20 K",
    )
    least_drop: float = setting(
        2.0, unit="K", positive=True, help="drop below which little heat is given off", example="2 K"
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Judge every declared radiator core."""
    findings: list[Finding] = []
    notes: list[str] = []
    for region in chosen_regions(context, SHOWS, subject):
        inside = without_rim(search_mask(subject, region, context))
        flow = flow_of(subject, inside)
        if flow is None:
            notes.append(f"{subject.id}, {region.name}: too few pixels with a value in the region.")
            continue
        warm = warm_gate(subject, inside, flow, seconds("since_start", region, context))
        areas = [
            area
            for area in find_areas(subject, inside, "cold", kind="plane")
            if abs(area.contrast.value) >= settings.least / 2
        ]
        findings.append(_drop(subject, settings, context, region, flow, warm))
        findings.extend(_band(subject, settings, context, region, area, flow, warm) for area in areas)
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def _drop(subject: Thermogram, settings: Settings, context: Context, region: Region, flow: Flow, warm: Gate) -> Finding:
    drop = flow.drop
    near_zero = drop.value < settings.least_drop
    case = Case(
        check=NAME, domain=DOMAIN, subject=subject, context=context, region=region, purpose="vehicle", tag="drop"
    )
    if near_zero and warm.passed:
        words = (
            "Almost nothing is given off: consistent with a shut thermostat, a fan that stands still, or "
            "coolant that goes round the core."
        )
    elif warm.passed is False:
        words = (
            "The core was not warm enough to be judged; this is also how a shut thermostat looks while the "
            "engine warms up."
        )
    elif drop.value > settings.largest_drop:
        words = (
            "More than is usual: consistent with a low flow of coolant, which is ordinary at idle with a "
            "partly open thermostat."
        )
    else:
        words = "About 5 to 15 K is usual while coolant flows; nothing to do from this figure."
    return conclude(
        case,
        title=f"{region.name}: drop from inlet to outlet",
        summary=f"The core falls by {number(drop.value, 'K')} from {flow.way}. {words}",
        criterion=Criterion(
            settings.least_drop if near_zero else settings.largest_drop,
            because="drops of 5 to 15 K are usual while coolant flows (common practice)",
            sources=("radiator-practice",),
        ),
        contrast=_shortfall(drop, settings) if near_zero else drop,
        gates=(warm, "spot", "emissivity"),
        rivals=(partly_open,),
        strong=(PARTLY_OPEN,),
        severity="damage",
        at_most="plan",
        actions=("vehicle.check-cooling", "vehicle.repeat-warm"),
        cautions=CAUTIONS,
        sources=SOURCES,
        measured=known(
            drop_across_core=drop,
            left_minus_right=flow.sideways,
            top_minus_bottom=flow.downwards,
            coolant_flow=amount("coolant_flow", region, context),
            warm_end=flow.inlet if zone_allows_temperature(subject, case.mask) else None,
        ),
        shares=f"{subject.id}:{region.name}:flow",
    )


def _shortfall(drop: Quantity, settings: Settings) -> Quantity:
    """How far the drop stays below the least usual one of 5 K, so that a larger figure is a stronger sign."""
    return Quantity(5.0 - drop.value, "K", 5.0 - drop.high, 5.0 - drop.low, drop.coverage, "5 K minus the drop")


def partly_open(case: Case) -> Rival | None:
    """Only the maker's procedure tells."""
    return Rival(
        PARTLY_OPEN,
        "not ruled out",
        "the opening of the thermostat and the speed of the pump are not seen in a picture",
    )


def _band(
    subject: Thermogram, settings: Settings, context: Context, region: Region, area: Area, flow: Flow, warm: Gate
) -> Finding:
    x0, y0, x1, y1 = area.box
    along = "tubes" if area.elongation >= 2.0 else "patch of tubes"
    runs = "across" if x1 - x0 >= y1 - y0 else "down"
    case = Case(
        check=NAME, domain=DOMAIN, subject=subject, context=context, region=region, area=area, purpose="vehicle"
    )
    return conclude(
        case,
        title=f"{region.name}: cold band of tubes" if along == "tubes" else f"{region.name}: cold patch",
        summary=f"A {'band that runs ' + runs + ' the core' if along == 'tubes' else 'patch of the core'} is "
        f"{number(abs(area.contrast.value), 'K')} colder than the core around it, while "
        f"the rest falls evenly from {flow.way}. Consistent with tubes that carry little or no coolant, or with "
        "something that cools or covers them from outside.",
        criterion=Criterion(
            settings.least,
            because="tubes of a core with even flow differ by less (common practice)",
            sources=("radiator-practice",),
        ),
        gates=(warm, "spot", "emissivity"),
        rivals=("reflection", "object edge", "material change", covered),
        strong=("reflection", "material change"),
        severity="damage",
        actions=("vehicle.look-at-core", "vehicle.check-cooling"),
        cautions=CAUTIONS,
        sources=SOURCES,
        measured=known(
            drop_across_core=flow.drop,
            share_of_core=Quantity.exact(
                round(area.pixels / max(int(search_mask(subject, region, context).sum()), 1), 3), "1"
            ),
        ),
        shares=f"{subject.id}:{region.name}:{area.ordinal}",
    )


def covered(case: Case) -> Rival | None:
    """A look at the cold core tells; the shape gives a hint."""
    fill = case.area.fill if case.area is not None else 0.0
    return Rival(
        OUTSIDE,
        "not testable",
        f"the area fills {fill:.0%} of the box around it; the picture alone cannot tell what lies on the core",
        "an ordinary photo of the core with the engine off and cold",
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=2,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=SHOWS,
    facts=(SINCE_START, COOLANT_FLOW, *SURFACE_FACTS),
    summary="Drop from inlet to outlet of an engine's radiator, and bands of tubes that stay cold.",
    reads=READS,
    cautions=CAUTIONS,
    sources=SOURCES,
    title="engine radiator",
)
