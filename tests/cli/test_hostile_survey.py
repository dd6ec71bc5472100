"""One survey with every unfriendly thing a folder may bring, run whole: what is published holds none of it."""

from __future__ import annotations

import csv
import io
import json
import os
import re

import numpy as np
import pytest
import tifffile
from PIL import Image
from PIL.PngImagePlugin import PngInfo

SECRETS = ("Serial-7781-XYZ", "Maker of the camera", "N 51 30 0.5 W 0 7", "telephone of the owner")
FORMULAS = (
    "=HYPERLINK(1)",
    "+1+1",
    "-2+3",
    "@SUM(1)",
    "\uff1d1+1",
)
MANIFEST = """\
format: 1
property: {name: "CON. ", address: "=1+1"}
inspect: [envelope]
conditions: {inside_air: 21 degC, outside_air: 1 degC, wind: 1 m/s, sky: overcast, sun: none, hours_steady: 12 h}
camera: {noise: 50 mK, accuracy: 2 K, field_of_view: [56 deg, 42 deg]}
defaults: {scale: {kelvin_per_count: 0.01}, material: painted plaster, distance: 2 m, shows: "wall, from inside"}
thermograms:
  - {file: NUL.tiff, room: "=cmd|' /C calc'!A0", visible: photo.jpg, regions: [{name: "FIRST", shows: wall}]}
  - {file: aux.png, room: "PRN", regions: [{name: "FORMULA", box: [5, 5, 60, 45], shows: wall}]}
  - {file: "com1. .tiff", room: "com1"}
  - {file: Nul.TIFF, room: "\uff1d1+1"}
"""
RESERVED = {"con", "prn", "aux", "nul", *(f"{port}{number}" for port in ("com", "lpt") for number in range(10))}


def counts(seed: int) -> np.ndarray:
    values = np.random.default_rng(seed).normal(29400.0, 5.0, (60, 80))
    values[20:40, 20:44] -= 250.0
    return values.astype(np.uint16)


def tiff(seed: int) -> bytes:
    stream = io.BytesIO()
    extra = [(305, "s", 0, SECRETS[1], True), (42033, "s", 0, SECRETS[0], True), (33432, "s", 0, SECRETS[3], True)]
    tifffile.imwrite(stream, counts(seed), description=SECRETS[2], extratags=extra)
    return stream.getvalue()


def png(seed: int) -> bytes:
    stream, info = io.BytesIO(), PngInfo()
    for secret in SECRETS:
        info.add_text("Comment", secret)
    Image.fromarray(counts(seed)).save(stream, "PNG", pnginfo=info)
    return stream.getvalue()


def photo() -> bytes:
    image, stream = Image.new("RGB", (640, 480), "teal"), io.BytesIO()
    exif = image.getexif()
    exif[0x010F], exif[0x010E] = SECRETS[1], SECRETS[3]
    exif.get_ifd(0x8769)[0xA431] = SECRETS[0]
    exif[0x8825] = {1: "N", 2: (51.0, 30.0, 0.5), 29: SECRETS[2]}
    packet = f"<x:xmpmeta xmlns:x='adobe:ns:meta/'>{SECRETS[0]}</x:xmpmeta>".encode()
    image.save(stream, "JPEG", exif=exif, comment=SECRETS[3].encode(), xmp=packet)
    return stream.getvalue()


@pytest.fixture(scope="module")
def published(tmp_path_factory):
    """Folder of a run of that survey: the given files carry the secrets."""
    from heatbrief.cli import main

    folder = tmp_path_factory.mktemp("hostile")
    given = {"NUL.tiff": tiff(1), "aux.png": png(2), "com1. .tiff": tiff(3), "Nul.TIFF": tiff(4), "photo.jpg": photo()}
    text = MANIFEST.replace("FIRST", FORMULAS[0]).replace("FORMULA", FORMULAS[1])
    for name, data in given.items():
        (folder / name).write_bytes(data)
    for secret in SECRETS:
        assert any(secret.encode() in data for data in given.values()), secret
    (folder / "survey.yaml").write_text(text, "utf-8")
    with pytest.raises(SystemExit) as leaving:
        main(["run", str(folder), "--out", str(folder / "out"), "--jobs", "1"])
    assert leaving.value.code == 0
    return folder / "out"


