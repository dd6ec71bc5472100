"""Electrical heating: load, allowed temperature, joints, phases, and published severity classes.

Rises and differences are kelvin, absolute temperatures kelvin, currents ampere. No table is "the"
standard: the same reading falls in different classes of different tables, so always print which.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from heatbrief.arrays import FloatArray, IntArray, Values

from .surface_coefficients import Spread
from .tables import load_table

LOAD_EXPONENTS = (1.6, 1.8, 2.0)
"""Low, usual and high exponent of rise against current. Source: rated-rise, load-exponent."""
LEAST_LOAD = 0.40
LOW_LOAD = 0.50
"""Load fraction below which no class is given, and below which it is flagged. Source: load-gate."""
WIND_FACTORS = (1.00, 1.36, 1.64, 1.86, 2.06, 2.23, 2.40, 2.50)
"""Multiplier to the 1 m/s value at 1..8 m/s. From memory. Source: wind-table."""


@dataclass(frozen=True)
class Band:
    """One class: its code, the limit (K) where it starts, whether the limit belongs to it."""

    code: int
    start: float
    inclusive: bool
    label: str
    meaning: str


@dataclass(frozen=True)
class ClassTable:
    """A published table of classes by temperature difference, bands by rising start.

    compares: "similar" part, "ambient" air, "reference" or "phases". A value below the first band
    belongs to `UNCLASSED`.
    """

    key: str
    name: str
    origin: str
    compares: str
    mark: str
    source: str
    bands: tuple[Band, ...]
    note: str = ""


UNCLASSED = Band(0, -np.inf, True, "not classed", "below the first band of the table")


def class_table(key: str) -> ClassTable:
    """A table of `class_tables.yaml`; KeyError names the known ones.

    Source: neta-100-18, mil-std-2194
    """
    tables = load_table("class_tables")
    if key not in tables:
        raise KeyError(f"no class table {key!r}; tables: {', '.join(sorted(tables))}")
    row = tables[key]
    bands = tuple(
        Band(b["class"], float(b["from"]), not b.get("above", False), b["label"], b["meaning"]) for b in row["bands"]
    )
    plain = {k: row[k] for k in ("name", "origin", "compares", "mark", "source")}
    return ClassTable(key=key, bands=bands, note=row.get("note", ""), **plain)


def class_table_keys() -> tuple[str, ...]:
    """Keys of every class table, sorted. Source: neta-100-18, mil-std-2194"""
    return tuple(sorted(load_table("class_tables")))


def _table(table: str | ClassTable) -> ClassTable:
    return table if isinstance(table, ClassTable) else class_table(table)


def classify(value: float, table: str | ClassTable) -> Band:
    """Band of one difference (K) in a table (key or `ClassTable`). ValueError when not finite.

    >>> classify(12.4, "neta-similar").label
    'probable deficiency'

    Source: neta-100-18, mil-std-2194
    """
    if not np.isfinite(value):
        raise ValueError(f"cannot class {value!r}")
    found = UNCLASSED
    for band in _table(table).bands:
        if value > band.start or (band.inclusive and value == band.start):
            found = band
    return found


def class_codes(values: ArrayLike, table: str | ClassTable) -> IntArray:
    """Class code of every difference (K), integer array; NaN gives -1. Source: neta-100-18"""
    v = np.asarray(values, float)
    codes = np.zeros(v.shape, int)
    for band in _table(table).bands:
        reached = (v >= band.start) if band.inclusive else (v > band.start)
        codes = np.where(reached, band.code, codes)
    return np.where(np.isnan(v), -1, codes)


def class_probabilities(value: float, sigma: float, table: str | ClassTable) -> Mapping[int, float]:
    """Probability of each class code for a normal uncertainty (K); they sum to 1.

    sigma 0 puts all on the class of the value. Source: normal-distribution
    """
    table = _table(table)
    if sigma < 0.0 or not np.isfinite(value) or not np.isfinite(sigma):
        raise ValueError("value and sigma must be finite, sigma not negative")
    codes = [UNCLASSED.code, *(band.code for band in table.bands)]
    if sigma == 0.0:
        hit = classify(value, table).code
        return {code: float(code == hit) for code in codes}
    from scipy.special import ndtr

    starts = np.array([band.start for band in table.bands])
    reached = np.concatenate([[1.0], ndtr((value - starts) / sigma), [0.0]])
    return {code: float(p) for code, p in zip(codes, reached[:-1] - reached[1:], strict=True)}


def class_probabilities_sampled(samples: ArrayLike, table: str | ClassTable) -> Mapping[int, float]:
    """Share of samples (K, finite) in each class code. Source: normal-distribution"""
    table, samples = _table(table), np.asarray(samples, float)
    if samples.size == 0 or not np.all(np.isfinite(samples)):
        raise ValueError("samples must be finite and not empty")
    codes = class_codes(samples, table)
    order = [UNCLASSED.code, *(band.code for band in table.bands)]
    return {code: float(np.mean(codes == code)) for code in order}


def limits(group: str) -> Sequence[Mapping[str, Any]]:
    """A group of `limits.yaml` (rows of part, limit, unit, mark, source); KeyError names the known.

    Source: ul-489, iec-60694
    """
    table = load_table("limits")
    if group not in table:
        raise KeyError(f"no limits {group!r}; limits: {', '.join(sorted(table))}")
    result: Sequence[Mapping[str, Any]] = table[group]
    return result


# --- load, wind, ambient ------------------------------------------------------------------


def load_gate(load_fraction: float | None) -> str:
    """ "unknown", "pattern only" (below 40 %), "low load" (to 50 %) or "classed". Source: load-gate"""
    if load_fraction is None or not np.isfinite(load_fraction) or load_fraction < 0.0:
        return "unknown"
    if load_fraction < LEAST_LOAD:
        return "pattern only"
    return "low load" if load_fraction < LOW_LOAD else "classed"


def rise_at_load(rise: Values, current: Values, other_current: Values, exponent: Values = 1.8) -> FloatArray:
    """dT2 = dT1 (I2/I1)^n, K; n 1.6 to 2.0. Source: rated-rise, load-exponent"""
    ratio = np.asarray(other_current, float) / np.asarray(current, float)
    result: FloatArray = np.asarray(rise, float) * ratio**exponent
    return result


def exponent_from_film(film_exponent: Values) -> FloatArray:
    """2 / (1 + m) where loss goes with dT^(1+m): 2 linear, 1.6 laminar, 1.5 turbulent air.

    Source: load-physics
    """
    return 2.0 / (1.0 + np.asarray(film_exponent, float))


def rise_at_full_load(rise: Values, load_fraction: Values) -> Spread:
    """Low, usual and high rise at full load over n = 1.6, 1.8, 2.0, K.

    Source: rated-rise, load-exponent
    """
    found = np.stack([np.asarray(rise_at_load(rise, load_fraction, 1.0, n)) for n in LOAD_EXPONENTS])
    return Spread(found.min(axis=0)[()], found[1][()], found.max(axis=0)[()])


def allowed_temperature(
    t_ambient: Values, rated_rise: Values, load_fraction: Values, exponent: Values = 2.0
) -> FloatArray:
    """Tamb + rated rise (I/Irated)^n, K. A smaller n allows more here: use one n throughout.

    Source: rated-rise
    """
    return t_ambient + rise_at_load(rated_rise, 1.0, load_fraction, exponent)


def allowed_temperature_range(t_ambient: Values, rated_rise: Values, load_fraction: Values) -> Spread:
    """Low, usual and high allowance over n = 1.6, 1.8, 2.0, K. Source: rated-rise"""
    found = [allowed_temperature(t_ambient, rated_rise, load_fraction, n) for n in LOAD_EXPONENTS]
    stack = np.stack([np.asarray(one) for one in found])
    return Spread(stack.min(axis=0)[()], stack[1][()], stack.max(axis=0)[()])


def normalised_rise(rise: Values, current: Values, exponent: Values = 1.8) -> FloatArray:
    """rise / I^n, for ranking like circuits above 40 % load and 3 K. Source: load-exponent"""
    return np.asarray(rise, float) / np.asarray(current, float) ** exponent


def wind_factor(wind: Values) -> FloatArray:
    """Multiplier of a rise measured in wind to its 1 m/s value; wind 1 to 8 m/s, else NaN.

    From memory, read between whole m/s; no class outdoors above 4 to 5 m/s. Source: wind-table
    """
    v = np.asarray(wind, float)
    inside = (v >= 1.0) & (v <= 8.0)
    return np.where(inside, np.interp(v, np.arange(1.0, 9.0), WIND_FACTORS), np.nan)[()]


def ambient_factor(t_conductor: Values, t_ambient: Values, t_reference: Values) -> FloatArray:
    """Ampacity factor sqrt((Tc - Ta)/(Tc - Tref)), temperatures in one unit. Source: nec-ambient"""
    margin = np.maximum(np.asarray(t_conductor, float) - t_ambient, 0.0)
    return np.sqrt(margin / (np.asarray(t_conductor, float) - t_reference))


def shown_temperature(
    t_true: Values, t_reflected: Values, emissivity: Values, emissivity_set: Values = 0.95
) -> FloatArray:
    """What a grey body shows when the emissivity is set wrong, K (no band weighting).

    Bright lugs under-read by a class or more. Source: stefan-boltzmann
    """
    t, r = np.asarray(t_true, float) ** 4, np.asarray(t_reflected, float) ** 4
    signal = emissivity * t + (1.0 - np.asarray(emissivity, float)) * r
    result: FloatArray = ((signal - (1.0 - emissivity_set) * r) / emissivity_set) ** 0.25
    return result


# --- joints, phases, ageing ---------------------------------------------------------------


def joint_power(current: Values, resistance: Values) -> FloatArray:
    """I^2 R, W. Source: ohm-joule"""
    return np.asarray(current, float) ** 2 * resistance


def joint_voltage(current: Values, resistance: Values) -> FloatArray:
    """I R, V. Source: ohm-joule"""
    return np.asarray(current, float) * resistance


def unbalance(values: ArrayLike) -> FloatArray:
    """max |value - mean| / mean over the last axis, as a fraction (not max - min).

    >>> round(100 * float(unbalance([400.0, 395.0, 388.0])), 3)
    1.606

    Source: nema-mg1
    """
    v = np.asarray(values, float)
    mean = v.mean(axis=-1, keepdims=True)
    result: FloatArray = (np.abs(v - mean).max(axis=-1) / mean[..., 0])[()]
    return result


def winding_rise_increase(voltage_unbalance: Values) -> FloatArray:
    """About 2 u^2 % (u in %): relative growth of motor winding rise; both fractions. From memory.

    Source: nema-mg1
    """
    return 2.0 * (100.0 * np.asarray(voltage_unbalance, float)) ** 2 / 100.0


def neutral_current(phase_a: Values, phase_b: Values, phase_c: Values, third_harmonic: Values = 0.0) -> FloatArray:
    """Neutral current of three phases, A: fundamental vector sum and third harmonics in phase.

    third_harmonic: fraction of each phase's current. Source: ohm-joule
    """
    a, b, c = (np.asarray(x, float) for x in (phase_a, phase_b, phase_c))
    vector = np.clip(a * a + b * b + c * c - a * b - b * c - c * a, 0.0, None)
    result: FloatArray = np.sqrt(vector + (third_harmonic * (a + b + c)) ** 2)
    return result


def life_factor(excess: Values) -> FloatArray:
    """2^(-dT/10): rule of thumb for insulation near its rating, never a remaining life.

    Source: ten-degree-rule
    """
    return 2.0 ** (-np.asarray(excess, float) / 10.0)
