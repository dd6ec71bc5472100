"""U-value of a surface from a picture, from inside and from outside, with the spread of correlations in its bounds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from heatbrief.api import propagated
from heatbrief.detect.films import LOCAL, PAINTED, facing_of, heat_goes
from heatbrief.model import Quantity

from heatbrief_envelope.surfaces import CELSIUS, RADIANT_K

Convection = Literal["median", "iso", "tarp", "alamdari-hammond", "churchill-chu", "mcadams", "rohsenow", "ashrae film"]
SOURCES = {
    "median": ("iso-13789", "energyplus-inside", "churchill-chu-1975", "alamdari-hammond-1983", "mcadams-1954"),
    "iso": ("iso-13789",),
    "tarp": ("energyplus-inside",),
    "alamdari-hammond": ("alamdari-hammond-1983",),
    "churchill-chu": ("churchill-chu-1975",),
    "mcadams": ("mcadams-1954",),
    "rohsenow": ("rohsenow-1998",),
    "ashrae film": ("ashrae-films",),
}
"""Sources of each choice of convection."""
SIDE_M = 2.5
WALLS, FLATS = ("churchill-chu",), ("mcadams", "rohsenow")
SKY_BELOW_AIR_K = 4.0
"""How far the mean surroundings of a wall lie below the air at most under an overcast sky (common practice)."""


@dataclass(frozen=True)
class UValue:
    """U [W m-2 K-1], heat flux from the room into the surface [W m-2, positive: into it], combined coefficient."""

    u: Quantity
    flux: Quantity
    film: Quantity
    method: str


def convection(text: str, surface_c: float, air_c: float, choice: Convection = "median") -> Quantity:
    """Inside convective coefficient [W m-2 K-1]: the chosen correlation, with the spread of all of them as bounds.

    surface_c, air_c in degC; `text` says which way the surface faces. A correlation that does not cover the facing
    gives way to the median. Bounds are LOCAL wider than the lowest and highest correlation.
    Source: iso-13789, energyplus-inside, churchill-chu-1975, alamdari-hammond-1983, mcadams-1954, rohsenow-1998,
    ashrae-films
    """
    from heatbrief.physics.surface_coefficients import convection_spread

    facing, surface, air = facing_of(text), surface_c + CELSIUS, air_c + CELSIUS
    spread = convection_spread(surface, air, facing, SIDE_M)
    chosen = _chosen(choice, facing, surface, air)
    best = float(spread.best) if chosen is None else chosen
    low, high = (1 - LOCAL) * float(spread.low), (1 + LOCAL) * float(spread.high)
    name = "median of the correlations" if chosen is None else choice
    return Quantity.between(min(low, best), max(high, best), "W/m2/K", best, f"{name}; bounds: spread of all")


def _chosen(choice: str, facing: str, surface: float, air: float) -> float | None:
    from heatbrief.physics import surface_coefficients as c

    direction = heat_goes(facing, surface > air)
    cos_tilt = {"sideways": 0.0, "up": 1.0, "down": -1.0}[facing]
    ratio = 0.25 * SIDE_M
    if choice == "iso":
        return c.ISO_H_CONVECTION[direction]
    if choice == "ashrae film":
        both = c.ASHRAE_FILM[f"inside {direction}"]
        return max(0.1, both - float(c.radiative_coefficient(0.5 * (surface + air), 0.9)))
    if choice == "tarp":
        return float(c.tarp_tilted(surface, air, cos_tilt))
    if choice == "alamdari-hammond":
        if facing == "sideways":
            return float(c.alamdari_hammond_vertical(surface, air, SIDE_M))
        return float(c.alamdari_hammond_horizontal(surface, air, 4.0 * ratio, cos_tilt))
    if choice in WALLS and facing == "sideways":
        return float(c.churchill_chu_vertical(surface, air, SIDE_M))
    if choice in FLATS and facing != "sideways":
        return float(getattr(c, f"{choice}_horizontal")(surface, air, ratio, cos_tilt))
    return None


def radiation(surface_c: float, other_c: float, emissivity: Quantity | None) -> Quantity:
    """Radiative coefficient [W m-2 K-1], exact for a grey surface in large surroundings. Source: stefan-boltzmann"""
    from heatbrief.physics.surface_coefficients import radiative_coefficient_exact

    unit = float(radiative_coefficient_exact(surface_c + CELSIUS, other_c + CELSIUS))
    given = emissivity or Quantity.between(PAINTED - 0.04, PAINTED + 0.04, "1", PAINTED, "paint (common practice)")
    return given.scaled(unit, "W/m2/K", "grey surface in large surroundings")


def inside_u(
    text: str,
    near: Quantity,
    beyond: Quantity,
    *,
    surface: Quantity | None = None,
    below_reference: Quantity | None = None,
    reflected: Quantity | None = None,
    emissivity: Quantity | None = None,
    choice: Convection = "median",
) -> UValue | None:
    """U from inside, W m-2 K-1; None when nothing finite comes out.

    near, beyond      air on both sides [degC]
    below_reference   [K] by which the surface reads below a board hung in the room, which takes the temperature that
                      the surface exchanges heat with; errors of the camera drop out. Else:
    surface           the surface's absolute temperature [degC], with
    reflected         mean temperature of what it faces [degC]; the room's air within RADIANT_K when not measured
    Source: envelope-iso-9869-2 for the reference board, tejedor-2017 and madding-2008 for the sum
    """
    if below_reference is not None:
        at = near.value - below_reference.value
        return _result(
            lambda near, beyond, hc, hr, fall: (hc + hr) * fall,
            "coefficient times difference to the board in the room",
            near=near,
            beyond=beyond,
            hc=convection(text, at, near.value, choice),
            hr=radiation(at, near.value, emissivity),
            fall=below_reference,
        )
    if surface is None:
        return None
    facing = reflected or Quantity(
        near.value, "degC", near.low - RADIANT_K, near.high + RADIANT_K, 0.95, "as warm as the room's air"
    )
    return _result(
        lambda near, beyond, hc, hr, surface, facing: hr * (facing - surface) + hc * (near - surface),
        "radiation with the surroundings and convection with the air",
        near=near,
        beyond=beyond,
        hc=convection(text, surface.value, near.value, choice),
        hr=radiation(surface.value, facing.value, emissivity),
        surface=surface,
        facing=facing,
    )


def outside_u(
    outside: Quantity,
    inside: Quantity,
    wind: Quantity,
    *,
    surface: Quantity | None = None,
    above_reference: Quantity | None = None,
    reflected: Quantity | None = None,
    emissivity: Quantity | None = None,
) -> UValue | None:
    """U of a wall from outside, W m-2 K-1; heat counts positive when it leaves the building.

    The convective part spans windward and leeward correlations at the bounds of the wind [m/s], so it is wide.
    Arguments as in `inside_u`, temperatures of the outside. Source: iso-6946, energyplus-outside, juerges-1924
    """
    from heatbrief.physics.surface_coefficients import outside_convection_spread

    rise = above_reference.value if above_reference is not None else None
    if rise is None:
        if surface is None:
            return None
        rise = surface.value - outside.value
    at, air = outside.value + rise + CELSIUS, outside.value + CELSIUS
    spreads = [outside_convection_spread(at, air, max(v, 0.0)) for v in (wind.low, wind.value, wind.high)]
    best = float(spreads[1].best)
    low, high = min(float(one.low) for one in spreads), max(float(one.high) for one in spreads)
    hc = Quantity.between(low, high, "W/m2/K", best, "windward and leeward correlations at the stated wind")
    hr = radiation(outside.value + rise, outside.value, emissivity)
    if above_reference is not None:
        return _result(
            lambda near, beyond, hc, hr, rise: (hc + hr) * rise,
            "coefficient times difference to the board outside",
            near=inside,
            beyond=outside,
            hc=hc,
            hr=hr,
            rise=above_reference,
        )
    facing = reflected or Quantity.between(
        outside.low - SKY_BELOW_AIR_K, outside.high, "degC", outside.value, "overcast sky and ground"
    )
    assert surface is not None
    return _result(
        lambda near, beyond, hc, hr, surface, facing: hr * (surface - facing) + hc * (surface - beyond),
        "radiation with sky and ground and convection with the air",
        near=inside,
        beyond=outside,
        hc=hc,
        hr=hr,
        surface=surface,
        facing=facing,
    )


def _result(model: Callable[..., float], method: str, **inputs: Quantity) -> UValue | None:
    """Flux by the model, and U as the flux over near minus beyond, each with bounds; an input moves both."""
    flux = _bounded(model, "W/m2", method, inputs)
    film = propagated(lambda hc, hr: hc + hr, "W/m2/K", "convection and radiation", hc=inputs["hc"], hr=inputs["hr"])
    u = _bounded(
        lambda near, beyond, **more: model(near=near, beyond=beyond, **more) / (near - beyond), "W/m2/K", method, inputs
    )
    return None if u is None or flux is None or film is None else UValue(u, flux, film, method)


def _bounded(model: Callable[..., float], unit: str, method: str, inputs: dict[str, Quantity]) -> Quantity | None:
    """Bounds in quadrature, and the spread of the correlations in full on top: which of them holds is not chance."""
    best = {name: one.value for name, one in inputs.items()}
    held: dict[str, Quantity | float] = {**inputs, "hc": inputs["hc"].value}
    others = propagated(model, unit, method, **held)
    if others is None:
        return None
    moved = [model(**{**best, "hc": end}) - others.value for end in (inputs["hc"].low, inputs["hc"].high)]
    low, high = others.low + min(0.0, *moved), others.high + max(0.0, *moved)
    return Quantity(others.value, unit, low, high, min(others.coverage, inputs["hc"].coverage), method)
