"""Air through a leak whose opening is known, and through a house whose fan test is known, with its heat."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, FactSpec, Step, StepOutput, propagated, setting
from heatbrief.model import Assumption, Conditions, Estimate, Finding, Quantity

NAME = "envelope.leak_flow"
CHECKS = ("envelope.air_leakage", "envelope.air_leakage_pair", "envelope.window")
OPENING = FactSpec("opening", "area of the opening that leaks", unit="m2", example="5 cm2")
HEIGHT = FactSpec(
    "height from middle",
    "height of the leak above or below the middle of the heated storeys",
    unit="m",
    example="2.5 m",
)
FACTS = (OPENING, HEIGHT)
DISCHARGE = Quantity.between(0.5, 0.7, "1", 0.61, "0.61 for a sharp edge; 0.5 to 0.7 for gaps (from memory)")
PRESSURE_COEFFICIENT = Quantity.between(0.0, 0.8, "1", 0.4, "none to fully windward (from memory)")
CELSIUS, HOUR = 273.15, 3600.0
MODEL_SPREAD = 0.4
"""Bound on the flow of the basic model against one house (common practice)."""


@dataclass(frozen=True)
class Settings:
    """A fan test of the house, if there is one."""

    flow_at_50: Quantity | None = setting(
        None, unit="m3/h", low=0, high=1e6, help="air flow of a fan test at 50 Pa", example="1800 m3/h"
    )
    exponent: Quantity = setting(
        Quantity.between(0.6, 0.7, "1", 0.65, "usual range"),
        unit="1",
        low=0.5,
        high=1.0,
        help="exponent of the power law",
        example="0.65",
    )
    volume: Quantity | None = setting(None, unit="m3", low=1, high=1e6, help="heated volume", example="400 m3")
    storeys: int = setting(1, low=1, high=3, help="storeys above ground")
    shelter_class: int = setting(3, low=1, high=5, help="1 open to 5 adjoining buildings")


def run(findings: tuple[Finding, ...], settings: Settings, context: Context) -> StepOutput:
    """One estimate for each leak with a known opening, and one for the house with a known fan test."""
    estimates, notes = [], []
    for finding in findings:
        if finding.check not in CHECKS or finding.verdict not in ("defect", "suspect"):
            continue
        region = next(
            (one for one in context.regions if one.thermogram == finding.thermogram and one.name == finding.region),
            None,
        )
        facts = {**context.facts_of.get(finding.thermogram, {}), **(region.facts if region is not None else {})}
        opening = facts.get(OPENING.name)
        if isinstance(opening, Quantity) and opening.value > 0.0:
            now = context.conditions_of.get(finding.thermogram, context.conditions)
            estimates.append(_leak(finding, opening, facts.get(HEIGHT.name), now))
        else:
            notes.append(
                f"{finding.id}: give `opening` in the region's facts for an air flow; a picture does not show it."
            )
    if settings.flow_at_50 is not None:
        estimates.append(_house(settings, context.conditions))
    return StepOutput(estimates=tuple(estimates), notes=tuple(notes))


def through_opening(opening: Quantity, pressure: Quantity) -> Quantity | None:
    """Air flow [m3/h] of an opening [m2] at a pressure [Pa], never negative. Source: modelica-airflow"""
    from heatbrief.physics.air_leakage import orifice_flow

    found = propagated(
        lambda area, pressure, discharge: float(orifice_flow(area, abs(pressure), discharge)) * HOUR,
        "m3/h",
        "orifice",
        area=opening,
        pressure=pressure,
        discharge=DISCHARGE,
    )
    return (
        None
        if found is None
        else Quantity(found.value, found.unit, max(0.0, found.low), found.high, 0.95, found.method)
    )


def natural_pressure(now: Conditions, height: Quantity | None) -> Quantity | None:
    """Pressure [Pa] that warmth and wind make at the leak; None without airs or without wind and height.

    Stack and wind may help or work against each other, so they are added in quadrature. Source: ashrae-infiltration
    """
    from heatbrief.physics.air_leakage import stack_pressure, wind_pressure

    if now.inside_air is None or now.outside_air is None or (height is None and now.wind is None):
        return None
    wind = now.wind or Quantity.exact(0.0, "m/s")
    high = height or Quantity.exact(0.0, "m")

    def pressure(inside: float, outside: float, high: float, wind: float, coefficient: float) -> float:
        stack = abs(float(stack_pressure(inside + CELSIUS, outside + CELSIUS, high)))
        return float((stack**2 + float(wind_pressure(wind, coefficient)) ** 2) ** 0.5)

    return propagated(
        pressure,
        "Pa",
        "stack and wind in quadrature",
        inside=now.inside_air,
        outside=now.outside_air,
        high=high,
        wind=wind,
        coefficient=PRESSURE_COEFFICIENT,
    )


def heat_of(flow: Quantity, now: Conditions) -> Quantity | None:
    """Heat [W] the flow [m3/h] carries at the difference of the airs. Source: ideal-gas"""
    from heatbrief.physics.air_leakage import sensible_air_heat

    if now.difference is None:
        return None
    found = propagated(
        lambda flow, drive: abs(float(sensible_air_heat(flow / HOUR, drive))),
        "W",
        "1.2 kJ per m3 and K times flow times difference",
        flow=flow,
        drive=now.difference,
    )
    return None if found is None else Quantity(found.value, "W", max(0.0, found.low), found.high, 0.95, found.method)


def _leak(finding: Finding, opening: Quantity, height: object, now: Conditions) -> Estimate:
    quantities: dict[str, Quantity] = {"opening": opening}
    natural = natural_pressure(now, height if isinstance(height, Quantity) else None)
    made = now.pressure_difference
    for name, pressure in (("with_the_fan", made), ("by_warmth_and_wind", natural)):
        if pressure is not None and abs(pressure.value) > 0.0:
            flow = through_opening(opening, pressure)
            heat = None if flow is None else heat_of(flow, now)
            quantities |= {f"pressure_{name}": pressure}
            quantities |= {} if flow is None else {f"air_flow_{name}": flow}
            if name == "by_warmth_and_wind" and heat is not None:
                quantities["heat_flow"] = heat
    return Estimate(
        id=f"{finding.id}-air-flow",
        finding=finding.id,
        kind="air-flow",
        title="Air through the leak",
        quantities=quantities,
        assumptions=(
            Assumption("opening", f"{opening.value * 1e4:.3g} cm2", "given in the survey"),
            Assumption("discharge coefficient", "0.61 (0.5 to 0.7)", "sharp edge, from memory"),
            Assumption("wind pressure coefficient", "0.4 (0 to 0.8)", "from memory"),
        ),
        sources=("modelica-airflow", "ashrae-infiltration"),
    )


def whole_house(settings: Settings, now: Conditions) -> dict[str, Quantity]:
    """Leakage area, air changes and the flow of the day from a fan test at 50 Pa (EX-8.1, EX-8.3, EX-8.8).

    Source: modelica-airflow, ashrae-infiltration
    """
    from heatbrief.physics.air_leakage import basic_infiltration, leakage_area, power_law_coefficient

    flow = settings.flow_at_50
    assert flow is not None

    def area(flow: float, exponent: float) -> float:
        return float(leakage_area(power_law_coefficient(flow / HOUR, 50.0, exponent), exponent))

    found = {"air_flow_at_50_pa": flow}
    leakage = propagated(area, "m2", "power law at 4 Pa", flow=flow, exponent=settings.exponent)
    if leakage is not None:
        found["leakage_area"] = leakage.scaled(1e4, "cm2")
    if settings.volume is not None:
        changes = propagated(
            lambda flow, volume: flow / volume, "1/h", "flow over volume", flow=flow, volume=settings.volume
        )
        found |= {} if changes is None else {"air_changes_at_50_pa": changes}
    if leakage is None or now.difference is None or now.wind is None:
        return found
    usual = propagated(
        lambda area, drive, wind, spread: (
            spread
            * HOUR
            * float(basic_infiltration(area, abs(drive), max(wind, 0.0), settings.storeys, settings.shelter_class))
        ),
        "m3/h",
        "basic model for the conditions of the survey",
        area=leakage,
        drive=now.difference,
        wind=now.wind,
        spread=Quantity.between(1 - MODEL_SPREAD, 1 + MODEL_SPREAD, "1", 1.0, "spread of the model"),
    )
    if usual is None:
        return found
    heat = heat_of(usual, now)
    return found | {"air_flow_of_the_day": usual} | ({} if heat is None else {"heat_flow": heat})


def _house(settings: Settings, now: Conditions) -> Estimate:
    return Estimate(
        id="envelope-air-flow",
        finding="",
        kind="air-flow",
        title="Air through the whole house",
        quantities=whole_house(settings, now),
        assumptions=(
            Assumption(
                "exponent",
                f"{settings.exponent.value:g} ({settings.exponent.low:g} to {settings.exponent.high:g})",
                "setting of the calculator",
            ),
            Assumption(
                "storeys and shelter class",
                f"{settings.storeys}, {settings.shelter_class}",
                "setting of the calculator",
            ),
        ),
        sources=("modelica-airflow", "ashrae-infiltration", "energyplus-infiltration"),
    )


STEP = Step(
    name=NAME,
    stage="estimate",
    version=1,
    run=run,
    settings=Settings,
    domain="envelope",
    reads=("conditions", "regions", "facts"),
    facts=FACTS,
    summary="Air flow of leaks with a known opening and of a house with a known fan test, with its heat.",
    sources=("modelica-airflow", "ashrae-infiltration", "energyplus-infiltration"),
    status="trial",
    title="air flow of leaks",
)
