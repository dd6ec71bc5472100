"""The water that evaporates from a wet area: the least that a leak must bring to keep it wet."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, Step, StepOutput, propagated, setting
from heatbrief.model import Assumption, Estimate, Factor, Finding, Quantity, Term

from heatbrief_plumbing.evaporating import flux_by_balance, mass_flux, transfer
from heatbrief_plumbing.facts import positive

NAME = "plumbing.evaporation"
INSIDE, OUTSIDE = ("plumbing.damp_surface",), ("plumbing.wet_ground",)
SECONDS_AN_HOUR = 3600.0
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
    film = transfer(surface, air, inside, now)
    flux = mass_flux(surface, air, humidity, film, WETNESS[inside])
    if flux is None or flux.high <= 0.0:
        return "the air is too humid for water to evaporate"
    flow = propagated(
        lambda area, flux: SECONDS_AN_HOUR * area * max(flux, 0.0),
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
    quantities = {"evaporation": flow} | _second_way(finding, area, surface, film, flow)
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
        sources=("lewis", "mass-balance", "iso-6946", "wet-bulb-floor"),
        notes=tuple(notes),
        terms=() if hours is None else _terms(finding, area, (surface, air, humidity), film, inside, hours),
    )


def _terms(
    finding: Finding,
    area: Quantity,
    drive: tuple[Quantity, Quantity, Quantity],
    film: Quantity,
    inside: bool,
    hours: float,
) -> tuple[Term, ...]:
    """The water of a year as a product: the area and the drying power of the air at this spot, times how wet surfaces are
    and what the air carries off, which all spots of one kind share. drive: surface, air, humidity."""
    exact = Quantity.exact
    power = mass_flux(*drive, exact(film.value, film.unit), exact(1.0, "1"))
    if power is None or power.value <= 0.0:
        return ()
    kind = "inside" if inside else "outside"
    share = Quantity(1.0, "1", film.low / film.value, film.high / film.value, film.coverage, film.method)
    return (
        Term(
            "water",
            "m3/a",
            SECONDS_AN_HOUR * hours / 1000.0,
            (
                Factor(f"area of {finding.id}", area),
                Factor(f"evaporation of {finding.id}", positive(power)),
                Factor(f"wetness {kind}", WETNESS[inside]),
                Factor(f"air over wet places {kind}", share),
            ),
        ),
    )


def _second_way(
    finding: Finding, area: Quantity, surface: Quantity, film: Quantity, first: Quantity
) -> dict[str, Quantity]:
    """The same by the heat that evaporation takes, and the least leak that both allow."""
    contrast = finding.measured.get("contrast")
    if contrast is None or contrast.unit != "K" or contrast.high >= 0.0:
        return {}
    cooling = Quantity(
        -contrast.value, "K", -contrast.high, -contrast.low, contrast.coverage, "colder than its dry surroundings"
    )
    flux = flux_by_balance(cooling, surface, film)
    second = (
        None
        if flux is None
        else propagated(
            lambda area, flux: SECONDS_AN_HOUR * area * flux,
            "L/h",
            "area times the heat taken over the latent heat",
            area=area,
            flux=flux,
        )
    )
    if second is None:
        return {}
    low, high = max(min(first.low, second.low), 0.0), max(first.high, second.high)
    least = Quantity(min(first.value, second.value), "L/h", low, high, 0.95, "the smaller of both ways, bounds of both")
    return {"evaporation_by_heat": positive(second), "least_leak": least}


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


STEP = Step(
    name=NAME,
    stage="estimate",
    version=3,
    run=run,
    settings=Settings,
    domain="plumbing",
    summary="Water that evaporates from wet areas: a lower bound of what a leak brings.",
    reads=("conditions", "prices"),
    sources=("lewis", "mass-balance", "iso-6946", "wet-bulb-floor"),
    status="trial",
    title="water that evaporates",
)
