"""Exposed hot and cold pipes: whether the skin is as near to the air's temperature as insulation makes it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from heatbrief.api import Context, FactSpec, Step, StepOutput, propagated, setting
from heatbrief.detect import Case, Criterion, conclude, facts_for, matches, read_region
from heatbrief.model import Finding, Gate, Quantity, Region, Rival, Thermogram

from heatbrief_plumbing.air import CELSIUS, dew_point_of, known
from heatbrief_plumbing.exposed import (
    AROUND,
    COLD,
    COVER,
    DIAMETER,
    EXPOSED,
    WATER,
    Along,
    air_around,
    along,
    exposed_regions,
)

NAME = "plumbing.pipe_insulation"
RIVALS = ("reflection", "material change")
RESTING = "water that had not run for a while"
RUNNING = FactSpec(
    "pipe_running",
    "whether the water ran, or circulated, when the picture was taken",
    choices=("yes", "no"),
    example="yes",
)
LEAST_APART_K = 8.0
"""Least difference of water and air for bare and insulated pipe to be told apart. Own choice."""


@dataclass(frozen=True)
class Settings:
    """What insulation is expected where its thickness is not stated."""

    thickness: float = setting(0.013, unit="m", positive=True, help="least insulation of a pipe", example="13 mm")
    diameter: float = setting(0.022, unit="m", positive=True, help="pipe diameter where not stated", example="22 mm")
    share: float = setting(0.05, unit="1", low=0.0, high=1.0, help="least share of bare length reported", example="5 %")


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Every declared run of exposed pipe."""
    findings, notes = [], []
    for region in exposed_regions(subject, context):
        found = _finding(subject, settings, context, region)
        if isinstance(found, str):
            notes.append(f"{subject.id}, {region.name}: pipe insulation not judged: {found}.")
        else:
            findings.append(found)
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def expected_skin(case: Case, settings: Settings, water: Quantity, air: Quantity) -> Quantity:
    """Skin of the insulation [degC] for the stated or usual thickness, with k 0.030 to 0.045 and films of 6 to 12.

    Source: cylinder-conduction
    """
    from heatbrief.physics.water import insulated_pipe_skin

    stated = case.number("pipe_insulation")
    thickness = stated if stated is not None else settings.thickness
    diameter = case.number("pipe_diameter") or settings.diameter
    found = propagated(
        lambda water, air, k, film: (
            float(insulated_pipe_skin(water + CELSIUS, air + CELSIUS, diameter, max(thickness, 1e-4), k, film))
            - CELSIUS
        ),
        "degC",
        f"insulated pipe, {1000 * thickness:.0f} mm",
        water=water,
        air=air,
        k=Quantity.between(0.030, 0.045, "W/m/K", 0.037),
        film=Quantity.between(6.0, 12.0, "W/m2/K", 9.0),
    )
    return found if found is not None else air


def _finding(subject: Thermogram, settings: Settings, context: Context, region: Region) -> Finding | str:
    case = Case(check=NAME, domain="plumbing", subject=subject, context=context, region=region, purpose="plumbing")
    air, run_ = air_around(case), along(subject, region, context)
    if subject.scale != "temperature" or air is None or run_ is None:
        return "asked for temperatures, the air around the pipe, and a line or box on it"
    cold = matches(COLD, region.shows)
    stated = case.fact("water_temperature")
    water = stated if isinstance(stated, Quantity) else _guessed(run_, cold)
    sign = -1.0 if cold else 1.0
    if sign * (water.value - air.value) < LEAST_APART_K:
        return f"the water is within {LEAST_APART_K:g} K of the air, so bare and insulated pipe look alike"
    skin = expected_skin(case, settings, water, air)
    half = skin.value + 0.5 * (water.value - skin.value)
    bare = sign * (run_.values - CELSIUS - half) > 0.0
    share = float(bare.mean())
    worst = float(np.mean(run_.values[bare])) if share >= settings.share and bare.any() else float(np.mean(run_.values))
    spread = _bounds(subject, run_, worst)
    contrast = propagated(
        lambda seen, skin: seen - skin, "K", "skin minus what insulation would show", seen=spread, skin=skin
    )
    assert contrast is not None
    return conclude(
        case,
        contrast=_toward(contrast, sign),
        title=f"{'Bare' if share >= settings.share else 'Insulated'} pipe in {region.name}",
        summary=_summary(spread, skin, share, run_, settings, cold),
        criterion=Criterion(
            max(abs(half - skin.value), 1.0),
            because="half way from the skin of an insulated pipe to the water; a bare pipe's skin is nearly the water",
        ),
        gates=("spot" if region.shape != "line" else _wide(subject, case), "emissivity", _water(stated), _facing(air)),
        rivals=(*RIVALS, _resting),
        strong=("reflection",),
        severity="energy",
        at_most="plan",
        actions=("plumbing.insulate-pipe",),
        cautions=("plumbing.scald",) if not cold else ("plumbing.mould",),
        sources=("cylinder-conduction", "churchill-chu-cylinder"),
        measured=known(
            expected_skin=skin,
            bare_share=_share(share, run_),
            bare_length=_bare_length(run_, share),
            length=run_.length,
            water=water,
            dew_point=dew_point_of(air, context.conditions.humidity) if cold else None,
        ),
        shares=f"{subject.id}:{region.name}:pipe",
    )


