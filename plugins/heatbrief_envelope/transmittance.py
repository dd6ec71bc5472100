"""The heat transfer of a whole surface against what it should be: without insulation no sound part lies beside it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from heatbrief.api import Context, FactSpec, Step, StepOutput, propagated, setting
from heatbrief.detect import (
    Case,
    Criterion,
    Reading,
    conclude,
    difference,
    fact_of,
    facts_for,
    find_areas,
    matches,
    own_regions,
    read_region,
    search_mask,
)
from heatbrief.detect.films import facing_of
from heatbrief.detect.subjects import looked_at, others_mask
from heatbrief.model import Finding, Quantity, Region, Thermogram

from heatbrief_envelope.expected import EXPECTED, expected_u, inverse, unknown_assembly
from heatbrief_envelope.insulation import LEFT_OUT, PLACES, _actions, _cautions
from heatbrief_envelope.measures import practice_for
from heatbrief_envelope.outside import outside_gates, why_not_from_outside
from heatbrief_envelope.search import is_line
from heatbrief_envelope.surfaces import (
    AIR_BEYOND,
    CONSTRUCTION,
    Airs,
    airs_of,
    from_outside,
    known,
    with_airs,
    words_of,
)
from heatbrief_envelope.u_value import SOURCES, Convection, UValue, inside_u, outside_u

NAME = "envelope.transmittance"
SHOWS = ("ceiling", "wall", "floor", "roof slope", "facade", "attic hatch", "door leaf")
REFERENCE = ("air reference", "reference board", "reference plate")
RIVALS = ("reflection", "shade or sun", "material change", "thermal lag")
BOARD = FactSpec(
    "reference side",
    "where the reference board hung: free in the air in front of the surface, or elsewhere",
    choices=("in front", "elsewhere"),
    example="in front",
)


@dataclass(frozen=True)
class Settings:
    """Which correlation, and how far above the expected U counts."""

    convection: Convection = setting(
        "median", help="correlation of the best value; the spread of all of them is in the bounds whichever is chosen"
    )
    least_change: float = setting(
        0.3,
        unit="W/m2/K",
        positive=True,
        help="least excess over the expected heat transfer coefficient that counts as a defect",
        example="0.3 W/m2/K",
    )
    most_wind: float = setting(
        1.0,
        unit="m/s",
        low=0,
        high=5,
        help="wind above which no coefficient is worked out from outside",
        example="1 m/s",
    )
    rule_set: str = setting("", help="practice whose survey conditions apply; empty: by the construction")


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Every declared surface whose expected U is stated, or in front of which a reference board hung."""
    findings: list[Finding] = []
    notes: list[str] = []
    board = _board(subject, context)
    for region in looked_at(context, SHOWS, subject):
        lead = f"{subject.id}, {region.name}"
        wrong = unknown_assembly(region, context)
        if wrong:
            notes.append(f"{lead}: {wrong}.")
        wanted = expected_u(region, context)
        if matches(LEFT_OUT, words_of(context, region)) or (wanted is None and board is None):
            continue
        airs = airs_of(context, region)
        if airs.sign is None:
            notes.append(f"{lead}: no heat transfer coefficient without a difference of the airs on both sides.")
            continue
        refused = why_not_from_outside(context, settings.most_wind) if from_outside(context, region) else ""
        if refused:
            notes.append(f"{lead}: no heat transfer coefficient from outside: {refused}.")
            continue
        inside = search_mask(subject, region, context) & ~others_mask(context, SHOWS, region, subject)
        inside = _without_patches(subject, airs, inside)
        reading = read_region(subject, inside, region.name)
        found = None if reading is None else measured_u(subject, region, context, airs, reading, board, settings)
        if reading is None or found is None:
            continue
        if wanted is None:
            notes.append(f"{lead}: {_said(found)} Give `expected_u` to compare it.")
        else:
            area = subject.pixel.area_of(inside) if subject.pixel is not None else None
            findings.append(_finding(subject, settings, context, region, airs, reading, found, wanted, area))
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def _without_patches(subject: Thermogram, airs: Airs, inside: np.ndarray) -> np.ndarray:
    """The surface without the patches that other checks report, so that no heat is counted twice.

    All of it where these take up more than half.
    """
    left = inside.copy()
    for area in find_areas(subject, inside, airs.sign or "either"):
        if not is_line(subject, area):  # members are part of the surface
            left &= ~area.mask(*subject.shape)
    return left if left.sum() > 0.5 * inside.sum() else inside


def _board(subject: Thermogram, context: Context) -> Reading | None:
    """The reading of a declared reference board, which takes the temperature of its surroundings."""
    for region in own_regions(context, subject):
        if matches(REFERENCE, region.shows) and fact_of(BOARD.name, region, context) != "elsewhere":
            return read_region(subject, region)
    return None


