"""A scale that cannot be right is said by `check` and by `run`, with what to do."""

from __future__ import annotations

import io
import json

import numpy as np
import pytest
import tifffile
from heatbrief.engine.plausible import of_picture
from heatbrief.model.thermogram import Picture
from support import results_of

MANIFEST = """\
format: 1
property: Test house
inspect: [envelope]
conditions: {{inside_air: 21 degC, outside_air: 1 degC}}
thermograms:
  - {{file: a.tiff, shows: wall, scale: {scale}}}
  - {{file: b.tiff, shows: wall, scale: {{kelvin_per_count: 0.01}}}}
"""


def counts(centre: float) -> bytes:
    stream = io.BytesIO()
    tifffile.imwrite(stream, np.random.default_rng(1).normal(centre, 5, (60, 80)).astype(np.uint16))
    return stream.getvalue()


@pytest.mark.parametrize(
    ("scale", "centre", "words"),
    [
        ("{kelvin_per_count: 0.0001}", 29300, "(3 K)"),
        ("{kelvin_per_count: 0.1}", 29300, "(2930 K)"),
        ("{kelvin_per_count: 0.01}", 12000, "(120 K)"),  # count 0 is -100 degC, and nobody says so
        ("{kelvin_per_count: 1.0e-5, zero_at: 20 degC}", 29300, "noise of any camera"),
    ],
)
def test_a_scale_that_cannot_be_right_is_said_by_check_and_by_run(heatbrief, survey, tmp_path, scale, centre, words):
    folder = survey(MANIFEST.format(scale=scale), {"a.tiff": counts(centre), "b.tiff": counts(29300)})
    seen = heatbrief("check", folder)
    (line,) = (line for line in seen.err.splitlines() if "[" in line)
    assert line.startswith("warning[scale-implausible]: a.tiff: ") and words in line
    assert seen.code == 0 and "look at the warnings" in seen.out
    done = heatbrief(
        "run", folder, "--out", tmp_path / "out", "--log", tmp_path / "log", "--summary", tmp_path / "s.md"
    )
    assert "Traceback" not in done.err
    too_cold = words in ("(3 K)", "(120 K)")  # no surface explains it: it fails in the calibration
    code = "no-solution" if too_cold else "scale-implausible"
    (line,) = (line for line in done.err.splitlines() if line.startswith(("warning[", "not analysed[")))
    assert f"[{code}]" in line and "a.tiff" in line and "scale" in line
    listed = [one for one in results_of(tmp_path / "out", "test-house")["not_analysed"] if one["source"] == "a.tiff"]
    assert code in {one["code"] for one in listed}
    logged = [json.loads(one) for one in (tmp_path / "log").read_text("utf-8").splitlines()]
    assert code in {one.get("code") for one in logged}
    assert f"`{code}`" in (tmp_path / "s.md").read_text("utf-8")
    assert done.code == (3 if too_cold else 0)
    assert heatbrief("explain", code).code == 0


def test_numbers_taken_for_temperatures_that_no_surface_has_are_masked_and_said(heatbrief, survey):
    seen = heatbrief(
        "check", survey(MANIFEST.format(scale="{values: degC}"), {"a.tiff": counts(29300), "b.tiff": counts(29300)})
    )
    assert (seen.code, "error[no-values]" in seen.err) == (3, True)


@pytest.mark.parametrize("scale", ["{kelvin_per_count: 0.01}", "{kelvin_per_count: 0.01, zero_at: -10 degC}"])
def test_a_scale_that_may_be_right_is_not_doubted(heatbrief, survey, scale):
    seen = heatbrief("check", survey(MANIFEST.format(scale=scale), {"a.tiff": counts(29300), "b.tiff": counts(29300)}))
    assert "warning" not in seen.err and "Nothing stands in the way" in seen.out


def test_skies_hot_engines_and_pictures_without_a_scale_are_not_doubted():
    for celsius in (-70.0, 650.0):
        values = celsius + 273.15 + np.linspace(0, 5, 600).reshape(20, 30)
        assert of_picture(Picture(values, True), "a") is None
    assert of_picture(Picture(np.full((20, 30), 3, np.uint16), False), "a") is None
    assert of_picture(Picture(np.full((20, 30), np.nan), True), "a") is None


def test_a_large_picture_is_looked_at_in_part():
    values = np.full((3000, 4000), 3.0, np.float32)
    assert "(3 K)" in of_picture(Picture(values, True), "a").message
