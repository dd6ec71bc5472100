"""Open measurements through reader and calibrate step; skipped where they are not present (never copied here)."""

from __future__ import annotations

import csv
import json

import numpy as np
import pytest
from heatbrief.api import Context, NoSettings, StepError, View
from heatbrief.calibrate.radiance import calibrate
from heatbrief.calibrate.settings import RadianceSettings
from heatbrief.calibrate.statistics import statistics
from heatbrief.model.conditions import Conditions
from heatbrief.model.quantity import Quantity
from heatbrief.readers import STEPS

BY_SUFFIX = {suffix: step for step in STEPS for suffix in step.suffixes}


def analysed(path, conditions=None, **view):
    context = Context(conditions=Conditions(**(conditions or {})), view=View(thermogram=path.stem, **view))
    (picture,) = BY_SUFFIX[path.suffix].run(path, NoSettings(), context)
    return calibrate(picture, RadianceSettings(), context)


def test_facade_statistics_to_four_decimals(measurements):
    folder = measurements("facade-observatory")
    for name, expected in json.loads((folder / "frame_statistics.json").read_text()).items():
        thermogram = analysed(folder / name, values_unit="degC")
        found = statistics(thermogram)
        assert list(thermogram.shape) == expected["shape"] and thermogram.taken.startswith("2022-08-03T13:")
        assert {key: round(found[key].value, 4) for key in ("min", "max", "mean", "median", "p95")} == {
            key: expected[key] for key in ("min", "max", "mean", "median", "p95")
        }
        assert list(np.unravel_index(np.argmax(thermogram.values), thermogram.shape)) == expected["max_row_col"]
        assert found["mean"].half_width > 1.0


def test_castle_wall_centres_against_the_values_printed_at_the_moment(measurements):
    """degC = counts/40 - 100. The source states -0.05 K, sd 0.21 K, largest 1.2 K over its 40 frames."""
    folder = measurements("castle-wall")
    deviations = []
    for row in csv.DictReader((folder / "printed_values.csv").open()):
        path = folder / f"{row['frame']}_raw16.tiff"
        counts = statistics(analysed(path))
        assert counts["centre"].value == pytest.approx(
            float(row["tiff_centre10x10_mean_raw"]), abs=0.0501
        )  # one printed decimal
        assert (counts["min"].value, counts["max"].value) == (float(row["tiff_min_raw"]), float(row["tiff_max_raw"]))
        found = statistics(analysed(path, scale=(1 / 40, 173.15), size=(640, 512)))["centre"]
        deviations.append(found.value - float(row["printed_centre_C"]))
        assert found.low < float(row["printed_centre_C"]) < found.high
    assert len(deviations) == 6 and np.abs(deviations).max() < 1.2 and abs(np.median(deviations)) < 0.3


def test_leaf_means_to_a_thousandth(measurements):
    folder = measurements("leaf-transpiration")
    for row in csv.DictReader((folder / "expected_means.csv").open()):
        thermogram = analysed(folder / row["file"], values_unit="degC", size=(640, 480))
        found = statistics(thermogram)
        assert int(thermogram.valid.sum()) == int(row["finite_pixels"])
        assert found["mean"].value == pytest.approx(float(row["mean_C_recomputed"]), abs=0.001)
        assert (round(found["min"].value, 3), round(found["max"].value, 3)) == (
            float(row["min_C"]),
            float(row["max_C"]),
        )


def test_river_counts_are_compared_and_never_called_degrees(measurements):
    folder = measurements("river-warm-inflow")
    for path in sorted(folder.glob("*.tiff")):
        thermogram = analysed(path, conditions={"outside_air": Quantity.exact(12, "degC")}, material="water")
        assert thermogram.scale == "unscaled" and {one.unit for one in statistics(thermogram).values()} == {"count"}


def test_stretched_pictures_are_unscaled_or_refused(measurements):
    seen = set()
    for path in [
        *measurements("aerial-vehicles").glob("*.png"),
        *measurements("insulation-box").glob("*.png"),
        measurements("leaf-transpiration") / "plant_raw16_relative.png",
    ]:
        try:
            thermogram = analysed(path)
        except StepError as error:
            assert error.code == "colour-picture" and path.name.startswith("rainbow")
            seen.add("refused")
        else:
            assert thermogram.scale == "unscaled" and "degC" not in {
                one.unit for one in statistics(thermogram).values()
            }
            seen.add("unscaled")
    assert seen == {"refused", "unscaled"}


def test_grey_levels_of_the_box_show_its_strong_fault_growing(measurements):
    """The strong patch stands about 14 levels over its surround at 3.8 K and 52 at 19.5 K, by the source."""
    folder = measurements("insulation-box")
    x, y, width, height = next(
        one["xywh"] for one in json.loads((folder / "regions.json").read_text())["defects"] if one["name"] == "strong"
    )
    excess = {}
    for name in ("grey_dT+05.8K_0419.png", "grey_dT+19.5K_0447.png"):
        values = analysed(folder / name).values
        inside = values[y : y + height, x : x + width].mean()
        ring = np.concatenate(
            [
                values[y - 12 : y - 4, x : x + width].ravel(),
                values[y + height + 4 : y + height + 12, x : x + width].ravel(),
            ]
        ).mean()
        excess[name] = inside - ring
    assert 5 < excess["grey_dT+05.8K_0419.png"] < excess["grey_dT+19.5K_0447.png"] < 70
