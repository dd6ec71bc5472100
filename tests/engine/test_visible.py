"""Visible pictures: small, upright, without tags, and still lying where the manifest says."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.engine.assemble import _from_copy
from heatbrief.engine.visible import FORMATS, small_copy
from heatbrief.errors import StepError
from heatbrief.store.files import ObjectStore
from PIL import Image


def test_the_copy_is_small_and_carries_no_tags(tmp_path):
    exif = Image.Exif()
    exif[0x010E], exif[0x0112] = "home of the owner", 6
    Image.new("RGB", (3000, 1000), "grey").save(tmp_path / "a.jpg", exif=exif)
    kept = small_copy(tmp_path / "a.jpg", ObjectStore(tmp_path / "objects"))
    copy = Image.open(tmp_path / "objects" / kept["object"])
    assert copy.size == (427, 1280)
    assert not copy.getexif() and b"home of the owner" not in (tmp_path / "objects" / kept["object"]).read_bytes()
    assert kept["larger"] == [pytest.approx(1000 / 427), pytest.approx(3000 / 1280)]


def test_a_mapping_given_for_the_original_holds_for_the_copy():
    matrix, larger = np.array([[0.1, 0.02, 5.0], [0.01, 0.12, -3.0], [1e-5, 2e-5, 1.0]]), (2.5, 3.0)
    copied = np.reshape(_from_copy(tuple(matrix.ravel()), larger), (3, 3))
    for x, y in ((0.0, 0.0), (100.0, 40.0), (311.0, 215.0)):
        original = ((x + 0.5) * larger[0] - 0.5, (y + 0.5) * larger[1] - 0.5, 1.0)
        np.testing.assert_allclose(copied @ (x, y, 1.0), matrix @ original)


def test_without_a_mapping_there_is_none():
    assert _from_copy((), (2.0, 2.0)) == ()


@pytest.mark.parametrize("data", [b"", b"not a picture", b"\x89PNG\r\n\x1a\n" + b"\0" * 50])
def test_what_is_no_picture_is_refused(tmp_path, data):
    (tmp_path / "a.png").write_bytes(data)
    with pytest.raises(StepError) as caught:
        small_copy(tmp_path / "a.png", ObjectStore(tmp_path / "objects"))
    assert caught.value.code == "visible-unreadable"


def test_a_missing_picture_is_named(tmp_path):
    with pytest.raises(StepError) as caught:
        small_copy(tmp_path / "gone.png", ObjectStore(tmp_path / "objects"))
    assert caught.value.code == "visible-missing" and "gone.png" in caught.value.message


@pytest.mark.parametrize("kind", FORMATS)
def test_still_pictures_of_common_formats_are_taken(tmp_path, kind):
    Image.new("RGB", (40, 30), "grey").save(tmp_path / "a.bin", kind)
    assert small_copy(tmp_path / "a.bin", ObjectStore(tmp_path / "objects"))["object"].endswith(".jpg")


def test_two_pictures_in_one_file_as_telephones_write_them_are_taken(tmp_path):
    first, second = (Image.new("RGB", (40, 30), colour) for colour in ("grey", "white"))
    first.save(tmp_path / "a.jpg", "MPO", save_all=True, append_images=[second])
    assert small_copy(tmp_path / "a.jpg", ObjectStore(tmp_path / "objects"))["object"]


def test_a_program_for_a_printer_is_never_run(tmp_path):
    Image.new("RGB", (40, 30), "grey").save(tmp_path / "a.png", "EPS")
    with pytest.raises(StepError) as caught:
        small_copy(tmp_path / "a.png", ObjectStore(tmp_path / "objects"))
    assert caught.value.code == "visible-unreadable"


def test_a_bomb_is_refused_by_its_header(tmp_path):
    Image.new("1", (12_000, 12_000)).save(tmp_path / "a.png")  # 144 megapixels in 20 kB
    assert (tmp_path / "a.png").stat().st_size < 100_000
    with pytest.raises(StepError) as caught:
        small_copy(tmp_path / "a.png", ObjectStore(tmp_path / "objects"))
    assert caught.value.code == "visible-unreadable" and "pixels" in caught.value.message
