"""Tables in text: delimiters, decimal signs, encodings, headers, index rows, and errors that name the line."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from heatbrief.api import Context, NoSettings, StepError, View
from heatbrief.readers.text import STEP, parse

TABLE = np.array([[20.5, 21.25, -3.0, 19.0], [22.0, np.nan, 1e-3, 18.5], [23.75, 24.0, 25.5, 17.0]])


def written(delimiter: str, decimal: str = ".", quote: str = "", missing: str = "NaN") -> str:
    def cell(value: float) -> str:
        return missing if np.isnan(value) else f"{quote}{value!r}{quote}".replace(".", decimal)

    return "\n".join(delimiter.join(cell(float(value)) for value in row) for row in TABLE) + "\n"


@pytest.mark.parametrize(
    "text",
    [
        written(","),
        written(";"),
        written("\t"),
        written(" "),
        written(";", ","),
        written("\t", ","),
        written(" ", ","),
        written(",", quote='"'),
        written(",", ",", '"'),
        written(";", ",", '"'),
        written(",", missing=""),
        written(";", missing="nan"),
        written("; ", ","),
        written(",").replace("\n", "\r\n"),
        written(",").replace("\n", "\r"),
        written(",").replace("\n", ",\n"),
        written(",") + "\n\n",
        "camera in the hall\n\n" + written(";"),
        "a;b;c;d\n" + written(";", ","),
    ],
)
def test_ways_to_write_one_table(text):
    table, _ = parse(text)
    np.testing.assert_array_equal(table, TABLE)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1"])
def test_encodings(tmp_path, read, encoding):
    path = tmp_path / "a.csv"
    path.write_bytes(("Temperatur in °C\n" + written(";", ",")).encode(encoding))
    np.testing.assert_allclose(read(path, values_unit="degC").values, TABLE + 273.15, rtol=1e-15)


@pytest.mark.parametrize(
    ("unit", "kelvin"), [("degC", TABLE + 273.15), ("kelvin", TABLE), ("degF", (TABLE + 459.67) / 1.8)]
)
def test_units(tmp_path, read, unit, kelvin):
    path = tmp_path / "a.csv"
    path.write_text(written(","))
    picture = read(path, values_unit=unit)
    expected = np.where(kelvin > 0, kelvin, np.nan)
    np.testing.assert_allclose(picture.values, expected, rtol=1e-14)
    assert picture.kelvin and picture.scale is None


def test_without_a_unit_the_numbers_are_not_temperatures(tmp_path, read):
    path = tmp_path / "a.txt"
    path.write_text(written("\t"))
    picture = read(path)
    assert not picture.kelvin and picture.scale is None and "unit" in picture.notes[-1]


def test_values_that_no_surface_has_are_masked_and_counted(tmp_path, read):
    path = tmp_path / "a.csv"
    path.write_text("20,21,-9999.9\n20,1e30,22\n")
    picture = read(path, values_unit="degC")
    assert np.isnan(picture.values[0, 2]) and np.isnan(picture.values[1, 1]) and "2 pixels" in picture.notes[-1]


@pytest.mark.parametrize(
    ("start", "corner"), [(0, ""), (1, ""), (0, "y\\x"), (1, "y\\x"), (1, "0"), (0, None), (1, None)]
)
def test_index_row_and_column_are_left_out(start, corner):
    """With None there is a row of pixel numbers and no column of them."""
    rows = written(";").splitlines()
    head = ";".join(str(start + n) for n in range(4))
    if corner is None:
        text = "\n".join([head, *rows])
    else:
        text = "\n".join([f"{corner};{head}", *(f"{start + n};{row}" for n, row in enumerate(rows))])
    table, notes = parse(text)
    np.testing.assert_array_equal(table, TABLE)
    assert any("pixel numbers" in note for note in notes)


def test_ramps_and_whole_masked_columns_are_kept():
    ramp = np.arange(20.0).reshape(4, 5)
    np.testing.assert_array_equal(parse("\n".join(",".join(map(str, row)) for row in ramp))[0], ramp)
    flat = np.tile(np.arange(6.0), (4, 1))
    np.testing.assert_array_equal(parse("\n".join(",".join(map(str, row)) for row in flat))[0], flat)
    masked = parse("NaN,NaN,NaN\n1,2,NaN\n3,4,NaN\n")[0]
    assert masked.shape == (3, 3) and np.isnan(masked[:, 2]).all()


@pytest.mark.parametrize(
    ("text", "code", "line"),
    [
        ("1,2,3\n4,5\n", "ragged-table", "line 2"),
        ("1,2,3\n\n4,5,6\n", "ragged-table", "line 2"),
        ("1,2,3\n4,x,6\n", "not-a-number", "line 2, value 2"),
        ("1,2,3,4\n4,1_0,6,7\n", "not-a-number", "line 2, value 2"),
        ("20.1,20.2,2o.3,20.4\n1,2,3,4\n", "not-a-number", "line 1, value 3"),
        ("hello\nworld\n", "no-matrix", ""),
        (" \n", "no-matrix", ""),
        ('1,"2\n3,4', "not-a-number", "line"),
    ],
)
def test_errors_say_where(text, code, line):
    with pytest.raises(StepError) as caught:
        parse(text)
    assert caught.value.code == code and line in caught.value.message


def test_binary_data_are_not_text(tmp_path, refused):
    path = tmp_path / "a.csv"
    path.write_bytes(b"1,2,3\n" * 200 + b"\x00\x01\x02")
    assert refused(path) == "not-text"


def test_counts_with_a_scale(tmp_path, read):
    path = tmp_path / "a.csv"
    path.write_text("30000,30010\n30020,30030\n")
    picture = read(path, scale=(0.01, 0.0))
    assert picture.scale == (0.01, 0.0) and not picture.kelvin and picture.values[1, 1] == 30030


def test_the_step_is_complete():
    assert STEP.name == "heatbrief.text" and set(STEP.suffixes) == {".csv", ".tsv", ".txt"}
    with pytest.raises(StepError, match="cannot be opened"):
        STEP.run(Path("/nonexistent/a.csv"), NoSettings(), Context(view=View()))
