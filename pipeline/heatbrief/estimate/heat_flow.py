"""Extra heat that passes through an area that stands out, from its contrast and the surface coefficients with their
spread."""

from __future__ import annotations

from dataclasses import dataclass, replace

from heatbrief.api import Context, Step, StepOutput, propagated, setting
from heatbrief.detect.films import facing_of, inside_film, taken_outside
from heatbrief.model.conditions import Conditions
from heatbrief.model.estimate import Assumption, Estimate
from heatbrief.model.finding import Finding
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Region

NAME = "heatbrief.heat_flow"
CHECKS = ("envelope.insulation", "envelope.thermal_bridge", "envelope.transmittance", "envelope.duct")


@dataclass(frozen=True)
class Settings:
    """Which findings are surfaces through which heat flows."""

    checks: tuple[str, ...] = setting(
        CHECKS, help="checks whose areas exchange heat with the room or with the air around them"
    )


@dataclass(frozen=True)
class ExtraHeat:
    """Heat flow [W] of an area beyond what its surroundings would pass, with what it was worked out from."""

    flow: Quantity
    film: Quantity
    air: Quantity
    facing: str


def run(findings: tuple[Finding, ...], settings: Settings, context: Context) -> StepOutput:
    """An estimate for every such finding that is a defect or a suspect; the others are named with what is missing."""
    estimates: list[Estimate] = []
    notes: list[str] = []
    for finding in findings:
        if finding.check not in settings.checks or finding.verdict not in ("defect", "suspect"):
            continue
        extra = extra_heat(finding, context)
        if isinstance(extra, ExtraHeat):
            estimates.append(_estimate(finding, extra))
        else:
            notes.append(f"{finding.id}: no heat flow worked out: {extra}.")
    return StepOutput(estimates=tuple(estimates), notes=tuple(notes))


def extra_heat(finding: Finding, context: Context) -> ExtraHeat | str:
    """h x |contrast| x area, or what is missing for it in words.

    The surroundings are taken as sound: what the area passes beyond them is the coefficient times its contrast,
    whatever the
    temperatures themselves are, so errors that both share drop out.
    """
    contrast, area = finding.measured.get("contrast"), finding.measured.get("area")
    if contrast is None or contrast.unit != "K":
        return "the contrast is not known in kelvin"
    if area is None:
        return "the area is not known; give `distance` and the field of view, or `pixel_size`"
    region, text = region_of(finding, context), words_of(finding, context)
    if taken_outside(text):
        return "the picture was taken from outside, where wind decides the coefficient"
    air = _air(region, conditions_of(finding, context))
    if air is None:
        return "the air temperature beside the surface is not known"
    surface = finding.measured.get("mean temperature") or _moved(air, contrast)
    film = inside_film(text, surface, air)
    flow = propagated(
        lambda contrast, area, film: contrast * area * film,
        "W",
        "surface coefficient times contrast times area",
        contrast=size_of(contrast),
        area=area,
        film=film,
    )
    if flow is None:
        return "the numbers given have no finite result"
    return ExtraHeat(replace(flow, low=max(0.0, flow.low)), film, air, facing_of(text))


def size_of(one: Quantity) -> Quantity:
    """The size of a quantity that has a sign; its lower bound is 0 where the sign is in doubt."""
    if one.value >= 0.0:
        return replace(one, low=max(0.0, one.low))
    return Quantity(-one.value, one.unit, max(0.0, -one.high), -one.low, one.coverage, one.method)


def conditions_of(finding: Finding, context: Context) -> Conditions:
    """Conditions of the finding's picture, else of the survey."""
    return context.conditions_of.get(finding.thermogram, context.conditions)


def region_of(finding: Finding, context: Context) -> Region | None:
    """The declared region of a finding, or None."""
    return next(
        (one for one in context.regions if one.thermogram == finding.thermogram and one.name == finding.region), None
    )


def words_of(finding: Finding, context: Context) -> str:
    """What the region and the picture of a finding show."""
    region, view = region_of(finding, context), context.views.get(finding.thermogram, context.view)
    return region.shows if region is not None and region.shows else view.shows


def _air(region: Region | None, conditions: Conditions) -> Quantity | None:
    """Air beside the surface: around a duct what its region says, else the room's."""
    around = region.facts.get("air_around") if region is not None else None
    return around if isinstance(around, Quantity) else conditions.inside_air


def _moved(air: Quantity, contrast: Quantity) -> Quantity:
    """A surface that differs from the air by about the contrast: enough for the coefficient, which varies slowly."""
    return Quantity.exact(air.value + contrast.value, "degC", "air plus contrast")


def _estimate(finding: Finding, extra: ExtraHeat) -> Estimate:
    film = extra.film
    return Estimate(
        id=f"{finding.id}-heat-flow",
        finding=finding.id,
        kind="heat-flow",
        title="Extra heat flow at the time of the picture",
        quantities={"heat_flow": extra.flow, "surface_coefficient": film},
        assumptions=(
            Assumption(
                "surface coefficient",
                f"{film.value:.1f} W/m2/K ({film.low:.1f} to {film.high:.1f})",
                "spread of published correlations",
            ),
            Assumption("air beside the surface", f"{extra.air.value:.1f} degC", "given in the survey"),
            Assumption("surface faces", extra.facing, "from what the region shows"),
            Assumption("surroundings", "sound", "assumed: only what exceeds them is counted"),
        ),
        sources=("iso-6946", "iso-13789", "energyplus-inside", "churchill-chu-1975"),
    )


STEP = Step(
    name=NAME,
    stage="estimate",
    version=2,
    run=run,
    settings=Settings,
    reads=("conditions", "regions", "view"),
    summary="Extra heat flow of areas that stand out, through the surface coefficients with their spread.",
    sources=("iso-6946", "iso-13789", "energyplus-inside", "churchill-chu-1975", "mcadams-1954", "rohsenow-1998"),
    status="trial",
    title="heat flow at the time of the picture",
)
