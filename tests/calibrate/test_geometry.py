"""From pixels to metres: lens, known rectangle, areas with bounds, small targets, and the visible picture laid over."""

from __future__ import annotations

import io
import json
import math

import numpy as np
import pytest
from heatbrief.api import StepError, View
from heatbrief.calibrate.regions import region_statistics
from heatbrief.calibrate.registration import registration
from heatbrief.calibrate.small_targets import narrowest, size_note
from heatbrief.errors import UserError
from heatbrief.model.pixel_scale import PixelScale
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Region
from heatbrief.model.thermogram import Picture
from heatbrief.physics.geometry import pixel_kernel
from heatbrief.testing import Scene, render
from heatbrief.testing.rendering import write_counts
from PIL import Image

# Homography of a 2000 x 1500 mm rectangle [computed: OpenCV and a direct linear transform, which agree to 1.2e-13].
CORNERS = ((100.0, 120.0), (520.0, 80.0), (560.0, 400.0), (90.0, 360.0))
MATRIX = (
    7.222880221,
    0.3009533425,
    -758.4024232,
    0.7514981994,
    7.890731094,
    -1022.037551,
    9.071240091e-4,
    4.885161839e-4,
    1.0,
)
LOCAL_MM2 = {(110, 130): 41.44598, (320, 240): 23.39808, (540, 390): 13.75098}
POLYGON, POLYGON_M2 = ((200.0, 150.0), (400.0, 140.0), (420.0, 300.0), (190.0, 290.0)), 0.801324956
DOOR = "    rectangle: {corners: [[100, 120], [520, 80], [560, 400], [90, 360]], width: 2 m, height: 1.5 m}"
WALL = Picture(np.full((480, 640), 293.0), True)


@pytest.fixture
def wall(surveyed):
    return surveyed(WALL, DOOR)[0]


@pytest.mark.parametrize(
    ("pitch", "focal", "size", "pixel_mm", "area_cm2"),
    [
        (17, 13, (640, 480), 6.538, 0.4275),
        (12, 9.1, (640, 512), 6.593, 0.4347),
        (25, 19, (320, 240), 6.579, 0.4328),
        (17, 6.8, (160, 120), 12.500, 1.5625),
    ],
)
def test_pixel_pitch_and_focal_length(surveyed, pitch, focal, size, pixel_mm, area_cm2):
    """Pixels at 5 m [computed from the thin-lens relations], as precise as they are printed."""
    text = f"camera: {{pixel_pitch: {pitch} um, focal_length: {focal} mm}}"
    found, _ = surveyed(Picture(np.full(size[::-1], 293.0), True), "    distance: 5 m", text)
    assert found.pixel.width == pytest.approx(pixel_mm / 1e3, rel=1e-4)
    assert found.pixel.height == pytest.approx(pixel_mm / 1e3, rel=1e-4)
    assert found.pixel.area == pytest.approx(area_cm2 / 1e4, rel=2e-4)
    assert found.pixel.method == "distance and field of view" and 0.05 < found.pixel.relative < 0.07


def test_a_stated_field_of_view_wins_over_the_lens(thermogram):
    camera = {"field_of_view": (45.0, 34.0), "pixel_pitch": 17.0, "focal_length": 13.0}
    found = thermogram(
        Picture(np.full((240, 320), 293.0), True), view={"distance": Quantity.exact(3, "m")}, camera=camera
    )
    assert found.pixel.width == pytest.approx(7.7665e-3, rel=1e-4)  # 45 degrees over 320 pixels at 3 m [computed]


def test_known_rectangle_gives_the_published_mapping(wall):
    """All nine numbers, points and local scales to the digits printed."""
    matrix = np.reshape(wall.pixel.homography, (3, 3))
    np.testing.assert_allclose(matrix[:2] * 1000, np.reshape(MATRIX, (3, 3))[:2], rtol=1e-8)
    np.testing.assert_allclose(matrix[2], MATRIX[6:], rtol=1e-8)
    for place, expected in (((320, 240), (1154.615161, 790.194467)), ((300, 200), (1072.133855, 570.546835))):
        x, y, w = matrix @ (*place, 1.0)
        assert (1000 * x / w, 1000 * y / w) == pytest.approx(expected, rel=1e-6)
    areas = wall.pixel.areas(480, 640)
    for (x, y), expected in LOCAL_MM2.items():
        assert 1e6 * areas[y, x] == pytest.approx(expected, rel=1e-6)
    assert wall.pixel.method == "known rectangle"


