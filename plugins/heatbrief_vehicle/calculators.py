"""Numbers with bounds: heat of a radiator, energy of a stop and what it does to a rotor, fuel that makes up for
heat."""

from __future__ import annotations

from heatbrief.api import propagated
from heatbrief.model import Quantity
from heatbrief.physics.lumped import kinetic_energy, rotor_rise, stream_heat

COOLANT_HEAT = Quantity.between(3300.0, 4190.0, "J/kg/K", 3600.0, "half glycol to plain water, warm (common practice)")
COOLANT_DENSITY = Quantity.between(0.96, 1.06, "kg/L", 1.02, "plain water to half glycol, warm (common practice)")
FRONT_SHARE = Quantity.between(0.6, 0.7, "1", 0.65, "front axle's share of braking (brake-share)")
IRON_HEAT = Quantity.between(450.0, 550.0, "J/kg/K", 480.0, "cast iron (common practice)")
ENGINE_SHARE = Quantity.between(0.2, 0.35, "1", 0.27, "work at the wheels per heat of the fuel (common practice)")
PETROL_HEAT = Quantity.between(31.0, 33.0, "MJ/L", 32.0, "lower heating value of motor petrol (common practice)")
DISC_FILM = Quantity.between(15.0, 90.0, "W/m2/K", 40.0, "film and radiation of a turning disc (common practice)")


def radiator_heat(flow: Quantity, drop: Quantity, heat_capacity: Quantity = COOLANT_HEAT) -> Quantity | None:
    """Heat [W] that coolant gives off: flow [kg/s] times heat capacity times drop [K]. Source: lumped-balance"""
    made = propagated(
        lambda flow, heat, drop: float(stream_heat(flow, heat, drop)),
        "W",
        "flow times heat capacity times drop",
        flow=flow,
        heat=heat_capacity,
        drop=drop,
    )
    return _from_zero(made)


def mass_flow(litres: Quantity) -> Quantity | None:
    """Flow [kg/s] from L/min."""
    return propagated(
        lambda litres, density: litres * density / 60.0,
        "kg/s",
        "volume flow times density",
        litres=litres,
        density=COOLANT_DENSITY,
    )


def stop_energy(mass: Quantity, speed: Quantity) -> Quantity | None:
    """Heat of one full stop [J]: m v^2 / 2, speed [m/s]. Source: lumped-balance"""
    return propagated(lambda mass, speed: float(kinetic_energy(mass, speed)), "J", "m v2 / 2", mass=mass, speed=speed)


def rise_of_a_stop(mass: Quantity, speed: Quantity, rotor: Quantity) -> Quantity | None:
    """Rise [K] of one front rotor in one full stop without cooling. Source: lumped-balance, brake-share"""
    return propagated(
        lambda mass, speed, rotor, share, heat: float(rotor_rise(mass, speed, rotor, share / 2.0, heat)),
        "K",
        "share of the stop over the rotor's heat capacity",
        mass=mass,
        speed=speed,
        rotor=rotor,
        share=FRONT_SHARE,
        heat=IRON_HEAT,
    )


def drag_heat(area: Quantity, excess: Quantity, film: Quantity = DISC_FILM) -> Quantity | None:
    """Steady heat [W] that holds a disc this much [K] above its mate; area: both faces [m2]. Source: lumped-balance"""
    made = propagated(
        lambda area, film, excess: area * film * excess,
        "W",
        "area times film times difference",
        area=area,
        film=film,
        excess=excess,
    )
    return _from_zero(made)


def fuel_for(power: Quantity, hours: float) -> Quantity | None:
    """Fuel [L/a] an engine burns to make up for a power [W] at its wheels over hours a year."""
    made = propagated(
        lambda power, share, heat: power * hours * 3600.0 / share / (heat * 1e6),
        "L/a",
        "power times hours over efficiency and heating value",
        power=power,
        share=ENGINE_SHARE,
        heat=PETROL_HEAT,
    )
    return _from_zero(made)


def _from_zero(made: Quantity | None) -> Quantity | None:
    """With bounds that do not go below nothing."""
    if made is None or made.low >= 0.0 or made.value < 0.0:
        return made
    return Quantity(made.value, made.unit, 0.0, made.high, made.coverage, made.method)
