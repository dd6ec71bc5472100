"""Quantities from text. Factors are those of NIST SP 811, appendix B.8 (from memory) unless a test says otherwise."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest
from heatbrief.manifest.conversion import _by_pint
from heatbrief.manifest.lines import COMMON
from heatbrief.manifest.units import QuantityError, parse_price, parse_quantity
from hypothesis import given
from hypothesis import strategies as st

FT, LB, BTU_IT, THERM_US, GALLON, MILE, INCH_WATER = (
    0.3048,
    0.45359237,
    1055.05585262,
    1.054804e8,
    3.785411784e-3,
    1609.344,
    249.089,
)


@pytest.mark.parametrize(
    ("text", "unit", "value", "low", "high"),
    [
        ("75 degF", "degC", (75 - 32) / 1.8, None, None),
        ("75 °F", "degC", (75 - 32) / 1.8, None, None),
        ("75 degrees F", "degC", (75 - 32) / 1.8, None, None),
        ("300 K", "degC", 26.85, None, None),
        ("−3 degC", "degC", -3, None, None),
        ("24 degC +- 0.5 K", "degC", 24, 23.5, 24.5),
        ("24 ± 1 degC", "degC", 24, 23, 25),
        ("75 ± 1.8 degF", "degC", (75 - 32) / 1.8, (75 - 32) / 1.8 - 1, (75 - 32) / 1.8 + 1),
        ("18 .. 22 degC", "degC", 20, 18, 22),
        ("18..22 degC", "degC", 20, 18, 22),
        ("22 degC to 18 degC", "degC", 20, 18, 22),
        ("24 ± 1 degC (k=2)", "degC", 24, 24 - 0.98, 24 + 0.98),
        ("4 degF", "K", 4 / 1.8, None, None),
        ("2 degC", "K", 2, None, None),
        ("50 mK", "K", 0.05, None, None),
        ("45 %", "1", 0.45, None, None),
        ("45 ± 3 %", "1", 0.45, 0.42, 0.48),
        ("0.93 +- 0.02", "1", 0.93, 0.91, 0.95),
        ("1.2e-3", "1", 0.0012, None, None),
        ("12 ft", "m", 12 * FT, None, None),
        ("3 m2", "m2", 3, None, None),
        ("5 m²", "m2", 5, None, None),
        ("10 ft^2", "m2", 10 * FT**2, None, None),
        ("5 m/s ± 10 %", "m/s", 5, 4.5, 5.5),
        ("15 mph", "m/s", 15 * MILE / 3600, None, None),
        ("100 cfm", "m3/h", 100 * FT**3 * 60, None, None),
        ("0.1 in H2O", "Pa", 0.1 * INCH_WATER, None, None),
        ("0.2 Btu/(h ft2 degF)", "W/(m2 K)", 0.2 * BTU_IT / 3600 / FT**2 * 1.8, None, None),
        ("19 h ft2 degF/Btu", "m2 K/W", 19 * 3600 * FT**2 / 1.8 / BTU_IT, None, None),
        ("5 1/h", "1/h", 5, None, None),
        ("90 deg", "rad", math.pi / 2, None, None),
    ],
)
def test_a_text_becomes_a_quantity(text, unit, value, low, high):
    found = parse_quantity(text, unit)
    assert found.unit == unit
    assert found.value == pytest.approx(value, rel=1e-5)  # handbook factors are given to six digits
    assert found.low == pytest.approx(value if low is None else low, rel=1e-3)
    assert found.high == pytest.approx(value if high is None else high, rel=1e-3)
    assert found.coverage == (1.0 if low is None else 0.95)


@pytest.mark.parametrize(
    ("text", "unit", "said", "remedy"),
    [
        ("21", "degC", "no unit", '"21 degC" or "70 degF"'),
        ("2.4", "m", "no unit", '"2.4 m" or "7.9 ft"'),
        ("21,5 degC", "degC", "comma", '"21.5 degC"'),
        ("1,200 USD", "USD", "comma", "no thousands separator"),
        ("5 kg", "m", "'kg' is a mass, but a length is wanted", ""),
        ("3 m", "degC", "'m' is a length, but a temperature is wanted", "degC, degF or K"),
        ("21 C", "degC", "but a temperature is wanted", '"degC"'),
        ("5 %", "deg", "is a plain number, but an angle is wanted", ""),
        ("5 deg", "1", "is an angle, but a plain number", ""),
        ("5 foo", "m", "'foo' is not a known unit", ""),
        ("2 W/m2 K", "W/(m2 K)", "two ways", "W/(m2 K)"),
        ("18-22 degC", "degC", "not a number with a unit", '"18 .. 22 degC"'),
        ("0.45 ± 3 %", "1", "two ways", '"0.45 ± 0.03"'),
        (".nan", "1", "not a finite number", ""),
        ("inf m", "m", "not a finite number", ""),
        ("1e400 m", "m", "out of any range", ""),
        ("9" * 300 + " m", "m", "too long", ""),
        ("9" * 60 + " m", "m", "too many digits", ""),
        ("1 m**9**9**9**9", "m", "not a known unit", ""),
        ("1 (m", "m", "", ""),
        ("1 m (95 %)", "m", "coverage without bounds", ""),
        ("1 ± 0.1 m (0 %)", "m", "coverage that cannot be", ""),
        ("5 EUR", "USD", "money", ""),
        ("", "m", "not a number", ""),
        ("degC", "degC", "not a number", ""),
    ],
)
def test_a_text_that_is_no_such_quantity(text, unit, said, remedy):
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text, unit)
    assert said in caught.value.message
    assert remedy in caught.value.remedy
    assert caught.value.remedy


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("0.16 USD/kWh", 0.16, "USD/kWh"),
        ("1.2 USD/therm", 1.2 / (THERM_US / 3.6e6), "USD/kWh"),
        ("9 USD/MMBtu", 9 / (BTU_IT * 1e6 / 3.6e6), "USD/kWh"),
        ("10 USD/MCF", 10 / (1000 * FT**3), "USD/m3"),
        ("0.004 EUR/gal", 0.004 / GALLON, "EUR/m3"),
        ("3 USD/L", 3000, "USD/m3"),
        ("5 USD/ft2", 5 / FT**2, "USD/m2"),
        ("2 USD per m3", 2, "USD/m3"),
        ("0.5 USD/lb", 0.5 / LB, "USD/kg"),
        ("65 USD/h", 65, "USD/h"),
        ("120 USD/year", 120, "USD/a"),
        ("15 USD/month", 180, "USD/a"),
        ("450 USD", 450, "USD"),
        ("0.16 /kWh", 0.16, "CHF/kWh"),
    ],
)
def test_a_price_is_kept_per_si_unit(text, value, unit):
    found = parse_price(text, "CHF")
    assert found.unit == unit
    # pint's therm is 1e5 Btu (IT), the US therm of the table differs by 2.4e-4
    assert found.value == pytest.approx(value, rel=3e-4 if "therm" in text else 1e-6)


@pytest.mark.parametrize(
    "text", ["0.16", "0.16 kWh", "5 $/kWh", "5 USD/A", "5 USD/foo", "5 BTU", "x", "3 usd/m3", "5 USD/(m2", "nan USD"]
)
def test_what_is_no_price(text):
    with pytest.raises(QuantityError) as caught:
        parse_price(text)
    assert caught.value.remedy


numbers = st.floats(-1e6, 1e6, allow_subnormal=False).map(lambda value: float(f"{value:.9g}"))


@given(
    numbers,
    st.floats(0, 1e3).map(lambda value: float(f"{value:.6g}")),
    st.sampled_from(["degC", "K", "m", "W/(m2 K)", "kWh/a", "USD/m2", "1"]),
)
def test_what_is_written_is_read_back(value, half, unit):
    shown = "" if unit == "1" else f" {unit}"
    exact = parse_quantity(f"{value!r}{shown}", unit)
    assert (exact.value, exact.low, exact.high, exact.coverage) == (value, value, value, 1.0)
    bounded = parse_quantity(f"{value!r} ± {half!r}{shown}", unit)
    assert bounded.value == value
    assert bounded.low == pytest.approx(value - half) and bounded.high == pytest.approx(value + half)
    between = parse_quantity(f"{value!r} .. {value + half!r}{shown}", unit)
    assert (between.low, between.high) == (value, value + half)


@given(
    numbers,
    st.sampled_from(
        [("degF", "degC", 1.8, 32.0), ("K", "degC", 1.0, 273.15), ("ft", "m", 1 / FT, 0.0), ("degF", "K", 1.8, 0.0)]
    ),
)
def test_units_convert_by_their_definition(value, pair):
    written, wanted, slope, zero = pair
    assert parse_quantity(f"{value!r} {written}", wanted).value == pytest.approx(
        (value - zero) / slope, abs=1e-9, rel=1e-12
    )


@given(
    st.text(max_size=40) | st.from_regex(r"-?\d{1,3}(\.\d)? ?[a-zA-Z°%/ ()^*0-9.±+-]{0,15}", fullmatch=True),
    st.sampled_from(["degC", "K", "m", "1", "USD/kWh", "W/(m2 K)", None]),
)
def test_any_text_is_a_quantity_or_an_error_with_a_remedy(text, unit):
    try:
        found = parse_price(text) if unit is None else parse_quantity(text, unit)
    except QuantityError as error:
        assert error.message and error.remedy
    else:
        assert math.isfinite(found.value)


def test_pint_is_not_imported_before_it_is_needed():
    code = "import sys, heatbrief, heatbrief.manifest.load, heatbrief.manifest.units as u; u.parse_quantity('24 degC', 'degC'); sys.exit('pint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.parametrize("wanted", sorted(COMMON))
def test_the_table_of_common_units_is_what_pint_says(wanted: str) -> None:
    for name, line in COMMON[wanted].items():
        by_pint = _by_pint(name, name, wanted)
        assert (by_pint.shift, by_pint.factor, by_pint.divisor) == (0.0, *line), name


def test_common_units_and_prices_do_not_load_pint() -> None:
    code = (
        "import sys; from heatbrief.manifest.units import parse_price, parse_quantity as q; "
        "q('12 ft', 'm'); q('6 mph', 'm/s'); q('1 inH2O', 'Pa'); q('15 min', 's'); q('0.7 W/(m2 K)', 'W/m2/K'); "
        "[parse_price(f'1 USD/{per}') for per in ('kWh', 'm3', 'gal', 'm2', 'kg', 'h', 'year', 'therm')]; "
        "sys.exit('pint' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.parametrize(
    ("stated", "half"),
    [("95 %", 1.0), ("68.27 %", 1.959964), ("99 %", 1.959964 / 2.575829), ("k=1", 1.959964), ("k = 3", 0.653321)],
)
def test_a_stated_coverage_is_brought_to_95_percent(stated, half):
    """Points of the normal distribution: 1.960 for 95 %, 2.576 for 99 %, 1 for 68.27 % (GUM table G.1)."""
    found = parse_quantity(f"24 ± 1 degC ({stated})", "degC")
    assert found.high - found.value == pytest.approx(half, rel=1e-4) and found.coverage == 0.95
