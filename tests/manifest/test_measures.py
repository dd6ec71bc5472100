"""Edges of what may be said about lens, detector, known rectangles, colour bars and the visible picture."""

from __future__ import annotations

import pytest
from heatbrief.errors import UserError
from heatbrief.manifest.load import load_manifest

from .fake_registry import REGISTRY


@pytest.fixture
def codes(tmp_path):
    """Codes of what is wrong with a manifest of one picture, whose entry and camera are given."""

    def check(entry="", camera=""):
        path = tmp_path / "survey.yaml"
        head = f"camera: {{{camera}}}\n" if camera else ""
        path.write_text(f"format: 1\nproperty: X\n{head}thermograms:\n  - {{file: a.png, {entry}}}\n", "utf-8")
        try:
            load_manifest(path, REGISTRY)
        except UserError as error:
            assert all(one.remedy for one in error.problems)
            return [one.code for one in error.problems]
        return []

    return check


@pytest.mark.parametrize(
    ("response", "fine"),
    [
        ("[[0.5, 1], [30, 1]]", True),
        ("[[8, 0], [10, 0.001], [14, 0]]", True),
        ("[[0.49, 1], [14, 1]]", False),
        ("[[8, 1], [30.1, 1]]", False),
        ("[[8, 1]]", False),
        ("[[8, 1], [8, 1]]", False),
        ("[[8, 1], [14, 1], [10, 1]]", False),
        ("[[8, 0], [14, 0]]", False),
    ],
)
def test_a_spectral_response_rises_inside_its_range(codes, response, fine):
    assert codes(camera=f"response: {response}") == ([] if fine else ["spectral-response"])


@pytest.mark.parametrize(
    ("camera", "wrong"),
    [
        ("pixel_pitch: 12 um, focal_length: 9 mm", []),
        ("pixel_pitch: 12 um", ["lens-incomplete"]),
        ("focal_length: 9 mm", ["lens-incomplete"]),
        ("pixel_pitch: 12 um, focal_length: 9", ["bad-quantity"]),
    ],
)
def test_a_lens_needs_pitch_and_focal_length(codes, camera, wrong):
    assert codes(camera=camera) == wrong


@pytest.mark.parametrize(
    ("corners", "fine"),
    [
        ("[[0, 0], [100, 0], [100, 90], [0, 90]]", True),
        ("[[0, 0], [1000000, 0], [1000000, 90], [0, 90]]", True),
        ("[[0, 0], [1000001, 0], [1000001, 90], [0, 90]]", False),
        ("[[0, 0], [-1000001, 0], [-1000001, 90], [0, 90]]", False),
        ("[[0, 0], [100, 90], [100, 0], [0, 90]]", False),
        ("[[0, 0], [50, 0], [100, 0], [0, 90]]", False),
    ],
)
def test_four_corners_go_around_a_rectangle(codes, corners, fine):
    found = codes(f"rectangle: {{corners: {corners}, width: 2 m, height: 1 m}}")
    assert found == ([] if fine else ["known-rectangle"])


@pytest.mark.parametrize(
    ("pairs", "fine"),
    [
        ("[[[0, 0], [1, 1]], [[9, 0], [3, 1]]]", True),
        ("[[[0, 0], [1, 1]], [[9, 0], [1, 1]]]", False),
        ("[[[0, 0], [1, 1]], [[0, 0], [3, 1]]]", False),
        ("[[[0, 0], [1, 1]], [[1000000, 0], [3, 1]]]", True),
        ("[[[0, 0], [1, 1]], [[1000001, 0], [3, 1]]]", False),
    ],
)
def test_shared_places_differ_and_are_near(codes, pairs, fine):
    assert codes(f"visible: b.png, visible_points: {pairs}") == ([] if fine else ["visible-points"])


BAR = "box: [600, 20, 16, 440], ends: [12 degC, 31 degC]"


