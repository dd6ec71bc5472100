"""Yearly energy, money and emissions of an extra heat flow. What is not given is said, never invented."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from heatbrief.api import Context, Step, StepOutput, propagated
from heatbrief.estimate.climate import NAME, Climate, climate_of
from heatbrief.estimate.heat_flow import ExtraHeat, conditions_of, extra_heat, region_of, size_of
from heatbrief.estimate.prices import price_per_kwh
from heatbrief.estimate.season_settings import Settings
from heatbrief.estimate.systems import Efficiency, cooling_efficiency, heating_efficiency
from heatbrief.estimate.terms import METHOD, total, yearly
from heatbrief.model.costs import MoneyFacts
from heatbrief.model.estimate import Assumption, Estimate, Factor, Term
from heatbrief.model.finding import Finding
from heatbrief.model.quantity import Quantity

__all__ = ["STEP", "Settings", "conductance_of", "price_per_kwh", "run", "season_heat"]

HOURS_A_DAY, WATTS_A_KILOWATT = 24.0, 1000.0
WARM = 25.0
"""Air around a duct above which it is taken to be cooled [degC]."""


@dataclass(frozen=True)
class Season:
    """One season of one finding: useful heat as terms [kWh/a], and the equipment that meets it.

    name  "heating" or "cooling"; label: what its heat is called
    """

    name: str
    label: str
    heat: tuple[Term, ...]
    equipment: Efficiency

    @property
    def bought(self) -> tuple[Term, ...]:
        """The energy bought for it; empty when the efficiency is not known."""
        value = self.equipment.value
        if value is None:
            return ()
        efficiency = Factor(f"{self.name} efficiency", value, -1)
        return tuple(replace(term, buys=self.equipment.fuel, factors=(*term.factors, efficiency)) for term in self.heat)


@dataclass(frozen=True)
class House:
    """What all findings share: the climate and the equipment of each season."""

    climate: Climate
    heating: Efficiency
    cooling: Efficiency
    money: MoneyFacts


def run(findings: tuple[Finding, ...], settings: Settings, context: Context) -> StepOutput:
    """A yearly estimate for every conducting or duct finding that is a defect or a suspect."""
    wanted = [
        one
        for one in findings
        if one.check in (*settings.conducting, *settings.running) and one.verdict in ("defect", "suspect")
    ]
    if not wanted:
        return StepOutput()
    house = house_of(settings, context)
    estimates: list[Estimate] = []
    notes: list[str] = []
    for finding in wanted:
        extra = extra_heat(finding, context)
        made = extra if isinstance(extra, str) else _estimate(finding, extra, settings, context, house)
        if isinstance(made, Estimate):
            estimates.append(made)
        else:
            notes.append(f"{finding.id}: no yearly figures: {made}.")
    return StepOutput(estimates=tuple(estimates), notes=tuple(dict.fromkeys(notes)))


def house_of(settings: Settings, context: Context) -> House:
    """Climate and equipment. Raises StepError for a weather file that cannot be used."""
    heating = heating_efficiency(
        settings.heating_system, settings.heating_fuel, settings.heating_efficiency, settings.ratings
    )
    cooling = cooling_efficiency(settings.cooling_system, settings.cooling_efficiency, settings.ratings)
    climate = climate_of(settings, {"heating": heating.fuel, "cooling": cooling.fuel}, context)
    return House(climate, heating, cooling, MoneyFacts(context.prices, context.currency))


def conductance_of(finding: Finding, flow: Quantity, context: Context) -> Quantity | None:
    """Extra heat per kelvin across the surface [W/K], from the difference at the time of the picture."""
    drive = drive_factor(finding, context)
    if drive is None:
        return None
    return propagated(
        lambda flow, drive: flow / drive,
        "W/K",
        "extra heat flow over the difference at the time",
        flow=flow,
        drive=drive.value,
    )


def drive_factor(finding: Finding, context: Context, power: int = 1) -> Factor | None:
    """Size of the difference of the airs at the time [K]; the survey's own is one number for all findings."""
    own = finding.measured.get("air difference")
    drive = own or conditions_of(finding, context).difference
    if drive is None or abs(drive.value) < 1.0:
        return None
    shared = own is None and drive == context.conditions.difference
    return Factor("air difference at the time" if shared else f"air difference at {finding.id}", size_of(drive), power)


def season_heat(conductance: Quantity, degree_days: Quantity) -> Quantity:
    """Conductance times degree days times 24 h [kWh/a]. Source: degree-day-definition."""
    found = propagated(
        lambda conductance, days: conductance * days * HOURS_A_DAY / WATTS_A_KILOWATT,
        "kWh/a",
        "conductance times degree days times 24 h",
        conductance=conductance,
        days=degree_days,
    )
    assert found is not None
    return found


def flow_factors(finding: Finding, extra: ExtraHeat) -> tuple[Factor, ...]:
    """Inputs of the extra heat flow [W]: contrast, area, and the coefficient that all surfaces of one facing share."""
    film = Factor(f"surface coefficient, {extra.facing}, {extra.film.value:.4g}", extra.film)
    return (Factor(f"contrast of {finding.id}", size_of(finding.measured["contrast"])), area_factor(finding), film)


def area_factor(finding: Finding) -> Factor:
    """The measured area of a finding, which its repair shares with its loss."""
    return Factor(f"area of {finding.id}", finding.measured["area"])


