"""Air passing through gaps: proved by a pair of pictures without and with a pressure difference, suspected from one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from heatbrief.api import Context, Step, StepOutput, propagated, setting
from heatbrief.detect import Area, Case, Criterion, conclude, facts_for, find_areas, matches, read_region, search_mask
from heatbrief.detect.change import change_of
from heatbrief.detect.subjects import looked_at
from heatbrief.model import Finding, Gate, Quantity, Region, Rival, Thermogram

from heatbrief_envelope.search import is_line, searched
from heatbrief_envelope.surfaces import AIR_BEYOND, Airs, airs_of, known, temperature_factor, with_airs

SINGLE, PAIR = "envelope.air_leakage", "envelope.air_leakage_pair"
SHOWS = (
    "wall foot",
    "skirting",
    "baseboard",
    "corner",
    "junction",
    "attic hatch",
    "attic door",
    "socket",
    "outlet",
    "door frame",
    "door",
    "window frame",
    "light fitting",
    "downlight",
    "recessed light",
    "pipe penetration",
    "penetration",
    "sill",
    "chimney",
)
RIVALS = ("reflection", "shade or sun", "material change", "thermal lag", "recent touch")
STILL_PA, LEAST_PA = 5.0, 10.0
"""Below STILL_PA a picture counts as the one without a fan (common practice); ASTM E1186 names 10 to 50 Pa (from
memory)."""
FRAMED = ("door", "window", "sash", "hatch")
WIRED = ("socket", "outlet", "light fitting", "downlight", "recessed light")
OVERHEAD = ("attic", "ceiling", "light fitting", "downlight", "recessed light", "chimney")


@dataclass(frozen=True)
class Settings:
    """What counts as a stream of air."""

    least: float = setting(
        1.0, unit="K", positive=True, help="least contrast or change that is reported", example="1 K"
    )
    smallest: float = setting(0.002, unit="m2", low=0, help="smallest area that is reported", example="20 cm2")


def run_single(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Plumes at edges in one picture: at most suspect, because structure at an edge draws the same pattern."""
    if context.view.sequence and context.conditions.pressure_difference is not None:
        return StepOutput(notes=(f"{subject.id}: left to {PAIR}, which compares the pictures of its sequence.",))
    findings: list[Finding] = []
    for region in looked_at(context, SHOWS, subject):
        airs = airs_of(context, region)
        if airs.difference is not None and airs.sign is None:
            continue
        found = searched(subject, region, context, SHOWS, airs.sign, settings.smallest)
        findings.extend(
            _single(subject, settings, context, region, airs, area)
            for area in found.areas
            if not is_line(subject, area)
        )
    return StepOutput(findings=tuple(findings))


def _single(
    subject: Thermogram, settings: Settings, context: Context, region: Region, airs: Airs, area: Area
) -> Finding:
    alone = Gate(
        "a second picture",
        None,
        "asked: the same view with and without a pressure difference; given: one picture",
        "gate-astm-e1186",
        "Photograph the same view with the fan off and with a fan holding 10 to 50 Pa, as one `sequence` with "
        "`pressure_difference`.",
    )
    case = Case(
        check=SINGLE,
        domain="envelope",
        subject=subject,
        context=with_airs(context, airs),
        region=region,
        area=area,
        purpose="air leakage",
        rule_set="astm-c1060",
    )
    word = "warm" if area.sign == "warm" else "cold"
    return conclude(
        case,
        title=f"{word.capitalize()} plume at {region.name}",
        summary=f"{_contrast(area)} at {region.name}, in the direction air from beyond would take it. One picture "
        "cannot tell moving air from a corner or "
        "a member that conducts.",
        criterion=Criterion(settings.least, because="smaller contrasts are common at sound corners (common practice)"),
        gates=("difference", "wind", "sun", "spot", alone),
        rivals=RIVALS,
        severity="energy",
        at_most="plan",
        actions=("envelope.blower-door", *repairs(region)),
        cautions=cautions_at(region),
        sources=("gate-astm-e1186", "gate-us-army"),
        measured=known(temperature_factor=temperature_factor(area.mean, airs)),
        shares=f"{subject.id}:{region.name}:{area.ordinal}",
    )


def cautions_at(region: Region) -> tuple[str, ...]:
    """Fans and tightening everywhere; wiring where there is some; the attic for what is sealed from above."""
    return (
        "envelope.depressurising",
        *(("envelope.old-wiring",) if matches((*WIRED, *OVERHEAD), region.shows) else ()),
        *(("envelope.attic",) if matches(OVERHEAD, region.shows) else ()),
    )


def repairs(region: Region) -> tuple[str, ...]:
    """Seals for what opens, sealing for what does not."""
    return ("envelope.draught-strip",) if matches(FRAMED, region.shows) else ("envelope.air-seal",)


