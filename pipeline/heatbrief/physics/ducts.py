"""Heat gained and lost by ducts outside the conditioned space, and what delivery is left.

SI: temperatures K, area m2, R in m2 K W-1, capacity rate (mass flow times cp) in W/K.
"""

from __future__ import annotations

import numpy as np

from heatbrief.arrays import FloatArray, Values

_R_IP = 0.1761101838
"""m2 K W-1 per h ft2 degF Btu-1."""
BARE_DUCT_R = 1.7 * _R_IP
"""Effective R of a bare duct with its films, m2 K W-1. Source: ashrae-152."""
_EFFECTIVE = {"supply": (2.2438, 0.5619), "return": (2.0388, 0.7053)}
ZONE_RISE = {
    ("vented attic", "heating", "design"): 10.0,
    ("vented attic", "heating", "season"): 7.0,
    ("vented attic", "cooling", "design"): 22.0,
    ("vented attic", "cooling", "season"): 13.0,
    ("unvented attic", "cooling", "design"): 36.0,
    ("unvented attic", "cooling", "season"): 16.0,
}
"""Attic over outdoor air, in degF differences as published. Source: ashrae-152."""


def effective_resistance(r_nominal: Values, side: str = "supply") -> FloatArray:
    """Effective R of a round insulated duct with films, m2 K W-1; side "supply" or "return".

    Source: ashrae-152
    """
    constant, slope = _EFFECTIVE[side]
    return constant * _R_IP + slope * np.asarray(r_nominal, float)


def outlet_temperature(t_in: Values, t_around: Values, conductance: Values, capacity_rate: Values) -> FloatArray:
    """Ta - (Ta - Tin) exp(-UA / C), K: air leaving a duct. Source: exchanger"""
    t_around = np.asarray(t_around, float)
    return t_around - (t_around - t_in) * np.exp(-np.asarray(conductance, float) / capacity_rate)


def conduction_gain(t_in: Values, t_around: Values, conductance: Values, capacity_rate: Values) -> FloatArray:
    """Heat the air in a duct picks up on its way, W (negative: loses). Source: exchanger"""
    leaving = outlet_temperature(t_in, t_around, conductance, capacity_rate)
    return capacity_rate * (leaving - t_in)


def simple_gain(area: Values, resistance: Values, t_around: Values, t_duct: Values) -> FloatArray:
    """U A (T_around - T_duct), W: without the warming along the way. Source: exchanger"""
    return np.asarray(area, float) / resistance * (np.asarray(t_around, float) - t_duct)


def leak_load(capacity_rate: Values, leak_fraction: Values, t_leaving: Values, t_replacing: Values) -> FloatArray:
    """Load of air lost at one temperature and replaced at another, W (positive: heat brought in).

    A supply leak in cooling loses duct air (t_leaving) that room air replaces; a return leak takes
    attic air (t_replacing) in place of room air. Source: common-practice
    """
    return capacity_rate * np.asarray(leak_fraction, float) * (t_replacing - t_leaving)


def conduction_fraction(area: Values, resistance: Values, capacity_rate: Values) -> FloatArray:
    """B = exp(-A / (R C)): share of the temperature difference kept along a duct.

    Source: ashrae-152
    """
    return np.exp(-np.asarray(area, float) / (np.asarray(resistance, float) * capacity_rate))


def delivery_effectiveness(
    b_supply: Values,
    b_return: Values,
    leak_supply: Values,
    leak_return: Values,
    rise: Values,
    dt_supply_zone: Values,
    dt_return_zone: Values,
) -> FloatArray:
    """Heating delivery effectiveness (ASHRAE 152 form as coded in an open energy model).

    b_*: from `conduction_fraction`; leak_*: fractions; rise: capacity / capacity rate, K;
    dt_*: indoor minus the zone around the duct, K.
    DE = as Bs - as Bs (1 - Br ar) dtr/dte - as (1 - Bs) dts/dte with a = 1 - leak.
    Source: ashrae-152
    """
    a_s, a_r = 1.0 - np.asarray(leak_supply, float), 1.0 - np.asarray(leak_return, float)
    kept = a_s * b_supply
    return kept - kept * (1.0 - b_return * a_r) * dt_return_zone / rise - a_s * (1.0 - b_supply) * dt_supply_zone / rise


def with_regain(
    effectiveness: Values,
    regain_supply: Values,
    regain_return: Values,
    b_return: Values,
    leak_return: Values,
    rise: Values,
    dt_return_zone: Values,
) -> FloatArray:
    """DE' = DE + Fs(1 - DE) - [Fs - Fr - Br(ar Fs - Fr)] dtr/dte. Source: ashrae-152"""
    a_r = 1.0 - np.asarray(leak_return, float)
    mixed = regain_supply - regain_return
    mixed = mixed - b_return * (a_r * regain_supply - regain_return)
    gained = regain_supply * (1.0 - np.asarray(effectiveness, float))
    return effectiveness + gained - mixed * dt_return_zone / rise


def system_efficiency(
    delivery: Values, cycling_loss: Values = 0.05, equipment_factor: Values = 1.0, load_factor: Values = 1.0
) -> FloatArray:
    """Distribution system efficiency, delivery with regain times its factors. Source: ashrae-152"""
    return np.asarray(delivery, float) * equipment_factor * load_factor * (1.0 - cycling_loss)


def attic_temperature(
    t_out: Values, kind: str = "vented attic", mode: str = "cooling", basis: str = "design"
) -> FloatArray:
    """Attic air temperature by the ASHRAE 152 rules, K; kind "vented attic" or "unvented attic".

    A default for when nothing was measured: field readings run far hotter, so prefer an input.
    Source: ashrae-152
    """
    key = (kind, mode, basis)
    if key not in ZONE_RISE:
        raise ValueError(f"no rule for {key}; rules: {sorted(ZONE_RISE)}")
    return np.asarray(t_out, float) + ZONE_RISE[key] / 1.8


def radiant_barrier_attic(t_out: Values) -> FloatArray:
    """Vented attic with radiant barrier in cooling, 0.65 (out + 22 degF) + 0.35 (78 degF), K.

    Source: ashrae-152
    """
    room = (78.0 - 32.0) / 1.8 + 273.15
    return 0.65 * (np.asarray(t_out, float) + 22.0 / 1.8) + 0.35 * room


def unbalanced_infiltration(flow_off: Values, flow_imbalance: Values, exponent: Values = 0.67) -> FloatArray:
    """(Qoff^1.5 + Qimb^1.5)^exponent, m3/s, worked in ft3/min as the rule is written.

    The rule is coded with 0.67; the exact 2/3 is 2.6 % lower in a typical case.
    Source: ashrae-152
    """
    cfm = 0.3048**3 / 60.0
    total = (np.asarray(flow_off, float) / cfm) ** 1.5 + (flow_imbalance / cfm) ** 1.5
    return total**exponent * cfm
