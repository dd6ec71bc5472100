"""Ground: the table against itself, and the diffusion solution against a numerical one."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.physics import soil
from heatbrief.physics.tables import load_table
from hypothesis import given
from hypothesis import strategies as st

kappa = st.floats(5e-8, 2e-6)


@pytest.mark.parametrize("name", sorted(load_table("soil")["soils"]))
def test_table_diffusivity_is_conductivity_over_capacity(name: str) -> None:
    """de Vries 1963 as tabulated (seen): consistent within rounding."""
    row = soil.soil(name)
    assert row.diffusivity == pytest.approx(row.conductivity / row.heat_capacity, rel=0.06)
    assert row.mark == "seen"


def test_step_response_against_finite_differences() -> None:
    """An explicit scheme on a half space, independent of the closed form."""
    k, dz, dt = 0.5e-6, 0.005, 10.0
    field = np.zeros(400)
    field[0] = 1.0
    for _ in range(int(4 * 3600 / dt)):
        field[1:-1] += k * dt / dz**2 * (field[2:] - 2 * field[1:-1] + field[:-2])
    for z in (0.05, 0.1, 0.2, 0.3):
        assert soil.step_response(z, 4 * 3600.0, k) == pytest.approx(field[round(z / dz)], abs=2e-3)


@given(z=st.floats(0.01, 1.0), t=st.floats(60.0, 1e6), k=kappa)
def test_step_response_is_a_share_that_only_grows(z: float, t: float, k: float) -> None:
    now = soil.step_response(z, t, k)
    assert 0.0 <= now <= soil.step_response(z, 2 * t, k) <= 1.0
    assert soil.step_response(2 * z, t, k) <= now
    assert soil.step_response(2 * z, 4 * t, k) == pytest.approx(now)


@given(k=kappa, z=st.floats(0.01, 0.5))
def test_one_damping_depth_leaves_1_over_e_and_lags_a_radian(k: float, z: float) -> None:
    d = soil.damping_depth(k)
    assert soil.swing_ratio(d, k) == pytest.approx(np.exp(-1))
    assert soil.phase_lag(d, k) == pytest.approx(86400 / (2 * np.pi))
    assert soil.diffusion_length(k, soil.time_to_surface(z, k)) == pytest.approx(z)


def test_nothing_arrives_at_time_zero_and_unknown_soils_are_named() -> None:
    assert soil.step_response(0.1, 0.0, 1e-6) == 0.0
    with pytest.raises(KeyError, match="moist clay"):
        soil.soil("loam")
