"""Frames of videos: what was put in comes out, colours by their bar, and only StepErrors for hostile bytes."""

from __future__ import annotations

import builtins
import io

import numpy as np
import pytest
from heatbrief.api import ColourBar, Context, NoSettings, StepError, View
from heatbrief.manifest.glance import page_count
from heatbrief.model.thermogram import Picture
from heatbrief.readers import STEPS, video
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

av = pytest.importorskip("av", reason="the extra `video` is not installed")

FRAMES = np.random.default_rng(5).integers(20000, 40000, (7, 48, 64)).astype(np.uint16)
FORMS = {".mp4": "mp4", ".mov": "mov", ".mkv": "matroska", ".avi": "avi"}


def film(suffix: str, codec: str, kind: str, frames, given_as: str, rate: int = 5, **options) -> bytes:
    stream = io.BytesIO()
    with av.open(stream, "w", format=FORMS[suffix]) as container:
        track = container.add_stream(codec, rate=rate, options=options)
        track.height, track.width = frames[0].shape[:2]
        track.pix_fmt = kind
        for one in frames:
            container.mux(track.encode(av.VideoFrame.from_ndarray(np.ascontiguousarray(one), format=given_as)))
        container.mux(track.encode())
    return stream.getvalue()


def smooth(number: int) -> np.ndarray:
    """An 8-bit grey picture that lossy coding keeps well; each number is a little brighter."""
    y, x = np.mgrid[0:48, 0:64]
    return (30 + 1.5 * x + 0.8 * y + 6 * number).astype(np.uint8)


LOSSY = [np.repeat(smooth(number)[..., None], 3, axis=2) for number in range(12)]


@pytest.mark.parametrize("page", [0, 3, 6])
def test_sixteen_bits_without_loss_come_out_as_they_went_in(tmp_path, read, page):
    path = tmp_path / "a.mkv"
    path.write_bytes(film(".mkv", "ffv1", "gray16le", FRAMES, "gray16le"))
    found = read(path, page=page)
    np.testing.assert_array_equal(found.values, FRAMES[page])
    assert (found.kelvin, found.scale, found.floor, found.ceiling) == (False, None, 0.0, 65535.0)
    assert read(path, page=page, scale=(0.01, 0.0)).scale == (0.01, 0.0)


@pytest.mark.parametrize(
    ("suffix", "codec", "options"),
    [
        (".mp4", "libx264", {"g": "5", "bf": "2"}),
        (".mov", "mpeg4", {}),
        (".mkv", "mpeg4", {"bf": "2"}),
        (".avi", "mjpeg", {}),
        (".avi", "mpeg4", {"bf": "2"}),
    ],
)
def test_the_frame_asked_for_is_the_one_that_comes(tmp_path, read, suffix, codec, options):
    path = tmp_path / f"a{suffix}"
    kind = "yuvj420p" if codec == "mjpeg" else "yuv420p"
    path.write_bytes(film(suffix, codec, kind, LOSSY, "rgb24", b="8000000", **options))
    assert page_count(path) == len(LOSSY)
    for page in (7, 0, 11, 4):
        found = read(path, page=page)
        levels = [np.abs(found.values.astype(float) - smooth(one)).mean() for one in range(len(LOSSY))]
        assert int(np.argmin(levels)) == page and min(levels) < 2.5
        assert found.scale is None and not found.kelvin


def test_moments_follow_from_the_name_and_the_frames(tmp_path, read):
    path = tmp_path / "cupboard 2026-07-14 16.20.00.mkv"
    path.write_bytes(film(".mkv", "ffv1", "gray16le", FRAMES, "gray16le", rate=2))
    assert [read(path, page=page).taken[:23] for page in (0, 5)] == ["2026-07-14T16:20:00", "2026-07-14T16:20:02.500"]


def coloured(values: np.ndarray) -> np.ndarray:
    """A picture of 120 x 160 shares in our own colours, with their bar of 10 x 100 at its right."""
    wide = np.full((120, 192), 0.0)
    wide[:, :160] = values
    wide[10:110, 170:180] = np.linspace(1.0, 0.0, 100)[:, None]
    at = np.array([0.0, 0.35, 0.7, 1.0])
    colours = np.array([(10, 10, 90), (150, 30, 140), (250, 130, 40), (255, 250, 200)], float)
    picture = np.stack([np.interp(wide, at, colours[:, one]) for one in range(3)], axis=-1)
    picture[:, 160:170] = picture[:, 180:] = 0.0
    return np.rint(picture).astype(np.uint8)


