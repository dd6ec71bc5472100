"""How cold evaporation alone can make a surface."""

from __future__ import annotations

import numpy as np

from heatbrief.arrays import FloatArray, Values

from .air_properties import STANDARD_PRESSURE
from .psychrometrics import humidity_ratio, saturation_pressure
from .surface_coefficients import radiative_coefficient_exact
from .water import evaporation_lewis, latent_heat

_STEPS = 60


def equilibrium_temperature(
    t_air: Values,
    humidity: Values,
    h_convection: Values,
    t_surroundings: Values | None = None,
    emissivity: Values = 0.96,
    lewis: Values = 1.0,
    pressure: Values = STANDARD_PRESSURE,
    h_radiation: Values | None = None,
    absorbed: Values = 0.0,
    wetness: Values = 1.0,
) -> FloatArray:
    """Steady temperature of a wet surface, K.

    Root of hc (Ta - Ts) + radiation from the surroundings + absorbed = wetness * evaporation.
    t_air, t_surroundings K (surroundings default to the air); humidity 0..1; h_convection
    W m-2 K-1 above 0; h_radiation: fixed radiative coefficient in place of the exact grey one;
    absorbed: sunlight taken up, W m-2; wetness: share of the surface that evaporates (0 dry).
    lewis 1 gives the psychrometric limit, 0.865 about 0.3 K colder. Arrays broadcast.
    With surroundings no colder than the air the result lies between wet bulb and air; under a
    clear sky it can lie below the wet bulb. For water, so above 0 degC.
    Source: lewis, stefan-boltzmann, wet-bulb-floor
    """
    t_air, h = np.asarray(t_air, float), np.asarray(h_convection, float)
    around = t_air if t_surroundings is None else np.asarray(t_surroundings, float)
    w_air = humidity_ratio(humidity * saturation_pressure(t_air), pressure)

    def surplus(t_s: FloatArray) -> FloatArray:
        hr = h_radiation
        if hr is None:
            hr = radiative_coefficient_exact(t_s, around, emissivity)
        w_surface = humidity_ratio(saturation_pressure(t_s), pressure)
        loss = evaporation_lewis(h, w_surface, w_air, lewis) * latent_heat(t_s)
        return h * (t_air - t_s) + hr * (around - t_s) + absorbed - wetness * loss

    low = np.minimum(t_air, around) - 40.0
    high = np.maximum(t_air, around) + np.asarray(absorbed, float) / h
    low, high, *_ = np.broadcast_arrays(low, high, humidity, h, absorbed, wetness)
    for _ in range(_STEPS):
        middle = 0.5 * (low + high)
        too_cold = surplus(middle) > 0.0
        low, high = np.where(too_cold, middle, low), np.where(too_cold, high, middle)
    result: FloatArray = (0.5 * (low + high))[()]
    return result
