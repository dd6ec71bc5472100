"""Lens shading and fixed pattern: only what frames agree on is removed, and what stays is counted as an error."""

from __future__ import annotations

import numpy as np
import pytest
import tifffile
from heatbrief.api import Camera, Context, StepError, View
from heatbrief.calibrate.flat_field import LEAST_SCENES, parts_of, shading_of, without_shading
from heatbrief.calibrate.radiance import calibrate
from heatbrief.calibrate.settings import RadianceSettings
from heatbrief.detect import difference, read_region
from heatbrief.model.quantity import Quantity
from heatbrief.model.thermogram import Picture
from heatbrief.testing import Imager, Scene, render
from heatbrief.testing.parts import Patch

STEP = 0.01
HEIGHT, WIDTH = 120, 160


def camera(shading_k: float = 1.5) -> np.ndarray:
    """What a camera adds, in K: shading that grows with the square of the radius, and a pattern of single pixels."""
    y, x = np.linspace(-1, 1, HEIGHT)[:, None], np.linspace(-1, 1, WIDTH)[None, :]
    pixels = np.random.default_rng(5).normal(0, 0.1, (HEIGHT, WIDTH))
    return shading_k * (x**2 + y**2) / 2 + pixels


def picture(
    added: np.ndarray | float, *parts: Patch, name: str = "a", mottle_k: float = 0.0, base_c: float = 20.0
) -> Picture:
    scene = Scene(
        name=name,
        width=WIDTH,
        height=HEIGHT,
        base_c=base_c,
        reflected_c=base_c,
        air_c=base_c,
        mottle_k=mottle_k,
        mottle_px=25.0,
        imager=Imager(noise_k=0.05, kelvin_per_count=STEP),
        parts=parts,
    )
    counts = render(scene).counts + np.rint(np.asarray(added) / STEP)
    return Picture(counts.astype(np.uint16), False, (STEP, 0.0), 0.0, 65535.0)


def unevenness(values: np.ndarray) -> float:
    return float(np.std(values)) * STEP


def calibrated(one: Picture, field, **settings):
    context = Context(
        camera=Camera(noise=0.05, accuracy=2.0, flat_field=field),
        view=View(thermogram="one", emissivity=Quantity.exact(1.0, "1")),
    )
    return calibrate(one, RadianceSettings(**settings), context)


def test_four_frames_of_an_even_surface_remove_what_the_camera_adds():
    field = shading_of([picture(camera(), name=f"frame {number}", base_c=18.0 + number) for number in range(4)])
    true = camera() - np.median(camera())
    assert np.std(field.pattern * STEP - true) < 0.15 * np.std(true)
    done, _ = without_shading(picture(camera(), name="other"), field)
    # What stays is the picture's own noise of 0.05 K and that of the mean of four frames.
    assert unevenness(done.values) < 1.25 * 0.05 < unevenness(picture(camera(), name="other").values)
    assert field.smooth * STEP < 0.03


def test_the_scene_s_own_contrast_survives():
    field = shading_of([picture(camera(), name=f"frame {number}") for number in range(3)])
    patch = Patch(name="cold corner", box=(5, 5, 30, 30), rise_k=-1.2)
    done, _ = without_shading(picture(camera(), patch), field)
    plain = picture(0.0, patch)
    for values in (done.values, plain.values):
        inside, beside = values[10:30, 10:30].mean(), values[60:100, 60:100].mean()
        assert (inside - beside) * STEP == pytest.approx(-1.2, abs=0.08)


def test_frames_that_disagree_are_not_used_and_their_size_is_the_error():
    field = shading_of([picture(camera(1.5)), picture(camera(-1.5), name="b")])
    assert "do not agree" in field.notes[0]
    assert field.smooth * STEP == pytest.approx(np.std(1.5 * parts_of(camera(1.0)).slow), rel=0.15)
    slow = parts_of(np.asarray(field.pattern, float)).slow
    assert np.std(slow) < 0.1 * np.std(parts_of(camera() / STEP).slow)


def test_frames_without_anything_in_common_leave_the_counts_as_they_are():
    _y, x = np.mgrid[0:HEIGHT, 0:WIDTH]
    frames = [Picture((29000 + sign * 2 * x).astype(np.uint16), False, (STEP, 0.0)) for sign in (1, -1)]
    one = picture(camera(), name="other")
    done, notes = without_shading(one, shading_of(frames))
    assert done.values is one.values and "do not agree" in notes[0]
    assert next(source.name for source in done.errors) == "lens shading"


def test_one_frame_is_taken_and_doubted():
    field = shading_of([picture(camera())])
    assert "name two or more" in field.notes[0] and field.smooth * STEP > 0.2
    done, _ = without_shading(picture(camera(), name="other"), field)
    assert unevenness(done.values) < 0.5 * unevenness(picture(camera(), name="other").values)