@pytest.mark.parametrize(
    ("suffix", "codec", "kind", "options"),
    [
        (".avi", "ffv1", "bgr0", {}),
        (".mp4", "libx264", "yuv420p", {"crf": "18"}),
        (".mkv", "mpeg4", "yuv420p", {"b": "4M"}),
    ],
)
def test_a_colour_bar_gives_temperatures_within_the_error_stated(tmp_path, read, suffix, codec, kind, options):
    y, x = np.mgrid[0:120, 0:160]
    truth = [0.15 + 0.5 * x / 160 + 0.3 * np.exp(-((x - 60 - 4 * n) ** 2 + (y - 60) ** 2) / 600) for n in range(3)]
    frames = [coloured(one) for one in truth]
    path = tmp_path / f"bar{suffix}"
    path.write_bytes(film(suffix, codec, kind, frames, "rgb24", **options))
    bar = ColourBar((170, 10, 10, 100), (10.0, 30.0), 0.03, "up", (0, 0, 160, 120), ())
    found = read(path, page=2, colour_bar=bar)
    error = found.values - (283.15 + 20.0 * truth[2])
    good = np.isfinite(error)
    assert found.kelvin and good.mean() > 0.8 and found.values.shape == (120, 160)
    stated = float(np.hypot(found.read_error, found.read_shared))
    assert float(np.sqrt(np.mean(error[good] ** 2))) < 1.5 * stated and stated < 1.0


def test_colours_without_a_bar_are_refused(tmp_path, refused):
    path = tmp_path / "a.mkv"
    path.write_bytes(film(".mkv", "mpeg4", "yuv420p", [coloured(np.full((120, 160), 0.5))], "rgb24"))
    assert refused(path) == "colour-picture"
    assert refused(path, page=1) == "no-such-page"


def test_another_file_behind_the_ending_is_refused_and_never_followed(tmp_path, refused):
    """A list of addresses, which decoders of video follow when they are let, and other kinds of file."""
    (tmp_path / "real.mkv").write_bytes(film(".mkv", "ffv1", "gray16le", FRAMES, "gray16le"))
    lists = (
        b"#EXTM3U\n#EXT-X-TARGETDURATION:10\n#EXTINF:10,\nreal.mkv\n#EXT-X-ENDLIST\n",
        b"ffconcat version 1.0\nfile real.mkv\n",
        b"\x89PNG\r\n\x1a\n" + bytes(50),
    )
    for suffix in FORMS:
        for text in lists:
            path = tmp_path / f"list{suffix}"
            path.write_bytes(text)
            assert refused(path) in ("damaged", "truncated")
            assert page_count(path) == 0


def test_limits_hold_before_anything_is_decoded(tmp_path, refused, monkeypatch):
    path = tmp_path / "a.mkv"
    path.write_bytes(film(".mkv", "ffv1", "gray16le", FRAMES, "gray16le"))
    monkeypatch.setattr(video, "_frame", None)
    monkeypatch.setattr(video, "MOST_FRAMES", 6)
    assert refused(path) == "too-large"
    monkeypatch.setattr("heatbrief.readers.limits.MOST_PIXELS", 48 * 64 - 1)
    assert refused(path) == "too-large"


def test_without_the_decoder_the_way_out_is_told(tmp_path, monkeypatch):
    path = tmp_path / "a.mp4"
    path.write_bytes(b"anything")
    real = builtins.__import__

    def without(name, *rest, **more):
        if name == "av":
            raise ImportError("no module named av")
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(StepError) as caught:
        video.STEP.run(path, NoSettings(), Context(view=View()))
    assert caught.value.code == "video-decoder-missing" and "extra `video`" in caught.value.remedy
    assert page_count(path) == 0


SAMPLES = {
    "a.mkv": film(".mkv", "ffv1", "gray16le", FRAMES[:3], "gray16le"),
    "a.mp4": film(".mp4", "libx264", "yuv420p", LOSSY[:4], "rgb24"),
    "a.avi": film(".avi", "mpeg4", "yuv420p", LOSSY[:4], "rgb24"),
}
BY_SUFFIX = {suffix: step for step in STEPS for suffix in step.suffixes}


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_damaged_bytes_give_a_picture_or_a_step_error(tmp_path, data):
    name = data.draw(st.sampled_from(sorted(SAMPLES)))
    raw = bytearray(SAMPLES[name])
    for at in data.draw(st.lists(st.integers(0, len(raw) - 1), max_size=12)):
        raw[at] = data.draw(st.integers(0, 255))
    path = tmp_path / name
    path.write_bytes(raw[: data.draw(st.integers(1, len(raw)))] if data.draw(st.booleans()) else raw)
    try:
        found = BY_SUFFIX[path.suffix].run(path, NoSettings(), Context(view=View(page=data.draw(st.integers(0, 4)))))
    except StepError as error:
        assert error.message and error.remedy
    else:
        assert all(isinstance(one, Picture) for one in found)