def test_area_of_a_region_uses_the_size_of_each_pixel(wall):
    """Exact polygon area [computed]. A pixel centre counts whole: 1e-3 for 27 000 pixels; one scale for all would be
    20 % off."""
    region = Region("panel", "one", "polygon", POLYGON)
    mask = region.mask(480, 640)
    found = wall.pixel.area_of(mask)
    assert found.value == pytest.approx(POLYGON_M2, rel=1e-3) and found.unit == "m2"
    assert found.low < POLYGON_M2 < found.high and 0.005 < found.half_width / found.value < 0.05
    corner = Region("corner", "one", "box", ((90, 110), (130, 150))).mask(480, 640)
    assert wall.pixel.area_of(corner).value > 1.5 * corner.sum() * wall.pixel.area
    statistics, notes = region_statistics(wall, region)
    assert statistics["area"] == found and {"mean", "max"} <= statistics.keys() and notes == ()


def test_area_bounds_hold_when_corners_and_sides_err(surveyed):
    """Corners pointed at to half a pixel and sides measured to 0.5 % (standard), 200 surveys: 95 % bounds hold about
    95 %."""
    random = np.random.default_rng(3)
    mask = Region("panel", "one", "polygon", POLYGON).mask(480, 640)
    from heatbrief.api import Context, Rectangle
    from heatbrief.calibrate.pixel_scale import pixel_scale

    held = 0
    for _ in range(200):
        corners = np.asarray(CORNERS) + random.normal(0, 0.5, (4, 2))
        sides = (Quantity.exact(side * (1 + random.normal(0, 0.005)), "m") for side in (2.0, 1.5))
        view = View(rectangle=Rectangle(tuple(map(tuple, corners)), *sides))
        found = pixel_scale(Context(view=view), 640, 480).area_of(mask)
        held += found.low <= POLYGON_M2 <= found.high
    assert 184 <= held <= 199  # four standard deviations below 190; 200 would be far too wide


def test_beyond_the_horizon_there_is_no_area(surveyed):
    """A floor seen along it: its far end runs out of the picture's upper half."""
    text = "    rectangle: {corners: [[300, 220], [340, 220], [500, 470], [140, 470]], width: 1 m, height: 6 m}"
    floor = surveyed(WALL, text)[0]
    assert np.isnan(floor.pixel.areas(480, 640)[0]).all() and np.isfinite(floor.pixel.areas(480, 640)[300]).all()
    above = Region("sky", "one", "box", ((0, 0), (640, 100)))
    assert floor.pixel.area_of(above.mask(480, 640)) is None
    statistics, notes = region_statistics(floor, above)
    assert "area" not in statistics and "horizon" in notes[0]


def test_plain_pixels_add_up_with_half_a_pixel_of_rim():
    scale, mask = PixelScale(0.01, 0.02, 0.03, "pixel size given"), np.zeros((40, 40), bool)
    assert scale.area_of(mask) is None and scale.areas(2, 3).shape == (2, 3)
    mask[10:20, 10:20] = True
    found = scale.area_of(mask)
    rim = 0.3 * math.sqrt(36) / 100
    assert found.value == pytest.approx(0.02) and found.half_width / 0.02 == pytest.approx(
        1.96 * math.hypot(0.06, rim), rel=1e-3
    )


def test_unscaled_pictures_have_areas_but_no_temperatures(thermogram):
    counts = Picture(np.random.default_rng(1).integers(0, 255, (48, 64)).astype(np.uint8), False)
    found = thermogram(counts, view={"pixel_size": Quantity.exact(0.01, "m")})
    statistics, _ = region_statistics(found, Region("spot", "one", "box", ((2, 2), (22, 22))))
    assert statistics["area"].value == pytest.approx(0.04) and statistics["mean"].unit == "count"


