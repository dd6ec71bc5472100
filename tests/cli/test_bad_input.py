"""Hostile and mistaken input: a clear error with place, cause and remedy; the rest is still published and listed."""

from __future__ import annotations

import io
import os

import numpy as np
import pytest
import tifffile
from PIL import Image
from support import results_of

GOOD = """\
format: 1
property: {name: Test house}
inspect: [envelope]
conditions: {inside_air: 21 degC, outside_air: 1 degC}
defaults: {scale: {kelvin_per_count: 0.01}, material: painted plaster, distance: 2 m}
thermograms:
  - {file: good.tiff, shows: wall}
"""


def tiff(height: int = 60, width: int = 80, seed: int = 1) -> bytes:
    counts = np.random.default_rng(seed).normal(29300, 5, (height, width)).astype(np.uint16)
    stream = io.BytesIO()
    tifffile.imwrite(stream, counts, compression="deflate")
    return stream.getvalue()


def colour_picture() -> bytes:
    stream = io.BytesIO()
    Image.fromarray(np.random.default_rng(2).integers(0, 255, (60, 80, 3), np.uint8)).save(stream, "PNG")
    return stream.getvalue()


@pytest.mark.parametrize(
    ("line", "pictures", "code"),
    [
        ("- {file: gone.tiff, shows: wall}", {}, "picture-missing"),
        ("- {file: cut.tiff, shows: wall}", {"cut.tiff": tiff()[:400]}, None),
        ("- {file: other.tiff, shows: wall, size: [160, 120]}", {"other.tiff": tiff()}, "picture-size"),
        ("- {file: colour.png, shows: wall}", {"colour.png": colour_picture()}, "colour-picture"),
        (
            "- {file: nothing.csv, shows: wall, scale: {values: degC}}",
            {"nothing.csv": b"NaN,NaN\nNaN,NaN\n"},
            "no-values",
        ),
        ("- {file: word.docx, shows: wall}", {"word.docx": b"PK"}, "no-reader"),
        ("- {file: empty.tiff, shows: wall}", {"empty.tiff": b""}, None),
    ],
)
def test_one_bad_picture_is_listed_and_the_rest_is_published(heatbrief, survey, tmp_path, line, pictures, code):
    folder = survey(
        GOOD.replace("defaults: {scale: {kelvin_per_count: 0.01}, ", "defaults: {").replace(
            "good.tiff,", "good.tiff, scale: {kelvin_per_count: 0.01},"
        )
        + f"  {line}\n",
        {"good.tiff": tiff(), **pictures},
    )
    out = tmp_path / "out"
    done = heatbrief("run", folder, "--out", out)
    assert done.code == 3, done.out + done.err
    results = results_of(out, "test-house")
    assert [one["status"] for one in results["thermograms"]] == ["analysed", "unreadable"]
    bad = [one for one in results["not_analysed"] if one["failed"]]
    assert len(bad) == 1
    assert bad[0]["message"] and bad[0]["remedy"]
    if code:
        assert bad[0]["code"] == code
    assert bad[0]["source"] in (out / "test-house" / "site" / "not-analysed.html").read_text("utf-8")
    assert f"not analysed[{bad[0]['code']}]" in done.err
    assert heatbrief("explain", bad[0]["code"]).code == 0
    assert "Traceback" not in done.err


TEN = """\
format: 2
propety: {name: Test house}
inspect: [envelop]
conditions: {inside_air: 21, wind: 3 degC, humidity: 450 %, skye: clear}
thermograms:
  - {file: ../outside.tiff, distance: -2 m}
  - {file: good.tiff, material: painted plastr, regions: [{name: a, box: [1, 1, 0, 5]}, {name: b, point: [.nan, 2]}]}
stages: {detect: [{use: envelope.insulaton}]}
"""


