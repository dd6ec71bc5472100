"""The water that evaporates from a wet area: the least that a leak must bring to keep it wet."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, Step, StepOutput, propagated, setting
from heatbrief.model import Assumption, Conditions, Estimate, Finding, Quantity

from heatbrief_plumbing.air import CELSIUS

NAME = "plumbing.evaporation"
INSIDE, OUTSIDE = ("plumbing.damp_surface",), ("plumbing.wet_ground",)
HOURS_A_YEAR = 8760.0
WETNESS = {
    True: Quantity.between(0.2, 1.0, "1", 0.6, "how wet the surface is (common practice)"),
    False: Quantity.between(0.5, 1.0, "1", 0.8, "how wet the ground is (common practice)"),
}


@dataclass(frozen=True)
class Settings:
    """How long a place is wet."""

    hours_a_day_inside: float = setting(
        24.0, unit="h", low=0, high=24, help="hours a day a damp surface inside stays damp", example="24 h"
    )
    hours_a_day_outside: float | None = setting(
        None,
        unit="h",
        low=0,
        high=24,
        help="hours a day irrigated ground is wet by the leak; without it no yearly figure is given for ground",
        example="1 h",
    )
    days_a_year_outside: float = setting(
        180.0, unit="1", low=0, high=366, help="days a year on which water runs outside", example="180"
    )


def run(findings: tuple[Finding, ...], settings: Settings, context: Context) -> StepOutput:
    """An estimate for every wet finding whose area, temperature and air are known."""
    estimates: list[Estimate] = []
    notes: list[str] = []
    for finding in findings:
        if finding.check not in (*INSIDE, *OUTSIDE) or finding.verdict not in ("defect", "suspect"):
            continue
        made = _estimate(finding, settings, context)
        if isinstance(made, Estimate):
            estimates.append(made)
        else:
            notes.append(f"{finding.id}: no evaporation worked out: {made}.")
    return StepOutput(estimates=tuple(estimates), notes=tuple(notes))


def _estimate(finding: Finding, settings: Settings, context: Context) -> Estimate | str:
    now = context.conditions_of.get(finding.thermogram, context.conditions)
    inside = finding.check in INSIDE
    air, humidity = (now.inside_air, now.humidity) if inside else (now.outside_air, now.outside_humidity)
    area, surface = finding.measured.get("area"), finding.measured.get("mean temperature")
    missing = [
        name
        for name, one in (
            ("the area", area),
            ("the temperature of the spot", surface),
            ("air temperature", air),
            ("humidity", humidity),
        )
        if one is None
    ]
    if missing:
        return f"{', '.join(missing)} not known"
    assert area is not None and surface is not None and air is not None and humidity is not None
    flux = mass_flux(surface, air, humidity, transfer(surface, air, inside, now), WETNESS[inside])
    if flux is None or flux.high <= 0.0:
        return "the air is too humid for water to evaporate"
    flow = propagated(
        lambda area, flux: 3600.0 * area * max(flux, 0.0),
        "L/h",
        "area times evaporation: the least that a leak must bring",
        area=area,
        flux=flux,
    )
    assert flow is not None
    flow = Quantity(flow.value, flow.unit, max(0.0, flow.low), flow.high, flow.coverage, flow.method)
    hours = (
        settings.hours_a_day_inside * 365.0
        if inside
        else None
        if settings.hours_a_day_outside is None
        else settings.hours_a_day_outside * settings.days_a_year_outside
    )
    quantities = {"evaporation": flow}
    notes = ["A lower bound: water that drains or soaks away comes on top, and in open ground that is most of it."]
    if hours is None:
        notes.append(
            "No yearly figure: set `hours_a_day_outside` of plumbing.evaporation to the time the line runs each day."
        )
    else:
        quantities["yearly_water"] = flow.scaled(hours / 1000.0, "m3/a", f"evaporation over {hours:.0f} h a year")
        price = context.prices.get("water")
        if price is not None:
            cost = propagated(
                lambda water, price: water * price,
                f"{context.currency}/a",
                "yearly water times its price",
                water=quantities["yearly_water"],
                price=price,
            )
            quantities |= {"yearly_cost": cost} if cost is not None else {}
        else:
            notes.append("No cost: give `water` under `prices`.")
    return Estimate(
        id=f"{finding.id}-evaporation",
        finding=finding.id,
        kind="evaporation",
        title="Water that evaporates",
        quantities=quantities,
        assumptions=_assumptions(inside, settings, air, humidity),
        sources=("lewis", "mass-balance", "iso-6946"),
        notes=tuple(notes),
    )


def _assumptions(inside: bool, settings: Settings, air: Quantity, humidity: Quantity) -> tuple[Assumption, ...]:
    wet = WETNESS[inside]
    hours = settings.hours_a_day_inside if inside else settings.hours_a_day_outside
    days = 365 if inside else settings.days_a_year_outside
    return (
        Assumption("air at the surface", f"{air.value:.1f} degC, {humidity.value:.0%}", "given in the survey"),
        Assumption("wet share of the area", f"{wet.low:g} to {wet.high:g}", "common practice, no source"),
        *(
            ()
            if hours is None
            else (Assumption("time wet", f"{hours:g} h a day on {days:g} days", "setting of the calculator"),)
        ),
    )


def transfer(surface: Quantity, air: Quantity, inside: bool, now: Conditions) -> Quantity:
    """Convective coefficient [W m-2 K-1]: still air of a room, or wind over ground (iso-6946: 4 + 4 v), with bounds."""
    from heatbrief.physics.surface_coefficients import convection_spread, iso_outside_convection

    if inside:
        spread = convection_spread(surface.value + CELSIUS, air.value + CELSIUS, "sideways", 1.0)
        return Quantity.between(
            float(spread.low), float(spread.high), "W/m2/K", float(spread.best), "spread of correlations"
        )
    wind = now.wind or Quantity.between(0.2, 4.0, "m/s", 1.5, "wind not given")
    best = float(iso_outside_convection(wind.value))
    return Quantity.between(
        0.6 * float(iso_outside_convection(wind.low)),
        1.4 * float(iso_outside_convection(wind.high)),
        "W/m2/K",
        best,
        "4 + 4 v",
    )


def mass_flux(
    surface: Quantity, air: Quantity, humidity: Quantity, film: Quantity, wetness: Quantity
) -> Quantity | None:
    """Evaporation [kg m-2 s-1] by the Lewis relation, limited between 1 and 0.865 by the bounds of the coefficient.
    Source: lewis."""
    from heatbrief.physics.psychrometrics import air_humidity_ratio, humidity_ratio, saturation_pressure
    from heatbrief.physics.water import evaporation_lewis

    def flux(surface: float, air: float, humidity: float, film: float, wetness: float) -> float:
        wet = float(humidity_ratio(saturation_pressure(surface + CELSIUS)))
        dry = float(air_humidity_ratio(air + CELSIUS, min(max(humidity, 0.0), 1.0)))
        return wetness * float(evaporation_lewis(film, wet, dry))

    return propagated(
        flux, "kg/m2/s", "Lewis relation", surface=surface, air=air, humidity=humidity, film=film, wetness=wetness
    )


STEP = Step(
    name=NAME,
    stage="estimate",
    version=1,
    run=run,
    settings=Settings,
    domain="plumbing",
    summary="Water that evaporates from wet areas: a lower bound of what a leak brings.",
    reads=("conditions", "prices"),
    sources=("lewis", "mass-balance", "iso-6946"),
    status="trial",
)
