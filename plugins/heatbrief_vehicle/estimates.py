"""What findings mean in watts, joules and, only where hours and area are given, in fuel and money."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, NoSettings, Step, StepOutput, propagated, setting
from heatbrief.detect import said
from heatbrief.model import Assumption, Estimate, Finding, Quantity

from heatbrief_vehicle.calculators import (
    COOLANT_HEAT,
    DISC_FILM,
    ENGINE_SHARE,
    FRONT_SHARE,
    PETROL_HEAT,
    drag_heat,
    fuel_for,
    mass_flow,
    radiator_heat,
    rise_of_a_stop,
    stop_energy,
)
from heatbrief_vehicle.parts import DOMAIN

RADIATOR, BRAKE = "vehicle.radiator_heat", "vehicle.brake_energy"
LITRES = 1000.0
"""In a cubic metre; prices per volume come per m3."""


@dataclass(frozen=True)
class BrakeSettings:
    """What pictures cannot tell."""

    hours: float | None = setting(
        None,
        unit="h",
        low=0,
        high=8784,
        help="hours a year driven with the brake as in the picture; without it no fuel",
        example="200 h",
    )


def radiator_run(findings: tuple[Finding, ...], settings: NoSettings, context: Context) -> StepOutput:
    """Heat of each radiator whose drop was measured and whose flow is stated."""
    estimates, notes = [], []
    for finding in findings:
        drop = finding.measured.get("drop across core")
        if finding.check != "vehicle.cooling" or drop is None or not finding.shares.endswith(":flow"):
            continue
        litres = finding.measured.get("coolant flow")
        flow = None if litres is None else mass_flow(litres)
        heat = None if flow is None else radiator_heat(flow, drop)
        if flow is None or heat is None or finding.verdict == "inconclusive":
            notes.append(f"{finding.id}: no heat worked out: it takes `coolant_flow` of the region and a warm core.")
            continue
        estimates.append(
            Estimate(
                f"{finding.id}-heat",
                finding.id,
                "heat-flow",
                f"Heat given off by {finding.region}",
                {"heat_flow": heat, "mass_flow": flow},
                (Assumption("heat capacity of the coolant", said(COOLANT_HEAT), "common practice, no source"),),
                ("lumped-balance",),
                ("Heat of the engine is no loss that a repair saves, so no fuel or cost is given.",),
            )
        )
    return StepOutput(estimates=tuple(estimates), notes=tuple(notes))


def brake_run(findings: tuple[Finding, ...], settings: BrakeSettings, context: Context) -> StepOutput:
    """Energy of a stop, how many stops would make the difference, and the fuel of a brake that drags."""
    estimates, notes = [], []
    for finding in findings:
        apart = finding.measured.get("contrast")
        if finding.check != "vehicle.brakes" or apart is None or finding.shares.endswith(":hub"):
            continue
        found = {**_stops(finding, apart), **_drag(finding, apart, settings, context)}
        if not found:
            notes.append(
                f"{finding.id}: no energy worked out: it takes mass, speed and rotor mass, or the rotor's area."
            )
            continue
        estimates.append(
            Estimate(
                f"{finding.id}-energy",
                finding.id,
                "yearly-cost" if "yearly_cost" in found else "heat-flow",
                "Energy of the brakes",
                found,
                _assumed(found),
                ("lumped-balance", "brake-share"),
                ("Holds if the warmer side drags; if the colder one works too little, no fuel is lost.",),
            )
        )
    return StepOutput(estimates=tuple(estimates), notes=tuple(notes))


def _stops(finding: Finding, apart: Quantity) -> dict[str, Quantity]:
    mass, speed, rotor = (finding.measured.get(name) for name in ("vehicle mass", "stop speed", "rotor mass"))
    if mass is None or speed is None:
        return {}
    wanted = {"energy_of_a_stop": stop_energy(mass, speed)}
    rise = None if rotor is None else rise_of_a_stop(mass, speed, rotor)
    if rise is not None and rise.value > 0:
        wanted["rise_of_a_rotor_in_a_stop"] = rise
        wanted["stops_that_make_the_difference"] = propagated(
            lambda apart, rise: max(apart, 0.0) / rise,
            "1",
            "difference over the rise of one stop",
            apart=apart,
            rise=rise,
        )
    return {name: one for name, one in wanted.items() if one is not None}


def _drag(finding: Finding, apart: Quantity, settings: BrakeSettings, context: Context) -> dict[str, Quantity]:
    """Steady heat of the warmer side, and fuel and cost when hours and a price are given; for real differences only."""
    area = finding.measured.get("rotor area")
    if area is None or finding.verdict not in ("defect", "suspect"):
        return {}
    heat = drag_heat(area, apart)
    fuel = None if heat is None or settings.hours is None else fuel_for(heat, settings.hours)
    wanted = {"heat_flow": heat, "yearly_fuel": fuel, "yearly_cost": None if fuel is None else _cost(fuel, context)}
    return {name: one for name, one in wanted.items() if one is not None}


def _cost(fuel: Quantity, context: Context) -> Quantity | None:
    price = context.prices.get("petrol") or context.prices.get("gasoline")
    if price is None:
        return None
    if price.unit.rpartition("/")[2] != "m3":
        return None
    return propagated(
        lambda fuel, price: fuel / LITRES * price,
        f"{context.currency}/a",
        "fuel times its price",
        fuel=fuel,
        price=price,
    )


def _assumed(found: dict[str, Quantity]) -> tuple[Assumption, ...]:
    rows = [("front axle's share of braking", FRONT_SHARE, "brake-share", "rise_of_a_rotor_in_a_stop")]
    rows += [("film of a turning disc", DISC_FILM, "common practice, no source", "heat_flow")]
    rows += [("work per heat of the fuel", ENGINE_SHARE, "common practice, no source", "yearly_fuel")]
    rows += [("heating value of petrol", PETROL_HEAT, "common practice, no source", "yearly_fuel")]
    return tuple(Assumption(name, said(value), origin) for name, value, origin, needs in rows if needs in found)


STEPS = (
    Step(
        name=RADIATOR,
        stage="estimate",
        version=1,
        run=radiator_run,
        domain=DOMAIN,
        status="trial",
        title="heat of the engine's radiator",
        summary="Heat an engine's radiator gives off, from flow and drop.",
        reads=(),
        sources=("lumped-balance",),
    ),
    Step(
        name=BRAKE,
        stage="estimate",
        version=1,
        run=brake_run,
        settings=BrakeSettings,
        domain=DOMAIN,
        status="trial",
        title="energy of brakes",
        summary="Energy of a stop, and heat and fuel of a brake that drags where area and hours are given.",
        reads=("prices",),
        sources=("lumped-balance", "brake-share"),
    ),
)
