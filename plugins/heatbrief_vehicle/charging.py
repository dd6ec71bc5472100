"""Battery and charging: terminals against their cables, posts against each other, warm cells, the alternator's body."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from heatbrief.api import Context, FactSpec, Step, StepOutput, setting
from heatbrief.detect import Case, Criterion, conclude, find_areas, matches, number, search_mask
from heatbrief.model import Finding, Gate, Rival, Thermogram

from heatbrief_vehicle.like_parts import Kind, odd_ones, warm_part
from heatbrief_vehicle.parts import DOMAIN, READS, SURFACE_FACTS, Part, beyond, by_group, open_rival, parts_of, word

NAME = "vehicle.charging"
TERMINALS = (
    "battery terminal",
    "battery post",
    "battery clamp",
    "alternator terminal",
    "starter terminal",
    "ground strap terminal",
)
CABLES = ("battery cable", "alternator cable", "starter cable", "ground strap cable")
CASES = ("battery case", "battery body")
ALTERNATORS = ("alternator body", "alternator housing")
SHOWS = (*TERMINALS, *CABLES, *CASES, *ALTERNATORS)
CURRENT = FactSpec(
    "current through",
    "what ran through the part at the time",
    choices=("charging", "cranking", "none"),
    example="charging",
)
CAUTIONS = ("vehicle.battery", "vehicle.running-engine", "vehicle.rotating-parts", "vehicle.hot-surfaces")
SOURCES = ("charging-practice", "starter-circuit")
HIGHEST_C = 110.0
LOADED = "heat of the engine beside it, or of a load that is there by design"


@dataclass(frozen=True)
class Settings:
    """From when a part counts as warm."""

    joint: float = setting(
        5.0,
        unit="K",
        positive=True,
        help="terminal against its cable, or post against post (common practice)",
        example="5 K",
    )
    cell: float = setting(5.0, unit="K", positive=True, help="warm area of the battery's case", example="5 K")


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Joints by group, cells of each case, and each alternator's body."""
    notes: list[str] = []
    parts = parts_of(subject, context, SHOWS, notes)
    findings: list[Finding] = []
    for group, members in by_group(parts).items():
        findings.extend(_joints(group, members, settings, context, notes))
    for part in parts:
        if matches(CASES, part.region.shows):
            findings.extend(_cells(part, settings, context))
        elif matches(ALTERNATORS, part.region.shows):
            findings.append(_alternator(part, context))
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def _joints(
    group: str, members: Sequence[Part], settings: Settings, context: Context, notes: list[str]
) -> list[Finding]:
    """Terminals of a group against its cables; without cables against each other."""
    terminals = [part for part in members if matches(TERMINALS, part.region.shows)]
    cables = [part for part in members if matches(CABLES, part.region.shows)]
    if not terminals:
        return []
    if len(terminals) + len(cables) < 2:
        notes.append(f"{group or 'terminals'}: a terminal needs its cable or a second terminal beside it.")
        return []
    compared = (
        [odd_ones([part, *cables], settings.joint)[0] for part in terminals]
        if cables
        else odd_ones(terminals, settings.joint)
    )
    found = []
    for part, apart in compared:
        if part in cables:
            notes.append(f"{group}: no terminal is warmer than its cable.")
            continue
        kind = Kind(
            check=NAME,
            least=settings.joint,
            odd="resistance in that joint, such as a loose, dirty or corroded clamp",
            because="a sound joint is no warmer than its cable (common practice)",
            source="charging-practice",
            severity="damage",
            actions=("vehicle.check-charging",),
            cautions=CAUTIONS,
            gates=(_current(part, context), "spot", "emissivity"),
        )
        found.append(warm_part(part, apart, kind, context, "its cable" if cables else "the other terminal"))
    return found


def _current(part: Part, context: Context) -> Gate:
    """Without current a bad joint stays cold."""
    given = word("current through", part.region, context)
    held = None if not given else given != "none"
    remedy = "" if held else "Take it while charging or right after cranking, and say `current through`."
    return Gate(
        "current through the joint", held, f"asked: charging or cranking; given: {given or 'nothing'}", "", remedy
    )


def _cells(part: Part, settings: Settings, context: Context) -> list[Finding]:
    inside = search_mask(part.subject, part.region, context)
    found = []
    for area in find_areas(part.subject, inside, "warm", kind="plane"):
        if abs(area.contrast.value) < settings.cell / 2:
            continue
        case = Case(NAME, DOMAIN, part.subject, context, part.region, area, purpose="vehicle", tag="cell")
        finding = conclude(
            case,
            title=f"{part.region.name}: warm area",
            summary=f"An area of the case is {number(area.contrast.value, 'K')} warmer than the rest. Consistent "
            "with a cell "
            "that is at fault; stop charging and cranking, keep sparks away, and let a workshop look at it.",
            criterion=Criterion(
                settings.cell, because="cells of one battery are alike (common practice)", sources=SOURCES[:1]
            ),
            gates=("spot", "emissivity"),
            rivals=("reflection", "material change", "shade or sun", loaded),
            severity="safety",
            at_most="soon",
            actions=("vehicle.check-charging",),
            cautions=CAUTIONS,
            sources=SOURCES[:1],
            shares=f"{part.subject.id}:{part.region.name}",
        )
        found.append(finding)
    return found


def _alternator(part: Part, context: Context) -> Finding:
    body = part.reading.mean
    case = Case(NAME, DOMAIN, part.subject, context, part.region, reading=part.reading, purpose="vehicle", tag="body")
    over = None if body is None else beyond(body, HIGHEST_C)
    reads = "allows no temperature" if body is None else f"reads {number(body.value, 'degC')}"
    high = over is not None and over.value > 0
    return conclude(
        case,
        title=f"{part.region.name}: {'hot' if high else 'temperature'}",
        summary=f"The body {reads}; 70 to {HIGHEST_C:g} degC is usual at load. "
        + (
            "Consistent with a heavy load, poor cooling air or a worn bearing."
            if high
            else "Nothing to do from this figure."
        ),
        criterion=Criterion(10.0, because="70 to 110 degC at load is usual (common practice)", sources=SOURCES[:1]),
        contrast=over,
        gates=("spot", "emissivity"),
        rivals=("reflection", loaded),
        strong=("reflection", LOADED),
        severity="damage",
        at_most="plan",
        actions=("vehicle.check-charging",),
        cautions=CAUTIONS,
        sources=SOURCES[:1],
        shares=f"{part.subject.id}:{part.region.name}",
    )


def loaded(case: Case) -> Rival:
    """The bay is warm."""
    return open_rival(LOADED, "a picture does not tell where the heat comes from", "the load and what stands beside it")


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=SHOWS,
    facts=(CURRENT, *SURFACE_FACTS),
    summary="Battery and charging: terminals against cables, post against post, warm cells, the alternator's body.",
    reads=READS,
    cautions=CAUTIONS,
    sources=SOURCES,
    title="battery and charging",
)