def run_pair(subjects: Sequence[Thermogram], settings: Settings, context: Context) -> StepOutput:
    """The picture with the largest pressure difference against the one with the smallest."""
    stated = {one.id: _pressure(one, context) for one in subjects}
    given = {name: pressure for name, pressure in stated.items() if pressure is not None}
    unknown = [name for name in stated if name not in given]
    if not given and any(context.facts_of.get(name, {}).get("shade") for name in stated):
        return StepOutput()  # a sequence about a shade, not about air
    if unknown:
        return StepOutput(
            notes=(
                f"{', '.join(unknown)}: no `pressure_difference`; give it for every picture of the sequence, 0 Pa "
                "without a fan.",
            )
        )
    ordered = sorted(subjects, key=lambda one: (abs(given[one.id].value), one.id))
    still, moved = ordered[0], ordered[-1]
    if abs(given[still.id].value) > STILL_PA or abs(given[moved.id].value) < LEAST_PA:
        return StepOutput(
            notes=(
                f"{still.id} and {moved.id}: asked for one picture below {STILL_PA:g} Pa and one of {LEAST_PA:g} Pa or "
                "more.",
            )
        )
    own = replace(
        context,
        conditions=context.conditions_of.get(moved.id, context.conditions),
        view=context.views.get(moved.id, context.view),
        facts=context.facts_of.get(moved.id, context.facts),
    )
    change = change_of(moved, still)
    findings: list[Finding] = []
    notes = (
        [f"{still.id} was moved by {change.shift[0]}, {change.shift[1]} pixels to fit {moved.id}."]
        if change.shift != (0, 0)
        else []
    )
    for region in looked_at(own, SHOWS, moved):
        airs = airs_of(own, region)
        inside = search_mask(moved, region, own) & change.picture.valid
        sign = _expected_sign(airs, given[moved.id])
        areas = find_areas(change.picture, inside, sign, kind="constant", smallest_m2=settings.smallest)
        findings.extend(_proved(moved, still, settings, own, region, airs, area, given[moved.id]) for area in areas)
        if not areas:
            notes.append(f"{moved.id}, {region.name}: nothing changed with {given[moved.id].value:g} Pa.")
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def _pressure(one: Thermogram, context: Context) -> Quantity | None:
    conditions = context.conditions_of.get(one.id)
    return None if conditions is None else conditions.pressure_difference


def _expected_sign(airs: Airs, pressure: Quantity) -> Literal["warm", "cold", "either"]:
    """Air enters where the pressure is lower on the camera's side; air that leaves does not change the surface seen."""
    return airs.sign or "either" if pressure.value < 0 else "either"


def _proved(
    moved: Thermogram,
    still: Thermogram,
    settings: Settings,
    context: Context,
    region: Region,
    airs: Airs,
    area: Area,
    pressure: Quantity,
) -> Finding:
    now = read_region(moved, area.mask(*moved.shape))
    area = replace(area, mean=now.mean if now else None, surroundings=None)
    case = Case(
        check=PAIR,
        domain="envelope",
        subject=moved,
        context=with_airs(context, airs),
        region=region,
        area=area,
        purpose="air leakage",
    )
    word = "warmed" if area.sign == "warm" else "cooled"
    return conclude(
        case,
        title=f"Air enters at {region.name}",
        summary=f"{_contrast(area, 'Changed by')} when the fan made {pressure.value:g} Pa; in the picture without the "
        "fan it was not there. "
        f"Only moving air can have {word} the surface between the two pictures: consistent with a gap that leaks.",
        criterion=Criterion(
            settings.least, because="changes below it are drift of the room between the two pictures (common practice)"
        ),
        gates=("difference", "pressure", "spot"),
        rivals=("recent touch", _drift(area, settings.least)),
        strong=("drift of the room between the two pictures",),
        severity="energy",
        at_most="plan",
        actions=repairs(region),
        cautions=cautions_at(region),
        sources=("gate-astm-e1186", "gate-us-army"),
        measured=known(leak_index=_index(area, airs), pressure_difference=pressure),
        shares=f"{moved.id}:{region.name}:{area.ordinal}",
    )


def _index(area: Area, airs: Airs) -> Quantity | None:
    """Peak change as a share of the difference of the airs: 1 would be a surface washed wholly by air from beyond."""
    drive = airs.difference
    if drive is None or airs.sign is None or area.peak.unit != "K":
        return None
    return propagated(
        lambda peak, drive: abs(peak / drive),
        "1",
        "peak change over the difference of the airs",
        peak=area.peak,
        drive=drive,
    )


def _drift(area: Area, least: float) -> Callable[[Case], Rival]:
    """The room may have changed between the pictures; the median change of the region is already taken out."""
    sharp = abs(area.peak.value) >= 2.0 * least or area.contrast_to_noise >= 8.0

    def drift_of_the_room(case: Case) -> Rival:
        times = f"{area.contrast_to_noise:.0f} times"
        evidence = f"the change common to the region is taken out; the area stands {times} above the scatter left"
        return Rival("drift of the room between the two pictures", "ruled out" if sharp else "not ruled out", evidence)

    return drift_of_the_room


def _contrast(area: Area, lead: str = "") -> str:
    unit = "K" if area.contrast.unit == "K" else "counts"
    if lead:
        return f"{lead} {area.contrast.value:+.1f} {unit} (up to {area.peak.value:+.1f} {unit})"
    return (
        f"{abs(area.contrast.value):.1f} {unit} {'warmer' if area.sign == 'warm' else 'colder'} (up to "
        f"{abs(area.peak.value):.1f} {unit})"
    )


STEPS = (
    Step(
        name=SINGLE,
        stage="detect",
        version=3,
        run=run_single,
        settings=Settings,
        domain="envelope",
        title="air leaks in one picture",
        summary="Plumes of air at edges in one picture; at most suspect.",
        shows=SHOWS,
        facts=(AIR_BEYOND, *facts_for(RIVALS)),
        cautions=("envelope.depressurising",),
        sources=("gate-astm-e1186",),
        status="stable",
    ),
    Step(
        name=PAIR,
        stage="detect",
        version=3,
        run=run_pair,
        settings=Settings,
        domain="envelope",
        scope="sequence",
        title="air leaks with and without a fan",
        summary="What changed between a picture without and one with a pressure difference: moving air.",
        shows=SHOWS,
        facts=(AIR_BEYOND, *facts_for(("recent touch",))),
        cautions=("envelope.depressurising",),
        sources=("gate-astm-e1186", "gate-us-army"),
        status="stable",
    ),
)
