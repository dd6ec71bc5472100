"""Lines through which heat passes more easily than wooden framing explains: steel, concrete, gaps along members."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from heatbrief.api import Context, FactSpec, Step, StepOutput, propagated, setting
from heatbrief.detect import Area, Case, Criterion, conclude, facts_for
from heatbrief.detect.films import facing_of
from heatbrief.detect.subjects import looked_at
from heatbrief.model import Finding, Quantity, Region, Rival, Thermogram
from heatbrief.model.text import matches

from heatbrief_envelope.insulation import LEFT_OUT, PLACES
from heatbrief_envelope.measures import UNKNOWN_K, below, measures, practice_for
from heatbrief_envelope.outside import outside_gates
from heatbrief_envelope.search import is_line, searched
from heatbrief_envelope.surfaces import (
    AIR_BEYOND,
    CONSTRUCTION,
    Airs,
    airs_of,
    from_outside,
    temperature_factor,
    with_airs,
    words_of,
)

NAME = "envelope.thermal_bridge"
SHOWS = ("wall", "ceiling", "floor", "roof slope", "corner", "junction", "balcony", "facade", "lintel")
RIVALS = ("reflection", "lens shading", "shade or sun", "material change", "thermal lag")
TAIL = 0.3
"""Share of a line's heat that may pass beyond its outline, where its contrast sinks into noise (common practice)."""
FACTOR_LIMIT = "dwelling-junction"
MEMBER = FactSpec(
    "member",
    "what is known to lie in the line",
    choices=("wood", "steel", "concrete", "pipe", "unknown"),
    example="steel",
)


