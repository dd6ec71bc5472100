"""Budget of a temperature: bounds by the factor of the normal distribution, noise, and what is left open."""

from __future__ import annotations

import inspect

import numpy as np
import pytest
from heatbrief.physics import budget
from heatbrief.physics import uncertainty as u
from heatbrief.physics.sakuma_hattori import fit_band

BAND = fit_band(7.5, 14.0)
SURE = {"emissivity": (0.95, 0.0), "reflected_k": (293.15, 0.0), "transmittance": (1.0, 0.0), "air_k": (293.15, 0.0)}


def of(apparent=1.0, **more):
    inputs = {name: u.Input(*one) for name, one in {**SURE, **more.pop("inputs", {})}.items()}
    return budget.temperature_budget(BAND, u.Input(331.15, apparent), **inputs, **{"draws": 10_000, **more})


def test_bounds_are_1_96_standard_uncertainties_on_each_side() -> None:
    """GUM 6.2: coverage 95 % of a normal distribution."""
    found = of()
    assert found.method == budget.FIRST_ORDER and found.validation.valid
    assert found.high_k - found.value_k == pytest.approx(1.959964 * found.u_k, rel=1e-4)
    assert found.value_k - found.low_k == pytest.approx(1.959964 * found.u_k, rel=1e-4)
    wide = of(coverage=0.6827)
    assert wide.high_k - wide.value_k == pytest.approx(wide.u_k, rel=1e-3) and wide.coverage == 0.6827


def test_noise_of_pixels_adds_in_quadrature_and_reaches_the_draws() -> None:
    """Two alike: sqrt(2) times one; of four pixels: sqrt(1 + 1/4)."""
    alone, both, four = of(), of(noise=u.Input(0.0, 1.0)), of(noise=u.Input(0.0, 1.0), pixels=4)
    assert both.u_k / alone.u_k == pytest.approx(np.sqrt(2.0)) and four.u_k / alone.u_k == pytest.approx(np.sqrt(1.25))
    assert both.simulation.u / alone.simulation.u == pytest.approx(np.sqrt(2.0), rel=0.05)


def test_sure_inputs_have_no_uncertainty() -> None:
    found = of(0.0)
    assert (found.method, found.u_k, found.simulation, found.validation) == (budget.EXACT, 0.0, None, None)
    assert found.low_k == found.value_k == found.high_k


def test_the_value_is_that_of_the_measurement_equation() -> None:
    """Of a black surface in clear air it is the reading itself, and so is its uncertainty."""
    found = of(0.5, inputs={"emissivity": (1.0, 0.0)})
    assert found.value_k == pytest.approx(331.15, abs=1e-6) and found.u_k == pytest.approx(0.5, rel=1e-6)


def test_the_simulation_has_as_many_draws_as_the_guide_recommends() -> None:
    """JCGM 101 7.2.1: for 95 % of the order of 10^6 are often expected, 2 x 10^5 give the bounds to two digits (from memory)."""
    usual = {name: one.default for name, one in inspect.signature(budget.temperature_budget).parameters.items()}
    assert (usual["draws"], usual["digits"], usual["pixels"], usual["coverage"]) == (200_000, 1, 1, 0.95)
    assert of(seed=1) == of() != of(seed=2)
