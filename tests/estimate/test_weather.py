"""Degree days from weather files against pvlib's readers and values worked out from the same files outside
heatbrief."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import numpy as np
import pytest
from heatbrief.errors import StepError
from heatbrief.estimate.weather import cooling_degrees, heating_degrees, read_weather
from heatbrief.physics.degree_days import cooling_degree_days, heating_degree_days
from hypothesis import given, settings
from hypothesis import strategies as st

BASE_65F = 18.0 + 1.0 / 3.0
HEAD = "time,temperature (C)\n"


def hours(count: int = 8760):
    start = dt.datetime(2025, 1, 1)
    return [(start + dt.timedelta(hours=n)).isoformat() for n in range(count)]


def table(values, head: str = HEAD) -> str:
    return head + "".join(
        f"{moment},{value!r}\n" for moment, value in zip(hours(len(values)), map(float, values), strict=True)
    )


def epw(values) -> str:
    """A file in the public EPW form: eight lines of heading, then 35 columns with dry-bulb in the seventh."""
    head = (
        "LOCATION,Nowhere,NA,NA,made,0,0.0,0.0,0.0,0.0\n"
        + "\n".join(
            [
                "DESIGN CONDITIONS,0",
                "TYPICAL/EXTREME PERIODS,0",
                "GROUND TEMPERATURES,0",
                "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
                "COMMENTS 1,",
                "COMMENTS 2,",
                "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
            ]
        )
        + "\n"
    )
    rows = []
    for n, value in enumerate(values):
        moment = dt.datetime(2025, 1, 1) + dt.timedelta(hours=n)
        rows.append(
            f"2025,{moment.month},{moment.day},{moment.hour + 1},0,?,{float(value):.2f},"
            + ",".join(["5.0", "50", "101325"] + ["0"] * 25)
        )
    return head + "\n".join(rows) + "\n"


def year(seed: int = 1) -> np.ndarray:
    rng = np.random.default_rng(seed)
    n = np.arange(8760)
    return np.round(
        11 - 12 * np.cos(2 * np.pi * n / 8760) - 5 * np.cos(2 * np.pi * n / 24) + rng.normal(0, 2, n.size), 2
    )


def data(name: str) -> Path:
    pvlib = pytest.importorskip("pvlib", reason="pvlib, whose package has the weather files, is not installed")
    return Path(pvlib.__file__).parent / "data" / name


PUBLISHED = [
    ("723170TYA.CSV", 3875.76, 1305.92, 4050.38, 1480.53, 52303.0),
    ("703165TY.csv", 9140.63, 0.00, 9140.87, 0.235, 118961.1),
]
"""Envelope dossier, section 11: HDD65 and CDD65 by daily mean and by hours [degF d], and heating degree hours at 18
degC [K h]; computed from files in pvlib 0.16.1 outside heatbrief."""


@pytest.mark.parametrize(("file", "hdd", "cdd", "hourly_hdd", "hourly_cdd", "hours18"), PUBLISHED)
def test_tmy3_files_give_the_degree_days_worked_out_elsewhere(file, hdd, cdd, hourly_hdd, hourly_cdd, hours18):
    found = read_weather(data(file).read_text("latin-1"), file)
    assert found.form == "TMY3" and found.celsius.size == 8760 and found.place
    kelvin = found.celsius + 273.15
    assert heating_degree_days(kelvin, BASE_65F + 273.15) * 1.8 == pytest.approx(hdd, abs=0.01)
    assert cooling_degree_days(kelvin, BASE_65F + 273.15) * 1.8 == pytest.approx(cdd, abs=0.01)
    assert heating_degrees(found.celsius, BASE_65F) * 1.8 == pytest.approx(hourly_hdd, abs=0.01)
    assert cooling_degrees(found.celsius, BASE_65F) * 1.8 == pytest.approx(hourly_cdd, abs=0.01)
    assert heating_degrees(found.celsius, 18.0) * 24.0 == pytest.approx(hours18, abs=0.1)


@pytest.mark.parametrize("file", [row[0] for row in PUBLISHED])
def test_every_hour_is_that_of_the_reference_reader(file):
    path = data(file)
    from pvlib.iotools import read_tmy3

    frame, _ = read_tmy3(path, coerce_year=1990, map_variables=True)
    assert np.array_equal(read_weather(path.read_text("latin-1"), file).celsius, frame["temp_air"].to_numpy())


def test_miami_through_a_plain_table():
    """TMY2 read by pvlib, written as a table in degF: HDD65 129.71, CDD65 4059.01 (section 11; tenths of a degree in
    the file)."""
    path = data("12839.tm2")
    from pvlib.iotools import read_tmy2

    frame, _ = read_tmy2(path)
    fahrenheit = frame["DryBulb"].to_numpy() / 10.0 * 1.8 + 32.0
    found = read_weather(table(fahrenheit, "time,outdoor temperature [F]\n"), "miami.csv")
    kelvin = found.celsius + 273.15
    assert heating_degree_days(kelvin, BASE_65F + 273.15) * 1.8 == pytest.approx(129.71, abs=0.01)
    assert cooling_degree_days(kelvin, BASE_65F + 273.15) * 1.8 == pytest.approx(4059.01, abs=0.01)


def test_epw_as_the_reference_reader_has_it(tmp_path):
    pytest.importorskip("pvlib", reason="pvlib, the reference reader of EPW, is not installed")
    from pvlib.iotools import read_epw

    path = tmp_path / "a.epw"
    path.write_text(epw(year()), "utf-8")
    frame, _ = read_epw(path)
    found = read_weather(path.read_text("utf-8"), "a.epw")
    assert found.form == "EPW" and np.array_equal(found.celsius, frame["temp_air"].to_numpy())


@settings(deadline=None)
@given(shift=st.floats(-15.0, 15.0), base=st.floats(10.0, 20.0))
def test_heating_less_cooling_is_the_mean_difference(shift, base):
    celsius = year() + shift
    assert heating_degrees(celsius, base) - cooling_degrees(celsius, base) == pytest.approx(
        float(np.sum(base - celsius)) / 24.0, abs=1e-6
    )


@settings(deadline=None)
@given(ua=st.floats(50.0, 500.0), gain=st.floats(0.0, 2000.0), inside=st.floats(18.0, 23.0))
def test_counting_from_the_inside_is_the_derivative_of_the_season_heat(ua, gain, inside):
    """d/dUA of the sum of max(UA (Ti - T) - gains, 0), by a finite difference: the heat that one part of the house
    saves."""
    celsius, step = year(), 1e-3

    def heat(conductance):
        return float(np.maximum(conductance * (inside - celsius) - gain, 0.0).sum())

    slope = (heat(ua + step) - heat(ua - step)) / (2 * step)
    assert heating_degrees(celsius, inside - gain / ua, inside) * 24.0 == pytest.approx(slope, rel=2e-3)


def test_cooling_from_the_inside_lets_cool_hours_count_against_it():
    celsius = np.repeat([20.0, 30.0], 4380)
    assert cooling_degrees(celsius, 18.0, 25.0) == 0.0
    assert cooling_degrees(celsius, 22.0, 25.0) == pytest.approx(5.0 * 4380 / 24)


@pytest.mark.parametrize(
    "head",
    ["time,temperature (C)\n", "Date/Time,Dry-Bulb [°C]\n", "timestamp,temp_air_C\n", "time,air temperature degC\n"],
)
def test_headings_of_plain_tables(head):
    assert np.array_equal(read_weather(table(year(), head), "x.csv").celsius, year())


def test_kelvin_and_leap_years():
    values = np.full(8784, 280.0)
    assert read_weather(table(values, "time,temperature (K)\n"), "x.csv").celsius == pytest.approx(np.full(8784, 6.85))


def test_few_gaps_are_filled_and_said():
    lines = table(year()).splitlines()
    lines[11] = lines[11].split(",")[0] + ",-9999"
    found = read_weather("\n".join(lines), "x.csv")
    assert (
        found.celsius[10] == pytest.approx((found.celsius[9] + found.celsius[11]) / 2) and "1 missing" in found.notes[0]
    )


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "empty"),
        ("time,humidity\n1,2\n", "no column whose heading says temperature"),
        ("time,temperature\n1,2\n", "C, F or K"),
        ("n,temperature (C)\n1,2\n", "says time"),
        (HEAD + "2025-01-01T00:00,1\n2025-01-01T00:30,1\n", "not hourly"),
        (table(np.zeros(8759)), "8759 hours"),
        (table(np.where(np.arange(8760) % 100 == 0, 200.0, 5.0)), "believable temperature in 88 hours"),
        ("\x00\x01,\xff\n", "no column"),
        (HEAD + "2025-01-01T00:00,1\n", "1 hours"),
        (HEAD + "2025-01-01T00:00+01:00,1\n2025-01-01T01:00,1\n", "2 hours"),
        (HEAD + "2025-01-01T00:00," + "1" * 200_000 + "\n", "is no table"),
    ],
)
def test_what_is_no_weather_is_refused_with_a_remedy(text, word):
    with pytest.raises(StepError, match=word) as caught:
        read_weather(text, "x.csv")
    assert caught.value.code == "weather-file" and caught.value.remedy