def measured_u(
    subject: Thermogram,
    region: Region,
    context: Context,
    airs: Airs,
    reading: Reading,
    board: Reading | None,
    settings: Settings,
) -> UValue | None:
    """U of a region from its reading, by the board when there is one, else by absolute temperatures."""
    if airs.near is None or airs.beyond is None:
        return None
    fall = None if board is None else _with_unevenness(difference(board, reading), board, subject.noise())
    now, emissivity = context.conditions, _emissivity(subject, region)
    if from_outside(context, region):
        if now.wind is None:
            return None
        return outside_u(
            airs.near,
            airs.beyond,
            now.wind,
            surface=reading.mean,
            above_reference=None if fall is None else fall.scaled(-1.0, "K"),
            reflected=now.reflected,
            emissivity=emissivity,
        )
    return inside_u(
        words_of(context, region),
        airs.near,
        airs.beyond,
        surface=reading.mean,
        below_reference=fall,
        reflected=now.reflected,
        emissivity=emissivity,
        choice=settings.convection,
    )


def _with_unevenness(fall: Quantity, board: Reading, noise: float) -> Quantity:
    """A small board stands for all that the surface faces, so its own unevenness counts in full."""
    uneven = math.sqrt(max(board.spread**2 - noise**2, 0.0))
    return (
        Quantity.normal(fall.value, "K", math.hypot(fall.standard, uneven), fall.method) if fall.unit == "K" else fall
    )


def _emissivity(subject: Thermogram, region: Region) -> Quantity | None:
    if region.emissivity is not None:
        return region.emissivity
    if not subject.emissivity:
        return None
    value = subject.emissivity[0]
    return Quantity.between(max(value - 0.03, 0.01), min(value + 0.03, 1.0), "1", value, "of the material")


def _said(found: UValue) -> str:
    return f"U {found.u.value:.2g} W/m2/K ({max(found.u.low, 0.0):.2g} to {found.u.high:.2g}), by {found.method}."


def _finding(
    subject: Thermogram,
    settings: Settings,
    context: Context,
    region: Region,
    airs: Airs,
    reading: Reading,
    found: UValue,
    wanted: Quantity,
    area: Quantity | None,
) -> Finding:
    drive = airs.difference
    assert drive is not None
    excess = propagated(lambda u, wanted: u - wanted, "W/m2/K", "measured minus expected", u=found.u, wanted=wanted)
    assert excess is not None
    factor = abs(drive.value) / found.film.value
    contrast = _not_negative(excess).scaled(factor, "K", "what the excess makes of the surface's temperature")
    outside = from_outside(context, region)
    case = Case(
        check=NAME,
        domain="envelope",
        subject=subject,
        context=with_airs(context, airs),
        region=region,
        reading=reading,
        purpose="insulation",
        rule_set=settings.rule_set or practice_for(region, context),
    )
    place = PLACES[facing_of(words_of(context, region))]
    more = excess.low > settings.least_change
    return conclude(
        case,
        title=f"{place}: {found.u.value:.2g} W/m2/K where {wanted.value:.2g} is expected",
        summary=f"{_said(found)} Expected: {wanted.value:.2g} ({wanted.low:.2g} to {wanted.high:.2g}). "
        + (
            "Consistent with insulation that is missing or much thinner over the whole surface."
            if more
            else "Within these bounds the surface may be as it should be."
        ),
        contrast=contrast,
        criterion=Criterion(
            settings.least_change * factor,
            because=f"an excess of {settings.least_change:g} W/m2/K at {abs(drive.value):.0f} K across the surface",
            sources=("envelope-iso-9869-2",),
        ),
        gates=("difference", "steady", "wind", "sun", *(outside_gates(case) if outside else ())),
        rivals=RIVALS,
        strong=("reflection", "shade or sun", "thermal lag"),
        severity="energy",
        at_most="plan",
        actions=_actions(place),
        cautions=_cautions(place, words_of(context, region)),
        sources=("envelope-iso-9869-2", "tejedor-2017", *SOURCES[settings.convection]),
        measured=known(
            transmittance=found.u,
            expected_transmittance=wanted,
            excess_transmittance=excess,
            resistance=inverse(found.u, "1 over the transmittance") if found.u.low > 0.0 else None,
            heat_flux=found.flux,
            surface_coefficient=found.film,
            air_difference=drive,
            area=area,
        ),
        shares=f"{subject.id}:{region.name}:whole",
        next_time=(
            "Hang a board with the surface's finish free in the air in the picture and name it `air reference`: "
            "the camera's error then drops out.",
        )
        if contrast.half_width > 2.0 * settings.least_change * factor
        else (),
    )


def _not_negative(one: Quantity) -> Quantity:
    return Quantity(max(one.value, 0.0), one.unit, max(one.low, 0.0), max(one.high, 0.0), one.coverage, one.method)


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain="envelope",
    summary="Heat transfer coefficient of a whole surface against the expected one; from outside in calm air only.",
    shows=SHOWS,
    facts=(*EXPECTED, BOARD, AIR_BEYOND, CONSTRUCTION, *facts_for(RIVALS)),
    cautions=("envelope.old-wiring",),
    sources=(
        "envelope-iso-9869-2",
        "envelope-assemblies",
        "iso-6946",
        "tejedor-2017",
        "iso-13789",
        "energyplus-inside",
        "energyplus-outside",
        "juerges-1924",
    ),
    status="trial",
    title="heat transmittance of a surface (U-value)",
)