def test_ten_mistakes_are_reported_at_once_each_with_its_place(heatbrief, survey, tmp_path):
    folder = survey(TEN, {"good.tiff": tiff()})
    done = heatbrief("run", folder, "--out", tmp_path / "out")
    assert done.code == 2
    assert not (tmp_path / "out").exists()
    problems = [line for line in done.err.splitlines() if line.startswith("error[")]
    assert len(problems) >= 10
    assert all("survey.yaml:" in line for line in problems)
    for word in ("property", "envelope", "sky", "painted plaster", "envelope.insulation"):
        assert f"did you mean '{word}'" in done.err.lower(), word


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (("file: good.tiff", "file: ../good.tiff"), "path-outside"),
        (("file: good.tiff", "file: /etc/passwd"), "path-outside"),
        (("inspect: [envelope]", "inspect: [envelope]\nstages: {detect: [{use: roof.moisture}]}"), "unknown-plugin"),
        (("shows: wall", "shows: wall, shows: floor"), "duplicate-key"),
        (("21 degC", "!!python/name:os.system x"), None),
        (("21 degC", ".inf degC"), None),
    ],
)
def test_a_mistaken_manifest_writes_nothing(heatbrief, survey, tmp_path, change, expected):
    folder = survey(GOOD.replace(*change), {"good.tiff": tiff()})
    done = heatbrief("run", folder, "--out", tmp_path / "out")
    assert done.code == 2
    assert "survey.yaml:" in done.err
    assert "Traceback" not in done.err
    assert not (tmp_path / "out").exists()
    if expected:
        assert f"error[{expected}]" in done.err


def test_a_link_that_leaves_the_folder_is_refused(heatbrief, survey, tmp_path):
    (tmp_path / "secret.tiff").write_bytes(tiff())
    folder = survey(GOOD.replace("good.tiff", "link.tiff"), {})
    os.symlink(tmp_path / "secret.tiff", folder / "link.tiff")
    done = heatbrief("run", folder, "--out", tmp_path / "out")
    assert (done.code, "error[path-outside]" in done.err) == (2, True)


def test_an_empty_folder_and_a_missing_one(heatbrief, tmp_path):
    (tmp_path / "empty").mkdir()
    for name in ("empty", "missing"):
        done = heatbrief("run", tmp_path / name, "--out", tmp_path / "out")
        assert done.code == 2
        assert done.err.startswith("error[")
        assert name in done.err


def test_two_properties_with_one_name(heatbrief, survey, tmp_path):
    survey(GOOD, {"good.tiff": tiff()}, "surveys/one".replace("/", "-"))
    survey(GOOD.replace("Test house", "TEST  house"), {"good.tiff": tiff()}, "surveys-two")
    done = heatbrief("run", tmp_path / "surveys-one", tmp_path / "surveys-two", "--out", tmp_path / "out")
    assert done.code == 2
    assert "surveys-one" in done.err and "surveys-two" in done.err


HOSTILE = "<script>alert(1)</script> \\\"' {{7*7}} <b>&amp; [x](javascript:alert(1)) \u2603"


def test_markup_in_every_text_field_stays_text(heatbrief, survey, tmp_path):
    text = GOOD.replace(
        "{name: Test house}",
        f'{{name: "House {HOSTILE}", address: "{HOSTILE}", client: "{HOSTILE}", surveyor: "{HOSTILE}"}}',
    )
    text = text.replace(
        "shows: wall}",
        f'shows: "wall {HOSTILE}", room: "{HOSTILE}", notes: "{HOSTILE}", '
        f'regions: [{{name: "{HOSTILE}", box: [10, 10, 30, 30], shows: "wall {HOSTILE}", room: "{HOSTILE}"}}]}}',
    )
    text += f'notes: "{HOSTILE}"\n'
    out = tmp_path / "out"
    done = heatbrief("run", survey(text, {"good.tiff": tiff()}), "--out", out)
    assert done.code == 0, done.err
    pages = [path.read_text("utf-8") for path in out.rglob("*.html")]
    assert pages
    for page in pages:
        assert "<script>alert" not in page
        assert "<b>&amp;" not in page and "<b>&" not in page
        assert ">49<" not in page and " 49 " not in page
        assert 'href="javascript' not in page


@pytest.mark.parametrize("control", ["\\u0000", "\\u0007", "\\u001b[31m", "\\u007f"])
def test_control_characters_are_refused_with_their_place(heatbrief, survey, tmp_path, control):
    done = heatbrief(
        "run",
        survey(GOOD.replace("shows: wall", f'shows: "wall {control}"'), {"good.tiff": tiff()}),
        "--out",
        tmp_path / "out",
    )
    assert done.code == 2
    assert "survey.yaml:7:" in done.err


def test_the_output_folder_cannot_be_made(heatbrief, survey, tmp_path):
    (tmp_path / "file").write_text("in the way")
    done = heatbrief("run", survey(GOOD, {"good.tiff": tiff()}), "--out", tmp_path / "file" / "out")
    assert done.code == 2
    assert "error[cannot-write]" in done.err
