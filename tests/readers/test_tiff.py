"""TIFF: kinds of values, compressions, byte orders, tiles, pages, and what is refused. Written by two libraries."""

from __future__ import annotations

import struct

import numpy as np
import pytest
import tifffile
from PIL import Image

COMPRESSIONS = [None, "zlib", "adobe_deflate", "lzw", "packbits", "lzma", "zstd"]


@pytest.mark.parametrize("compression", COMPRESSIONS)
@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("tile", [None, (16, 32)])
def test_whole_counts_come_back_unchanged(tmp_path, counts, read, compression, order, tile):
    path = tmp_path / "a.tiff"
    tifffile.imwrite(path, counts, compression=compression, byteorder=order, tile=tile, photometric="minisblack")
    picture = read(path)
    assert picture.values.dtype == np.uint16 and picture.values.dtype.isnative
    np.testing.assert_array_equal(picture.values, counts)
    assert (picture.kelvin, picture.scale, picture.floor, picture.ceiling) == (False, None, 0.0, 65535.0)


@pytest.mark.parametrize(("dtype", "predictor"), [("u2", 2), ("u1", 2), ("i2", 2), ("f4", 3), ("f8", 3)])
@pytest.mark.parametrize("compression", ["zlib", "lzw"])
def test_predictors(tmp_path, counts, read, dtype, predictor, compression):
    values = (counts // 300).astype(dtype)
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, values, compression=compression, predictor=predictor, photometric="minisblack")
    np.testing.assert_array_equal(read(path).values, values)


@pytest.mark.parametrize("dtype", ["f2", "f4", "f8"])
def test_floating_point_keeps_its_values_and_masks_the_rest(tmp_path, counts, read, dtype):
    values = (counts / 3000.0 + 273.0).astype(dtype)
    values[3, 4], values[5, 6] = np.nan, np.inf
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, values)
    picture = read(path, values_unit="kelvin")
    assert picture.kelvin and np.isnan(picture.values[3, 4]) and np.isnan(picture.values[5, 6])
    good = np.isfinite(values)
    np.testing.assert_array_equal(picture.values[good], values[good].astype(float))


@pytest.mark.parametrize(
    ("compression", "mode"),
    [
        ("raw", "I;16"),
        ("tiff_lzw", "I;16"),
        ("tiff_adobe_deflate", "I;16"),
        ("packbits", "I;16"),
        ("tiff_lzw", "F"),
        ("raw", "L"),
    ],
)
def test_files_of_another_library(tmp_path, counts, read, compression, mode):
    """Written by libtiff through Pillow, which shares no code with the decoder used here."""
    values = {"I;16": counts, "F": counts.astype(np.float32), "L": (counts >> 8).astype(np.uint8)}[mode]
    path = tmp_path / "a.tif"
    Image.fromarray(values).save(path, compression=compression)
    np.testing.assert_array_equal(read(path).values, values)


def test_the_page_asked_for(tmp_path, counts, read, refused):
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, np.stack([counts, counts + 1, counts + 2]), photometric="minisblack")
    np.testing.assert_array_equal(read(path).values, counts)
    np.testing.assert_array_equal(read(path, page=2).values, counts + 2)
    assert refused(path, page=3) == "no-such-page"


def test_pages_that_point_at_themselves_end(tmp_path, counts, refused):
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, counts, byteorder="<", metadata=None)
    data = bytearray(path.read_bytes())
    (first,) = struct.unpack_from("<I", data, 4)
    (entries,) = struct.unpack_from("<H", data, first)
    struct.pack_into("<I", data, first + 2 + 12 * entries, first)
    path.write_bytes(data)
    assert refused(path, page=5000) in ("no-such-page", "damaged")


def test_the_moment_comes_from_the_open_tag_or_the_name(tmp_path, counts, read):
    tagged, named = tmp_path / "a.tif", tmp_path / "roof_20220803_134818.tif"
    tifffile.imwrite(tagged, counts, datetime="2022:08:03 13:48:18")
    tifffile.imwrite(named, counts)
    assert read(tagged).taken == read(named).taken == "2022-08-03T13:48:18"


def test_grey_levels_of_eight_bits_are_counts(tmp_path, counts, read):
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, (counts >> 8).astype(np.uint8))
    picture = read(path)
    assert (picture.values.dtype, picture.kelvin, picture.ceiling) == (np.uint8, False, 255.0)


def test_colours_are_refused_but_grey_colours_are_read(tmp_path, counts, read, refused):
    grey = (counts >> 8).astype(np.uint8)
    colour = np.stack([grey, grey[::-1], 255 - grey], axis=-1)
    path, same = tmp_path / "a.tif", tmp_path / "b.tif"
    tifffile.imwrite(path, colour, photometric="rgb")
    tifffile.imwrite(same, np.stack([grey] * 3, axis=-1), photometric="rgb")
    assert refused(path) == "colour-picture"
    np.testing.assert_array_equal(read(same).values, grey)


def test_a_colour_table_is_read_only_when_it_is_grey(tmp_path, counts, read, refused):
    index = (counts >> 8).astype(np.uint8)
    ramp = (np.arange(256) * 257).astype(np.uint16)
    path, grey = tmp_path / "a.tif", tmp_path / "b.tif"
    tifffile.imwrite(path, index, photometric="palette", colormap=np.stack([ramp, ramp[::-1], ramp]))
    tifffile.imwrite(grey, index, photometric="palette", colormap=np.stack([ramp[::-1]] * 3))
    assert refused(path) == "colour-picture"
    np.testing.assert_array_equal(read(grey).values, 255 - index)


@pytest.mark.parametrize("compression", [None, "zlib", "lzw"])
def test_a_file_cut_short_is_named_so(tmp_path, counts, refused, compression):
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, counts, compression=compression, metadata=None)
    data = path.read_bytes()
    path.write_bytes(data[: len(data) - 200])
    assert refused(path) == "truncated"


def test_size_is_refused_before_memory_is_taken(tmp_path, counts, refused):
    """A header that claims 60000 x 60000 pixels in a file of some kilobytes."""
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, counts, byteorder="<", metadata=None)
    data = bytearray(path.read_bytes())
    (first,) = struct.unpack_from("<I", data, 4)
    for entry in range(struct.unpack_from("<H", data, first)[0]):
        at = first + 2 + 12 * entry
        if struct.unpack_from("<H", data, at)[0] in (256, 257):
            struct.pack_into("<HIHH", data, at + 2, 3, 1, 60000, 0)
    path.write_bytes(data)
    assert refused(path) == "too-large"


def test_other_compressions_are_refused_by_name(tmp_path, counts, refused):
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, counts, compression="jpeg2000")
    assert refused(path) == "unsupported-compression"


def test_stacks_in_depth_and_many_channels_are_refused(tmp_path, counts, refused):
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, np.stack([counts] * 6, axis=-1), photometric="minisblack", planarconfig="contig")
    assert refused(path) == "picture-layout"
