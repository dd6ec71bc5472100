"""What holds for every format: scale and sidecar, size, masks, moment in the name, size limits."""

from __future__ import annotations

import os

import numpy as np
import pytest
from heatbrief.readers import limits, moment, sidecar


@pytest.fixture
def path(tmp_path, counts):
    np.save(tmp_path / "wall.npy", counts)
    return tmp_path / "wall.npy"


def beside(path, text: str):
    path.with_name(path.name + ".yaml").write_text(text)
    return path


def test_a_scale_keeps_the_counts_whole(path, read, counts):
    picture = read(path, scale=(0.025, 173.15))
    assert picture.values.dtype == np.uint16 and picture.scale == (0.025, 173.15) and not picture.kelvin
    np.testing.assert_array_equal(picture.values, counts)


def test_the_sidecar_gives_a_scale_and_the_manifest_wins(path, read):
    beside(path, "kelvin_per_count: 0.025\nzero_at: -100 degC\n")
    picture = read(path)
    assert picture.scale == pytest.approx((0.025, 173.15)) and "wall.npy.yaml" in picture.notes[0]
    assert read(path, scale=(0.01, 0.0)).scale == (0.01, 0.0)
    assert read(path, values_unit="kelvin").kelvin


def test_the_sidecar_may_name_a_unit(path, read):
    assert read(beside(path, "values: kelvin\n")).kelvin


@pytest.mark.parametrize(
    "text",
    [
        "",
        "- 1\n",
        "kelvin_per_count: 0\n",
        "kelvin_per_count: .nan\n",
        "kelvin_per_count: true\n",
        "kelvin_per_count: '0.01'\n",
        "kelvin_per_count: 1\nvalues: degC\n",
        "values: celsius\n",
        "kelvin_per_count: 1\nzero_at: -100\n",
        "zero_at: 3 degC\n",
        "kelvin_per_count: 1\nkelvin_per_count: 2\n",
        "colour: red\n",
        "a: &a [1]\nb: *a\n",
        "!!python/object:os.system {}\n",
        "{[1]: 2}\n",
        "kelvin_per_count: 1\nzero_at: 3 m\n",
        "[" * 5000,
        "a: 2001-99-99",
        "\t:\n",
        "kelvin_per_count: 1" + "0" * 400,
    ],
)
def test_a_sidecar_that_cannot_be_used_is_named(path, refused, text):
    assert refused(beside(path, text)) == "sidecar"


def test_a_sidecar_is_bounded(path, refused):
    assert refused(beside(path, "# " + "x" * limits.MOST_SIDECAR_BYTES)) == "sidecar"


def test_the_place_of_the_sidecar(path):
    assert sidecar.sidecar_path(path).name == "wall.npy.yaml" and sidecar.sidecar_scale(path) == (None, "")


def test_the_size_of_the_manifest_is_held(path, read, refused):
    assert read(path, size=(64, 48)).values.shape == (48, 64)
    assert refused(path, size=(48, 64)) == "picture-size"


def test_a_scale_and_a_unit_at_once_are_refused(path, refused):
    assert refused(path, scale=(0.01, 0.0), values_unit="degC") == "scale-conflict"


@pytest.mark.parametrize("values", [np.full((4, 4), np.nan), np.full((4, 4), -np.inf), np.full((4, 4), -1000.0)])
def test_a_picture_without_any_value_is_refused(tmp_path, refused, values):
    np.save(tmp_path / "a.npy", values)
    assert refused(tmp_path / "a.npy", values_unit="degC") == "no-values"


@pytest.mark.parametrize("name", ["a.npy", "a.tif", "a.png", "a.csv", "a.npz", "a.jpg"])
def test_empty_missing_and_other_than_files(tmp_path, refused, name):
    assert refused(tmp_path / name) == "unreadable-file"
    (tmp_path / name).write_bytes(b"")
    assert refused(tmp_path / name) == "empty-file"
    (tmp_path / name).unlink()
    (tmp_path / name).mkdir()
    assert refused(tmp_path / name) == "unreadable-file"
    (tmp_path / name).rmdir()
    os.mkfifo(tmp_path / name)
    assert refused(tmp_path / name) == "unreadable-file"


def test_a_file_above_the_limit_is_not_opened(tmp_path, refused):
    with (tmp_path / "a.tif").open("wb") as stream:
        stream.truncate(limits.MOST_BYTES + 1)
    assert refused(tmp_path / "a.tif") == "too-large"


@pytest.mark.parametrize(
    ("name", "iso"),
    [
        ("view1_2022-08-03T13-48-18.19", "2022-08-03T13:48:18.19"),
        ("20220803_134818", "2022-08-03T13:48:18"),
        ("roof 2022-08-03 13-48-18", "2022-08-03T13:48:18"),
        ("IR20220803T134818b", "2022-08-03T13:48:18"),
        ("20221303_134818", ""),
        ("12022080313481899", ""),
        ("10-50-42-994_raw16", ""),
        ("0_100_30_0_03307", ""),
    ],
)
def test_moments_in_names(name, iso):
    assert moment.from_name(name) == iso


@pytest.mark.parametrize(
    ("value", "iso"),
    [
        ("2022:08:03 13:48:18", "2022-08-03T13:48:18"),
        ("0000:00:00 00:00:00", ""),
        (b"2022:08:03 13:48:18", ""),
        (None, ""),
        ("x" * 99, ""),
    ],
)
def test_moments_in_tags(value, iso):
    assert moment.from_tag(value) == iso
