"""Pictures of one view brought over each other, and the drift of a camera over a sequence."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.detect.drift import STEP, drift_of, steadiness_notes
from heatbrief.detect.registration import aligned, shifts
from heatbrief.errors import StepError
from heatbrief.testing import run_step
from scipy.ndimage import gaussian_filter, shift

ROOM = 40
SHAPE = (120, 160)


def view(seed: int = 1) -> np.ndarray:
    """A textured wall with a warm window, larger than any picture of it [K]."""
    fine = gaussian_filter(np.random.default_rng(seed).normal(size=(SHAPE[0] + 2 * ROOM, SHAPE[1] + 2 * ROOM)), 1.2)
    fine[70:120, 90:150] += 1.0
    return 293.15 + gaussian_filter(3.0 * fine, 0.5)


def seen(wall: np.ndarray, y: float, x: float, noise: float = 0.05, seed: int = 0) -> np.ndarray:
    """What a camera sees that moved so that the picture has to be moved by (y, x) to lie on the first."""
    moved = shift(wall, (-y, -x), order=5, mode="nearest")[ROOM:-ROOM, ROOM:-ROOM]
    return moved + np.random.default_rng([seed, int(1000 * abs(y)), int(1000 * abs(x))]).normal(0, noise, SHAPE)


@pytest.mark.parametrize(("y", "x"), [(0.0, 0.0), (0.3, -0.45), (3.4, -7.25), (-12.5, 9.1), (21.0, 0.5)])
def test_known_shifts_are_found_to_a_twentieth_of_a_pixel(y, x):
    wall = view()
    none, found = shifts([seen(wall, 0, 0), seen(wall, y, x) + 0.7])
    assert (none.x, none.y) == (0.0, 0.0)
    assert found.found and found.y == pytest.approx(y, abs=0.05) and found.x == pytest.approx(x, abs=0.05)


def test_it_agrees_with_a_reference_library_on_whole_pixels():
    """Largest circular cross-correlation by numpy.fft, on a picture rolled by whole pixels."""
    first = view()[ROOM:-ROOM, ROOM:-ROOM]
    other = np.roll(first, (5, -9), (0, 1))
    detail = first - gaussian_filter(first, 6), other - gaussian_filter(other, 6)
    peak = np.fft.ifft2(np.fft.fft2(detail[0]) * np.conj(np.fft.fft2(detail[1]))).real
    expected = [
        at if at <= side // 2 else at - side
        for at, side in zip(np.unravel_index(peak.argmax(), SHAPE), SHAPE, strict=True)
    ]
    found = shifts([first, other])[1]
    assert [found.y, found.x] == pytest.approx(expected, abs=0.05)


def test_masked_pixels_and_a_gradient_do_not_disturb():
    wall = view()
    first, other = seen(wall, 0, 0), seen(wall, 2.2, -3.6) + np.linspace(0, 2, SHAPE[1])
    other[30:40, 100:120] = np.nan
    found = shifts([first, other])[1]
    assert found.y == pytest.approx(2.2, abs=0.1) and found.x == pytest.approx(-3.6, abs=0.1)


def test_noise_and_another_view_give_no_shift():
    rng = np.random.default_rng(4)
    for first, other in (
        (rng.normal(size=SHAPE), rng.normal(size=SHAPE)),
        (seen(view(1), 0, 0), rng.normal(size=SHAPE)),
        (np.ones(SHAPE), np.ones(SHAPE)),
    ):
        found = shifts([first, other])[1]
        assert (found.x, found.y) == (0.0, 0.0) and found.residual == found.before


def test_pictures_of_two_sizes_are_refused_and_tiny_ones_left_alone():
    with pytest.raises(StepError, match="size"):
        shifts([np.zeros((20, 30)), np.zeros((30, 20))])
    assert not any(one.found for one in shifts([np.zeros((4, 4)), np.zeros((4, 4))]))
    assert shifts([]) == ()


def test_aligned_pictures_show_the_same_place(make):
    wall = view()
    places = [(0.0, 0.0), (0.0, 4.0), (-2.5, 1.5)]
    pictures = [
        make.thermogram(seen(wall, y, x), name=f"frame-{number}", zones=np.zeros(SHAPE, np.uint8))
        for number, (y, x) in enumerate(places)
    ]
    done = aligned(pictures)
    assert done[0].values is pictures[0].values and done[1].facts["shift"] == pytest.approx((4.0, 0.0), abs=0.05)
    for before, after in zip(pictures[1:], done[1:], strict=True):
        valid = after.valid
        assert valid.mean() > 0.9 and not valid.all() and after.zones.shape == SHAPE
        off = [np.std((one.values - pictures[0].values)[valid]) for one in (before, after)]
        assert off[1] < 0.15 * off[0]


def sequence(make, drift, moved=(), start="2026-01-10T08:00:00"):
    wall = view()
    frames = []
    for number, step in enumerate(drift):
        y, x = moved[number] if moved else (0.0, 0.0)
        frames.append(
            make.thermogram(
                seen(wall, y, x, seed=number) + step, name=f"frame-{number}", taken=f"2026-01-10T08:{number:02d}:00"
            )
        )
    return tuple(frames)


def test_a_common_drift_is_measured(make):
    truth = [0.0, 0.1, 0.25, 0.4, 0.3]
    found = drift_of(sequence(make, truth))
    assert found.median == pytest.approx(truth, abs=3 * found.standard.max()) and not found.declared
    assert found.seconds.tolist() == [0, 60, 120, 180, 240] and found.significant
    assert "cannot be told apart" in found.note()


def test_a_constant_region_tells_the_camera_from_the_scene(make):
    frames = sequence(make, [0.0, 0.0, 0.0])
    warming = frames[-1].values.copy()
    warming[:, :100] += 3.0
    from dataclasses import replace

    frames = (*frames[:-1], replace(frames[-1], values=warming))
    plate = make.Region("taped plate", "frame-0", "box", ((110, 10), (150, 110)), facts={"constant": "yes"})
    assert drift_of(frames, (plate,)).declared and not drift_of(frames, (plate,)).significant
    assert drift_of(frames).median[-1] == pytest.approx(3.0, abs=0.1)


def test_the_step_says_what_moved_and_drifted_and_nothing_about_a_steady_sequence(make):
    moving = sequence(make, [0.0, 0.5, 0.5], [(0, 0), (0, 0), (6.0, -2.0)])
    notes = run_step(STEP, moving).notes
    assert "the camera moved: frame-2 lies 6.3 pixels" in notes[0] and "+0.5 K" in notes[1]
    assert run_step(STEP, sequence(make, [0.0, 0.0, 0.0])).notes == ()
    assert steadiness_notes(moving) == notes


def test_frames_from_a_rooftop_24_seconds_to_a_minute_and_a_half_apart(measurements):
    """Open data, fixed camera: within 0.15 pixels; cut out with a known offset, that offset comes back."""
    for name in ("view1", "view2"):
        frames = [
            np.loadtxt(path, delimiter=",") for path in sorted(measurements("facade-observatory").glob(f"{name}_*.csv"))
        ]
        assert all(one.found and one.length < 0.15 for one in shifts(frames))
        found = shifts([frames[0][5:-7, 3:-9], frames[1][8:-4, 1:-11]])[1]
        assert found.y == pytest.approx(3.0, abs=0.15) and found.x == pytest.approx(-2.0, abs=0.15)