def test_names_suit_every_system(published):
    seen: dict[str, str] = {}
    for path in published.rglob("*"):
        inside = path.relative_to(published).as_posix()
        if inside.startswith(".heatbrief"):
            continue
        assert re.fullmatch(r"[A-Za-z0-9._-]+", path.name) and not path.name.endswith("."), inside
        assert path.name.partition(".")[0].lower() not in RESERVED, inside
        assert seen.setdefault(inside.lower(), inside) == inside


def test_no_cell_is_run_by_a_spreadsheet(published):
    tables = list(published.glob("*/*.csv"))
    assert {path.name for path in tables} == {"findings.csv", "plan.csv"}
    cells = [cell for path in tables for row in csv.reader(path.open(encoding="utf-8")) for cell in row]
    assert any(cell.startswith("'=") for cell in cells), "the formulas did not reach a table"
    for cell in cells:
        if not re.fullmatch(r"-?[0-9.]+(e[+-]?[0-9]+)?", cell):
            assert not cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d")), cell


def test_place_maker_and_serial_numbers_stay_behind(published):
    looked = 0
    for path in published.rglob("*"):
        if path.is_file():
            data = path.read_bytes()
            looked += path.suffix in (".png", ".jpg")
            for secret in SECRETS:
                assert secret.encode() not in data, path
    assert looked >= 8


def test_published_pictures_hold_pixels_only(published):
    for path in published.rglob("*"):
        if path.suffix in (".png", ".jpg"):
            with Image.open(path) as image:
                assert not image.getexif() and not set(image.info) & {"exif", "xmp", "comment", "Comment", "photoshop"}
                assert not getattr(image, "text", {}), path


@pytest.mark.parametrize("what", ["visible", "weather", "flat", "sidecar", "folder"])
def test_links_out_of_the_folder_are_refused_everywhere(heatbrief, survey, tmp_path, what):
    (tmp_path / "secret").mkdir()
    for name, data in (
        ("a.tiff", tiff(1)),
        ("p.jpg", photo()),
        ("w.csv", b"time,temp (C)\n"),
        ("s.yaml", b"values: degC"),
    ):
        (tmp_path / "secret" / name).write_bytes(data)
    more = {
        "visible": ("visible: l.jpg", "", "l.jpg", "p.jpg"),
        "weather": ("", "settings: {heatbrief.season: {weather: l.csv}}\n", "l.csv", "w.csv"),
        "flat": ("", "camera: {flat_field: [l.tiff]}\n", "l.tiff", "a.tiff"),
        "sidecar": ("", "", "a.tiff.yaml", "s.yaml"),
        "folder": ("", "", "deep", ""),
    }
    own, top, link, target = more[what]
    file = "deep/a.tiff" if what == "folder" else "a.tiff"
    text = f"format: 1\nproperty: House\ninspect: [envelope]\n{top}thermograms:\n  - {{file: {file}, shows: wall, {own}}}\n"
    folder = survey(text, {"a.tiff": tiff(1)})
    os.symlink(tmp_path / "secret" / target, folder / link)
    done = heatbrief("run", folder, "--out", tmp_path / "out")
    if what == "sidecar":
        assert (done.code, "not analysed[sidecar]" in done.err) == (3, True), done.err
        return
    assert (done.code, "error[path-outside]" in done.err) == (2, True), done.err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("slug", ["../../escaped", "/tmp/escaped", "a/b", "", "x" * 41, ".heatbrief", "a\\b"])
def test_results_cannot_name_another_folder(heatbrief, published, tmp_path, slug):
    data = json.loads(next(published.glob("*/results.json")).read_text("utf-8"))
    data["property"]["slug"] = slug
    (tmp_path / "given").mkdir()
    (tmp_path / "given" / "results.json").write_text(json.dumps(data), "utf-8")
    for words in (("publish", tmp_path / "given"), ("compare", tmp_path / "given", tmp_path / "given")):
        done = heatbrief(*words, "--out", tmp_path / "deep" / "er" / "out")
        assert (done.code, "error[results-damaged]" in done.err) == (2, True), done.err
    assert sorted(path.name for path in tmp_path.iterdir()) == ["given"]


@pytest.mark.parametrize(
    "text", ["[" * 100_000, '{"format": 1' + "0" * 5000 + "}", '{"format": true}', '{"format": -3}']
)
def test_results_that_are_traps_are_refused(heatbrief, tmp_path, text):
    (tmp_path / "results.json").write_text(text)
    done = heatbrief("publish", tmp_path, "--out", tmp_path / "out")
    assert (done.code, "error[results-" in done.err) == (2, True), done.err
