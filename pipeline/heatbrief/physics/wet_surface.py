"""How cold evaporation alone can make a surface, and what a colder reading then means."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from heatbrief.arrays import FloatArray, Values

from .air_properties import STANDARD_PRESSURE
from .psychrometrics import humidity_ratio, saturation_pressure
from .surface_coefficients import radiative_coefficient_exact
from .water import evaporation_lewis, latent_heat

_STEPS = 60
FLOOR_HUMIDITY = 0.80
"""Above this relative humidity the absence of a cold spot proves nothing. Source: wet-bulb-floor."""


@dataclass(frozen=True)
class WetReading:
    """What a cold reading allows; each flag has the shape of the reading.

    below_floor: colder than evaporation alone can make it (cold pipe, air leak, cold reflection).
    condensation_possible: at or below the dew point, within the camera error.
    cue_too_small: too humid for a dry-looking surface to prove anything.
    """

    below_floor: np.ndarray | bool
    condensation_possible: np.ndarray | bool
    cue_too_small: np.ndarray | bool


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
    high = np.maximum(t_air, around) + np.asarray(absorbed, float) / h + 1e-6
    low, high, *_ = np.broadcast_arrays(low, high, humidity, h, absorbed, wetness)
    for _ in range(_STEPS):
        middle = 0.5 * (low + high)
        too_cold = surplus(middle) > 0.0
        low, high = np.where(too_cold, middle, low), np.where(too_cold, high, middle)
    result: FloatArray = (0.5 * (low + high))[()]
    return result


def read_cold_spot(
    t_surface: Values, t_wet_bulb: Values, t_dew_point: Values, humidity: Values, error: Values = 0.5
) -> WetReading:
    """What a cold spot indoors can be, from wet bulb and dew point.

    t_surface, t_wet_bulb, t_dew_point K; humidity 0..1; error: bound of the reading, K (0.5 K at
    least for a Lewis number other than 1). The floor holds under cover only: under a clear sky a
    wet surface may truly be colder than the wet bulb.
    Source: wet-bulb-floor
    """
    t = np.asarray(t_surface, float)
    allowance = np.maximum(error, 0.5)
    too_humid = np.broadcast_to(np.asarray(humidity, float) > FLOOR_HUMIDITY, t.shape)
    return WetReading(
        below_floor=(t < t_wet_bulb - allowance)[()],
        condensation_possible=(t <= t_dew_point + error)[()],
        cue_too_small=too_humid[()],
    )