@pytest.mark.parametrize(
    ("scale", "wrong"),
    [
        (f"bar: {{{BAR}}}", []),
        ("bar: {box: [0, 0, 1, 1], ends: [12 degC, 12.1 degC]}", []),
        ("bar: {box: [600, 20, 0, 440], ends: [12 degC, 31 degC]}", ["colour-bar"]),
        ("bar: {box: [600, 20, 16, 0], ends: [12 degC, 31 degC]}", ["colour-bar"]),
        (f"bar: {{{BAR}, picture: [0, 0, 0, 480]}}", ["colour-bar"]),
        (f"bar: {{{BAR}, overlays: [[1, 1, 2, 2], [5, 5, 9, 0]]}}", ["colour-bar"]),
        ("bar: {box: [600, 20, 16, 440], ends: [31 degC, 31 degC]}", ["colour-bar"]),
        ("bar: {box: [600, 20, 16, 440], ends: [31 degC, 12 degC]}", ["colour-bar"]),
        (f"bar: {{{BAR}}}, values: degC", ["scale-twice"]),
        (f"bar: {{{BAR}}}, kelvin_per_count: 0.01", ["scale-twice"]),
    ],
)
def test_a_colour_bar_has_a_size_and_rising_ends(codes, scale, wrong):
    assert codes(f"scale: {{{scale}}}") == wrong


@pytest.mark.parametrize(
    ("where", "key", "fine", "beyond"),
    [
        ("entry", "emissivity", ("0.01", "1"), ("0.009", "1.01")),
        ("entry", "reflected", ("-120 degC", "500 degC"), ("-121 degC", "501 degC")),
        ("entry", "distance", ("1 cm", "5000 m"), ("0.9 cm", "5001 m")),
        ("entry", "tilt", ("0 deg", "85 deg"), ("-1 deg", "86 deg")),
        ("entry", "pixel_size", ("1 um", "100 m"), ("0 m", "101 m")),
        ("entry", "page", ("0", "100000"), ("-1", "100001")),
        ("entry", "size", ("[1, 1]",), ("[0, 1]",)),
        ("camera", "noise", ("0 mK", "5 K"), ("-1 mK", "5.1 K")),
        ("camera", "accuracy", ("0 K", "50 K"), ("-1 K", "51 K")),
        ("camera", "accuracy_percent", ("0 %", "20 %"), ("-1 %", "21 %")),
        ("camera", "band", ("[0.5 um, 30 um]",), ("[0.4 um, 14 um]", "[8 um, 31 um]")),
        ("camera", "field_of_view", ("[0.1 deg, 170 deg]",), ("[0.09 deg, 40 deg]", "[40 deg, 171 deg]")),
        ("conditions", "humidity", ("0 %", "100 %"), ("-1 %", "101 %")),
        ("conditions", "inside_air", ("-60 degC", "80 degC"), ("-61 degC", "81 degC")),
        ("conditions", "outside_air", ("-70 degC", "70 degC"), ("-71 degC", "71 degC")),
        ("conditions", "wind", ("0 m/s", "80 m/s"), ("-1 m/s", "81 m/s")),
        ("conditions", "hours_without_sun", ("0 h",), ("-1 h",)),
        ("costs", "years", ("1", "100"), ("0", "101")),
        ("costs", "discount_rate", ("0 %", "50 %"), ("-1 %", "51 %")),
        ("costs", "price_growth", ("-10 %", "30 %"), ("-11 %", "31 %")),
        ("costs", "budget", ("0 USD",), ("-1 USD",)),
        ("emissions", "electricity", ("0 kg/kWh", "5 kg/kWh"), ("-1 kg/kWh", "5.1 kg/kWh")),
    ],
)
def test_what_cannot_be_is_refused_and_its_edge_is_not(tmp_path, where, key, fine, beyond):
    """The edges are this project's choice: shares end at 0 and 1, the rest is generous (common practice)."""
    for text, accepted in [*((one, True) for one in fine), *((one, False) for one in beyond)]:
        path = tmp_path / "survey.yaml"
        entry = f"{{file: a.png, {key}: {text}}}" if where == "entry" else "a.png"
        part = "" if where == "entry" else f"{where}: {{{key}: {text}}}\n"
        path.write_text(f"format: 1\nproperty: X\n{part}thermograms: [{entry}]\n", "utf-8")
        try:
            load_manifest(path, REGISTRY)
            found = True
        except UserError as error:
            assert [key in one.message for one in error.problems] == [True], error
            found = False
        assert found is accepted, text


def test_periods_of_a_bill_have_days_of_one_year(tmp_path):
    path = tmp_path / "survey.yaml"
    for days, accepted in (("[1, 366]", True), ("[1, 367]", False), ("[0, 90]", False)):
        bill = f"bill: {{gas: {{months: [5 kWh, 6 kWh], days: {days}}}}}\n"
        path.write_text(f"format: 1\nproperty: X\n{bill}thermograms: [a.png]\n", "utf-8")
        if accepted:
            assert load_manifest(path, REGISTRY).bill["gas"].days == (1.0, 366.0)
        else:
            with pytest.raises(UserError):
                load_manifest(path, REGISTRY)
