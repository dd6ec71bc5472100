"""Pictures of colours with a colour bar: any colours that tell their places apart, damage, overlays, hostile boxes."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from heatbrief.api import Camera, ColourBar, Context, NoSettings, View
from heatbrief.calibrate.radiance import calibrate
from heatbrief.calibrate.settings import RadianceSettings
from heatbrief.calibrate.statistics import budget, statistics
from heatbrief.engine.context import colour_bar_of, view_of
from heatbrief.errors import StepError
from heatbrief.manifest.schema import ColourBarEntry, ScaleEntry, ThermogramEntry
from heatbrief.model.quantity import Quantity
from heatbrief.model.thermogram import Picture
from heatbrief.readers import picture as reader
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

HEIGHT, WIDTH, LENGTH = 160, 224, 256
LOW, HIGH = 12.0, 38.0
ZERO = 273.15


def ramp(*corners: tuple[int, int, int], levels: int = 256) -> np.ndarray:
    """Colours on straight lines between corners, uint8 (levels, 3)."""
    places = np.linspace(0, 1, len(corners))
    at = np.linspace(0, 1, levels)
    return np.rint(np.stack([np.interp(at, places, [one[c] for one in corners]) for c in range(3)], -1)).astype(
        np.uint8
    )


BRIGHTENING = ramp((10, 0, 60), (120, 30, 130), (240, 120, 40), (255, 250, 180))
ROUND = ramp((30, 20, 120), (20, 160, 220), (40, 200, 60), (240, 220, 30), (200, 20, 20))
GREY = ramp((0, 0, 0), (255, 255, 255))


def scene(seed: int = 3, noise: float = 0.06) -> np.ndarray:
    """Invented temperatures [degC] (HEIGHT, WIDTH): smooth, with one sharp warm patch, inside the ends of the bar."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[:HEIGHT, :WIDTH] / WIDTH
    field = 22 + 7 * np.sin(4 * x + seed) * np.cos(5 * y) + rng.normal(0, noise, x.shape)
    field[60:100, 90:150] += 5
    return np.clip(field, LOW + 0.5, HIGH - 0.5)


def page(celsius: np.ndarray, colours: np.ndarray, runs: str = "up", length: int = LENGTH, width: int = 16):
    """RGB array of the scene with a bar beside or below it, and the bar's box."""
    level = np.rint((celsius - LOW) / (HIGH - LOW) * (len(colours) - 1)).astype(int)
    bar = colours[np.rint(np.linspace(0, len(colours) - 1, length)).astype(int)]
    bar = bar[::-1] if runs in ("up", "left") else bar
    sheet = np.zeros((max(HEIGHT, length) + 60, WIDTH + length + 60, 3), np.uint8)
    sheet[:HEIGHT, :WIDTH] = colours[level]
    if runs in ("up", "down"):
        box = (WIDTH + 20, 10, width, length)
        sheet[10 : 10 + length, WIDTH + 20 : WIDTH + 20 + width] = bar[:, None]
    else:
        box = (WIDTH + 20, 10, length, width)
        sheet[10 : 10 + width, WIDTH + 20 : WIDTH + 20 + length] = bar[None]
    return sheet, box


def bar_at(box, runs="up", standard=0.0, **more) -> ColourBar:
    return ColourBar(box, (LOW, HIGH), standard, runs, **{"picture": (0, 0, WIDTH, HEIGHT), **more})


def read_back(sheet: np.ndarray, bar: ColourBar, folder: Path, **form) -> Picture:
    data = io.BytesIO()
    Image.fromarray(sheet).save(data, **(form or {"format": "PNG"}))
    path = folder / ("a.jpg" if form else "a.png")
    path.write_bytes(data.getvalue())
    (picture,) = reader.read(path, NoSettings(), Context(view=View(thermogram="one", colour_bar=bar)))
    return picture


def refusal(sheet: np.ndarray, bar: ColourBar, folder: Path) -> str:
    with pytest.raises(StepError) as caught:
        read_back(sheet, bar, folder)
    assert caught.value.message and caught.value.remedy
    return caught.value.code


