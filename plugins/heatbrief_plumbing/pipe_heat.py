"""Heat of bare pipes and tanks: watts now, energy and money in a year."""

from __future__ import annotations

import math
from dataclasses import dataclass

from heatbrief.api import Context, FactSpec, Step, StepOutput, propagated, setting
from heatbrief.model import Assumption, Estimate, Factor, Finding, Quantity, Term

from heatbrief_plumbing.air import CELSIUS
from heatbrief_plumbing.exposed import DIAMETER
from heatbrief_plumbing.facts import heating_fuel, positive, quantity

NAME = "plumbing.pipe_heat"
PIPES, TANKS = "plumbing.pipe_insulation", "plumbing.water_heater"
TANK_AREA = FactSpec("tank_area", "surface of the tank's skin", unit="m2", example="3.5 m2")
STILL_AIR = Factor("heat off bare pipes", Quantity.between(0.85, 1.15, "1", 1.0))
"""Correlation for a horizontal pipe in still air, and pipes that stand or lie in draughts. Common practice."""
SKIN_FILM = Factor("heat off tanks", Quantity.between(6.0, 11.0, "W/m2/K", 8.5))
"""Convection and radiation at a tank's skin; 1 / 0.13 in the middle. Source: iso-6946."""


@dataclass(frozen=True)
class Settings:
    """How long it is hot, and what insulation would leave."""

    hours_a_year: float = setting(
        8760.0, unit="h", low=0, high=8784, help="hours a year for which the pipe or tank is hot", example="3000 h"
    )
    efficiency: float = setting(0.85, unit="1", low=0.1, high=6.0, help="heat per energy bought", example="85 %")
    diameter: float = setting(0.022, unit="m", positive=True, help="pipe diameter where not stated", example="22 mm")


def run(findings: tuple[Finding, ...], settings: Settings, context: Context) -> StepOutput:
    """An estimate for every bare pipe and every tank whose loss can be worked out."""
    makers = {PIPES: _pipe, TANKS: _tank}
    made = (
        makers[one.check](one, settings, context)
        for one in findings
        if one.check in makers and one.verdict in ("defect", "suspect", "normal")
    )
    return StepOutput(estimates=tuple(one for one in made if one is not None))


def pipe_watts_per_metre(skin: Quantity, air: Quantity, diameter: float, emissivity: Quantity) -> Quantity | None:
    """Loss of a bare horizontal pipe [W/m], without the spread of the correlation. Source: churchill-chu-cylinder."""
    from heatbrief.physics.water import bare_pipe_loss

    return propagated(
        lambda skin, air, emissivity: float(bare_pipe_loss(skin + CELSIUS, air + CELSIUS, diameter, emissivity)),
        "W/m",
        "natural convection and radiation of a horizontal pipe",
        skin=skin,
        air=air,
        emissivity=emissivity,
    )


def _pipe(finding: Finding, settings: Settings, context: Context) -> Estimate | None:
    """Bare length times the difference between a bare and an insulated metre."""
    length, water, skin = (finding.measured.get(name) for name in ("bare length", "water", "expected skin"))
    air = (
        quantity(finding, "air_around", context)
        or context.conditions_of.get(finding.thermogram, context.conditions).inside_air
    )
    if (
        length is None
        or water is None
        or skin is None
        or air is None
        or finding.verdict == "normal"
        or water.value <= air.value
    ):
        return None
    found = quantity(finding, "pipe_diameter", context)
    diameter = found.value if found is not None else settings.diameter
    each = pipe_watts_per_metre(water, air, diameter, Quantity.between(0.1, 0.95, "1", 0.9, "bright copper to painted"))
    if each is None:
        return None
    factors = (
        Factor(f"heat at best of {finding.id}", positive(each)),
        Factor(f"length of {finding.id}", positive(length)),
        STILL_AIR,
    )
    metre = heat_of(factors[::2], "W/m", each.method)
    return _finished(
        finding,
        {"heat_per_metre": metre, "heat_flow": heat_of(factors, "W", "loss of a bare metre times the bare length")},
        factors,
        settings,
        context,
        "Heat of the bare pipe",
        (
            Assumption(
                "pipe diameter",
                f"{1000 * diameter:.0f} mm" + ("" if found is not None else ", not stated"),
                "given in the survey or setting",
            ),
        ),
    )


def _tank(finding: Finding, settings: Settings, context: Context) -> Estimate | None:
    rise, area = finding.measured.get("skin rise"), quantity(finding, "tank_area", context)
    if rise is None or area is None:
        return None
    factors = (
        Factor(f"contrast of {finding.id}", positive(rise)),
        Factor(f"area of {finding.id}", area),
        SKIN_FILM,
    )
    heat = heat_of(factors, "W", "skin rise times area and film")
    return _finished(finding, {"heat_flow": heat}, factors, settings, context, "Standby heat of the tank")


def heat_of(factors: tuple[Factor, ...], unit: str, method: str) -> Quantity:
    """The product of the factors with its bounds, none below nothing."""
    found = propagated(
        lambda **each: math.prod(each.values()),
        unit,
        method,
        **{f"factor_{number}": one.value for number, one in enumerate(factors)},
    )
    assert found is not None
    return positive(found)


def _finished(
    finding: Finding,
    quantities: dict[str, Quantity],
    factors: tuple[Factor, ...],
    settings: Settings,
    context: Context,
    title: str,
    assumptions: tuple[Assumption, ...] = (),
) -> Estimate:
    hours = settings.hours_a_year
    bought = hours / 1000.0 / settings.efficiency
    energy = quantities["heat_flow"].scaled(bought, "kWh/a", f"heat over {hours:g} h a year, as bought")
    return Estimate(
        id=f"{finding.id}-heat",
        finding=finding.id,
        kind="yearly-energy",
        title=title,
        quantities={**quantities, "yearly_energy": energy},
        assumptions=(
            Assumption("time hot", f"{hours:g} h a year", "setting of the calculator"),
            Assumption("heat per energy bought", f"{settings.efficiency:g}", "setting of the calculator"),
            *assumptions,
        ),
        sources=("churchill-chu-cylinder", "iso-6946"),
        notes=("Heat given off in heated rooms is not lost while the heating runs.",),
        terms=(Term(heating_fuel(context), "kWh/a", bought, factors),),
    )


STEP = Step(
    name=NAME,
    stage="estimate",
    version=2,
    run=run,
    settings=Settings,
    domain="plumbing",
    summary="Heat, energy and money of bare pipes and of tanks standing by.",
    facts=(DIAMETER, TANK_AREA),
    reads=("conditions", "prices", "regions", "facts"),
    sources=("churchill-chu-cylinder", "iso-6946"),
    status="trial",
    title="heat of bare pipes and tanks",
)
