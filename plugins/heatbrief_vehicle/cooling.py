"""An engine's radiator: the drop from inlet to outlet, and bands of tubes that stay cold."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from heatbrief.api import Context, Step, StepOutput, setting
from heatbrief.detect import Case, Criterion, chosen_regions, conclude, find_areas, number, search_mask
from heatbrief.detect.measure import Area, zone_allows_temperature
from heatbrief.model import Finding, Gate, Quantity, Region, Rival, Thermogram

from heatbrief_vehicle.parts import DOMAIN, SINCE_START, SURFACE_FACTS, known, seconds

NAME = "vehicle.cooling"
SHOWS = ("engine radiator", "car radiator", "coolant radiator", "radiator core", "vehicle radiator")
WARM_C = 65.0
"""Thermostats seen in makers' texts start at 80 to 95 degC; a core with no place above this has no flow to judge (own choice below them)."""
ZERO, INLET_K = 273.15, 3.0
"""Bounds of the warm end: the accuracy usual for such cameras and the way to the edge (own choice)."""
RIM = 3
CAUTIONS = ("vehicle.running-engine", "vehicle.rotating-parts", "vehicle.coolant", "vehicle.hot-surfaces")
SOURCES = ("radiator-practice", "thermostat-manuals")
PARTLY_OPEN = "a thermostat that was only partly open, or a slow pump at idle"
OUTSIDE = "dirt, bent fins, a part in front of the core, or air of the fan"


@dataclass(frozen=True)
class Settings:
    """From when a band counts, and the usual drop."""

    least: float = setting(5.0, unit="K", positive=True, help="least difference of a band from the core around it", example="5 K")
    largest_drop: float = setting(
        20.0,
        unit="K",
        positive=True,
        help="drop from inlet to outlet from which a low flow is suspected; 5 to 15 K is usual (common practice), a third more is left for idling",
        example="20 K",
    )
    least_drop: float = setting(2.0, unit="K", positive=True, help="drop below which little heat is given off", example="2 K")


@dataclass(frozen=True)
class Flow:
    """The plane through a core: drop across it [K] with bounds, the way it falls, and its warm end [degC]."""

    drop: Quantity
    way: str
    inlet: Quantity


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
        areas = [area for area in find_areas(subject, inside, "cold", kind="plane") if abs(area.contrast.value) >= settings.least / 2]
        findings.append(_drop(subject, settings, context, region, flow, warm))
        findings.extend(_band(subject, settings, context, region, area, flow, warm) for area in areas)
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def without_rim(inside: np.ndarray) -> np.ndarray:
    """The region without its outermost pixels, which mix with the frame of the core."""
    from scipy.ndimage import binary_erosion

    return binary_erosion(inside, np.ones((2 * RIM + 1, 2 * RIM + 1)), border_value=1)


def flow_of(subject: Thermogram, inside: np.ndarray) -> Flow | None:
    """Medians of the two end fifths along the axis with the stronger slope; None for fewer than 100 pixels.

    Rows and columns are taken as medians, so that a band of cold tubes across the core does not move them.
    """
    rows, columns = np.nonzero(inside)
    if rows.size < 100:
        return None
    y0, y1, x0, x1 = rows.min(), rows.max() + 1, columns.min(), columns.max() + 1
    values = np.where(inside, subject.values, np.nan)[y0:y1, x0:x1].astype(float)
    if min(values.shape) < 5:
        return None
    across, down = (_ends(values, axis) for axis in (0, 1))
    (first, last, spread), way = (across, "across") if abs(across[0] - across[1]) >= abs(down[0] - down[1]) else (down, "down")
    names = {"across": ("left to right", "right to left"), "down": ("top to bottom", "bottom to top")}[way]
    warm, cold = max(first, last), min(first, last)
    value = (warm - cold) / 0.8
    half = max(1.0, 1.96 * spread, 0.08 * value)
    inlet = warm + 0.1 * value - ZERO
    return Flow(
        Quantity(value, "K", value - half, value + half, 0.95, "medians of the end fifths, carried to the ends"),
        names[0] if first >= last else names[1],
        Quantity(inlet, "degC", inlet - INLET_K, inlet + INLET_K, 0.95, "median of the warm end, carried to the edge"),
    )