@pytest.mark.parametrize("runs", ["up", "down", "right", "left"])
@pytest.mark.parametrize("colours", [BRIGHTENING, ROUND, GREY], ids=["brightening", "round", "grey"])
def test_an_undamaged_picture_comes_back_within_half_a_level(tmp_path, colours, runs):
    """256 levels over the span cannot tell more: span / 255 / 2, radiometry.md section 11 [computed]."""
    celsius = scene()
    sheet, box = page(celsius, colours, runs)
    picture = read_back(sheet, bar_at(box, runs), tmp_path)
    assert picture.kelvin and picture.values.shape == celsius.shape
    assert (picture.floor, picture.ceiling) == (LOW + ZERO, HIGH + ZERO)
    # Neighbouring colours of these tables may be equal after rounding: then a level is lost.
    lost = len(colours) / len(np.unique(colours, axis=0))
    error = np.abs(picture.values - ZERO - celsius)
    assert np.isfinite(picture.values).all()
    assert error.max() <= (HIGH - LOW) / 255 / 2 * lost * (1 + 1e-9) + (lost > 1) * (HIGH - LOW) / 255
    assert 0.999 * (HIGH - LOW) / 255 / 12**0.5 <= picture.read_error < 3 * (HIGH - LOW) / 255 / 12**0.5


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    corners=st.lists(st.tuples(*[st.integers(0, 255)] * 3), min_size=2, max_size=6),
    seed=st.integers(0, 50),
    length=st.integers(64, 400),
)
def test_any_set_of_colours_is_read_within_its_bounds_or_refused(tmp_path, corners, seed, length):
    celsius = scene(seed)
    sheet, box = page(celsius, ramp(*corners), length=length)
    try:
        picture = read_back(sheet, bar_at(box), tmp_path)
    except StepError as error:
        assert error.code in ("colour-bar-ambiguous", "colour-bar-constant", "no-values")
        return
    used = np.isfinite(picture.values) & (picture.values > picture.floor) & (picture.values < picture.ceiling)
    if used.mean() < 0.5:
        return
    error = (picture.values - ZERO - celsius)[used]
    stated = np.hypot(picture.read_error, picture.read_shared)
    assert np.sqrt(np.mean(error**2)) <= 1.2 * stated
    assert np.mean(np.abs(error) <= 1.96 * stated) >= 0.9


@pytest.mark.parametrize(
    ("form", "published_percent"),
    [
        ({"quality": 95, "subsampling": 0}, 0.157),
        ({"quality": 90, "subsampling": 2}, 0.197),
        ({"quality": 75, "subsampling": 2}, 0.268),
    ],
    ids=["q95 4:4:4", "q90 4:2:0", "q75 4:2:0"],
)
@pytest.mark.parametrize("colours", [BRIGHTENING, ROUND], ids=["brightening", "round"])
def test_lossy_pictures_err_as_little_as_published_and_within_their_bounds(tmp_path, colours, form, published_percent):
    """Mean absolute error in % of the span, row for inferno, radiometry.md section 11 [computed]: nearest colour on
    a synthetic scene with one sharp square. Ours is another scene of that kind: twice the value is allowed."""
    celsius = scene(noise=0.02)
    sheet, box = page(celsius, colours)
    picture = read_back(sheet, bar_at(box), tmp_path, format="JPEG", **form)
    used = np.isfinite(picture.values)
    error = (picture.values - ZERO - celsius)[used]
    assert used.mean() > 0.85
    assert 100 * np.abs(error).mean() / (HIGH - LOW) < 2 * published_percent
    stated = np.hypot(picture.read_error, picture.read_shared)
    assert np.mean(np.abs(error) <= 1.96 * stated) >= 0.93
    assert stated < 8 * np.sqrt(np.mean(error**2))


def test_worse_compression_gives_wider_bounds(tmp_path):
    sheet, box = page(scene(noise=0.2), BRIGHTENING)
    forms = [{}, *({"format": "JPEG", "quality": quality, "subsampling": 2} for quality in (95, 75, 50))]
    errors = [read_back(sheet, bar_at(box), tmp_path, **form).read_error for form in forms]
    assert errors == sorted(errors) and errors[-1] > 2 * errors[0]


