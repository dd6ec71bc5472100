"""Rivals of the camera on pictures made by formula: trends toward the corners, soft edges, warming up."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from heatbrief.detect import Case
from heatbrief.detect import rivals_camera as camera
from heatbrief.model import ErrorSource, Quantity
from scipy.special import erf
from scipy.stats import kendalltau

SHAPE = (120, 160)
CORNER, MIDDLE = (140, 104, 160, 120), (75, 55, 85, 65)


def radius_squared(shape=SHAPE):
    """Squared distance from the centre over that of the corner, by Pythagoras; pixel centres at whole numbers."""
    y, x = np.mgrid[: shape[0], : shape[1]]
    away = (y - (shape[0] - 1) / 2) ** 2 + (x - (shape[1] - 1) / 2) ** 2
    return away / ((shape[0] / 2) ** 2 + (shape[1] / 2) ** 2)


def shaded(kelvin, shape=SHAPE):
    return 293.15 + kelvin * radius_squared(shape)


@pytest.fixture
def about(make):
    def case(values, area, *lines, noise=0.0, facts=None):
        subject = make.thermogram(values, noise)
        known = replace(subject, errors=((*subject.errors[0], *lines),))
        return Case("test.rivals", "test", known, make.context(facts=facts), area=area)

    return case


@pytest.mark.parametrize("shape", [(120, 160), (160, 120), (5, 9), (1, 7), (8, 1)])
def test_distances_are_shares_of_the_way_to_the_corner(shape):
    assert camera._radius_squared(shape) == pytest.approx(radius_squared(shape), abs=1e-6)


@pytest.mark.parametrize(("shape", "near"), [(SHAPE, 0.1), ((320, 480), 0.1), ((24, 32), 0.25)])
@pytest.mark.parametrize("kelvin", [-2.0, 3.0])
def test_a_trend_is_measured_from_centre_to_corner(about, make, shape, near, kelvin):
    """Of a bowl of 2 K the 16 rings of equal area span 15/16; half of it lies below their median [computed]."""
    height, width = shape
    box = (width * 7 // 8, height * 7 // 8, width, height)
    inside = radius_squared(shape)[box[1] : box[3], box[0] : box[2]].mean()
    share, drop = camera._radial((case := about(shaded(kelvin, shape), make.area(box, kelvin))), case.area)
    assert drop == pytest.approx(15 / 16 * kelvin, rel=near)
    assert share == pytest.approx(inside - 0.5, abs=0.4 * near)


@pytest.mark.parametrize(
    ("over", "status"), [(1.9, "not ruled out"), (2.15, "ruled out"), (-1.0, "ruled out"), (0.2, "not ruled out")]
)
def test_half_of_the_contrast_is_enough_to_be_the_shading(about, make, over, status):
    """50 % and more (this project's choice): over is the contrast over what the trend makes there."""
    trend = -4.0 * (radius_squared()[104:120, 140:160].mean() - 0.5)
    rival = camera.lens_shading(about(shaded(-4.0), make.area(CORNER, over * trend)))
    share = min(max(1 / over, 0.0), 1.0)
    said = float(rival.evidence.partition("it explains ")[2].partition("%")[0])
    assert rival.status == status and said == pytest.approx(100 * share, abs=2.5)


def test_the_place_is_said_by_its_way_to_the_corner(about, make):
    for box in (MIDDLE, CORNER, (100, 20, 110, 30)):
        area = make.area(box)
        x, y = (round(one) for one in area.centre)
        away = math.sqrt(radius_squared()[y, x])
        assert f"({away:.0%} of the way" in camera.lens_shading(about(shaded(1.0), area)).evidence


def stepped(order):
    """A picture whose 16 rings of equal area rise in the given order."""
    return 293.15 + 0.1 * np.asarray(order, float)[(radius_squared() * 16).astype(int)]


def swapped(discordant):
    """Orders of 16 with that many pairs the wrong way round: single neighbours are swapped."""
    order = list(range(16))
    for _ in range(discordant):
        place = next(one for one in range(15) if order[one] < order[one + 1])
        order[place], order[place + 1] = order[place + 1], order[place]
    return order


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(("discordant", "steady"), [(0, True), (30, True), (31, False)])
def test_a_trend_must_be_steady(about, make, sign, discordant, steady):
    """A rank correlation of at least 0.5, 90 pairs of 120 against 30 (this project's choice)."""
    order = swapped(discordant)
    assert camera._steadiness(np.array(order)) == pytest.approx(kendalltau(range(16), order).statistic)
    share, _ = camera._radial((case := about(stepped(order[::sign]), make.area(CORNER, 1.0))), case.area)
    assert (share != 0.0) is steady


def test_no_contrast_has_no_share(about, make):
    case = about(shaded(-2.0), make.area(CORNER, 0.0))
    assert camera._radial(case, case.area)[0] == 0.0 and camera.lens_shading(case).status == "ruled out"


@pytest.mark.parametrize(("columns", "known"), [(21, True), (20, False)])
def test_four_hundred_pixels_beside_the_area_are_needed(about, make, columns, known):
    rival = camera.lens_shading(about(shaded(-2.0, (20, columns)), make.area((0, 0, 4, 5))))
    assert (rival.status == "not testable") is not known and bool(rival.missing) is not known


@pytest.mark.parametrize(("rings", "known"), [(6, True), (5, False)])
def test_six_rings_are_needed(about, make, rings, known):
    values = np.where(radius_squared() * 16 < rings, shaded(-2.0), np.nan)
    case = about(values, make.area(MIDDLE))
    assert (camera._radial(case, case.area)[0] is not None) is known


def test_rings_of_a_dozen_pixels_count(make):
    squared = np.repeat((np.arange(16) + 0.25) / 16, 12)
    chosen = np.ones(squared.size, bool)
    chosen[[0, 13, 26]] = False  # one ring after the other loses one of twelve
    places, levels = camera._ring_medians(-squared, chosen, squared)
    assert places == pytest.approx((np.arange(3, 16) + 0.25) / 16) and levels == pytest.approx(-places)


def line(standard, name="lens shading"):
    return ErrorSource(name, name, standard, "K", (293.15,), (1.0,), reach=20.0)


@pytest.mark.parametrize(("over", "status"), [(2.0, "not ruled out"), (2.01, "ruled out")])
def test_half_of_the_contrast_may_be_left_of_the_shading(about, make, over, status):
    """1.96 standard deviations of a difference of two places, root 2 (normal distribution, GUM) [memory]."""
    left = 1.959963984540054 * math.sqrt(2.0 * (0.06**2 + 0.08**2))
    lines = (line(0.06), line(-0.08), line(5.0, "emissivity"))
    for sign in (1, -1):
        area = make.area(MIDDLE, Quantity(sign * over * left, "K", -9.0, 9.0))
        rival = camera.lens_shading(about(np.full(SHAPE, 293.15), area, *lines))
        assert rival.status == status and "up to 0.28 K may be left" in rival.evidence
        assert rival.evidence.startswith("of the shading measured") and "; the trend" in rival.evidence


def test_without_an_area_there_is_no_place(about):
    assert camera.lens_shading(about(shaded(-2.0), None)) is None


def edge(sigma, at=80.0, height=2.0, axis=1):
    """A step blurred by a Gaussian: 10 to 90 % within 2.563 standard deviations [computed: normal distribution]."""
    place = np.mgrid[: SHAPE[0], : SHAPE[1]][axis]
    return 293.0 + height * (1 + erf((place - at + 0.5) / (sigma * math.sqrt(2)))) / 2


@pytest.mark.parametrize(("axis", "smoothed"), [(0, 0.5), (1, 0.0)])
@pytest.mark.parametrize("at", [6.0, 60.0, 113.0])
def test_the_width_of_a_blurred_edge(about, axis, smoothed, at):
    """Rows are averaged 1:2:1 before, which adds a variance of a half to edges that lie level [computed]."""
    width = 2.563 * math.sqrt(2.0**2 + smoothed)
    assert camera._sharpest(about(edge(2.0, at, axis=axis), None)) == pytest.approx(width, rel=0.02)


@pytest.mark.parametrize(("height", "noise", "seen"), [(0.45, 0.05, False), (0.6, 0.05, True), (0.6, 0.07, False)])
def test_only_steps_of_ten_times_the_noise_are_edges(about, height, noise, seen):
    assert (camera._sharpest(about(edge(1.0, height=height), None, noise=noise)) is not None) is seen


@pytest.mark.parametrize(("across", "down"), [(2.0, 6.0), (6.0, 2.0)])
def test_the_sharper_of_two_edges_counts(about, across, down):
    values = edge(across, 40.0, axis=1) + edge(down, 60.0, axis=0) - 293.0
    assert camera._sharpest(about(values, None)) == pytest.approx(2.563 * 2.0, rel=0.1)


def test_masked_pixels_make_no_edge(about):
    """A masked corner or a masked pixel on the edge itself is not a sharp step of the picture."""
    values = edge(3.0, 40.0)
    plain = camera._sharpest(about(values, None))
    values[:50, 100:] = np.nan
    values[::20, 38:42:3] = np.nan
    assert plain == pytest.approx(2.563 * 3.0, rel=0.04)
    assert camera._sharpest(about(values, None)) == pytest.approx(plain, rel=0.02)
    assert camera._sharpest(about(np.full(SHAPE, np.nan), None)) is None


@pytest.mark.parametrize(
    ("width", "sigma", "status", "words"),
    [
        (8.0, 9.0, "ruled out", "would take more than 8"),
        (8.1, 9.0, "not ruled out", "no sharper edge"),
        (8.1, 1.7, "not ruled out", "no sharper edge"),  # 4.4 pixels elsewhere
        (8.1, 1.5, "ruled out", "other edges of the picture take only about 3.9"),
    ],
)
def test_soft_edges_are_out_of_focus_where_none_is_sharp(about, make, width, sigma, status, words):
    """8 pixels from 10 to 90 %, and half of it elsewhere (this project's choice)."""
    rival = camera.out_of_focus(about(edge(sigma), make.area(MIDDLE, edge_width=width)))
    assert rival.status == status and words in rival.evidence and f"takes {width:.1f} pixels" in rival.evidence


def test_without_an_edge_the_focus_is_open(about, make):
    for area in (None, make.area(MIDDLE, edge_width=None)):
        rival = camera.out_of_focus(about(edge(1.0), area))
        assert rival.status == "not testable" and rival.missing
    assert camera.out_of_focus(about(np.full(SHAPE, 293.0), make.area(edge_width=9.0))).status == "not ruled out"


@pytest.mark.parametrize(
    ("minutes", "width", "status"),
    [
        (10.0, None, "ruled out"),
        (9.9, 2.0, "not ruled out"),  # the time wins over the edge
        (None, 6.0, "ruled out"),
        (None, 6.1, "not testable"),
        (None, None, "not testable"),
    ],
)
def test_ten_minutes_or_a_sharp_edge_settle_a_camera(about, make, minutes, width, status):
    """10 minutes (common practice, no source); edges of 6 pixels are no drift (this project's choice)."""
    facts = {} if minutes is None else {"camera running": Quantity.exact(minutes, "min")}
    rival = camera.camera_not_settled(about(edge(1.0), make.area(MIDDLE, edge_width=width), facts=facts))
    assert rival.status == status and bool(rival.missing) is (status == "not testable")
    assert camera.camera_not_settled(about(edge(1.0), None)).status == "not testable"