def test_ordinary_pictures_show_the_camera_when_there_are_enough():
    rng = np.random.default_rng(8)
    pictures = []
    for number in range(16):
        box = (int(rng.integers(0, 110)), int(rng.integers(0, 70)), 45, 40)
        parts = (Patch(name="thing", box=box, rise_k=float(rng.normal(0, 2))),)
        pictures.append(picture(camera(2.5), *parts, name=f"scene {number}", mottle_k=0.2))
    field = shading_of(pictures, "many scenes")
    y, x = np.mgrid[-1.0 : 1.0 : HEIGHT * 1j, -1.0 : 1.0 : WIDTH * 1j]
    terms = np.column_stack([np.ones(x.size), x.ravel(), y.ravel()])
    true = camera(2.5).ravel()
    true = (true - terms @ np.linalg.lstsq(terms, true, rcond=None)[0]).reshape(HEIGHT, WIDTH)
    true -= np.median(true)
    assert np.std(field.pattern * STEP - true) < 0.45 * np.std(true)
    with pytest.raises(StepError, match="at least 8"):
        shading_of(pictures[: LEAST_SCENES - 1], "many scenes")


def test_the_step_removes_it_says_so_and_carries_the_error():
    field = shading_of([picture(camera(), name=f"frame {number}") for number in range(2)])
    one = picture(camera(), name="other")
    found, raw = calibrated(one, field), calibrated(one, field, flat_field=False)
    assert found.values.std() < 0.25 * raw.values.std()
    assert any("flat field of" in note for note in found.facts["notes"])
    assert not any("flat field" in note for note in raw.facts["notes"])
    assert {"lens shading"} <= {source.name for source in found.errors[0]}


def test_shading_cancels_between_neighbours_and_not_across_the_picture():
    field = shading_of([picture(camera(1.0)), picture(camera(-1.0), name="b")])
    found = calibrated(picture(camera(1.0), name="other"), field)
    masks = [np.zeros(found.shape, bool) for _ in range(3)]
    for mask, at in zip(masks, (10, 18, 140), strict=True):
        mask[50:58, at : at + 8] = True
    first, beside, across = (read_region(found, mask) for mask in masks)
    near, far = difference(first, beside), difference(first, across)
    (source,) = (one for one in found.errors[0] if one.name == "lens shading")
    assert near.standard < source.standard
    assert far.standard == pytest.approx(np.hypot(2**0.5 * source.standard, near.standard * 0.2), rel=0.1)


def test_frames_that_do_not_fit_are_named():
    field = shading_of([picture(camera()), picture(camera(), name="b")])
    small = Picture(np.full((60, 80), 29000, np.uint16), False, (STEP, 0.0))
    done, notes = without_shading(small, field)
    assert done is small and "size" in notes[-1]
    with pytest.raises(StepError, match="differ"):
        shading_of([picture(camera()), small])
    with pytest.raises(StepError, match="no frame"):
        shading_of([])
    with pytest.raises(StepError, match="too many or too large"):
        shading_of([picture(0.0)] * 4000)


def test_counts_and_kelvin_are_brought_together():
    frames = [picture(camera(), name=f"frame {number}") for number in range(2)]
    in_kelvin = shading_of([Picture(one.values * STEP, True) for one in frames])
    one = picture(camera(), name="other")
    first, second = (without_shading(one, field)[0].values for field in (shading_of(frames), in_kelvin))
    assert np.allclose(first, second, atol=0.02)


def test_two_real_flat_frames_of_one_camera_share_nothing_and_nothing_is_removed(measurements):
    """Open data, an uncooled camera before an even target, 75 s apart: nothing of its pattern repeats.

    Correlation of the two frames, computed from the data: slow shading -0.40, columns -0.04, single pixels 0.02. Taking
    one frame off the other, as is usual with a flat field, makes it worse: 0.42 K of unevenness become 0.51 K.
    """
    frames = [tifffile.imread(path) for path in sorted(measurements("castle-wall").glob("flat_*.tiff"))]
    naive = frames[1].astype(float) - frames[0]
    assert np.std(naive) > 1.2 * np.std(frames[1])
    field = shading_of([Picture(one, False, (1 / 40, 173.15)) for one in frames])
    assert "do not agree" in field.notes[0] and 0.2 < field.smooth / 40 < 0.5
    done, notes = without_shading(Picture(frames[1], False, (1 / 40, 173.15)), field)
    assert 0.9 * np.std(frames[1]) < np.std(done.values) <= np.std(frames[1])
    assert any("do not agree" in note for note in notes)
    assert next(one for one in done.errors if one.name == "lens shading").standard > 0.2


def test_a_published_shading_estimate_is_applied_as_it_is(measurements):
    """River frames, open data: the authors' corrected frame is the raw frame less their one estimate of the shading.

    Their estimate from one pair of frames, used as the flat field of another frame, gives their corrected frame.
    """
    folder = measurements("river-warm-inflow")
    read = {
        name: tifffile.imread(folder / f"{name}16.tiff").astype(float)
        for name in ("110330_raw", "110330_biasremoved", "110354_raw", "110354_biasremoved")
    }
    estimate = read["110330_raw"] - read["110330_biasremoved"]
    field = shading_of([Picture(5000 + estimate, False), Picture(5600 + estimate, False)])
    done, _ = without_shading(Picture(read["110354_raw"], False), field)
    difference_left = done.values - read["110354_biasremoved"]
    assert np.std(difference_left) < 0.05 * np.std(estimate)