@pytest.mark.parametrize("form", [{}, {"format": "JPEG", "quality": 90, "subsampling": 2}], ids=["png", "jpeg"])
def test_marks_over_the_picture_are_masked(tmp_path, form):
    celsius = scene()
    sheet, box = page(celsius, BRIGHTENING)
    sheet[20:34, 30:44] = (0, 255, 0)
    sheet[110:120, 60:160] = (255, 0, 255)
    picture = read_back(sheet, bar_at(box), tmp_path, **form)
    assert np.isnan(picture.values[20:34, 30:44]).all() and np.isnan(picture.values[110:120, 60:160]).all()
    assert np.isfinite(picture.values).mean() > 0.8
    left = np.abs(picture.values - ZERO - celsius)[np.isfinite(picture.values)]
    assert np.mean(left > 6 * picture.read_error) < 0.005
    assert any("masked" in note for note in picture.notes)


def test_an_overlay_box_is_masked_out_to_the_blocks_of_the_compression(tmp_path):
    sheet, box = page(scene(), GREY)
    sheet[21:30, 33:60] = 255
    given_box = (33, 21, 27, 9)
    plain = read_back(sheet, bar_at(box, overlays=(given_box,)), tmp_path)
    assert np.isnan(plain.values[21:30, 33:60]).all() and np.count_nonzero(np.isnan(plain.values)) == 27 * 9
    lossy = read_back(sheet, bar_at(box, overlays=(given_box,)), tmp_path, format="JPEG", quality=85, subsampling=2)
    assert np.isnan(lossy.values[16:32, 32:64]).all() and np.isfinite(lossy.values[:16, :32]).all()


def test_without_a_picture_box_the_bar_is_masked_in_place(tmp_path):
    sheet, box = page(scene(), ROUND)
    picture = read_back(sheet, bar_at(box, picture=None), tmp_path)
    assert picture.values.shape == sheet.shape[:2]
    left, top, width, height = box
    assert np.isnan(picture.values[top : top + height, left : left + width]).all()
    assert np.isnan(picture.values[-20:, -20:]).all() and np.isfinite(picture.values[: HEIGHT - 1, : WIDTH - 1]).all()


def test_a_frame_and_ticks_around_the_bar_are_left_out(tmp_path):
    celsius = scene()
    sheet, (left, top, width, height) = page(celsius, ROUND)
    bare = read_back(sheet, bar_at((left, top, width, height)), tmp_path)
    sheet[top - 1, left - 1 : left + width + 1] = sheet[top + height, left - 1 : left + width + 1] = 255
    sheet[top - 1 : top + height + 1, left - 1] = sheet[top - 1 : top + height + 1, left + width] = 255
    sheet[top : top + height : 32, left + width - 3 : left + width] = 255
    framed = read_back(sheet, bar_at((left - 1, top - 1, width + 2, height + 2)), tmp_path)
    np.testing.assert_allclose(framed.values, bare.values, atol=(HIGH - LOW) / 255)


def test_the_ends_of_the_bar_count_as_saturation(tmp_path):
    celsius = scene()
    celsius[:10, :20], celsius[-10:, :30] = HIGH, LOW
    sheet, box = page(celsius, BRIGHTENING)
    picture = read_back(sheet, bar_at(box), tmp_path)
    found = calibrate(picture, RadianceSettings(), Context(view=View(thermogram="one")))
    assert (found.saturated_high, found.saturated_low) == (200, 300)
    assert "saturates" in statistics(found)["max"].method


@pytest.mark.parametrize(
    "box",
    [
        (-1, 0, 10, 90),
        (0, 0, 0, 90),
        (0, 0, 10, 0),
        (0, 0, 10, -5),
        (501, 0, 40, 90),
        (0, 300, 10, 90),
        (10**9, 0, 10**9, 9),
    ],
)
@pytest.mark.parametrize("which", ["box", "picture", "overlays"])
def test_boxes_outside_the_picture_are_refused(tmp_path, box, which):
    sheet, good = page(scene(), ROUND)
    bar = bar_at(box) if which == "box" else bar_at(good, **{which: (box,) if which == "overlays" else box})
    assert refusal(sheet, bar, tmp_path) == "colour-bar-outside"


