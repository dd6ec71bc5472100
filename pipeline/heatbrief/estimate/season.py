"""Yearly energy and money of an extra heat flow, by degree days. What is not given is said, never invented."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from heatbrief.api import Context, Step, StepOutput, propagated, setting
from heatbrief.estimate.heat_flow import ExtraHeat, conditions_of, extra_heat, region_of
from heatbrief.model.estimate import Assumption, Estimate
from heatbrief.model.finding import Finding
from heatbrief.model.quantity import Quantity, total

NAME = "heatbrief.season"
HOURS_A_DAY, WATTS_A_KILOWATT = 24.0, 1000.0
CUBIC_METRE = {
    "gas": ("natural gas ft3", 0.3048**3),
    "oil": ("heating oil", 0.003785411784),
    "propane": ("propane", 0.003785411784),
}
"""Fuel of `fuels.yaml` and the volume of its unit [m3], for prices per cubic metre."""


@dataclass(frozen=True)
class Settings:
    """Climate and equipment. The base temperatures say what the degree days were counted from; they do not enter the
    sum."""

    heating_degree_days: Quantity | None = setting(
        None, unit="K*d", low=0, high=20000, help="heating degree days of a usual year", example="2500 K d"
    )
    cooling_degree_days: Quantity | None = setting(
        None, unit="K*d", low=0, high=20000, help="cooling degree days of a usual year", example="1200 K d"
    )
    heating_base: Quantity | None = setting(
        None, unit="degC", help="base temperature of the heating degree days", example="18.3 degC"
    )
    cooling_base: Quantity | None = setting(
        None, unit="degC", help="base temperature of the cooling degree days", example="18.3 degC"
    )
    heating_efficiency: Quantity | None = setting(
        None,
        unit="1",
        low=0.2,
        high=8,
        help="useful heat per energy bought: a boiler's yearly efficiency or a heat pump's seasonal factor",
        example="90 %",
    )
    cooling_efficiency: Quantity | None = setting(
        None,
        unit="1",
        low=0.5,
        high=12,
        help="cold per electricity bought over the season (SEER / 3.412)",
        example="3.2",
    )
    heating_fuel: Literal["electricity", "gas", "oil", "propane"] = setting(
        "gas", help="what heats; the price of that name is used"
    )
    attic_rise: Quantity | None = setting(
        None,
        unit="K",
        low=0,
        high=60,
        help="how much hotter than outdoors an attic is over the hours of cooling (ASHRAE 152: 7.2 K when vented)",
        example="7 K",
    )
    cooling_hours: Quantity | None = setting(
        None, unit="h", low=0, high=8784, help="hours a year with cooling on", example="1500 h"
    )
    duct_hours: Quantity | None = setting(
        None,
        unit="h",
        low=0,
        high=8784,
        help="hours a year a duct outside the rooms runs about as warm or cold as in the picture",
        example="900 h",
    )
    conducting: tuple[str, ...] = setting(
        ("envelope.insulation", "envelope.thermal_bridge", "envelope.transmittance"), help="checks whose heat flow follows the outdoor air"
    )
    running: tuple[str, ...] = setting(("envelope.duct",), help="checks whose heat flow follows running hours")


@dataclass(frozen=True)
class Season:
    """One season's useful heat, energy bought and cost; what could not be worked out is None."""

    heat: Quantity
    energy: Quantity | None
    cost: Quantity | None


def run(findings: tuple[Finding, ...], settings: Settings, context: Context) -> StepOutput:
    """A yearly estimate for every conducting or duct finding that is a defect or a suspect."""
    estimates: list[Estimate] = []
    notes: list[str] = []
    for finding in findings:
        if finding.check not in (*settings.conducting, *settings.running) or finding.verdict not in (
            "defect",
            "suspect",
        ):
            continue
        extra = extra_heat(finding, context)
        made = extra if isinstance(extra, str) else _estimate(finding, extra, settings, context)
        if isinstance(made, Estimate):
            estimates.append(made)
        else:
            notes.append(f"{finding.id}: no yearly figures: {made}.")
    return StepOutput(estimates=tuple(estimates), notes=tuple(dict.fromkeys(notes)))


