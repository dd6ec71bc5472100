"""Heat of bare pipes and tanks: watts now, energy and money in a year."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, FactSpec, Step, StepOutput, propagated, setting
from heatbrief.model import Assumption, Estimate, Finding, Quantity

from heatbrief_plumbing.air import CELSIUS
from heatbrief_plumbing.exposed import DIAMETER
from heatbrief_plumbing.facts import positive, quantity, yearly_money

NAME = "plumbing.pipe_heat"
PIPES, TANKS = "plumbing.pipe_insulation", "plumbing.water_heater"
TANK_AREA = FactSpec("tank_area", "surface of the tank's skin", unit="m2", example="3.5 m2")
SPREAD = 0.15
"""Correlation for a horizontal pipe in still air, and pipes that stand or lie in draughts. Common practice."""
SKIN_FILM = (6.0, 8.5, 11.0)
"""Convection and radiation at a tank's skin [W m-2 K-1]; 1 / 0.13 in the middle. Source: iso-6946."""


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
    """Loss of a bare horizontal pipe [W/m], its own correlation's spread included. Source: churchill-chu-cylinder."""
    from heatbrief.physics.water import bare_pipe_loss

    return propagated(
        lambda skin, air, emissivity, spread: (
            spread * float(bare_pipe_loss(skin + CELSIUS, air + CELSIUS, diameter, emissivity))
        ),
        "W/m",
        "natural convection and radiation of a horizontal pipe",
        skin=skin,
        air=air,
        emissivity=emissivity,
        spread=Quantity.between(1 - SPREAD, 1 + SPREAD, "1", 1.0),
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
    watts = propagated(
        lambda each, length: each * length, "W", "loss of a bare metre times the bare length", each=each, length=length
    )
    assert watts is not None
    return _finished(
        finding,
        {"heat_per_metre": positive(each), "heat_flow": positive(watts)},
        settings,
        context,
        "Heat of the bare pipe",
        f"{1000 * diameter:.0f} mm" + ("" if found is not None else ", not stated"),
    )


def _tank(finding: Finding, settings: Settings, context: Context) -> Estimate | None:
    rise, area = finding.measured.get("skin rise"), quantity(finding, "tank_area", context)
    if rise is None or area is None:
        return None
    watts = propagated(
        lambda rise, area, film: rise * area * film,
        "W",
        "skin rise times area and film",
        rise=rise,
        area=area,
        film=Quantity.between(SKIN_FILM[0], SKIN_FILM[2], "W/m2/K", SKIN_FILM[1]),
    )
    assert watts is not None
    return _finished(finding, {"heat_flow": positive(watts)}, settings, context, "Standby heat of the tank", "")


def _finished(
    finding: Finding, quantities: dict[str, Quantity], settings: Settings, context: Context, title: str, diameter: str
) -> Estimate:
    hours = settings.hours_a_year
    energy = quantities["heat_flow"].scaled(
        hours / 1000.0 / settings.efficiency, "kWh/a", f"heat over {hours:g} h a year, as bought"
    )
    quantities = {**quantities, "yearly_energy": energy}
    price = next((context.prices[name] for name in ("heat", "gas", "electricity") if name in context.prices), None)
    cost = yearly_money(energy, price, context.currency) if price is not None and price.unit.endswith("/kWh") else None
    return Estimate(
        id=f"{finding.id}-heat",
        finding=finding.id,
        kind="yearly-energy",
        title=title,
        quantities=quantities | ({"yearly_cost": cost} if cost is not None else {}),
        assumptions=(
            Assumption("time hot", f"{hours:g} h a year", "setting of the calculator"),
            Assumption("heat per energy bought", f"{settings.efficiency:g}", "setting of the calculator"),
            *((Assumption("pipe diameter", diameter, "given in the survey or setting"),) if diameter else ()),
        ),
        sources=("churchill-chu-cylinder", "iso-6946"),
        notes=("Heat given off in heated rooms is not lost while the heating runs.",),
    )


STEP = Step(
    name=NAME,
    stage="estimate",
    version=1,
    run=run,
    settings=Settings,
    domain="plumbing",
    summary="Heat, energy and money of bare pipes and of tanks standing by.",
    facts=(DIAMETER, TANK_AREA),
    reads=("conditions", "prices", "regions", "facts"),
    sources=("churchill-chu-cylinder", "iso-6946"),
    status="trial",
)
