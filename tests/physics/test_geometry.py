"""Plane mapping, areas and target size."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.physics import geometry as g
from hypothesis import given
from hypothesis import strategies as st

IMAGE = np.array([(100, 120), (520, 80), (560, 400), (90, 360)], dtype=float)
PLANE = np.array([(0, 0), (2000, 0), (2000, 1500), (0, 1500)], dtype=float)


def test_reference_points_scales_and_area() -> None:
    """Computed with opencv 5.0.0 getPerspectiveTransform; the area also by summing quarter pixels (801352.3)."""
    found = g.fit_homography(IMAGE, PLANE)
    np.testing.assert_allclose(
        found.map([(320, 240), (300, 200)]), [(1154.615161, 790.194467), (1072.133855, 570.546835)], atol=1e-6
    )
    scales = found.scale([(110, 130), (320, 240), (540, 390)])
    np.testing.assert_allclose(scales, [41.44598, 23.39808, 13.75098], rtol=1e-6)
    assert found.polygon_area([(200, 150), (400, 140), (420, 300), (190, 290)]) == pytest.approx(801324.956, rel=1e-7)


def test_pixel_areas_add_up_to_the_polygon() -> None:
    found = g.fit_homography(IMAGE, PLANE)
    areas = found.pixel_areas(480, 640)
    assert areas.shape == (480, 640)
    box = areas[150:250, 200:400].sum()
    outline = [(199.5, 149.5), (399.5, 149.5), (399.5, 249.5), (199.5, 249.5)]
    assert box == pytest.approx(found.polygon_area(outline), rel=1e-4)


def test_scale_is_the_jacobian() -> None:
    found = g.fit_homography(IMAGE, PLANE)
    point = np.array([333.0, 222.0])
    step = 1e-3
    right, down = np.array([step, 0.0]), np.array([0.0, step])
    dx = (found.map(point + right) - found.map(point - right)) / (2 * step)
    dy = (found.map(point + down) - found.map(point - down)) / (2 * step)
    assert float(found.scale(point)) == pytest.approx(abs(dx[0] * dy[1] - dx[1] * dy[0]), rel=1e-6)


@given(st.lists(st.floats(-25.0, 25.0), min_size=8, max_size=8))
def test_four_points_are_met_exactly(shifts: list[float]) -> None:
    moved = IMAGE + np.array(shifts).reshape(4, 2)
    found = g.fit_homography(moved, PLANE)
    np.testing.assert_allclose(found.map(moved), PLANE, atol=1e-6)
    assert found.residual < 1e-6
    assert found.polygon_area(moved) == pytest.approx(3.0e6, rel=1e-9)


@given(st.integers(0, 2**32 - 1))
def test_more_points_average_out_noise(seed: int) -> None:
    rng = np.random.default_rng(seed)
    true = g.fit_homography(IMAGE, PLANE)
    points = rng.uniform((110, 130), (510, 350), (30, 2))
    found = g.fit_homography(points, true.map(points) + rng.normal(0.0, 2.0, (30, 2)))
    assert 0.5 < found.residual < 5.0
    assert np.abs(found.map(IMAGE.mean(axis=0)) - true.map(IMAGE.mean(axis=0))).max() < 5.0


def test_beyond_the_horizon_there_is_no_place() -> None:
    found = g.fit_homography(IMAGE, PLANE)
    line = found.matrix[2]
    behind = np.array([-(line[2] + 1.0) / line[0], 0.0])
    assert np.isnan(found.map(behind)).all() and np.isnan(found.scale(behind))


def test_origin_beyond_the_horizon_still_works() -> None:
    """A floor seen at a shallow angle: its horizon crosses the picture, the first pixel lies above it."""
    image = [(200, 300), (400, 300), (620, 470), (10, 470)]
    found = g.fit_homography(image, [(0, 4), (2, 4), (2, 0), (0, 0)])
    np.testing.assert_allclose(found.map(image), [(0, 4), (2, 4), (2, 0), (0, 0)], atol=1e-9)
    assert np.isnan(found.map((0.0, 0.0))).all()
    assert found.polygon_area(image) == pytest.approx(8.0)


@pytest.mark.parametrize(
    "points",
    [
        [(0, 0), (10, 0), (20, 0), (30, 0)],
        [(0, 0), (10, 0), (20, 0), (0, 10)],
        [(0, 0), (0, 0), (10, 10), (0, 10)],
        [(5, 5)] * 4,
        [(0, 0), (10, 10), (10, 0), (0, 10)],
        [(0, 0), (10, 0), (10, np.nan), (0, 10)],
        [(0, 0), (1, 0), (1, 1)],
    ],
)
def test_points_that_fix_no_plane_are_refused(points: list[tuple[float, float]]) -> None:
    with pytest.raises(ValueError):
        g.fit_homography(points, PLANE[: len(points)])


@given(st.floats(1.0, 100.0), st.floats(1.0, 100.0), st.floats(-1e3, 1e3), st.floats(0.0, 6.28))
def test_area_does_not_depend_on_place_or_direction(w: float, h: float, shift: float, turn: float) -> None:
    corners = np.array([(0, 0), (w, 0), (w, h), (0, h)])
    rotation = np.array([(np.cos(turn), -np.sin(turn)), (np.sin(turn), np.cos(turn))])
    assert g.polygon_area(corners @ rotation.T + shift) == pytest.approx(w * h, rel=1e-8)
    assert g.polygon_area(corners[::-1]) == pytest.approx(w * h)


def test_polygon_needs_three_points() -> None:
    with pytest.raises(ValueError, match="three"):
        g.polygon_area([(0, 0), (1, 1)])


@given(st.floats(0.5, 50.0), st.floats(5.0, 90.0), st.integers(40, 1000))
def test_footprint_agrees_with_ifov(distance: float, field: float, pixels: int) -> None:
    found = g.footprint(distance, (field, field), (pixels, pixels))
    assert found.pixel_width_m == pytest.approx(g.ifov_from_field_mrad(field, pixels) * 1e-3 * distance)
    assert found.pixel_area_m2 * pixels**2 == pytest.approx(found.width_m * found.height_m)


@pytest.mark.parametrize(
    "wrong", [(0.0, (25, 19), (320, 240)), (1.0, (180, 19), (320, 240)), (1.0, (25, 19), (0, 240))]
)
def test_impossible_footprints_are_refused(wrong: tuple) -> None:
    with pytest.raises(ValueError):
        g.footprint(*wrong)


@given(st.floats(0.05, 1.5), st.floats(0.1, 0.995))
def test_least_target_shows_the_share_asked(blur: float, share: float) -> None:
    size = g.least_target_pixels(share, blur)
    assert float(g.centre_pixel_share(size, blur)) == pytest.approx(share, abs=1e-6)


def test_sharp_target_of_one_pixel_is_whole() -> None:
    assert g.centre_pixel_share([0.5, 1.0, 2.0], 0.0).tolist() == [0.25, 1.0, 1.0]


def test_centre_share_against_blurring_a_picture() -> None:
    """Independent reference: a finely sampled square blurred with scipy.ndimage and averaged over the pixel."""
    from scipy.ndimage import gaussian_filter

    fine, blur, size = 41, 0.6, 3
    scene = np.zeros((11 * fine, 11 * fine))
    low, high = (11 - size) * fine // 2, (11 + size) * fine // 2
    scene[low:high, low:high] = 1.0
    seen = gaussian_filter(scene, blur * fine, truncate=6.0)[5 * fine : 6 * fine, 5 * fine : 6 * fine].mean()
    assert float(g.centre_pixel_share(size, blur)) == pytest.approx(seen, abs=1e-3)


@given(st.floats(0.01, 0.48))
def test_mtf_falls(f: float) -> None:
    assert float(g.system_mtf(f + 0.01, 0.5)) < float(g.system_mtf(f, 0.5)) < 1.0