@pytest.mark.parametrize(
    ("wrong", "code"),
    [
        ("    rectangle: {corners: [[0, 0], [10, 0], [20, 0], [0, 9]], width: 2 m, height: 1 m}", "known-rectangle"),
        ("    rectangle: {corners: [[0, 0], [10, 9], [10, 0], [0, 9]], width: 2 m, height: 1 m}", "known-rectangle"),
        ("    rectangle: {corners: [[0, 0], [10, 0], [10, 9]], width: 2 m, height: 1 m}", "wrong-length"),
        ("    rectangle: {corners: [[0, 0], [10, 0], [10, 9], [0, 9]], width: 2, height: 1 m}", "bad-quantity"),
        ("    visible_points: [[[0, 0], [1, 1]], [[0, 0], [1, 1]]]\n    visible: a.png", "visible-points"),
        ("    visible_points: [[[0, 0], [1, 1]], [[9, 0], [3, 1]]]", "visible-missing"),
        (
            "    visible: a.png\n    visible_points: [[[0, 0], [1, 1]], [[9, 0], [3, 1]]]\n"
            "    visible_matrix: [[1, 0, 0], [0, 1, 0], [0, 0, 1]]",
            "visible-twice",
        ),
    ],
)
def test_what_cannot_be_is_refused_with_its_place(surveyed, wrong, code):
    with pytest.raises(UserError) as caught:
        surveyed(WALL, wrong)
    assert [problem.code for problem in caught.value.problems] == [code]
    assert "survey.yaml:" in caught.value.problems[0].where and caught.value.problems[0].remedy


@pytest.mark.parametrize("head", ["camera: {pixel_pitch: 17 um}", "camera: {focal_length: 13 mm}"])
def test_half_a_lens_is_refused(surveyed, head):
    with pytest.raises(UserError) as caught:
        surveyed(WALL, "    distance: 2 m", head)
    assert caught.value.problems[0].code == "lens-incomplete"


# Share of the contrast that the centre of an N x N target shows, by blur [computed: error functions], 0.001.
SHARES = {
    0.4: (0.4657, 0.9207, 0.9968, 1.0),
    0.6: (0.2971, 0.7507, 0.9532, 0.9997),
    1.0: (0.1360, 0.4396, 0.7231, 0.9678),
}


@pytest.mark.parametrize("blur", SHARES)
def test_the_pixel_kernel_gives_the_published_shares(blur):
    """Odd targets are centred on a pixel, so that whole pixels of the kernel add up to them."""
    kernel = pixel_kernel(blur)
    for side, expected in zip((1, 2, 3, 5), SHARES[blur], strict=True):
        if side % 2:
            half = side // 2
            middle = kernel.size // 2
            assert kernel[middle - half : middle + half + 1].sum() ** 2 == pytest.approx(expected, abs=1e-3)
    assert kernel.sum() == pytest.approx(1.0)


def test_small_targets_are_named():
    """3 x 3 pixels are common practice, no source; 10 x 10 is Pusnik and Gersak 2021 [seen]."""
    mask = np.zeros((40, 40), bool)
    mask[5:7, 5:30] = True
    assert narrowest(mask) == 2 and "less than 3" in size_note(mask)
    mask[5:12, 5:30] = True
    assert narrowest(mask) == 7 and "10" in size_note(mask)
    mask[5:20, 5:30] = True
    assert narrowest(mask) == 15 and size_note(mask) == ""
    y, x = np.mgrid[0:40, 0:40]
    assert narrowest((x - 20) ** 2 + (y - 20) ** 2 <= 100) == 15 and narrowest(np.zeros((5, 5), bool)) == 0


def test_visible_picture_by_places_shows_its_residual():
    """Places made with a known perspective and 0.5 pixels of error: the mapping comes back and the residual says
    0.5."""
    random = np.random.default_rng(8)
    true = np.array([[0.25, 0.02, 4.0], [-0.01, 0.24, -6.0], [1e-5, 2e-5, 1.0]])
    places = random.uniform((100, 100), (1100, 800), (40, 2))
    mapped = np.column_stack([places, np.ones(40)]) @ true.T
    thermal = mapped[:, :2] / mapped[:, 2:] + random.normal(0, 0.5, (40, 2))
    pairs = tuple((tuple(map(float, a)), tuple(map(float, b))) for a, b in zip(places, thermal, strict=True))
    found = registration(View(visible_points=pairs))
    assert found.residual == pytest.approx(0.5 * math.sqrt(2), rel=0.2) and "thermal pixels rms" in found.note
    x, y, w = np.reshape(found.matrix, (3, 3)) @ (600.0, 450.0, 1.0)
    a, b, c = true @ (600.0, 450.0, 1.0)
    assert (x / w, y / w) == pytest.approx((a / c, b / c), abs=0.5)


