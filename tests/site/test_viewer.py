"""The viewer's data: the stored counts themselves, bounds of single pixels, nothing that could become markup."""

from __future__ import annotations

import base64
import dataclasses
import io
import json
import re
from pathlib import Path

import numpy as np
import pytest
from heatbrief.model import Quantity
from heatbrief.model.comparison import PicturePair
from heatbrief.site.changes import Earlier, earlier_counts
from heatbrief.site.colours import LEVELS, MAPS, colour_bytes
from heatbrief.site.pictures import read_counts
from heatbrief.site.render import VIEWER_SCRIPTS
from heatbrief.site.viewer import about_picture, viewer_panel
from heatbrief_site import resource
from PIL import Image

SCRIPTS = {
    name: resource(f"theme/js/{name}").read_text("utf-8") for name in (*VIEWER_SCRIPTS, "filter.js", "search.js")
}


def value_scripts(site: Path) -> dict[str, bytes]:
    """The scripts of a built site that carry data."""
    return {
        path.relative_to(site).as_posix(): path.read_bytes()
        for path in sorted(site.rglob("*.js"))
        if path.name not in SCRIPTS
    }


def call(data: bytes) -> dict:
    """The plain data that a script hands over."""
    found = re.fullmatch(r"heatbrief\w+\((.*)\);\n", data.decode("ascii"), re.DOTALL)
    assert found is not None
    return json.loads(found[1])


def as_carried(data: dict) -> np.ndarray:
    """The counts in a script, read by Pillow."""
    with Image.open(io.BytesIO(base64.b64decode(data["values"])), formats=("PNG",)) as image:
        return np.asarray(image)


def test_every_stored_count_is_carried(built):
    files = value_scripts(built.site)
    for record in built.results.thermograms:
        if record.array is None:
            continue
        data = next(call(one) for one in files.values() if b'"id":' in one and call(one)["id"] == record.id)
        counts = as_carried(data)
        assert np.array_equal(counts, read_counts(record.array, built.objects))
        assert (data["low"], data["step"]) == (record.array.low, record.array.step)


@pytest.mark.parametrize(("units", "shown"), [("metric", 61.9), ("us", 61.9 * 1.8 + 32)])
def test_bounds_of_single_pixels_follow_the_display_unit(built, site_of, units, shown):
    panel = next(one for one in built.results.thermograms if one.id == "panel")
    site = site_of(built, units)
    data = about_picture(site, panel, site.pictures.thermal["panel"])
    (knot,) = data["bounds"]  # the mean is no reading of a single pixel
    scale = 1.8 if units == "us" else 1.0
    assert knot == pytest.approx([shown, 1.96 * 2.1 * scale, 1.96 * 2.1 * scale], rel=1e-4)
    kitchen = next(one for one in data["regions"] if one["name"] == "kitchen breaker")
    assert [one[0] for one in kitchen["bounds"]] == pytest.approx([61.4 * scale + (32 if units == "us" else 0)])


def test_a_picture_without_scale_has_counts_and_no_bounds(built, site_of):
    lawn = next(one for one in built.results.thermograms if one.id == "lawn")
    marked = dataclasses.replace(lawn, statistics={"min": Quantity.normal(20, "degC", 1)})
    site = site_of(built)
    data = about_picture(site, marked, site.pictures.thermal["lawn"])
    assert data["unit"] == data["difference"] == "counts" and data["bounds"] == [] and not data["scaled"]
    assert "°" not in json.dumps(viewer_panel(site_of(built), lawn), ensure_ascii=False)


def test_what_the_earlier_picture_withheld_has_no_value_where_it_is_laid(built, site_of):
    panel = next(one for one in built.results.thermograms if one.id == "panel")
    width, height = panel.array.width, panel.array.height
    glass = dataclasses.replace(panel.array, withheld=((10 * width + 20, 5), (11 * width + 20, 5)))
    seen = read_counts(panel.array, built.objects)
    assert (seen[10:12, 20:25] > 0).all()
    pair = PicturePair("panel", "panel", (3.0, -2.0), "by detail", glass)
    laid = earlier_counts(Earlier(None, built.objects, False), pair)
    bare = np.zeros((height, width), bool)
    bare[12:14, 17:22] = True  # moved with the picture
    assert not laid[bare].any() and np.array_equal(laid[2:, :-3][~bare[2:, :-3]], seen[:-2, 3:][~bare[2:, :-3]])


def test_hostile_names_stay_plain_data(built_hostile):
    scripts = value_scripts(built_hostile.site)
    assert len(scripts) > 1
    for path, data in scripts.items():
        assert re.fullmatch(r"pictures/[a-z0-9-]+\.js", path)
        assert b"<" not in data and data.isascii()
        assert call(data)


def test_the_photo_is_registered_in_its_published_pixels(built, site_of):
    panel = next(one for one in built.results.thermograms if one.id == "panel")
    site = site_of(built)
    small = dataclasses.replace(
        site.pictures.photos["panel"], width=320, height=240
    )  # half the size of what was stored
    pictures = dataclasses.replace(site.pictures, photos={"panel": small})
    matrix = np.reshape(json.loads(viewer_panel(dataclasses.replace(site, pictures=pictures), panel)["matrix"]), (3, 3))
    x, y, w = matrix @ [320, 240, 1]
    assert (x / w, y / w) == pytest.approx((180, 240))


def test_maps_are_for_everybody():
    assert MAPS[0] == "batlow" and all(len(colour_bytes(name)) == 3 * LEVELS for name in MAPS)


@pytest.mark.parametrize("name", sorted(SCRIPTS))
def test_scripts_are_small_ours_and_reach_nothing(name):
    text = SCRIPTS[name]
    assert len(text.splitlines()) <= 180 and text.startswith("//")
    assert not re.search(
        r"fetch|XMLHttpRequest|innerHTML|outerHTML|\beval\b|document\.write|import\s|localStorage|getImageData", text
    )
    assert set(re.findall(r"https?://[^\"]+", text)) <= {"http://www.w3.org/2000/svg"}