def _guessed(run_: Along, cold: bool) -> Quantity:
    """The most extreme tenth along the pipe: the water is at least that far from the air."""
    value = float(np.quantile(run_.values, 0.1 if cold else 0.9)) - CELSIUS
    return Quantity.between(value - 2.0, value + 2.0, "degC", value, "skin of the barest part of the pipe")


def _bounds(subject: Thermogram, run_: Along, kelvin: float) -> Quantity:
    reading = read_region(subject, run_.mask)
    half = 2.0 if reading is None or reading.mean is None else reading.mean.half_width
    return Quantity(
        kelvin - CELSIUS, "degC", kelvin - CELSIUS - half, kelvin - CELSIUS + half, 0.95, "skin along the pipe"
    )


def _toward(contrast: Quantity, sign: float) -> Quantity:
    """Only a skin beyond the insulated one, toward the water, counts."""
    if sign > 0:
        return Quantity(
            max(contrast.value, 0.0),
            "K",
            max(contrast.low, 0.0),
            max(contrast.high, 0.0),
            contrast.coverage,
            contrast.method,
        )
    return Quantity(
        min(contrast.value, 0.0),
        "K",
        min(contrast.low, 0.0),
        min(contrast.high, 0.0),
        contrast.coverage,
        contrast.method,
    )


def _summary(seen: Quantity, skin: Quantity, share: float, run_: Along, settings: Settings, cold: bool) -> str:
    if share < settings.share:
        return (
            f"The skin reads {seen.value:.0f} degC, about what insulation makes it ({skin.low:.0f} to "
            f"{skin.high:.0f} degC)."
        )
    length = "" if run_.length is None else f", {share * run_.length.value:.1f} m"
    wet = " Bare cold pipes also gather water from humid air." if cold else ""
    return (
        f"{share:.0%} of the run{length} reads {seen.value:.0f} degC; with insulation it would read {skin.low:.0f} to "
        f"{skin.high:.0f} degC. Consistent with insulation that is missing there.{wet}"
    )


def _wide(subject: Thermogram, case: Case) -> Gate:
    """A line has no width of its own; the pipe's is known from its diameter."""
    diameter, asked, remedy = (
        case.number("pipe_diameter"),
        "asked: a pipe 3 pixels wide or more; given: ",
        "Go nearer to the pipe.",
    )
    if diameter is None or subject.pixel is None:
        return Gate(
            "pixels on the pipe",
            None,
            asked + "no diameter, or no distance",
            "",
            "Give `pipe_diameter` and `distance`.",
        )
    across = diameter / subject.pixel.width
    return Gate(
        "pixels on the pipe",
        across >= 3.0,
        asked + f"{across:.1f}",
        "three-pixel-rule",
        "" if across >= 3.0 else remedy,
    )


def _water(stated: object) -> Gate:
    asked = "asked: the water's temperature by a thermometer; given: "
    if isinstance(stated, Quantity):
        return Gate("temperature of the water", True, asked + f"{stated.value:.0f} degC")
    return Gate(
        "temperature of the water",
        None,
        asked + "none, so the barest part of the pipe stands for it",
        "",
        "Give `water_temperature`, measured with a thermometer at a tap or gauge.",
    )


def _facing(air: Quantity) -> Gate:
    return Gate("air around the pipe", True, f"asked: the air around the pipe; given: {air.value:.0f} degC")


def _resting(case: Case) -> Rival:
    """A pipe nobody drew from looks insulated."""
    runs = case.yes(RUNNING.name)
    if runs is None:
        return Rival(
            RESTING, "not testable", "whether water ran is not given", "whether the water ran (`pipe_running`)"
        )
    return Rival(
        RESTING, "ruled out" if runs else "not ruled out", f"the water is said {'' if runs else 'not '}to have run"
    )


def _share(share: float, run_: Along) -> Quantity:
    rim = 2.0 / max(run_.values.size, 1)
    return Quantity(
        share,
        "1",
        max(0.0, share - rim),
        min(1.0, share + rim),
        0.95,
        "steps along the pipe beyond half way to the water",
    )


def _bare_length(run_: Along, share: float) -> Quantity | None:
    if run_.length is None or share == 0.0:
        return None
    return propagated(
        lambda length, share: length * share,
        "m",
        "bare share times the length of the run",
        length=run_.length,
        share=_share(share, run_),
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain="plumbing",
    summary="Bare parts of exposed hot and cold pipes, against the skin that insulation would show.",
    shows=EXPOSED,
    facts=(WATER, DIAMETER, COVER, AROUND, RUNNING, *facts_for(RIVALS)),
    cautions=("plumbing.scald",),
    sources=("cylinder-conduction",),
    status="trial",
    title="insulation of pipes",
)
