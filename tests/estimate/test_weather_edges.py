"""Weather files at the edges of what is taken, with the reason in the name."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.errors import StepError
from heatbrief.estimate.weather import read_weather

from .test_weather import epw, hours, table

YEAR = np.full(8760, 10.0)


def put(*changes, size=8760):
    values = np.full(size, 10.0)
    for at, value in changes:
        values[at] = value
    return values


@pytest.mark.parametrize(("value", "believed"), [(-90.0, True), (-90.1, False), (65.0, True), (65.1, False)])
def test_the_coldest_and_hottest_that_are_believed(value, believed):
    """Records are -89.2 and 56.7 degC (World Meteorological Organization, from memory)."""
    found = read_weather(table(put((100, value))), "x.csv")
    assert found.celsius[100] == (value if believed else 10.0) and bool(found.notes) is not believed


@pytest.mark.parametrize(("gaps", "taken"), [(48, True), (49, False)])
def test_two_days_may_be_missing(gaps, taken):
    text = table(put((slice(100, 100 + gaps), 999.0)))
    if taken:
        assert f"{gaps} missing hours" in read_weather(text, "x.csv").notes[0]
    else:
        with pytest.raises(StepError, match=f"in {gaps} hours"):
            read_weather(text, "x.csv")


def test_gaps_are_filled_in_a_straight_line_and_ends_are_held():
    values = np.full(8760, 10.0)
    values[:5], values[5], values[6:9], values[9:] = np.nan, 4.0, np.nan, 8.0
    found = read_weather(table(values), "x.csv").celsius
    assert list(found[:11]) == [4.0, 4.0, 4.0, 4.0, 4.0, 4.0, 5.0, 6.0, 7.0, 8.0, 8.0]


@pytest.mark.parametrize("size", [8760, 8784])
def test_years_have_8760_or_8784_hours(size):
    assert read_weather(table(np.full(size, 3.0)), "x.csv").celsius.size == size
    for other in (size - 1, size + 1):
        with pytest.raises(StepError, match=f"{other} hours"):
            read_weather(table(np.full(other, 3.0)), "x.csv")


@pytest.mark.parametrize(
    ("head", "value", "celsius"),
    [
        ("time,temperature (C)", 10.0, 10.0),
        ("time,temperature (F)", 50.0, 10.0),
        ("time,temperature (K)", 283.15, 10.0),
        ("time,temperature fahrenheit", 50.0, 10.0),
        ("time,temperature kelvin", 283.15, 10.0),
        ("time,t_air_F", 14.0, -10.0),
        ("time,temp [degF]", 14.0, -10.0),
        ("hour,dry bulb (° C)", 10.0, 10.0),
    ],
)
def test_units_in_headings(head, value, celsius):
    assert read_weather(table(np.full(8760, value), head + "\n"), "x.csv").celsius == pytest.approx(YEAR * celsius / 10)


def test_other_temperatures_are_not_those_of_the_air():
    rows = "".join(f"-9,-9,{moment},10\n" for moment in hours())
    found = read_weather("dew temp (C),ground temperature (C),time,temperature (C)\n" + rows, "x.csv")
    assert found.celsius == pytest.approx(YEAR) and found.form == "CSV" and found.place == "" and found.notes == ()
    with pytest.raises(StepError, match="no column"):
        read_weather("time,wet bulb (C)\n1,2\n", "x.csv")


@pytest.mark.parametrize("cell", ["", "-9999", "-9999.0", "n/a", "nan"])
def test_what_is_no_number_is_missing(cell):
    lines = table(YEAR).splitlines()
    lines[50] = lines[50].split(",")[0] + f",{cell}"
    assert "1 missing" in read_weather("\n".join(lines), "x.csv").notes[0]
    lines[51] = lines[51].split(",")[0]
    assert "2 missing" in read_weather("\n".join(lines), "x.csv").notes[0]


def test_the_first_two_rows_are_an_hour_apart_where_they_say_when():
    lines = table(YEAR).splitlines()
    shifted = [lines[0], lines[1].replace("T00:00", "T01:00"), *lines[2:]]
    with pytest.raises(StepError, match="not hourly"):
        read_weather("\n".join(shifted), "x.csv")
    for vague in ("1", "noon", ""):
        shown = [lines[0], f"{vague},10.0", *lines[2:]]
        assert read_weather("\n".join(shown), "x.csv").celsius.size == 8760


def test_a_place_stands_in_the_heading_of_its_form():
    assert read_weather(epw(YEAR), "a.epw").place == "Nowhere, NA, NA"
    missing = epw(put((7, 99.9)))
    assert read_weather(missing, "a.epw").notes == ("a.epw: 1 missing hours were filled in a straight line.",)
    head = '723170,"Field",NC,-5.0,36.1,-79.9,273\nDate,Time,Dry-bulb (C)\n'
    rows = "".join(f"01/01/1990,01:00,{value}\n" for value in put((7, -9900.0)))
    found = read_weather(head + rows, "t.csv")
    assert (found.form, found.place, len(found.notes)) == ("TMY3", "Field, NC", 1) and found.celsius == pytest.approx(
        YEAR
    )
