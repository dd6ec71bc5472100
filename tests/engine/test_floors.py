"""Drawings of the property from the manifest to the results: copied small, without tags, and remembered."""

from __future__ import annotations

import heatbrief.builtin
import heatbrief_envelope
import numpy as np
import pytest
import tifffile
from heatbrief.engine.plan import make_plan
from heatbrief.engine.preview import preview
from heatbrief.engine.run import run
from heatbrief.engine.visible import floor_copy
from heatbrief.errors import StepError
from heatbrief.manifest.load import load_manifest
from heatbrief.registry import build_registry
from heatbrief.store.files import ObjectStore
from PIL import Image

MANIFEST = """\
format: 1
property: Trial house
floors: [{{name: ground floor, picture: plan.png, places: {{hall: {place}}}}}]
thermograms: [{{file: a.tiff, shows: wall, room: hall, scale: {{kelvin_per_count: 0.01}}}}]
"""


@pytest.fixture
def planned(tmp_path):
    """The plan of a survey with a drawing of 2560 x 1000 pixels and one place on it."""
    registry = build_registry(
        [("builtin", "heatbrief", lambda: heatbrief.builtin), ("envelope", "heatbrief", lambda: heatbrief_envelope)]
    )
    tifffile.imwrite(tmp_path / "a.tiff", np.random.default_rng(1).normal(29300, 4, (60, 80)).astype(np.uint16))
    Image.new("RGB", (2560, 1000), "white").save(tmp_path / "plan.png")

    def go(place="[640, 250]"):
        (tmp_path / "survey.yaml").write_text(MANIFEST.format(place=place))
        return make_plan(load_manifest(tmp_path / "survey.yaml", registry), registry, tmp_path / "out")

    return go


def test_a_drawing_reaches_the_results_and_is_remembered(planned, tmp_path):
    (floor,) = run(planned(), 1).results.floors
    assert (floor.name, floor.width, floor.height) == ("ground floor", 1280, 500)
    assert floor.places == {"hall": (0.25, 0.25)}
    assert (tmp_path / "out" / "trial-house" / "objects" / floor.picture).is_file()
    assert not planned().stale
    (moved,) = planned("[128, 100]").stale
    assert moved.reasons == ("places",)
    (tmp_path / "out" / "trial-house" / "objects" / floor.picture).unlink()
    assert [job.reasons for job in planned().stale] == [("objects",)]


def test_what_is_wrong_is_told_by_check_and_listed_by_a_run(planned, tmp_path):
    plan = planned("[2560, 10]")
    assert [one.code for one in preview(plan).problems] == ["floor-place"]
    report = run(plan, 1)
    assert report.results.floors == ()
    (listed,) = (one for one in report.results.not_analysed if one.failed)
    assert (listed.source, listed.code) == ("plan.png", "floor-place") and "2560 x 1000" in listed.message
    (tmp_path / "plan.png").unlink()
    assert [one.code for one in preview(planned()).problems] == ["floor-picture"]


@pytest.mark.parametrize("data", [b"", b"not a picture", b"\x89PNG\r\n\x1a\n" + b"\0" * 50])
def test_what_is_no_picture_is_refused(tmp_path, data):
    (tmp_path / "a.png").write_bytes(data)
    with pytest.raises(StepError) as caught:
        floor_copy(tmp_path / "a.png", {}, ObjectStore(tmp_path / "objects"))
    assert caught.value.code == "floor-picture"


def test_lines_stay_sharp_and_photos_stay_small(tmp_path):
    drawn = Image.new("RGBA", (300, 200))  # clear ground
    drawn.paste("black", (10, 10, 20, 190))
    drawn.save(tmp_path / "drawn.png")
    store = ObjectStore(tmp_path / "objects")
    kept = Image.open(store.path(floor_copy(tmp_path / "drawn.png", {}, store)["object"])).convert("RGB")
    assert kept.getpixel((15, 100)) == (0, 0, 0) and kept.getpixel((150, 100)) == (255, 255, 255)
    noise = np.random.default_rng(1).integers(0, 255, (200, 300, 3), dtype=np.uint8)
    Image.fromarray(noise).save(tmp_path / "photo.png")
    assert floor_copy(tmp_path / "photo.png", {}, store)["object"].endswith(".jpg")