def conductance_of(finding: Finding, flow: Quantity, context: Context) -> Quantity | None:
    """Extra heat per kelvin across the surface [W/K], from the difference at the time of the picture."""
    drive = finding.measured.get("air difference") or conditions_of(finding, context).difference
    if drive is None or abs(drive.value) < 1.0:
        return None
    return propagated(
        lambda flow, drive: flow / abs(drive),
        "W/K",
        "extra heat flow over the difference at the time",
        flow=flow,
        drive=drive,
    )


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


def _estimate(finding: Finding, extra: ExtraHeat, settings: Settings, context: Context) -> Estimate | str:
    missing: list[str] = []
    if finding.check in settings.running:
        seasons = _running(extra, settings, context, missing)
    else:
        conductance = conductance_of(finding, extra.flow, context)
        if conductance is None:
            return "the air temperatures on both sides at the time of the picture are not known"
        seasons = _conducting(conductance, _rise_beyond(finding, settings, context), settings, context, missing)
    if not seasons:
        return "; ".join(missing)
    quantities = _summed(seasons, context.currency)
    return Estimate(
        id=f"{finding.id}-season",
        finding=finding.id,
        kind="yearly-energy",
        title="Over a usual year",
        quantities=quantities,
        assumptions=_assumptions(finding, settings),
        sources=("degree-day-definition", "eia-btu"),
        notes=tuple(dict.fromkeys((*missing, *_remarks(finding, settings, context)))),
    )


def _conducting(
    conductance: Quantity, rise: Quantity | None, settings: Settings, context: Context, missing: list[str]
) -> dict[str, Season]:
    """Heat of both seasons. `rise` [K*d] is what a space hotter than outdoors adds to the cooling degree days."""
    seasons = {}
    for name, days, efficiency, fuel in (
        ("heating", settings.heating_degree_days, settings.heating_efficiency, settings.heating_fuel),
        ("cooling", settings.cooling_degree_days, settings.cooling_efficiency, "electricity"),
    ):
        if days is None:
            missing.append(f"set `{name}_degree_days` of {NAME} for the {name} season")
        elif days.value > 0:
            if name == "cooling" and rise is not None:
                days = propagated(lambda days, rise: days + rise, "K*d", "with the rise beyond", days=days, rise=rise)
                assert days is not None
            heat = season_heat(conductance, days)
            seasons[name] = _bought(heat, efficiency, f"{name}_efficiency", fuel, context, missing)
    return seasons


def hot_beyond(finding: Finding, context: Context) -> bool:
    """Whether the space beyond is stated to be hotter than outdoors, as an attic in summer."""
    region, outside = region_of(finding, context), conditions_of(finding, context).outside_air
    beyond = region.facts.get("air_beyond") if region is not None else None
    return isinstance(beyond, Quantity) and outside is not None and beyond.value > outside.value + 1.0


def _rise_beyond(finding: Finding, settings: Settings, context: Context) -> Quantity | None:
    """Degree days [K*d] that such a space adds: its usual rise over outdoors times the hours of cooling."""
    if settings.attic_rise is None or settings.cooling_hours is None or not hot_beyond(finding, context):
        return None
    return propagated(
        lambda rise, hours: rise * hours / HOURS_A_DAY,
        "K*d",
        "rise over outdoors times hours of cooling",
        rise=settings.attic_rise,
        hours=settings.cooling_hours,
    )


def _running(extra: ExtraHeat, settings: Settings, context: Context, missing: list[str]) -> dict[str, Season]:
    if settings.duct_hours is None:
        missing.append(f"set `duct_hours` of {NAME}: the hours a year the duct runs so")
        return {}
    heat = propagated(
        lambda flow, hours: flow * hours / WATTS_A_KILOWATT,
        "kWh/a",
        "extra heat flow times running hours",
        flow=extra.flow,
        hours=settings.duct_hours,
    )
    assert heat is not None
    cooled = extra.air.value > 25.0
    efficiency, name = (
        (settings.cooling_efficiency, "cooling_efficiency")
        if cooled
        else (settings.heating_efficiency, "heating_efficiency")
    )
    return {
        "running": _bought(heat, efficiency, name, "electricity" if cooled else settings.heating_fuel, context, missing)
    }


