"""Material table and angle behaviour."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.physics import emissivity as e
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad


def test_every_entry_is_complete() -> None:
    table = e.materials()
    assert len(table) > 60
    for material in table.values():
        assert 0.0 < material.low <= material.typical <= material.high <= 1.0, material.name
        assert material.mark in {"seen", "memory"} and material.source, material.name
        assert material.kind in {"metal", "nonmetal"}, material.name
        assert (material.typical > 0.8) or material.kind == "metal", material.name


@pytest.mark.parametrize(
    ("name", "main"),
    [
        ("painted plaster", "painted surface"),
        ("Painted_Plaster", "painted surface"),
        ("DRYWALL", "gypsum plaster"),
        ("black vinyl electrical tape", "black vinyl electrical tape"),
        ("copper busbar", "polished copper"),
        ("low e glass", "low-e coated glass"),
        ("  brick ", "red brick"),
        ("circuit breaker", "phenolic moulding"),
    ],
)
def test_lookup_by_plain_words(name: str, main: str) -> None:
    assert e.find_material(name).name == main


def test_unknown_names_come_with_near_ones() -> None:
    with pytest.raises(e.UnknownMaterial, match="painted plaster") as caught:
        e.find_material("paintd plastr")
    assert "painted plaster" in caught.value.suggestions
    with pytest.raises(e.UnknownMaterial):
        e.find_material("\x00" * 10_000)


@pytest.mark.parametrize(("name", "value"), [("water", 0.67), ("polished marble", 0.56), ("concrete", 0.72)])
def test_rejected_list_values_stay_out(name: str, value: float) -> None:
    """Values some older lists print, which are not long-wave normal emissivities."""
    assert e.find_material(name).low > value


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("red brick", 0.944),
        ("wood", 0.902),
        ("paper", 0.804),
        ("window glass", 0.911),
        ("black plastic", 0.937),
        ("polyethylene", 0.942),
    ],
)
def test_ranges_hold_measured_values(name: str, value: float) -> None:
    """Chen & Chen 2016, Constr. Build. Mater. 126:130 (abstract, read)."""
    material = e.find_material(name)
    assert material.low <= value <= material.high


def test_bare_metal_is_not_readable() -> None:
    assert not e.find_material("bare busbar").readable
    assert e.find_material("electrical tape").readable
    assert e.find_material("concrete").standard_uncertainty == pytest.approx(0.05 / 2 / 3**0.5)


@given(st.floats(0.0, 90.0), st.floats(1.05, 4.0), st.floats(0.0, 60.0))
def test_emissivity_is_a_share(angle: float, n: float, k: float) -> None:
    assert -1e-12 <= float(e.fresnel_emissivity(angle, n, k)) <= 1.0 + 1e-12


@given(st.floats(1.1, 4.0))
def test_hemispherical_against_quadrature(n: float) -> None:
    wanted = quad(lambda x: float(e.fresnel_emissivity(np.degrees(x), n)) * np.sin(2 * x), 0.0, np.pi / 2, limit=200)[0]
    assert e.hemispherical_emissivity(n) == pytest.approx(wanted, abs=1e-5)


@given(st.floats(0.3, 0.999))
def test_index_inverts_normal_emissivity(eps: float) -> None:
    assert float(e.fresnel_emissivity(0.0, e.index_from_normal(eps))) == pytest.approx(eps, abs=1e-9)


def test_non_metals_fall_and_metals_rise_with_angle() -> None:
    angles = np.array([0.0, 30.0, 45.0, 60.0, 75.0])
    assert np.all(np.diff(e.angle_factor(angles, 0.95)) < 0)
    assert np.all(np.diff(e.fresnel_emissivity(angles, 25.0, 67.0)) > 0)
    assert float(e.angle_factor(60.0, 0.96)) == pytest.approx(0.9488, abs=1e-3)


def test_wrong_inputs_are_refused() -> None:
    with pytest.raises(ValueError, match="angle"):
        e.fresnel_emissivity(91.0, 1.5)
    with pytest.raises(ValueError, match="emissivity"):
        e.index_from_normal(0.0)