def _ends(values: np.ndarray, axis: int) -> tuple[float, float, float]:
    """(median of the first fifth, of the last fifth, scatter of the lines' medians from a straight line) along the other axis [K]."""
    profile = np.nanmedian(values[:, np.isfinite(values).any(axis=0)] if axis == 0 else values[np.isfinite(values).any(axis=1)], axis=axis)
    fifth = max(1, profile.size // 5)
    place = np.arange(profile.size)
    left = profile - np.polyval(np.polyfit(place, profile, 1), place)
    return float(np.median(profile[:fifth])), float(np.median(profile[-fifth:])), float(np.std(left)) / np.sqrt(fifth)


def warm_gate(subject: Thermogram, inside: np.ndarray, flow: Flow, since: float | None) -> Gate:
    """A core is judged only when coolant flows through it: its warm end shows that, or the time since the start."""
    asked = f"asked: warm end of the core at {WARM_C:.0f} degC or more"
    remedy = "Take the picture when the engine has reached its working temperature and the thermostat is open."
    if not zone_allows_temperature(subject, inside):
        return Gate(
            "engine at working temperature",
            True if since is not None and since >= 900 else None,
            f"{asked}; the surface allows no temperature",
            "thermostat-manuals",
            remedy,
        )
    warm = flow.inlet.value >= WARM_C
    return Gate(
        "engine at working temperature", warm, f"{asked}; given: {number(flow.inlet.value, 'degC')}", "thermostat-manuals", "" if warm else remedy
    )


def _drop(subject: Thermogram, settings: Settings, context: Context, region: Region, flow: Flow, warm: Gate) -> Finding:
    drop = flow.drop
    near_zero = drop.value < settings.least_drop
    case = Case(check=NAME, domain=DOMAIN, subject=subject, context=context, region=region, purpose="vehicle", tag="drop")
    if near_zero and warm.passed:
        words = "Almost nothing is given off: consistent with a shut thermostat, a fan that stands still, or coolant that goes round the core."
    elif warm.passed is False:
        words = "The core was not warm enough to be judged; this is also how a shut thermostat looks while the engine warms up."
    elif drop.value > settings.largest_drop:
        words = "More than is usual: consistent with a low flow of coolant, which is ordinary at idle with a partly open thermostat."
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
        measured=known(drop_across_core=drop, warm_end=flow.inlet if zone_allows_temperature(subject, case.mask) else None),
        shares=f"{subject.id}:{region.name}:flow",
    )


def _shortfall(drop: Quantity, settings: Settings) -> Quantity:
    """How far the drop stays below the least usual one of 5 K, so that a larger figure is a stronger sign."""
    return Quantity(5.0 - drop.value, "K", 5.0 - drop.high, 5.0 - drop.low, drop.coverage, "5 K minus the drop")


def partly_open(case: Case) -> Rival | None:
    """Only the maker's procedure tells."""
    return Rival(PARTLY_OPEN, "not ruled out", "the opening of the thermostat and the speed of the pump are not seen in a picture")


def _band(subject: Thermogram, settings: Settings, context: Context, region: Region, area: Area, flow: Flow, warm: Gate) -> Finding:
    x0, y0, x1, y1 = area.box
    along = "tubes" if area.elongation >= 2.0 else "patch of tubes"
    runs = "across" if x1 - x0 >= y1 - y0 else "down"
    case = Case(check=NAME, domain=DOMAIN, subject=subject, context=context, region=region, area=area, purpose="vehicle")
    return conclude(
        case,
        title=f"{region.name}: cold band of tubes" if along == "tubes" else f"{region.name}: cold patch",
        summary=f"A {'band that runs ' + runs + ' the core' if along == 'tubes' else 'patch of the core'} is {number(abs(area.contrast.value), 'K')} colder than the core around it, while "
        f"the rest falls evenly from {flow.way}. Consistent with tubes that carry little or no coolant, or with something that cools or covers them from outside.",
        criterion=Criterion(
            settings.least, because="tubes of a core with even flow differ by less (common practice)", sources=("radiator-practice",)
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
            share_of_core=Quantity.exact(round(area.pixels / max(int(search_mask(subject, region, context).sum()), 1), 3), "1"),
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
    version=1,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=SHOWS,
    facts=(SINCE_START, *SURFACE_FACTS),
    summary="Drop from inlet to outlet of an engine's radiator, and bands of tubes that stay cold.",
    reads=("conditions", "camera", "regions", "facts", "view"),
    cautions=CAUTIONS,
    sources=SOURCES,
)