def _bought(
    heat: Quantity, efficiency: Quantity | None, setting_name: str, fuel: str, context: Context, missing: list[str]
) -> Season:
    """Energy bought and its cost, as far as efficiency and price are given."""
    if efficiency is None:
        missing.append(f"set `{setting_name}` of {NAME} for the energy bought")
        return Season(heat, None, None)
    energy = propagated(
        lambda heat, efficiency: heat / efficiency, "kWh/a", "heat over efficiency", heat=heat, efficiency=efficiency
    )
    price = price_per_kwh(fuel, context.prices, context.currency)
    if price is None or energy is None:
        missing.append(f"give `{fuel}` under `prices`, per kWh or per volume, for the cost")
        return Season(heat, energy, None)
    return Season(
        heat,
        energy,
        propagated(
            lambda energy, price: energy * price,
            f"{context.currency}/a",
            "energy times price",
            energy=energy,
            price=price,
        ),
    )


def price_per_kwh(fuel: str, prices: Mapping[str, Quantity], currency: str) -> Quantity | None:
    """The price of a fuel per kWh of its heat content, from a price per kWh or per cubic metre; None without one.
    Source: eia-btu."""
    price = prices.get(fuel)
    if price is None:
        return None
    if price.unit == f"{currency}/kWh":
        return price
    if price.unit == f"{currency}/m3" and fuel in CUBIC_METRE:
        from heatbrief.physics.degree_days import fuel as fuel_of

        name, volume = CUBIC_METRE[fuel]
        return price.scaled(3.6e6 * volume / fuel_of(name).heat_content, f"{currency}/kWh", "price over heat content")
    return None


def _summed(seasons: Mapping[str, Season], currency: str) -> dict[str, Quantity]:
    """Heat of each season and, only when every season has it, the yearly energy and cost."""
    found = {f"yearly_heat_{name}": season.heat for name, season in seasons.items()}
    for key, parts in (
        ("yearly_energy", [one.energy for one in seasons.values()]),
        ("yearly_cost", [one.cost for one in seasons.values()]),
    ):
        known = [part for part in parts if part is not None]
        if len(known) == len(parts):
            added = total(known, "sum over the seasons")
            if added is not None:
                found[key] = _together(added, known)
    return found


def _together(added: Quantity, parts: list[Quantity]) -> Quantity:
    """Seasons share one conductance, so their bounds add straight, not in quadrature."""
    low, high = sum(part.low for part in parts), sum(part.high for part in parts)
    return Quantity(added.value, added.unit, low, high, added.coverage, added.method)


def _assumptions(finding: Finding, settings: Settings) -> tuple[Assumption, ...]:
    rows = []
    running = finding.check in settings.running
    names = (
        ("duct_hours", "heating_efficiency", "cooling_efficiency")
        if running
        else (
            "heating_degree_days",
            "heating_base",
            "heating_efficiency",
            "cooling_degree_days",
            "cooling_base",
            "cooling_efficiency",
            "attic_rise",
            "cooling_hours",
        )
    )
    for name in names:
        value = getattr(settings, name)
        if value is not None:
            rows.append(
                Assumption(
                    name.replace("_", " "), f"{value.value:g} {value.unit}".replace(" 1", ""), "given in the survey"
                )
            )
    rows.append(Assumption("heating fuel", settings.heating_fuel, "setting of the calculator"))
    return tuple(rows)


def _remarks(finding: Finding, settings: Settings, context: Context) -> tuple[str, ...]:
    if finding.check in settings.running or not hot_beyond(finding, context):
        return ()
    if settings.attic_rise is not None and settings.cooling_hours is not None:
        return ()
    return (
        "Counted by outdoor air. The space beyond was hotter than outdoors, so the cooling figure is too low; set "
        f"`attic_rise` and `cooling_hours` of {NAME}.",
    )


STEP = Step(
    name=NAME,
    stage="estimate",
    version=1,
    run=run,
    settings=Settings,
    reads=("conditions", "regions", "view", "prices"),
    summary="Yearly energy and money of extra heat flows by degree days.",
    sources=("degree-day-definition", "eia-btu", "colorado-insulation", "ashrae-152"),
    status="trial",
)
