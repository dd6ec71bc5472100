"""What a run of duct outside the rooms gains or loses, and what share of the heat or cold arrives (ASHRAE 152)."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, Step, StepOutput, propagated, setting
from heatbrief.model import Assumption, Estimate, Finding, Quantity

NAME = "envelope.duct_delivery"
CHECKS = ("envelope.duct",)
CELSIUS = 273.15
AIR_HEAT = 1207.2
"""Heat capacity of air per volume [J m-3 K-1]: 0.075 lb/ft3 and 0.24 Btu/lb degF, as ASHRAE 152 counts."""


@dataclass(frozen=True)
class Settings:
    """The duct system. Nothing is worked out until area, flow and temperatures are given."""

    supply_area: Quantity | None = setting(
        None, unit="m2", low=0, high=1000, help="surface of supply ducts outside the rooms", example="50 m2"
    )
    return_area: Quantity | None = setting(
        None, unit="m2", low=0, high=1000, help="surface of return ducts outside the rooms", example="19 m2"
    )
    resistance: Quantity | None = setting(
        None, unit="m2*K/W", low=0, high=10, help="nominal resistance of their insulation", example="1.06 m2 K/W"
    )
    flow: Quantity | None = setting(
        None, unit="m3/h", low=1, high=1e5, help="air flow of the system", example="1700 m3/h"
    )
    supply_air: Quantity | None = setting(None, unit="degC", help="air leaving the equipment", example="13 degC")
    room_air: Quantity | None = setting(None, unit="degC", help="air of the rooms", example="24 degC")
    around: Quantity | None = setting(None, unit="degC", help="air around the ducts", example="50 degC")
    supply_leak: Quantity = setting(
        Quantity.between(0.0, 0.2, "1", 0.1, "usual range"),
        unit="1",
        low=0,
        high=0.9,
        help="share of the air lost from supply ducts",
        example="10 %",
    )
    return_leak: Quantity = setting(
        Quantity.between(0.0, 0.2, "1", 0.1, "usual range"),
        unit="1",
        low=0,
        high=0.9,
        help="share of the air drawn in by return ducts",
        example="10 %",
    )
    regain: Quantity = setting(
        Quantity.exact(0.10, "1", "attic, ASHRAE 152"),
        unit="1",
        low=0,
        high=1,
        help="share of the lost heat that still helps the house (attic 0.10)",
        example="10 %",
    )


NEEDED = ("supply_area", "return_area", "resistance", "flow", "supply_air", "room_air", "around")


def run(findings: tuple[Finding, ...], settings: Settings, context: Context) -> StepOutput:
    """One estimate for the system when all of it is given; a hint when a duct was found wanting and some is not."""
    missing = [name for name in NEEDED if getattr(settings, name) is None]
    if not missing:
        quantities = delivery(settings)
        return StepOutput(estimates=(_estimate(settings, quantities),) if quantities else ())
    if len(missing) == len(NEEDED) and not any(one.check in CHECKS and one.verdict == "defect" for one in findings):
        return StepOutput()
    return StepOutput(notes=(f"{NAME}: give {', '.join(f'`{name}`' for name in missing)} for the share that arrives.",))


def delivery(settings: Settings) -> dict[str, Quantity]:
    """Conduction gain, air at the outlet, and delivery effectiveness without and with regain.

    The ASHRAE 152 form is written for heating; with the signs of rise and differences turned together it holds for
    cooling. Source: ashrae-152, exchanger
    """
    given = {name: getattr(settings, name) for name in (*NEEDED, "supply_leak", "return_leak", "regain")}
    found = {
        "conduction_gain": propagated(_gain, "W", "exchanger with the effective resistance", **_only(given, _GAIN)),
        "air_at_the_outlet": propagated(
            _outlet, "degC", "exchanger with the effective resistance", **_only(given, _GAIN)
        ),
        "delivery_effectiveness": propagated(lambda **one: _delivered(**one)[0], "1", "ASHRAE 152", **given),
        "delivery_with_regain": propagated(lambda **one: _delivered(**one)[1], "1", "ASHRAE 152 with regain", **given),
    }
    return {name: one for name, one in found.items() if one is not None}


_GAIN = ("supply_area", "resistance", "flow", "supply_air", "around")


def _only(given: dict[str, Quantity], names: tuple[str, ...]) -> dict[str, Quantity]:
    return {name: given[name] for name in names}


def _rate(flow: float) -> float:
    return AIR_HEAT * flow / 3600.0


def _gain(supply_area: float, resistance: float, flow: float, supply_air: float, around: float) -> float:
    from heatbrief.physics.ducts import conduction_gain, effective_resistance

    conductance = supply_area / float(effective_resistance(resistance, "supply"))
    return float(conduction_gain(supply_air + CELSIUS, around + CELSIUS, conductance, _rate(flow)))


def _outlet(supply_area: float, resistance: float, flow: float, supply_air: float, around: float) -> float:
    return supply_air + _gain(supply_area, resistance, flow, supply_air, around) / _rate(flow)


def _delivered(
    supply_area: float,
    return_area: float,
    resistance: float,
    flow: float,
    supply_air: float,
    room_air: float,
    around: float,
    supply_leak: float,
    return_leak: float,
    regain: float,
) -> tuple[float, float]:
    """(delivery effectiveness, the same with regain)."""
    from heatbrief.physics.ducts import conduction_fraction, delivery_effectiveness, effective_resistance, with_regain

    rate, rise, gap = _rate(flow), supply_air - room_air, room_air - around
    b_supply = float(conduction_fraction(supply_area, effective_resistance(resistance, "supply"), rate))
    b_return = float(conduction_fraction(return_area, effective_resistance(resistance, "return"), rate))
    plain = float(delivery_effectiveness(b_supply, b_return, supply_leak, return_leak, rise, gap, gap))
    return plain, float(with_regain(plain, regain, regain, b_return, return_leak, rise, gap))


def _estimate(settings: Settings, quantities: dict[str, Quantity]) -> Estimate:
    return Estimate(
        id="envelope-duct-delivery",
        finding="",
        kind="duct-delivery",
        title="What arrives through the ducts",
        quantities=quantities,
        assumptions=tuple(
            Assumption(
                name.replace("_", " "), f"{value.value:g} {value.unit}".removesuffix(" 1"), "setting of the calculator"
            )
            for name, value in (
                (name, getattr(settings, name)) for name in (*NEEDED, "supply_leak", "return_leak", "regain")
            )
        ),
        sources=("ashrae-152", "exchanger"),
        notes=("Insulated along the whole run; bare joints come on top.",),
    )


STEP = Step(
    name=NAME,
    stage="estimate",
    version=1,
    run=run,
    settings=Settings,
    domain="envelope",
    reads=("conditions",),
    summary="Conduction gain and delivery effectiveness of ducts outside the rooms (ASHRAE 152).",
    sources=("ashrae-152", "exchanger"),
    status="trial",
    title="what air ducts deliver",
)
