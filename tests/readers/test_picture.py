"""PNG and JPEG: counts, grey levels, false colours, sizes."""

from __future__ import annotations

import struct
import zlib

import imagecodecs
import numpy as np
import pytest
from PIL import Image


def test_sixteen_bits(tmp_path, counts, read):
    ours, other = tmp_path / "a.png", tmp_path / "b.png"
    Image.fromarray(counts).save(ours)
    other.write_bytes(imagecodecs.png_encode(counts))
    for path in (ours, other):
        picture = read(path, scale=(0.01, 0.0))
        np.testing.assert_array_equal(picture.values, counts)
        assert (picture.values.dtype, picture.scale, picture.kelvin, picture.ceiling) == (
            np.uint16,
            (0.01, 0.0),
            False,
            65535.0,
        )


@pytest.mark.parametrize("mode", ["L", "P", "RGB", "LA", "RGBA"])
def test_grey_in_every_dress_is_the_same_counts(tmp_path, counts, read, mode):
    grey = (counts >> 8).astype(np.uint8)
    path = tmp_path / "a.png"
    Image.fromarray(grey).convert(mode).save(path)
    picture = read(path)
    np.testing.assert_array_equal(picture.values, grey)
    assert not picture.kelvin and picture.scale is None and picture.ceiling == 255.0


@pytest.mark.parametrize("suffix", [".png", ".jpg"])
def test_false_colours_are_refused(tmp_path, counts, refused, suffix):
    ramp = np.tile(np.arange(256, dtype=np.uint8), (64, 1))
    path = tmp_path / f"a{suffix}"
    Image.fromarray(np.stack([ramp, 255 - ramp, ramp // 2], axis=-1)).save(path)
    assert refused(path) == "colour-picture"


def test_a_palette_of_colours_is_refused(tmp_path, refused):
    image = Image.fromarray(np.tile(np.arange(256, dtype=np.uint8), (16, 1)))
    image = image.convert("P")
    image.putpalette([value for level in range(256) for value in (level, 255 - level, 7)])
    image.save(tmp_path / "a.png")
    assert refused(tmp_path / "a.png") == "colour-picture"


def test_grey_tinted_by_lossy_compression_is_read_and_noted(tmp_path, read):
    ramp = np.tile(np.arange(256, dtype=np.int16), (64, 1))
    tinted = np.clip(np.stack([ramp + 3, ramp, ramp - 3], axis=-1), 0, 255).astype(np.uint8)
    path = tmp_path / "a.png"
    Image.fromarray(tinted).save(path)
    picture = read(path)
    assert np.abs(picture.values.astype(int) - ramp).max() <= 3 and "lossy" in picture.notes[0]


def test_a_nearly_black_coloured_picture_is_not_taken_for_grey(tmp_path, refused):
    rng = np.random.default_rng(3)
    Image.fromarray(rng.integers(0, 10, (32, 32, 3)).astype(np.uint8)).save(tmp_path / "a.png")
    assert refused(tmp_path / "a.png") == "colour-picture"


def test_a_jpeg_of_one_channel_is_grey_counts(tmp_path, counts, read):
    path = tmp_path / "a.jpeg"
    Image.fromarray((counts >> 8).astype(np.uint8)).save(path)
    assert read(path).values.dtype == np.uint8


def test_sixteen_bit_colours_are_not_cut_to_eight(tmp_path, counts, refused):
    path = tmp_path / "a.png"
    path.write_bytes(imagecodecs.png_encode(np.stack([counts] * 3, axis=-1)))
    assert refused(path) == "colour-picture"


def test_transparency_in_part_is_refused(tmp_path, counts, refused):
    grey = (counts >> 8).astype(np.uint8)
    alpha = np.where(np.arange(64) < 10, 0, 255).astype(np.uint8) * np.ones((48, 1), np.uint8)
    Image.fromarray(np.stack([grey, grey, grey, alpha], axis=-1)).save(tmp_path / "a.png")
    assert refused(tmp_path / "a.png") == "picture-layout"


def test_a_bomb_is_refused_by_its_header(tmp_path, refused):
    """A PNG of 60000 x 60000 pixels in a few hundred bytes, after the PNG specification (ISO/IEC 15948)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", 60000, 60000, 16, 0, 0, 0, 0)
    path = tmp_path / "a.png"
    path.write_bytes(
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")
    )
    assert refused(path) == "too-large"


def test_few_grey_levels_and_short_files_are_refused(tmp_path, counts, refused):
    Image.fromarray(counts > 30000).save(tmp_path / "one.png")
    assert refused(tmp_path / "one.png") == "picture-layout"
    Image.fromarray(counts).save(tmp_path / "a.png")
    data = (tmp_path / "a.png").read_bytes()
    (tmp_path / "cut.png").write_bytes(data[: len(data) // 2])
    assert refused(tmp_path / "cut.png") in ("truncated", "damaged")


def test_another_page_does_not_exist(tmp_path, counts, refused):
    Image.fromarray(counts).save(tmp_path / "a.png")
    assert refused(tmp_path / "a.png", page=1) == "no-such-page"
