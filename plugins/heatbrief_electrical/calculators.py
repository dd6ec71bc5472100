"""Calculators with bounds: load, limits, joints, heat from a face, phases, cost and ageing. Pure functions.

Rises and differences are K, currents A, resistances ohm, heat W. Inputs may be plain numbers or quantities with bounds.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from heatbrief.api import propagated
from heatbrief.model import Factor, Quantity, Term
from heatbrief.physics import electrical
from heatbrief.physics.surface_coefficients import convection_spread, radiative_coefficient_exact

ZERO = 273.15
Number = Quantity | float
NEAR_RATING_K = 10.0
"""The ten-degree rule is used from this far below the rating of an insulation upwards, nowhere else. Own choice."""


def exponent_range() -> Quantity:
    """Exponent of rise against current: 1.6 to 2.0, usually 1.8. Source: rated-rise, load-exponent [seen: S3, S4]."""
    low, usual, high = electrical.LOAD_EXPONENTS
    return Quantity.between(low, high, "1", usual, "exponent of rise against current")


def rise_at_other_load(rise: Number, current: Number, other_current: Number) -> Quantity | None:
    """dT2 = dT1 (I2/I1)^n [K], n 1.6 to 2.0; None for a current of 0. Source: rated-rise."""
    return propagated(
        lambda rise, current, other, exponent: float(electrical.rise_at_load(rise, current, other, exponent)),
        "K",
        "rise at the other load, exponent 1.6 to 2.0",
        rise=rise,
        current=current,
        other=other_current,
        exponent=exponent_range(),
    )


def resistance_of(heat: Number, current: Number) -> Quantity | None:
    """P / I^2 [ohm]: the resistance that makes this heat; None for a current of 0. Source: ohm-joule."""
    return propagated(
        lambda heat, current: heat / current**2, "ohm", "heat over current squared", heat=heat, current=current
    )


def drop_of(heat: Number, current: Number) -> Quantity | None:
    """P / I [V]: the voltage across what makes this heat; None for a current of 0. Source: ohm-joule."""
    return propagated(lambda heat, current: heat / current, "V", "heat over current", heat=heat, current=current)


def heat_of_face(
    area: Number, surface: Number, air: Number, emissivity: Number = 0.9, beyond: Number | None = None
) -> Quantity | None:
    """Heat [W] of a face [m2] at `surface` degC in still air at `air` degC, by convection and radiation.

    P = A (hc(T) + hr(T)) (T - Tair), the surroundings as warm as the air. With `beyond` [K]: what it gives off more
    than at a
    surface colder by that. hc lies between the lowest and the highest correlation for a small face; a draught makes it
    larger.
    None when the face is not warmer than the air. Source: churchill-chu-1975, stefan-boltzmann.
    """
    size, warm, around = (one.value if isinstance(one, Quantity) else float(one) for one in (area, surface, air))
    if warm <= around or size <= 0:
        return None
    height = max(size, 1e-6) ** 0.5
    middle = convection_spread(warm + ZERO, around + ZERO, "sideways", height)
    share = Quantity.between(float(middle.low / middle.best), float(middle.high / middle.best), "1", 1.0)

    def model(face: float, surface: float, around: float, off: float, convection: float, emissivity: float) -> float:
        colder = max(surface - off, around) if beyond is not None else around
        return face * (
            flux(surface, around, height, convection, emissivity) - flux(colder, around, height, convection, emissivity)
        )

    words = "convection and radiation of the seen face" + (", beyond its twin's" if beyond is not None else "")
    off = 0.0 if beyond is None else beyond
    return propagated(
        model, "W", words, face=area, surface=surface, around=air, off=off, convection=share, emissivity=emissivity
    )


def yearly_terms(
    finding: str, hours: float, area: Quantity, surface: Quantity, air: Quantity, emissivity: Quantity, beyond: Quantity
) -> tuple[Term, ...]:
    """The energy of a year [kWh/a] of `heat_of_face` as products: what the air takes, and what is radiated.

    The spread of the correlations and the emissivity are one number for all parts; area and temperatures belong to the
    finding. Empty where the face is not warmer than the air. Source: churchill-chu-1975, stefan-boltzmann.
    """
    warm, around = surface.value, air.value
    whole = heat_of_face(Quantity.exact(area.value, "m2"), surface, air, emissivity.value, beyond)
    if whole is None or whole.value <= 0.0:
        return ()
    height = max(area.value, 1e-6) ** 0.5
    middle = convection_spread(warm + ZERO, around + ZERO, "sideways", height)
    share = Quantity.between(float(middle.low / middle.best), float(middle.high / middle.best), "1", 1.0)
    colder = max(warm - beyond.value, around)
    still = [flux(one, around, height, 0.0, emissivity.value) for one in (warm, colder)]
    both = [flux(one, around, height, 1.0, emissivity.value) for one in (warm, colder)]
    radiated = still[0] - still[1]
    taken = both[0] - both[1] - radiated
    doubt = _temperature_doubt(area.value, surface, air, emissivity.value, beyond)
    own = (Factor(f"area of {finding}", area), Factor(f"heat at best of {finding}", doubt))
    return (
        Term("electricity", "kWh/a", taken * hours / 1000.0, (*own, Factor("convection", share))),
        Term(
            "electricity",
            "kWh/a",
            radiated * hours / 1000.0 / emissivity.value,
            (*own, Factor("emissivity", emissivity)),
        ),
    )


def _temperature_doubt(area: float, surface: Quantity, air: Quantity, emissivity: float, beyond: Quantity) -> Quantity:
    """Heat over its best estimate, as far as the temperatures decide it."""
    height = max(area, 1e-6) ** 0.5

    def model(surface: float, around: float, off: float) -> float:
        colder = max(surface - off, around)
        return flux(surface, around, height, 1.0, emissivity) - flux(colder, around, height, 1.0, emissivity)

    found = propagated(model, "W/m2", "", surface=surface, around=air, off=beyond)
    assert found is not None and found.value > 0.0
    low, high = (one / found.value for one in (max(found.low, 0.0), found.high))
    return Quantity(1.0, "1", low, high, found.coverage, "temperatures of the face and the air")


def flux(surface: float, around: float, height: float, share: float, emissivity: float) -> float:
    """Heat [W/m2] of a face at `surface` in air and surroundings at `around` (degC); `share` scales the convection."""
    if surface - around < 0.01:
        return 0.0
    convection = float(convection_spread(surface + ZERO, around + ZERO, "sideways", height).best) * share
    radiation = float(radiative_coefficient_exact(surface + ZERO, around + ZERO, emissivity))
    return (convection + radiation) * (surface - around)


def yearly_energy(heat: Quantity, hours: float) -> Quantity:
    """Heat [W] times hours in a year, kWh/a."""
    return heat.scaled(hours / 1000.0, "kWh/a", f"heat flow times {hours:g} h")


def yearly_cost(energy: Quantity, price: Quantity, currency: str) -> Quantity | None:
    """Energy [kWh/a] times a price per kWh; None for a price of something else."""
    if not price.unit.endswith("/kWh"):
        return None
    return propagated(
        lambda energy, price: energy * price,
        f"{currency}/a",
        "yearly energy times the price",
        energy=energy,
        price=price,
    )


def unbalance(values: Sequence[Number]) -> Quantity | None:
    """max |value - mean| / mean, as a share (not the largest minus the smallest); None for a mean of 0.

    Source: nema-mg1
    """
    names = [f"phase{number}" for number in range(len(values))]
    return propagated(
        lambda **phases: float(electrical.unbalance([phases[name] for name in names])),
        "1",
        "largest departure from the mean over the mean",
        **dict(zip(names, values, strict=True)),
    )


def winding_rise_more(voltage_unbalance: Number) -> Quantity | None:
    """About 2 u^2 % more winding rise for u % of voltage unbalance, as a share. From memory. Source: nema-mg1."""
    return propagated(
        lambda share: float(electrical.winding_rise_increase(share)),
        "1",
        "about 2 u squared, u in per cent (from memory)",
        share=voltage_unbalance,
    )


def neutral_current(first: Number, second: Number, third: Number, third_harmonic: Number = 0.0) -> Quantity | None:
    """Neutral current [A] of three phases: vector sum of the fundamentals, and the third harmonics in phase.

    Source: ohm-joule
    """
    return propagated(
        lambda first, second, third, share: float(electrical.neutral_current(first, second, third, share)),
        "A",
        "vector sum of the fundamentals, third harmonics in phase",
        first=first,
        second=second,
        third=third,
        share=third_harmonic,
    )


def life_factor(temperature: Number, rating: float) -> Quantity | None:
    """2^(-(T - rating)/10): insulation life over that at its rating, only from 10 K below the rating upwards, else
    None.

    A rule of thumb, never a remaining life; for a frame or a cover it says nothing about the insulation inside.
    Source: ten-degree-rule [seen: S15].
    """
    value = temperature.value if isinstance(temperature, Quantity) else float(temperature)
    if not np.isfinite(value) or value < rating - NEAR_RATING_K:
        return None
    return propagated(
        lambda value: float(electrical.life_factor(value - rating)),
        "1",
        "ten-degree rule of thumb, over the life at the rating",
        value=temperature,
    )
