"""The invented property: its pictures come from its scenes byte for byte, and show what its truth says."""

from __future__ import annotations

import filecmp
import json
from pathlib import Path

import numpy as np
import pytest
import tifffile
import yaml
from heatbrief.testing import load_shots, read_truth
from heatbrief.testing.make import make
from PIL import Image

FOLDER = Path(__file__).resolve().parents[2] / "surveys" / "lanternmoth-lane-9"
SURVEY = yaml.safe_load((FOLDER / "survey.yaml").read_text(encoding="utf-8"))
TRUTH = {truth.name: truth for truth in read_truth(FOLDER / "truth.json")}
ENTRIES = {Path(entry["file"]).stem: entry for entry in SURVEY["thermograms"]}
NORMAL = {"study-ceiling", "living-room-skirting-fan-off", "bedroom-window", "planting-bed-1758", "garage-door"}


def celsius(name: str) -> np.ndarray:
    return tifffile.imread(FOLDER / "ir" / f"{name}.tiff") * 0.01 - 273.15


def region(name: str, called: str) -> dict:
    return next(one for one in ENTRIES[name]["regions"] if one["name"] == called)


def inside(name: str, called: str) -> np.ndarray:
    """Readings inside a box region [left, top, width, height]."""
    left, top, width, height = region(name, called)["box"]
    return celsius(name)[top : top + height, left : left + width]


def record(name: str, called: str):
    return next(one for one in TRUTH[name].records if one.name == called)


def outlined(name: str, called: str) -> np.ndarray:
    truth = TRUTH[name]
    return celsius(name)[record(name, called).mask(truth.height, truth.width)]


def test_making_again_gives_the_committed_bytes(tmp_path):
    """Pixels first, so that a difference in a compression library can be told from a difference in the scene."""
    made = make(FOLDER, tmp_path)
    names = sorted(path.relative_to(tmp_path).as_posix() for path in made)
    kept = sorted(path.relative_to(FOLDER).as_posix() for path in FOLDER.rglob("*") if path.is_file())
    assert sorted([*names, "scenes.yaml", "survey.yaml"]) == kept, "nothing missing, nothing left over"
    for name in names:
        if name.endswith(".tiff"):
            assert np.array_equal(tifffile.imread(tmp_path / name), tifffile.imread(FOLDER / name)), (
                f"{name}: counts differ"
            )
        elif name.endswith(".png"):
            assert np.array_equal(np.asarray(Image.open(tmp_path / name)), np.asarray(Image.open(FOLDER / name))), (
                f"{name}: greys differ"
            )
    different = [name for name in names if not filecmp.cmp(tmp_path / name, FOLDER / name, shallow=False)]
    assert not different, (
        "same pixels, other bytes: the installed tifffile, imagecodecs or pillow compresses differently"
    )


def test_the_folder_is_small_and_says_it_is_invented():
    assert sum(path.stat().st_size for path in FOLDER.rglob("*") if path.is_file()) < 3_000_000
    assert SURVEY["property"]["invented"] is True
    assert "invented" in (FOLDER / "survey.yaml").read_text(encoding="utf-8").splitlines()[0]
    assert SURVEY["inspect"] == ["envelope", "electrical", "plumbing", "vehicle"]


def test_every_picture_is_listed_and_exists():
    files = {path.relative_to(FOLDER).as_posix() for path in (FOLDER / "ir").iterdir()}
    assert {entry["file"] for entry in SURVEY["thermograms"]} == files
    assert {shot.picture for shot in load_shots(FOLDER / "scenes.yaml")} == files
    assert all((FOLDER / entry["visible"]).is_file() for entry in SURVEY["thermograms"])


def test_the_manifest_says_of_each_picture_what_the_scene_was():
    """Distance and reflected temperature in the manifest are those the pictures were computed with."""
    for shot in load_shots(FOLDER / "scenes.yaml"):
        entry = ENTRIES[shot.scene.name]
        if "distance" in entry:
            assert float(entry["distance"].removesuffix(" m")) == shot.scene.distance_m, shot.scene.name
            stated = entry.get("reflected", SURVEY["conditions"]["reflected"])
            assert float(stated.removesuffix(" degC")) == shot.scene.reflected_c, shot.scene.name
        assert [f"{angle:g} deg" for angle in shot.scene.field_of_view_deg] == SURVEY["camera"]["field_of_view"]


def test_one_picture_has_no_scale():
    unscaled = [name for name, entry in ENTRIES.items() if "scale" not in entry]
    assert unscaled == ["garage-door"]
    with Image.open(FOLDER / "ir" / "garage-door.png") as picture:
        assert (picture.mode, picture.size) == ("L", (240, 180))


def test_defects_are_where_they_are_said_to_be():
    assert {name for name, truth in TRUTH.items() if not truth.defects} == NORMAL
    assert all(one.pixels >= 200 for truth in TRUTH.values() for one in truth.defects)