@pytest.mark.parametrize("count", [2, 3, 4])
def test_few_places_fix_a_mapping_that_cannot_be_judged(count):
    """A turn by 5 degrees, a quarter of the size and a shift: any two places or more give it back."""
    turn = 0.25 * np.array([[math.cos(0.087), -math.sin(0.087)], [math.sin(0.087), math.cos(0.087)]])
    visible = np.array([(100.0, 120.0), (900.0, 150.0), (850.0, 700.0), (130.0, 650.0)])[:count]
    thermal = visible @ turn.T + (12.0, -7.0)
    found = registration(
        View(visible_points=tuple((tuple(a), tuple(b)) for a, b in zip(visible, thermal, strict=True)))
    )
    x, y, w = np.reshape(found.matrix, (3, 3)) @ (500.0, 300.0, 1.0)
    assert (x / w, y / w) == pytest.approx(tuple(turn @ (500.0, 300.0) + (12.0, -7.0)), abs=1e-6)
    assert found.residual is None and "cannot be told" in found.note


def test_visible_picture_by_matrix_and_what_cannot_be(surveyed):
    assert registration(View()) is None
    text = "    visible: a.png\n    visible_matrix: [[0.25, 0, 4], [0, 0.25, -6], [0, 0, 1]]"
    found = registration(surveyed(WALL, text)[1].view)
    assert found.matrix == (0.25, 0.0, 4.0, 0.0, 0.25, -6.0, 0.0, 0.0, 1.0)
    for view in (
        View(visible_matrix=(1.0, 0.0, 0.0, 2.0, 0.0, 0.0, 0.0, 0.0, 1.0)),
        View(visible_points=tuple(((float(n), float(n)), (float(n), 2.0 * n)) for n in range(3))),
        View(visible_points=tuple(((float(n), float(n)), (float(n), 2.0 * n)) for n in range(5))),
    ):
        with pytest.raises(StepError) as caught:
            registration(view)
        assert caught.value.code == "visible-points"


def test_areas_and_the_visible_mapping_reach_the_results(survey, heatbrief, tmp_path):
    """The whole run: a rectangle, a region on it and places shared with a photograph; then again from what is
    remembered."""
    rendered = render(Scene("wall", 640, 480, base_c=21.0, oversample=1))
    write_counts(rendered.counts, tmp_path / "wall.tiff")
    stream = io.BytesIO()
    Image.new("L", (320, 240), 128).save(stream, format="PNG")
    folder = survey(
        "format: 1\nproperty: {name: Wall House}\nstages: {publish: []}\nthermograms:\n  - file: wall.tiff\n"
        "    scale: {kelvin_per_count: 0.01}\n    emissivity: 0.95\n    visible: wall.png\n" + DOOR + "\n"
        "    visible_points: [[[10, 10], [20, 20]], [[300, 12], [600, 24]], [[290, 230], [580, 460]],"
        " [[15, 200], [30, 402]], [[150, 100], [300, 200]]]\n"
        "    regions:\n      - {name: panel, outline: [[200, 150], [400, 140], [420, 300], [190, 290]]}\n"
        "      - {name: nail, box: [300, 200, 2, 2]}\n",
        {"wall.tiff": tmp_path / "wall.tiff", "wall.png": stream.getvalue()},
    )
    out = tmp_path / "out"
    for _ in range(2):
        done = heatbrief("run", folder, "--out", out, "--jobs", 1)
        assert done.code == 0, done.err
        (one,) = json.loads((out / "wall-house" / "results.json").read_text("utf-8"))["thermograms"]
        panel, nail = one["regions"]
        assert panel["statistics"]["area"]["value"] == pytest.approx(POLYGON_M2, rel=1e-3)
        assert panel["statistics"]["area"]["low"] < POLYGON_M2 < panel["statistics"]["area"]["high"]
        assert any("only 2 pixels wide" in note for note in nail["notes"])
        assert len(one["visible_matrix"]) == 9 and one["visible_matrix"][0] == pytest.approx(2.0, rel=0.05)
        assert any("thermal pixels rms" in note for note in one["notes"])
