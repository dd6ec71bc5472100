"""Colours, ranges, crops and what is refused."""

from __future__ import annotations

import io

import numpy as np
import pytest
from heatbrief.errors import UserError
from heatbrief.model.results import StoredArray
from heatbrief.site.colours import LEVELS, palette
from heatbrief.site.figures import scale_ticks
from heatbrief.site.outlines import place_labels
from heatbrief.site.pictures import colour_range, crop_box, draw, draw_photo, read_counts, values_of, withheld_in
from PIL import Image


def lightness(colours: np.ndarray) -> np.ndarray:
    """CIE L* of sRGB colours (n, 3) of 0..255; formulas of CIE 15 and IEC 61966-2-1 [memory]."""
    linear = np.where(colours / 255 <= 0.04045, colours / 255 / 12.92, ((colours / 255 + 0.055) / 1.055) ** 2.4)
    luminance = linear @ [0.2126, 0.7152, 0.0722]
    return np.where(luminance > 216 / 24389, 116 * np.cbrt(luminance) - 16, luminance * 24389 / 27)


def test_colour_map_rises_evenly_in_lightness():
    colours = np.array(palette()).reshape(256, 3)[:LEVELS]
    light = lightness(colours.astype(float))
    # batlow: L* 12.2 to 87.3, monotone [computed: radiometry.md section 11]; 8-bit rounding allows tiny steps back
    assert light[0] == pytest.approx(12.2, abs=0.5)
    assert light[-1] == pytest.approx(87.3, abs=0.5)
    assert np.diff(light).min() > -0.3
    assert len({tuple(colour) for colour in colours}) >= LEVELS - 2


def test_pixels_keep_their_order_and_masked_ones_are_grey():
    values = np.linspace(10, 20, 320 * 4).reshape(4, 320)
    values[0, :5] = np.nan
    drawn = draw(values, (10.0, 20.0), "degC", "x.png")
    image = Image.open(io.BytesIO(drawn.data))
    indices = np.asarray(image)
    assert image.mode == "P" and image.size == (320, 4)
    assert drawn.masked and set(indices[0, :5]) <= {LEVELS, LEVELS + 1}
    assert np.all(np.diff(indices.ravel()[5:].astype(int)) >= 0)
    assert indices[-1, -1] == LEVELS - 1
    assert not drawn.above


def test_places_without_a_temperature_are_grey_and_leave_the_colours_alone():
    values = np.full((6, 8), 20.0)
    values[1:3, 1:4], values[3:5, 1:4] = 20.0, 45.0
    array = StoredArray("x.png", 20.0, 0.01, "degC", 8, 6, tuple((row * 8 + 1, 3) for row in range(1, 5)))
    bare = withheld_in(array)
    assert bare.sum() == 12 and bare[1:5, 1:4].all()
    span = colour_range(np.where(bare, np.nan, values), [((1, 1), (3, 4))])
    assert span == (19.5, 20.5)
    drawn = draw(values, span, "degC", "x.png", bare=bare)
    pixels = np.asarray(Image.open(io.BytesIO(drawn.data)).convert("RGB")).astype(int)
    assert not drawn.above and not drawn.below and not drawn.masked
    assert np.ptp(pixels[1:5, 1:4], axis=-1).max() == 0 and np.ptp(pixels[0, 0]) > 0
    assert pixels[4, 2, 0] - pixels[1, 2, 0] > 150


def test_range_ignores_single_pixels_but_not_named_places():
    values = np.full((100, 100), 20.0) + np.linspace(0, 1, 100)
    values[50, 50] = 90.0
    low, high = colour_range(values, [])
    assert high < 22 and low >= 20
    values[40:44, 40:44] = 60.0
    assert colour_range(values, [])[1] < 22
    assert colour_range(values, [((40, 40), (43, 43))])[1] == pytest.approx(60.0)


@pytest.mark.parametrize("values", [np.full((3, 3), 21.0), np.full((3, 3), np.nan), np.array([[5.0]])])
def test_flat_and_empty_pictures_have_a_range(values):
    low, high = colour_range(values, [])
    assert high > low
    assert draw(values, (low, high), "degC", "x.png").data


@pytest.mark.parametrize(
    "points",
    [((5, 5), (9, 9)), ((0, 0), (3, 3)), ((318, 238), (319, 239)), ((-50, -50), (-1, -1)), ((900, 900), (901, 901))],
)
def test_enlarged_part_lies_within_the_picture(points):
    x0, y0, x1, y1 = crop_box(points, 320, 240)
    assert 0 <= x0 < x1 <= 320 and 0 <= y0 < y1 <= 240
    assert (x1 - x0) / (y1 - y0) == pytest.approx(320 / 240, rel=0.1)