def test_bars_that_say_nothing_are_refused(tmp_path):
    sheet, (left, top, width, _) = page(scene(), ROUND)
    assert refusal(sheet, bar_at((left, top, width, 9)), tmp_path) == "colour-bar-short"
    assert refusal(sheet, bar_at((left, top, width, 40), "right"), tmp_path) == "colour-bar-constant"
    there_and_back = ramp((0, 0, 0), (255, 255, 255), (0, 0, 0))
    half_flat = ramp((0, 0, 128), (0, 0, 0), (0, 0, 0))
    for colours in (there_and_back, half_flat):
        sheet, box = page(scene(), colours)
        assert refusal(sheet, bar_at(box), tmp_path) == "colour-bar-ambiguous"
    constant = ramp((90, 90, 90), (91, 90, 90))
    sheet, box = page(scene(), constant)
    assert refusal(sheet, bar_at(box), tmp_path) == "colour-bar-constant"


@pytest.mark.parametrize(
    "ends", [(20.0, 20.0), (30.0, 20.0), (-300.0, 20.0), (float("nan"), 20.0), (20.0, float("inf"))]
)
def test_ends_that_do_not_rise_are_refused(tmp_path, ends):
    sheet, box = page(scene(), ROUND)
    assert refusal(sheet, ColourBar(box, ends), tmp_path) == "colour-bar-ends"


def test_a_bar_of_other_colours_leaves_nothing(tmp_path):
    sheet, box = page(scene(), BRIGHTENING)
    sheet[:HEIGHT, :WIDTH] = (0, 255, 0)
    assert refusal(sheet, bar_at(box), tmp_path) == "no-values"


def test_without_a_bar_colours_are_still_refused(tmp_path, refused):
    sheet, _ = page(scene(), ROUND)
    Image.fromarray(sheet).save(tmp_path / "b.png")
    assert refused(tmp_path / "b.png") == "colour-picture"


def test_through_calibration_the_bounds_are_wider_and_the_bar_is_in_the_budget(tmp_path):
    celsius = scene()
    sheet, box = page(celsius, BRIGHTENING)
    view = {
        "thermogram": "one",
        "emissivity": Quantity.normal(0.95, "1", 0.01),
        "reflected": Quantity.normal(20, "degC", 1),
    }
    context = Context(view=View(**view), camera=Camera(noise=0.05, accuracy=0.2))
    recovered = read_back(sheet, bar_at(box, standard=0.5), tmp_path, format="JPEG", quality=75, subsampling=2)
    bar, direct = (calibrate(one, RadianceSettings(), context) for one in (recovered, Picture(celsius + ZERO, True)))
    ours, theirs = statistics(bar), statistics(direct)
    for name in ("mean", "median", "p95", "max", "min"):
        assert ours[name].unit == "degC"
        assert ours[name].half_width > theirs[name].half_width
    assert ours["mean"].value == pytest.approx(theirs["mean"].value, abs=0.3)
    lines = {line.name: line for line in budget(bar)}
    assert {"colour bar, single pixel", "colour bar, cold end", "colour bar, warm end"} <= set(lines)
    assert lines["colour bar, warm end"].correlated and not lines["colour bar, single pixel"].correlated
    # At the middle of the bar either end counts half (before the correction for emissivity, which adds 5 %).
    share = (float(np.mean(celsius)) - LOW) / (HIGH - LOW)
    assert lines["colour bar, warm end"].effect == pytest.approx(recovered.read_shared * share, rel=0.15)
    assert bar.noise() > direct.noise()


def entry(**more) -> ScaleEntry:
    given_ends = more.pop("ends", (Quantity.exact(18.2, "degC"), Quantity.exact(31.4, "degC")))
    return ScaleEntry(bar=ColourBarEntry((1, 2, 10, 200), given_ends, **more))