@dataclass(frozen=True)
class Settings:
    """What still counts as framing."""

    framing_share: float = setting(
        0.10,
        unit="1",
        low=0.02,
        high=0.5,
        example="10 %",
        help="largest contrast of a wooden member as a share of the inside-outside difference; more is a bridge",
    )
    least: float = setting(0.8, unit="K", positive=True, help="least contrast that is reported", example="0.8 K")
    shortest: float = setting(0.3, unit="m", low=0, help="shortest line that is reported", example="0.3 m")
    rule_set: str = setting(
        "", help="practice whose survey conditions apply; empty: by the construction, as for envelope.insulation"
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Search every declared surface for lines that framing does not explain."""
    findings: list[Finding] = []
    notes: list[str] = []
    for region in looked_at(context, SHOWS, subject):
        airs = airs_of(context, region)
        if matches(LEFT_OUT, words_of(context, region)) or (airs.difference is not None and airs.sign is None):
            continue
        found = searched(subject, region, context, SHOWS, airs.sign)
        for area in found.areas:
            if not is_line(subject, area) or _length(subject, area) < settings.shortest:
                continue
            if below(area.contrast, _criterion(settings, airs).contrast):
                notes.append(
                    f"{subject.id}, {region.name}: a line of {area.contrast.value:+.1f} {area.contrast.unit} is no "
                    "more than wooden framing explains."
                )
            else:
                findings.append(_finding(subject, settings, context, region, airs, area))
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def _length(subject: Thermogram, area: Area) -> float:
    """Length of a line [m]; infinite when the size of a pixel is not known."""
    return float("inf") if subject.pixel is None else area.pixels / max(area.width, 1.0) * subject.pixel.width


def _finding(
    subject: Thermogram, settings: Settings, context: Context, region: Region, airs: Airs, area: Area
) -> Finding:
    text = words_of(context, region)
    case = Case(
        check=NAME,
        domain="envelope",
        subject=subject,
        context=with_airs(context, airs),
        region=region,
        area=area,
        purpose="insulation",
        rule_set=settings.rule_set or practice_for(region, context),
    )
    criterion = _criterion(settings, airs)
    length = _measured_length(subject, area)
    word = "warmer" if area.sign == "warm" else "colder"
    unit = "K" if area.contrast.unit == "K" else "counts"
    size = f"{length.value:.1f} m long" if length else f"{area.pixels / max(area.width, 1.0):.0f} pixels long"
    numbers = measures(subject, region, airs, area, text, context)
    return conclude(
        case,
        title=f"Line {size} in the {PLACES[facing_of(text)].lower()}, {word} than framing explains",
        summary=f"A line {size} reads {abs(area.contrast.value):.1f} {unit} {word} than the surface beside it. "
        "Consistent with steel or concrete through the insulation, or with a gap along a member.",
        criterion=criterion,
        gates=(
            "difference",
            "steady",
            "wind",
            "sun",
            "spot",
            *(outside_gates(case) if from_outside(context, region) else ()),
        ),
        rivals=(*RIVALS, _pipe_or_wire),
        strong=("reflection", "lens shading", "shade or sun", "thermal lag"),
        severity="energy",
        at_most="plan",
        actions=("envelope.borescope", "envelope.insulate-bridge"),
        cautions=("envelope.wall-opening", "envelope.old-wiring"),
        sources=("iso-6946", "scottish-6b", "asdrubali-2012", "irish-part-l"),
        measured={
            **numbers,
            **({"length": length} if length else {}),
            **extra_loss_per_length(numbers.get("added transmittance"), area, subject),
            **_incidence(area, airs),
        },
        classes=_classes(area, airs),
        shares=f"{subject.id}:{region.name}:line {area.ordinal}",
    )


def _criterion(settings: Settings, airs: Airs) -> Criterion:
    """A wooden member's contrast is Rs (U_wood - U_bay) per kelvin of difference, 0.04 to 0.06 for the walls of two
    published examples."""
    drive = airs.difference
    if drive is None:
        return Criterion(
            UNKNOWN_K, because="the air temperatures on both sides are not known, so 1 K is taken (common practice)"
        )
    limit = max(settings.least, settings.framing_share * abs(drive.value))
    return Criterion(
        limit,
        because=f"wooden framing explains up to about {settings.framing_share:.0%} of the {abs(drive.value):.0f} K "
        "across the surface",
        sources=("scottish-6b", "ashrae-parallel"),
    )


def _measured_length(subject: Thermogram, area: Area) -> Quantity | None:
    if subject.pixel is None:
        return None
    value, relative = (
        _length(subject, area),
        1.96 * subject.pixel.relative + 2.0 / max(area.pixels / max(area.width, 1.0), 2.0),
    )
    return Quantity(
        value, "m", value * max(0.0, 1 - relative), value * (1 + relative), 0.95, "pixels over width of the line"
    )


def extra_loss_per_length(added: Quantity | None, area: Area, subject: Thermogram) -> dict[str, Quantity]:
    """Extra heat per length and kelvin [W m-1 K-1], the rise of the transmittance times the width of the line.

    What lies outside the outline is not counted, so a calculated linear transmittance, which also counts edges hidden
    in the construction, may be higher: the upper bound allows for TAIL beyond it. Source: asdrubali-2012
    """
    if added is None or subject.pixel is None or added.value <= 0.0:
        return {}
    width, side = max(area.width, 1.0), subject.pixel.width
    relative = 1.96 * subject.pixel.relative + 0.5 / width
    across = Quantity.between(
        width * side * max(0.0, 1 - relative), width * side * (1 + relative), "m", width * side, "width of the outline"
    )
    found = propagated(
        lambda added, across: added * across,
        "W/m/K",
        "rise of the transmittance times width",
        added=added,
        across=across,
    )
    if found is None:
        return {}
    low, high = max(0.0, found.low), found.high * (1 + TAIL)
    return {"extra loss per length": Quantity(found.value, "W/m/K", low, high, found.coverage, found.method)}


def _incidence(area: Area, airs: Airs) -> dict[str, Quantity]:
    """How many times the plain surface's heat passes through the line's pixels (asdrubali-2012): 1 + contrast / (air
    minus plain)."""
    if area.surroundings is None or airs.near is None or airs.sign is None or area.contrast.unit != "K":
        return {}
    found = propagated(
        lambda contrast, plain, near: 1.0 - contrast / (near - plain),
        "1",
        "mean of (air minus line) over (air minus plain surface)",
        contrast=area.contrast,
        plain=area.surroundings,
        near=airs.near,
    )
    plain = abs(airs.near.value - area.surroundings.value)
    if found is None or found.low < 1.0 or plain < area.surroundings.half_width:
        return {}
    return {"bridge factor": found}


def _classes(area: Area, airs: Airs) -> tuple[Mapping[str, str], ...]:
    """The temperature factor against published limits, where heat goes out and the absolute temperature is known."""
    factor = temperature_factor(area.mean, airs)
    if factor is None or airs.sign != "cold":
        return ()
    from heatbrief.detect.judge import share_above
    from heatbrief.physics.condensation import factor_limits

    rows = []
    for name in (FACTOR_LIMIT, "din-4108-2"):
        limit = factor_limits()[name]
        below = 1.0 - share_above(factor, limit["limit"])
        rows.append(
            {
                "table": limit["source"],
                "class": f"{'below' if below > 0.5 else 'not below'} {limit['limit']:g}: {limit['use']}",
                "probability": f"{max(below, 1 - below):.2f}",
                "source": limit["source"],
            }
        )
    return tuple(rows)


def _pipe_or_wire(case: Case) -> Rival | None:
    """A pipe or heating line behind the surface draws a line too, whatever lies beyond the wall."""
    member = str(case.fact("member") or "").strip().casefold()
    name = "a water or heating pipe behind the surface"
    if member == "pipe":
        return Rival(name, "not ruled out", "a pipe is stated to lie there")
    if member in ("wood", "steel", "concrete"):
        return Rival(name, "ruled out", f"{member} is stated to lie there")
    return Rival(
        name,
        "not testable",
        "nothing is known about what lies in the line",
        "`member` in the facts, or a picture after hot water ran",
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=3,
    run=run,
    settings=Settings,
    domain="envelope",
    summary="Lines through which more heat passes than wooden framing explains, with the temperature factor.",
    shows=SHOWS,
    facts=(AIR_BEYOND, CONSTRUCTION, MEMBER, *facts_for(RIVALS)),
    cautions=("envelope.wall-opening",),
    sources=("iso-6946", "scottish-6b", "asdrubali-2012", "irish-part-l", "din-4108-2"),
    status="stable",
    title="thermal bridges",
)
