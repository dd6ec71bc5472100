"""Numbers as people read them."""

from __future__ import annotations

import math

import pint
import pytest
from heatbrief.model import Quantity
from heatbrief.site.format import conversion, number_of, percent_text, show, two_digits, typeset_unit
from hypothesis import given
from hypothesis import strategies as st

Q = Quantity


def shown(quantity, units="metric", **more):
    return show(quantity, units, **more).value.replace("\u00a0", " ").replace("\u202f", " ")


@pytest.mark.parametrize(
    ("value", "half", "expected"),
    [
        # GUM 7.2.6: y rounded to agree with U [seen: quoted at a calibration maker's page, radiometry.md section 12]
        (10.05762, 0.027, "10.058 ± 0.027 Ω"),
        # radiometry.md section 12, table "half-up" [computed: Python decimal]
        (60.4321, 2.5992, "60.4 ± 2.6 Ω"),
        (51.2, 14.0249, "51 ± 14 Ω"),
        (7, 1.25, "7.0 ± 1.3 Ω"),
        (7, 2.45, "7.0 ± 2.5 Ω"),
        (3, 0.0996, "3.00 ± 0.10 Ω"),
        (30, 9.96, "30 ± 10 Ω"),
        (28000, 28.05, "28 000 ± 28 Ω"),
    ],
)
def test_two_digits_of_uncertainty(value, half, expected):
    assert shown(Q(value, "Ω", value - half, value + half)) == expected


@pytest.mark.parametrize(
    ("quantity", "expected"),
    [
        (Q(12.4, "K", 10.9, 14.2), "12.4 K (10.9 to 14.2)"),
        (Q(1234.4, "kWh/a", 700, 1990), "1230 kWh a year (700 to 1990)"),
        (Q(-3.21, "degC", -3.51, -2.91), "−3.21 ± 0.30 °C"),
        (Q(-0.001, "K", -0.3, 0.3), "0.00 ± 0.30 K"),
        (Q.exact(230.000001, "V"), "230 V"),
        (Q.exact(0.93, "1"), "0.93"),
        (Q(12345.6789, "W", 12345.67889, 12345.67891), "12 345.7 W"),
    ],
)
def test_shapes_of_numbers(quantity, expected):
    assert shown(quantity) == expected


def test_small_things_in_finer_units_and_money_to_the_cent():
    assert shown(Q.between(0.00070, 0.00124, "m2")) == "9.7 ± 2.7 cm²"
    assert shown(Q.exact(0.0254, "m"), "us") == "1 in"
    assert shown(Q(0.115, "USD/a", 0.027, 0.203)) == "0.12 ± 0.09 USD a year"
    assert shown(Q.exact(11 / 15, "1")) == "0.733"


def test_percent_for_humidity():
    assert shown(Q.between(0.42, 0.48, "1"), percent=True) == "45.0 ± 3.0 %"


US = {  # our unit -> what the reference library calls both sides
    "cm2": ("cm**2", "inch**2"),
    "m": ("m", "foot"),
    "m2": ("m**2", "foot**2"),
    "m3": ("m**3", "foot**3"),
    "mm": ("mm", "inch"),
    "cm": ("cm", "inch"),
    "m/s": ("m/s", "mile/hour"),
    "kg": ("kg", "pound"),
    "L": ("liter", "gallon"),
    "L/min": ("liter/min", "gallon/min"),
    "L/h": ("liter/hour", "gallon/hour"),
    "L/a": ("liter/year", "gallon/year"),
    "L/d": ("liter/day", "gallon/day"),
    "m3/a": ("m**3/year", "gallon/year"),
    "m3/h": ("m**3/hour", "foot**3/hour"),
    "bar": ("bar", "psi"),
    "kPa": ("kPa", "psi"),
    "kg/a": ("kg/year", "pound/year"),
    "W/m2": ("W/m**2", "Btu_it/hour/foot**2"),
    "W/(m2 K)": ("W/m**2/delta_degC", "Btu_it/hour/foot**2/delta_degF"),
    "m2 K/W": ("m**2*delta_degC/W", "foot**2*hour*delta_degF/Btu_it"),
    "K": ("delta_degC", "delta_degF"),
    "K/min": ("delta_degC/min", "delta_degF/min"),
}


@pytest.mark.parametrize("unit", sorted(US))
def test_us_units_against_pint(unit):
    source, target = US[unit]
    expected = pint.UnitRegistry().Quantity(1.0, source).to(target).magnitude
    factor, offset, _ = conversion(unit, "us")
    assert factor == pytest.approx(expected, rel=1e-9)
    assert offset == 0


def test_us_temperatures_and_differences():
    # 0 degC = 32 degF, 100 degC = 212 degF: definition of the scale
    assert shown(Q.exact(100, "degC"), "us") == "212 °F"
    assert shown(Q.exact(0, "degC"), "us") == "32 °F"
    assert shown(Q.exact(10, "K"), "us") == "18 °F"


def test_money():
    assert shown(Q(29.1, "USD/a", 15.4, 49.8)) == "29 USD a year (15 to 50)"
    assert show(Q.exact(12345, "USD"), "us").value == "12,350\u00a0USD"
    assert conversion("USD/m2", "us")[0] == pytest.approx(0.3048**2)
    assert typeset_unit(conversion("USD/m2", "us")[2]) == "USD/ft²"


def test_parts_of_a_number_stay_together():
    text = show(Q(29.1, "USD/a", 15.4, 49.8)).between
    assert text.replace("\u00a0", "~") == "15 to 50~USD a year"


@pytest.mark.parametrize(
    ("probability", "expected"), [(0.999, "99"), (0.001, "1"), (0.5, "50"), (1.0, "100"), (0.125, "13")]
)
def test_percent_never_claims_certainty(probability, expected):
    assert percent_text(probability) == expected


def test_standard_uncertainty():
    assert two_digits(0.61, "K", "us") == "1.1\u00a0°F"
    assert number_of(0.000123456, 2) == "0.00012"


@given(st.floats(-1e7, 1e7), st.floats(1e-6, 1e5))
def test_the_shown_value_is_within_half_a_unit_of_its_last_digit(value, half):
    text = show(Q(value, "x", value - half, value + half)).between.removesuffix("\u00a0x")
    if not text:
        assert half <= 1e-5 * (abs(value) + half)
        return
    low, high = (float(part.replace("\u2212", "-").replace("\u202f", "")) for part in text.split(" to "))
    place = 10.0 ** max(
        math.floor(math.log10(half)) - 1, math.floor(math.log10(max(abs(value - half), abs(value + half), 1e-9))) - 5
    )
    assert abs(low - (value - half)) <= 5.1 * place + 1e-9
    assert abs(high - (value + half)) <= 5.1 * place + 1e-9