SEEN = """
north-bedroom-ceiling: missing batt
living-room-wall: steel lintel
living-room-skirting: leak left of the sofa
living-room-skirting: leak right of the sofa
attic-duct: bare joint
garage-inverters: right inverter
kitchen-ceiling: damp patch
hall-floor: hot water under the tiles
planting-bed-1820: wet ground over the buried line
car-radiator: blocked tubes
"""


@pytest.mark.parametrize(("name", "called"), [line.split(": ") for line in SEEN.split("\n") if line])
def test_defects_can_be_seen_in_the_picture(name, called):
    """Readings inside the outline against the picture's median: same sign as the truth, and far above the noise."""
    seen = float(np.median(outlined(name, called)) - np.median(celsius(name)))
    assert np.sign(seen) == np.sign(record(name, called).apparent_contrast_k)
    assert abs(seen) > 1.0


def test_readings_are_those_of_the_offset_camera():
    """A plain ceiling reads its true temperature, less what its emissivity of 0.93 takes, plus the camera's offset."""
    offsets = {truth.offset_k for truth in TRUTH.values()}
    assert len(offsets) == 1 and abs(next(iter(offsets))) < 2.0
    mean = record("study-ceiling", "ceiling").mean_c
    seen = np.median(celsius("study-ceiling")[20:160, 110:170])
    assert seen == pytest.approx(mean - 0.07 * (mean - 24.3) + next(iter(offsets)), abs=0.15)


def test_twins_differ_only_where_something_is_wrong():
    upper, lower = (inside("garage-panel", f"car charger, {pole} pole").mean() for pole in ("upper", "lower"))
    assert 10.0 < lower - upper < 15.0
    assert record("garage-panel", "car charger, lower pole").contrast_k == pytest.approx(13.0, abs=0.2)
    sound = [inside("garage-panel", f"air conditioner, {pole} pole").mean() for pole in ("upper", "lower")]
    assert abs(sound[0] - sound[1]) < 0.6
    assert min(sound) > 9.0 + inside("garage-panel", "oven, upper pole").mean(), "warm, and normal for its load"
    left, right = (
        inside("garage-inverters", "left inverter").mean(),
        inside("garage-inverters", "right inverter").mean(),
    )
    assert 9.0 < right - left < 12.0
    plugs = [inside("solar-connectors", f"{side} string plug").mean() for side in ("east", "middle", "west")]
    assert plugs[1] - plugs[0] > 18.0 and abs(plugs[2] - plugs[0]) < 0.5


def test_cylinder_3_is_cold_among_its_fellows():
    runners = [inside("car-exhaust", f"cylinder {number} runner").mean() for number in (1, 2, 3, 4)]
    others = runners[:2] + runners[3:]
    assert np.ptp(others) < 15.0  # idle spread up to about 28 K is ordinary
    assert np.median(others) - runners[2] > 40.0
    assert record("car-exhaust", "cylinder 3 runner").contrast_k < -30.0


def test_the_mirrored_surveyor_is_seen_but_not_true():
    for called in ("head of the surveyor mirrored", "shoulders of the surveyor mirrored"):
        found = record("bedroom-window", called)
        assert not found.is_defect
        assert abs(found.contrast_k) < 1e-9
        assert found.apparent_contrast_k > 0.5


def test_the_wet_ground_grows_after_the_valve_opens_and_the_shadow_stays():
    names = [f"planting-bed-{clock}" for clock in ("1758", "1806", "1812", "1820")]
    assert [ENTRIES[name]["facts"]["valve"] for name in names] == ["shut", "open", "open", "open"]
    # outside the shadow and the paving slab, ten kelvin under the dry ground
    cold = [int(np.count_nonzero(celsius(name)[:, 85:185] < np.median(celsius(names[0])) - 10.0)) for name in names]
    assert cold[0] == 0
    assert 400 < cold[1] < cold[2] < cold[3]
    shadow = [np.median(outlined(name, "shadow of the fence post")) for name in names]
    assert np.ptp(shadow) < 0.2
    assert shadow[0] < np.median(celsius(names[0])) - 6.0


def test_the_damp_ceiling_is_above_the_wet_bulb():
    # 24 degC and 35 % relative humidity: PsychroLib gives the floor for evaporation indoors
    psychrolib = pytest.importorskip("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)
    floor = psychrolib.GetTWetBulbFromRelHum(24.0, 0.35, 101325.0)
    note = record("kitchen-ceiling", "damp patch").note
    assert floor < float(note.split()[2]) < 24.0


def test_the_fan_makes_the_leak():
    box = np.s_[150:170, 60:170]
    quiet, fan = celsius("living-room-skirting-fan-off")[box], celsius("living-room-skirting")[box]
    assert np.ptp(quiet) < 1.2
    assert np.percentile(fan - quiet, 99) > 3.0


def test_truth_is_stable_text():
    text = (FOLDER / "truth.json").read_text(encoding="utf-8")
    assert text == json.dumps(json.loads(text), indent=1, sort_keys=True, ensure_ascii=False) + "\n"
    assert len(text) < 100_000