def _estimate(finding: Finding, extra: ExtraHeat, settings: Settings, context: Context, house: House) -> Estimate | str:
    missing: list[str] = []
    flow = flow_factors(finding, extra)
    if finding.check in settings.running:
        seasons = _running(flow, extra, settings, house, missing)
    else:
        drive = drive_factor(finding, context, -1)
        if drive is None:
            return "the air temperatures on both sides at the time of the picture are not known"
        hot = hot_beyond(finding, context)
        seasons = conducting((*flow, drive), settings, house, hot, missing)
    if not seasons:
        return "; ".join(missing)
    quantities, terms = yearly_figures(seasons, house.money, missing)
    return Estimate(
        id=f"{finding.id}-season",
        finding=finding.id,
        kind="yearly-energy",
        title="Over a usual year",
        quantities=quantities,
        assumptions=_assumptions(finding, seasons, settings, house),
        sources=("degree-day-definition", "eia-btu", "eia-co2", "eia-grid"),
        notes=tuple(dict.fromkeys((*missing, *_remarks(finding, settings, context, house)))),
        terms=terms,
    )


def conducting(
    factors: tuple[Factor, ...], settings: Settings, house: House, hot: bool, missing: list[str]
) -> list[Season]:
    """Heat of both seasons; a space hotter than outdoors adds its rise over the hours of cooling."""
    missing.extend(house.climate.missing)
    seasons = []
    for name, days in house.climate.degree_days.items():
        a_day = HOURS_A_DAY / WATTS_A_KILOWATT
        heat = [Term("heat", "kWh/a", a_day, (*factors, days))] if days.value.value > 0.0 else []
        hours, deficit = house.climate.cooling_hours, house.climate.cooling_deficit
        if name == "cooling" and hot and settings.attic_rise is not None and hours is not None:
            rise = Factor("attic rise", settings.attic_rise)
            heat.append(Term("heat", "kWh/a", 1.0 / WATTS_A_KILOWATT, (*factors, rise, hours)))
            if deficit is not None:
                heat.append(Term("heat", "kWh/a", -a_day, (*factors, deficit)))
        if not heat or total(heat).best <= 0.0:
            continue
        seasons.append(Season(name, name, tuple(heat), house.heating if name == "heating" else house.cooling))
    return seasons


def hot_beyond(finding: Finding, context: Context) -> bool:
    """Whether the space beyond is stated to be hotter than outdoors, as an attic in summer."""
    region, outside = region_of(finding, context), conditions_of(finding, context).outside_air
    beyond = region.facts.get("air_beyond") if region is not None else None
    return isinstance(beyond, Quantity) and outside is not None and beyond.value > outside.value + 1.0


def _running(
    flow: tuple[Factor, ...], extra: ExtraHeat, settings: Settings, house: House, missing: list[str]
) -> list[Season]:
    if settings.duct_hours is None:
        missing.append(f"set `duct_hours` of {NAME}: the hours a year the duct runs so")
        return []
    heat = Term("heat", "kWh/a", 1.0 / WATTS_A_KILOWATT, (*flow, Factor("hours of the duct", settings.duct_hours)))
    cooled = extra.air.value > WARM
    return [Season("cooling" if cooled else "heating", "running", (heat,), house.cooling if cooled else house.heating)]


def yearly_figures(
    seasons: Sequence[Season], money: MoneyFacts, missing: list[str]
) -> tuple[dict[str, Quantity], tuple[Term, ...]]:
    """Heat of each season and, only when every season has it, energy, cost and emissions; and the terms of the
    energy."""
    found = {f"yearly_heat_{one.label}": total(one.heat).quantity("kWh/a", METHOD) for one in seasons}
    known = {name: one for name, one in found.items() if one is not None}
    lacking = [one for one in seasons if one.equipment.value is None]
    missing.extend(
        f"set `{one.name}_efficiency` or `{one.name}_system` of {NAME} for the energy bought" for one in lacking
    )
    if lacking:
        return known, ()
    terms = tuple(term for one in seasons for term in one.bought)
    amounts = yearly(terms, money)
    missing.extend(f"give `{fuel}` under `prices`, per kWh or per volume, for the cost" for fuel in amounts.unpriced)
    return known | amounts.quantities("yearly_cost", money.currency), terms


def _assumptions(
    finding: Finding, seasons: Sequence[Season], settings: Settings, house: House
) -> tuple[Assumption, ...]:
    running = finding.check in settings.running
    rows = [] if running else list(house.climate.assumptions)
    for name in ("duct_hours",) if running else ("attic_rise", "cooling_hours"):
        value = getattr(settings, name)
        if value is not None:
            rows.append(Assumption(name.replace("_", " "), f"{value.value:g} {value.unit}", "given in the survey"))
    for one in seasons:
        if one.equipment.value is not None:
            rows.append(Assumption(f"{one.name} efficiency", f"{one.equipment.value.value:.3g}", one.equipment.origin))
            rows.append(Assumption(f"{one.name} fuel", one.equipment.fuel, "setting of the calculator"))
    return tuple(rows)


def _remarks(finding: Finding, settings: Settings, context: Context, house: House) -> tuple[str, ...]:
    if finding.check in settings.running:
        return ()
    if not hot_beyond(finding, context) or (
        settings.attic_rise is not None and house.climate.cooling_hours is not None
    ):
        return house.climate.notes
    return (
        *house.climate.notes,
        "Counted by outdoor air. The space beyond was hotter than outdoors, so the cooling figure is too low; set "
        f"`attic_rise` and `cooling_hours` of {NAME}.",
    )


STEP = Step(
    name=NAME,
    stage="estimate",
    version=2,
    run=run,
    settings=Settings,
    reads=("conditions", "regions", "view", "prices", "bill"),
    title="energy and money over a year",
    summary="Yearly energy, money and emissions of extra heat flows, by degree days, hourly weather or a bill.",
    sources=(
        "degree-day-definition",
        "eia-btu",
        "eia-co2",
        "eia-grid",
        "colorado-insulation",
        "ashrae-152",
        "afue-ranges",
        "seer2-rule",
    ),
    status="trial",
)