def test_no_enlargement_of_almost_everything():
    assert crop_box(((0, 0), (300, 200)), 320, 240) is None


@pytest.mark.parametrize(("low", "high"), [(20.3, 41.8), (-5.0, 5.0), (0.0, 0.01), (1000.0, 90000.0), (24.99, 25.01)])
def test_ticks_are_round_and_inside(low, high):
    ticks = scale_ticks(low, high)
    assert 3 <= len(ticks) <= 9
    assert all(-1e-6 <= place <= 1 + 1e-6 and low - 1e-6 <= value <= high + 1e-6 for place, value in ticks)


def test_labels_keep_off_each_other():
    outlines = [{"label": "a long name here", "extent": (x, 40, x + 8, 50), "shape": "polygon"} for x in (20, 26, 32)]
    placed = place_labels(outlines)
    assert len({one["place"] for one in placed} - {""}) >= 2
    crowd = [{"label": "one of many", "extent": (40, y, 60, y + 1), "shape": "polygon"} for y in range(10, 80, 2)]
    places = [one["place"] for one in place_labels(crowd)]
    tops = sorted(float(part[4:-1]) for one in places if one.startswith("left:61") for part in one.split(";")[1:2])
    assert "" in places and len(tops) >= 8
    assert min(np.diff(tops)) >= 5


def _write(folder, image, kind="PNG"):
    stream = io.BytesIO()
    image.save(stream, kind)
    (folder / "x.png").write_bytes(stream.getvalue())


def test_read_array_inverts_the_stored_scale(tmp_path):
    counts = np.array([[0, 1], [2, 65535]], np.uint16)
    _write(tmp_path, Image.fromarray(counts))
    array = StoredArray("x.png", -3.5, 0.25, "degC", 2, 2)
    values = values_of(array, read_counts(array, tmp_path))
    assert np.isnan(values[0, 0])
    assert values[0, 1] == -3.5
    assert values[1, 0] == -3.25
    assert values[1, 1] == pytest.approx(-3.5 + 0.25 * 65534)


@pytest.mark.parametrize(
    ("name", "width"), [("x.png", 3), ("missing.png", 2), ("../x.png", 2), (".hidden", 2), ("", 2), ("text.png", 2)]
)
def test_wrong_objects_are_refused(tmp_path, name, width):
    _write(tmp_path, Image.fromarray(np.ones((2, 2), np.uint16)))
    (tmp_path / "text.png").write_text("not a picture")
    with pytest.raises(UserError):
        read_counts(StoredArray(name, 0.0, 1.0, "degC", width, 2), tmp_path)


def test_colour_pictures_are_no_arrays(tmp_path):
    _write(tmp_path, Image.new("RGB", (2, 2)))
    with pytest.raises(UserError):
        read_counts(StoredArray("x.png", 0.0, 1.0, "degC", 2, 2), tmp_path)


def test_photos_lose_place_and_date(tmp_path):
    photo = Image.new("RGB", (3000, 1000), "teal")
    exif = photo.getexif()
    exif[0x8825] = {1: "N", 2: (51.0, 30.0, 0.0)}
    exif[0x010F] = "maker of the camera"
    own = {"comment": b"number of the camera", "xmp": b"<place/>", "icc_profile": b"profile of the owner"}
    photo.save(tmp_path / "p.jpg", exif=exif, **own)
    drawn = draw_photo(tmp_path, "p.jpg", "x.jpg")
    assert drawn is not None and (drawn.width, drawn.height) == (1600, 533)
    for secret in (b"maker of the camera", *own.values()):
        assert secret in (tmp_path / "p.jpg").read_bytes() and secret not in drawn.data
    assert not Image.open(io.BytesIO(drawn.data)).getexif()


def test_photos_are_turned_upright_unless_aligned(tmp_path):
    photo = Image.new("RGB", (40, 20), "teal")
    exif = photo.getexif()
    exif[0x0112] = 6
    photo.save(tmp_path / "p.jpg", exif=exif)
    turned, kept = (draw_photo(tmp_path, "p.jpg", "x.jpg", turn) for turn in (True, False))
    assert (turned.width, turned.height) == (20, 40)
    assert (kept.width, kept.height) == (40, 20)


def test_an_unreadable_photo_is_no_error(tmp_path):
    (tmp_path / "p.jpg").write_bytes(b"\xff\xd8 broken")
    assert draw_photo(tmp_path, "p.jpg", "x.jpg") is None
