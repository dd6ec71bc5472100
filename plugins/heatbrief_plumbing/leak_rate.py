"""What a leak brings: through a hole under pressure, or by drips; a year of water, heat and money."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, FactSpec, Step, StepOutput, propagated, setting
from heatbrief.model import Assumption, Estimate, Finding, Quantity

from heatbrief_plumbing.exposed import WATER
from heatbrief_plumbing.facts import positive, quantity, yearly_money

NAME = "plumbing.leak_rate"
CHECKS = ("plumbing.wet_ground", "plumbing.cold_ground", "plumbing.pipe", "plumbing.damp_surface")
HOLE = FactSpec("hole", "diameter of the hole, when it has been seen", unit="m", example="1.5 mm")
PRESSURE = FactSpec("pressure", "pressure of the water at the leak, above the air's", unit="Pa", example="4 bar")
DRIPS = FactSpec("drips_a_minute", "drips each minute, counted", unit="1", example="30")
HOURS_A_YEAR, LITRES = 8760.0, 1000.0


@dataclass(frozen=True)
class Settings:
    """How long a leak runs, and the water it starts from."""

    hours_a_year: float = setting(
        HOURS_A_YEAR,
        unit="h",
        low=0,
        high=8784,
        help="hours a year for which the leaking line stands under pressure",
        example="8760 h",
    )
    cold_water: float = setting(12.0, unit="degC", low=0, high=35, help="cold water as supplied", example="12 degC")
    heat_efficiency: float = setting(
        0.85, unit="1", low=0.1, high=6.0, help="heat in the water per energy bought", example="85 %"
    )


def run(findings: tuple[Finding, ...], settings: Settings, context: Context) -> StepOutput:
    """An estimate for every region with a hole and pressure, or counted drips, in its facts.

    One hole brings its water once: of several findings in a region the most probable one carries it.
    """
    chosen: dict[tuple[str, str], Finding] = {}
    for one in findings:
        if one.check in CHECKS and one.verdict != "normal":
            place = (one.thermogram, one.region)
            chosen[place] = max(chosen.get(place, one), one, key=lambda each: (each.probability, _size(each)))
    made = (_estimate(one, settings, context) for one in chosen.values())
    return StepOutput(estimates=tuple(one for one in made if one is not None))


def _size(finding: Finding) -> float:
    area = finding.measured.get("area")
    return area.value if area is not None else 0.0


def orifice_flow(hole: Quantity, pressure: Quantity) -> Quantity:
    """Freely discharging flow [L/h] with 20 % for the discharge coefficient. Source: leak-tables.

    Soil around the hole may hold it back; soft pipes open with pressure.
    """
    from heatbrief.physics.water import ORIFICE_DISCHARGE, ORIFICE_SPREAD, leak_flow

    spread = ORIFICE_DISCHARGE * ORIFICE_SPREAD
    found = propagated(
        lambda hole, pressure, discharge: 3.6e6 * float(leak_flow(max(hole, 0.0), max(pressure, 0.0), discharge)),
        "L/h",
        "hole and pressure, free outflow",
        hole=hole,
        pressure=pressure,
        discharge=Quantity.between(ORIFICE_DISCHARGE - spread, ORIFICE_DISCHARGE + spread, "1", ORIFICE_DISCHARGE),
    )
    assert found is not None
    return positive(found)


def drip_rate(drips: Quantity) -> Quantity:
    """Flow [L/h] of counted drips; published drop volumes run from 0.25 to 0.36 mL. Source: usgs-drip."""
    from heatbrief.physics.water import DROP_VOLUME, drip_flow

    found = propagated(
        lambda drips, volume: 3.6e6 * float(drip_flow(drips / 60.0, volume)),
        "L/h",
        "drips counted",
        drips=drips,
        volume=Quantity.between(DROP_VOLUME[0], DROP_VOLUME[2], "m3", DROP_VOLUME[1]),
    )
    assert found is not None
    return positive(found)


def _estimate(finding: Finding, settings: Settings, context: Context) -> Estimate | None:
    hole, pressure, drips = (quantity(finding, name, context) for name in ("hole", "pressure", "drips_a_minute"))
    assumptions = [
        Assumption("time under pressure", f"{settings.hours_a_year:g} h a year", "setting of the calculator")
    ]
    if hole is not None and pressure is not None:
        flow, source = orifice_flow(hole, pressure), "leak-tables"
        assumptions.append(Assumption("discharge coefficient", "0.61, 20 % either way", "published leak tables"))
        notes = ["Free outflow. Soil may hold it back, and soft pipes open with pressure."]
    elif drips is not None:
        flow, source = drip_rate(drips), "usgs-drip"
        assumptions.append(Assumption("volume of a drop", "0.25 to 0.36 mL", "published counts that differ"))
        notes = []
    else:
        return None
    water = flow.scaled(settings.hours_a_year / LITRES, "m3/a", f"flow over {settings.hours_a_year:g} h a year")
    quantities = {"leak_flow": flow, "yearly_water": water}
    quantities |= _heat(finding, settings, context, water)
    quantities |= _money(context, quantities)
    if "yearly_cost" not in quantities:
        notes.append("No cost: give `water` under `prices`, and `sewer` where it is charged on the same meter.")
    return Estimate(
        id=f"{finding.id}-leak",
        finding=finding.id,
        kind="leak-flow",
        title="Water that the leak brings",
        quantities=quantities,
        assumptions=tuple(assumptions),
        sources=(source, "coolprop"),
        notes=tuple(notes),
    )


def _heat(finding: Finding, settings: Settings, context: Context, water: Quantity) -> dict[str, Quantity]:
    """Energy bought to warm what leaks, where the water is stated to be hot."""
    from heatbrief.physics.water import heated_water_energy

    hot = quantity(finding, "water_temperature", context)
    if hot is None or hot.value <= settings.cold_water + 5.0:
        return {}
    found = propagated(
        lambda water, hot: (
            float(heated_water_energy(water, hot - settings.cold_water)) / 3.6e6 / settings.heat_efficiency
        ),
        "kWh/a",
        "heat of the water that leaks",
        water=water,
        hot=hot,
    )
    return {} if found is None else {"yearly_energy": positive(found)}


def _money(context: Context, quantities: dict[str, Quantity]) -> dict[str, Quantity]:
    """Water, sewer and heat by their prices; only what has a price is in it."""
    prices = context.prices
    parts = [
        yearly_money(quantities["yearly_water"], prices.get(name), context.currency) for name in ("water", "sewer")
    ]
    if "yearly_energy" in quantities:
        price = next((prices[name] for name in ("heat", "gas", "electricity") if name in prices), None)
        if price is not None and price.unit.endswith("/kWh"):
            parts.append(yearly_money(quantities["yearly_energy"], price, context.currency))
    priced = [one for one in parts if one is not None]
    if not priced:
        return {}
    low, value, high = (sum(getattr(one, name) for one in priced) for name in ("low", "value", "high"))
    cost = Quantity(
        value, priced[0].unit, low, high, 0.95, "water, sewer and heat as far as priced; one flow, so bounds add"
    )
    return {"yearly_cost": cost}


STEP = Step(
    name=NAME,
    stage="estimate",
    version=1,
    run=run,
    settings=Settings,
    domain="plumbing",
    summary="Water, heat and money of a leak from its hole and pressure, or from counted drips.",
    facts=(HOLE, PRESSURE, DRIPS, WATER),
    reads=("conditions", "prices", "regions", "facts"),
    sources=("leak-tables", "usgs-drip"),
    status="trial",
)