def test_the_manifest_reaches_the_reader():
    found = view_of(ThermogramEntry(file="a.png", scale=entry(overlays=((1, 1, 2, 2),)))).colour_bar
    assert found == ColourBar((1, 2, 10, 200), (18.2, 31.4), 0.1 / 12**0.5, "up", None, ((1, 1, 2, 2),))
    assert view_of(ThermogramEntry(file="a.png")).colour_bar is None


def test_the_ends_carry_their_rounding():
    """Rounding to a step has the standard uncertainty step / sqrt(12) (GUM 4.3.7)."""
    whole = colour_bar_of(entry(ends=(Quantity.exact(18.0, "degC"), Quantity.exact(31.0, "degC"))))
    assert whole.standard == pytest.approx(1 / 12**0.5)
    fahrenheit = colour_bar_of(entry(ends=(Quantity.exact(20 / 1.8, "degC"), Quantity.exact(45 / 1.8, "degC"))))
    assert fahrenheit.standard == pytest.approx(5 / 9 / 12**0.5)
    stated = colour_bar_of(entry(ends=(Quantity.normal(18.0, "degC", 0.3), Quantity.exact(31.0, "degC"))))
    assert stated.standard == pytest.approx(0.3)
    wide = ColourBarEntry((0, 0, 200, 10), (Quantity.exact(1.0, "degC"), Quantity.exact(2.0, "degC")))
    assert colour_bar_of(ScaleEntry(bar=wide)).runs == "right"


BAD = {
    "box: [600, 20, 16, 440], ends: [31 degC, 12.4 degC]": "colour-bar",
    "box: [600, 20, 0, 440], ends: [12.4 degC, 31 degC]": "colour-bar",
    "box: [600, 20, 16, 440], ends: [12.4, 31]": "",
    "box: [600, 20, 16], ends: [12.4 degC, 31 degC]": "wrong-length",
    "box: [600, 20, 16, -4], ends: [12.4 degC, 31 degC]": "",
    "ends: [12.4 degC, 31 degC]": "missing-key",
    "box: [600, 20, 16, 440], ends: [12.4 degC, 31 degC], runs: sideways": "",
}


@pytest.mark.parametrize("bar", BAD)
def test_a_wrong_bar_in_the_manifest_is_reported_with_its_place(survey, heatbrief, bar):
    outcome = heatbrief("check", survey(MANIFEST.format(scale=f"bar: {{{bar}}}"), {}))
    assert outcome.code == 2 and "survey.yaml:4:" in outcome.err and BAD[bar] in outcome.err


def test_a_scale_is_given_in_one_way(survey, heatbrief):
    bar = "bar: {box: [600, 20, 16, 440], ends: [12.4 degC, 31 degC]}"
    for other in ("values: degC", "kelvin_per_count: 0.1"):
        outcome = heatbrief("check", survey(MANIFEST.format(scale=f"{other}, {bar}"), {}))
        assert outcome.code == 2 and "scale-twice" in outcome.err


def test_a_survey_of_one_colour_picture_is_analysed(survey, heatbrief, tmp_path):
    sheet, box = page(scene(), BRIGHTENING)
    data = io.BytesIO()
    Image.fromarray(sheet).save(data, format="JPEG", quality=90)
    ends = f"[{LOW} +- 0.05 degC, {HIGH} +- 0.05 degC]"
    bar = f"bar: {{box: {list(box)}, ends: {ends}, picture: [0, 0, {WIDTH}, {HEIGHT}]}}"
    folder = survey(MANIFEST.format(scale=bar), {"a.jpg": data.getvalue()})
    assert heatbrief("run", folder, "--out", tmp_path / "out").code in (0, 1)
    text = (tmp_path / "out" / "colours" / "results.json").read_text("utf-8")
    assert '"status":"analysed"' in text and "colour bar, single pixel" in text


MANIFEST = """\
format: 1
property: {{name: Colours}}
inspect: [envelope]
thermograms: [{{file: a.jpg, shows: wall, scale: {{{scale}}}}}]
"""
