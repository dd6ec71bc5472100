"""Lines of the air conditioning against ambient: a suction line that is cold, a liquid line that is warm; the
condenser's face."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, FactSpec, Step, StepOutput, setting
from heatbrief.detect import Case, Criterion, chosen_regions, conclude, find_areas, number, said, search_mask
from heatbrief.detect.measure import Area
from heatbrief.model import Finding, Quantity, Region, Rival, Thermogram

from heatbrief_vehicle.core import without_rim
from heatbrief_vehicle.parts import DOMAIN, READS, SURFACE_FACTS, Part, amount, at_least, known, parts_of, word
from heatbrief_vehicle.vent_check import RUNNING
from heatbrief_vehicle.vents import expected_saturation

NAME = "vehicle.air_conditioning"
LINES = ("air conditioning line", "refrigerant line", "suction line", "liquid line")
CONDENSER = ("air conditioning condenser", "refrigerant condenser")
KIND = FactSpec("line", "which line of the air conditioning it is", choices=("suction", "liquid"), example="suction")
CAUTIONS = ("vehicle.running-engine", "vehicle.rotating-parts", "vehicle.refrigerant", "vehicle.hot-surfaces")
SOURCES = ("ac-practice", "vent-table")
BAY = "heat of the engine bay on the line, or insulation around it"
STOPPED = "a compressor that had just switched off by design"


@dataclass(frozen=True)
class Settings:
    """What counts."""

    least: float = setting(
        5.0, unit="K", positive=True, help="least usual difference of a line from ambient", example="5 K"
    )
    patch: float = setting(
        5.0, unit="K", positive=True, help="least difference of a patch of the condenser", example="5 K"
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Each declared line, and cool patches of each condenser."""
    notes: list[str] = []
    findings = []
    for part in parts_of(subject, context, LINES, notes):
        kind = kind_of(part.region, context)
        if kind:
            findings.append(_line(part, kind, settings, context))
        else:
            notes.append(f"{subject.id}, {part.region.name}: say `line: suction` or `line: liquid`.")
    for region in chosen_regions(context, CONDENSER, subject):
        inside = without_rim(search_mask(subject, region, context))
        areas = find_areas(subject, inside, "cold", kind="smooth") if inside.sum() >= 100 else ()
        kept = [area for area in areas if abs(area.contrast.value) >= settings.patch / 2]
        findings.extend(_patch(subject, region, area, settings, context) for area in kept)
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def kind_of(region: Region, context: Context) -> str:
    """ "suction", "liquid" or ""; from the fact, else from what the region shows."""
    given = word("line", region, context)
    return given or next((one for one in ("suction", "liquid") if one in region.shows.casefold()), "")


def shortfall(reading: Quantity, ambient: Quantity, kind: str, least: float) -> Quantity:
    """How far a line stays behind the least usual difference from ambient [K]; none when it keeps it."""
    sign = -1.0 if kind == "suction" else 1.0
    value = least - sign * (reading.value - ambient.value)
    half = (reading.half_width**2 + ambient.half_width**2) ** 0.5
    best = max(value, 0.0)
    return Quantity(best, "K", min(max(value - half, 0.0), best), max(value + half, best), 0.95, "short of the usual")


def _line(part: Part, kind: str, settings: Settings, context: Context) -> Finding:
    ambient, reading = context.conditions.outside_air, part.reading.mean
    short = None if ambient is None or reading is None else shortfall(reading, ambient, kind, settings.least)
    usual = None if ambient is None else expected_saturation(ambient.value)
    cold = kind == "suction"
    ran = amount("ac_running", part.region, context)
    case = Case(NAME, DOMAIN, part.subject, context, part.region, reading=part.reading, purpose="vehicle", tag=kind)
    off = short is not None and short.value >= 1.0
    words = f"A {kind} line is {'cold and often wet' if cold else 'warm'} while the compressor runs. " + (
        "Consistent with a low charge, a compressor that does not work, or air conditioning that was off."
        if off
        else "It is, so nothing follows from it."
    )
    reads = "allows no temperature" if reading is None else f"reads {number(reading.value, 'degC')}"
    beside = "" if ambient is None else f" in air of {number(ambient.value, 'degC')}"
    model = (
        ""
        if usual is None
        else f" One factory's pressures mean {said(usual[0] if cold else usual[1])} inside the {kind} side."
    )
    return conclude(
        case,
        title=f"{part.region.name}: {('not cold' if cold else 'not warm') if off else 'as usual'}",
        summary=f"The line {reads}{beside}. {words}{model}",
        criterion=Criterion(1.0, because="the line differs from ambient by less than usual", sources=("ac-practice",)),
        contrast=short,
        gates=(
            at_least(
                "air conditioning settled",
                None if ran is None else ran.value,
                5,
                "min",
                "Let it run for 5 to 10 min.",
                "ac-practice",
            ),
            at_least(
                "ambient",
                None if ambient is None else ambient.value,
                21,
                "degC",
                "Take it at 21 degC or more.",
                "vent-table",
            ),
            "spot",
            "emissivity",
        ),
        rivals=("reflection", bay, stopped),
        strong=("reflection", BAY, STOPPED),
        severity="comfort",
        actions=("vehicle.check-air-conditioning",),
        cautions=CAUTIONS,
        sources=SOURCES,
        measured=known(ambient=ambient),
        shares=f"{part.subject.id}:air conditioning",
    )


def bay(case: Case) -> Rival | None:
    """Lines run past hot parts, and some are wrapped."""
    return Rival(
        BAY, "not testable", "a picture shows the outside of the line", "whether the line is bare (ordinary photo)"
    )


def stopped(case: Case) -> Rival | None:
    """Compressors cycle."""
    return Rival(STOPPED, "not ruled out", "compressors switch by themselves; two pictures a minute apart would tell")


def _patch(subject: Thermogram, region: Region, area: Area, settings: Settings, context: Context) -> Finding:
    case = Case(NAME, DOMAIN, subject, context, region, area, purpose="vehicle", tag="condenser")
    return conclude(
        case,
        title=f"{region.name}: cooler patch",
        summary=f"A patch of the condenser is {number(abs(area.contrast.value), 'K')} cooler than the face around it. "
        "Consistent with tubes that liquid fills or that carry little, which may be the ordinary end of the condenser.",
        criterion=Criterion(settings.patch, because="common practice", sources=("ac-practice",)),
        gates=("spot", "emissivity"),
        rivals=("reflection", "object edge", liquid_end),
        strong=("reflection", LIQUID_END),
        severity="comfort",
        actions=("vehicle.check-air-conditioning",),
        cautions=CAUTIONS,
        sources=("ac-practice",),
        shares=f"{subject.id}:{region.name}",
    )


LIQUID_END = "the end of the condenser, where liquid collects by design"


def liquid_end(case: Case) -> Rival | None:
    """Liquid collects near the outlet."""
    return Rival(LIQUID_END, "not ruled out", "the way of the refrigerant through the face is not known")


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=(*LINES, *CONDENSER),
    facts=(KIND, RUNNING, *SURFACE_FACTS),
    summary="Suction and liquid line of the air conditioning against ambient, and cooler patches of its condenser.",
    reads=READS,
    cautions=CAUTIONS,
    sources=SOURCES,
    title="lines and condenser of the air conditioning",
)
