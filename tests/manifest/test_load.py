"""Manifests that are right, and what the loader makes of them."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

import pytest
from heatbrief.errors import UserError
from heatbrief.manifest.load import load_manifest
from heatbrief.manifest.schema import Manifest

from .fake_registry import REGISTRY

SHORT = """\
format: 1
property: {name: Sandpiper Row 3}
inspect: [envelope, electrical]
conditions: {inside_air: 24 degC, outside_air: 38 degC, humidity: 35 %, wind: 1.5 m/s, sky: clear}
thermograms:
  - file: ir/north-bedroom-ceiling.tiff
    shows: ceiling under the attic, from inside
    scale: {kelvin_per_count: 0.01}
    material: painted plaster
    distance: 2.4 m
    taken: 2026-07-14T16:20-07:00
"""


def load(folder: Path, text: str) -> Manifest:
    path = folder / "survey.yaml"
    path.write_text(text, encoding="utf-8")
    return load_manifest(path, REGISTRY)


def codes(folder: Path, text: str) -> list[str]:
    with pytest.raises(UserError) as caught:
        load(folder, text)
    return [problem.code for problem in caught.value.problems]


def with_pictures(pictures: str, more: str = "") -> str:
    return f"format: 1\nproperty: X\nthermograms: {pictures}\n{more}"


def test_the_shortest_useful_manifest(tmp_path):
    found = load(tmp_path, SHORT)
    (picture,) = found.thermograms
    assert found.property.name == "Sandpiper Row 3" and found.inspect == ("envelope", "electrical")
    assert found.conditions.difference.value == -14
    assert picture.id == "north-bedroom-ceiling" and picture.taken == "2026-07-14T16:20-07:00"
    assert picture.distance.value == 2.4 and picture.scale.kelvin_per_count == 0.01
    assert (found.folder, found.path, found.currency) == (tmp_path, tmp_path / "survey.yaml", "USD")


def test_stages_written_out(tmp_path):
    found = load(
        tmp_path,
        SHORT
        + """\
stages:
  ingest: heatbrief.tiff
  calibrate: []
  detect:
    - envelope.insulation
    - {use: envelope.insulation, on: {shows: no}, with: {smallest: 10 ft2, table: strict, difference: 18 degF, words: on}}
  publish: [{use: heatbrief.site}]
""",
    )
    default, own = found.stages.detect
    assert (
        found.stages.ingest[0].use == "heatbrief.tiff"
        and found.stages.calibrate == ()
        and found.stages.estimate is None
    )
    assert default.settings.smallest == 0.05 and default.settings.table == "usual"
    assert own.on == {"shows": "no"}
    assert own.settings.smallest == pytest.approx(10 * 0.3048**2)
    assert own.settings.difference == pytest.approx(10) and own.settings.words == ("on",)
    assert found.stages.publish[0].settings is not None


def test_words_that_yaml_would_change_stay_text(tmp_path):
    found = load(
        tmp_path,
        'format: 1\nproperty: {name: no, client: 12:30, address: 0x10, surveyor: "Null"}\ndate: 2026-07-14\n'
        "thermograms: [{file: 010.tiff, room: on, shows: 1e3, taken: 2026-07-14}]\n",
    )
    assert (found.property.name, found.property.client, found.property.address, found.property.surveyor) == (
        "no",
        "12:30",
        "0x10",
        "Null",
    )
    picture = found.thermograms[0]
    assert (picture.id, picture.room, picture.shows, picture.taken, found.date) == (
        "010",
        "on",
        "1e3",
        "2026-07-14",
        "2026-07-14",
    )


def test_a_key_without_a_value_is_as_if_left_out(tmp_path):
    found = load(
        tmp_path,
        "format: 1\nproperty: X\nconditions:\nregions: ~\nthermograms: [{file: a.tiff, room: , scale: null}]\n",
    )
    assert found.regions == () and found.thermograms[0].scale is None


def test_byte_order_mark_and_other_line_ends(tmp_path):
    (tmp_path / "survey.yaml").write_bytes(b"\xef\xbb\xbf" + SHORT.replace("\n", "\r\n").encode())
    assert load_manifest(tmp_path / "survey.yaml", REGISTRY).property.name == "Sandpiper Row 3"


def test_hostile_names_are_kept_as_text(tmp_path):
    name = "<script>alert(1)</script> {{ x }} 雪"
    assert load(tmp_path, f"format: 1\nproperty: '{name}'\nthermograms: [a.tiff]\n").property.name == name


def test_defaults_fill_what_a_picture_leaves_out(tmp_path):
    found = load(
        tmp_path,
        with_pictures(
            "[a.tiff, {file: b.tiff, material: concrete}]",
            "defaults: {material: brick, distance: 3 m, scale: {values: degF}}\n",
        ),
    )
    assert [one.material for one in found.thermograms] == ["brick", "concrete"]
    assert [one.distance.value for one in found.thermograms] == [3, 3]
    assert found.thermograms[1].scale.values == "degF"


def test_regions_of_both_places_stand_with_their_picture(tmp_path):
    found = load(
        tmp_path,
        with_pictures(
            "[{file: a.tiff, regions: [{name: main, box: [1, 2, 3, 4], facts: {load: 12000 mA, service: heating, maker: no}}]}, b.tiff]",
            "regions: [{name: edge, thermogram: a, outline: [[0, 0], [4, 4], [4, 0], [0, 4]]}, {name: main, thermogram: b}]\n",
        ),
    )
    first, second = found.thermograms
    assert [(one.name, one.thermogram) for one in first.regions] == [("main", "a"), ("edge", "a")]
    assert first.regions[0].facts["load"].value == 12 and first.regions[0].facts["load"].unit == "A"
    assert first.regions[0].facts["service"] == "heating" and first.regions[0].facts["maker"] == "no"
    assert [one.name for one in second.regions] == ["main"] and found.regions == ()


def test_ids_come_from_files_and_are_told_apart(tmp_path):
    found = load(
        tmp_path,
        with_pictures(
            "[a/x.tiff, b/x.tiff, x.png, {file: run.tiff}, {file: run.tiff, page: 3}, con.tiff, 'Küche 1.tiff', 雪.tiff]"
        ),
    )
    ids = [one.id for one in found.thermograms]
    assert ids[:7] == ["a-x", "b-x", "x", "run", "run-page-3", "con-1", "kuche-1"]
    assert ids[7].startswith("unnamed-") and len(set(ids)) == 8


def test_given_ids_win_over_those_made(tmp_path):
    found = load(tmp_path, with_pictures("[x.tiff, {file: y.tiff, id: x}]"))
    assert [one.id for one in found.thermograms] == ["x-2", "x"]


def test_patterns_name_their_files_sorted(tmp_path):
    (tmp_path / "ir").mkdir()
    for name in ("b.tiff", "a.tiff", "c[1].tiff", "d.png"):
        (tmp_path / "ir" / name).touch()
    found = load(
        tmp_path,
        with_pictures(
            "[{file: ir/*.tiff, room: attic}, 'ir/c[1].tiff', none/*.tiff]".replace("ir/*.tiff", "'ir/?.tiff'")
        ),
    )
    assert [one.file for one in found.thermograms] == ["ir/a.tiff", "ir/b.tiff", "ir/c[1].tiff", "none/*.tiff"]
    assert found.thermograms[1].room == "attic"


@pytest.mark.parametrize("name", [b"a\x1b[31m.tiff", b"a\n.tiff", b"a\xff.tiff", "a\u202e.tiff".encode()])
@pytest.mark.parametrize("others", [0, 2])
def test_files_whose_names_cannot_be_shown_are_refused(tmp_path, name, others):
    (Path(os.fsdecode(os.path.join(os.fsencode(tmp_path), name)))).touch()
    for number in range(others):
        (tmp_path / f"{number}.tiff").touch()
    assert codes(tmp_path, with_pictures("['*.tiff']")) == ["file-name"]


def test_an_id_cannot_be_for_many_files(tmp_path):
    for name in "ab":
        (tmp_path / f"{name}.tiff").touch()
    assert codes(tmp_path, with_pictures("[{file: '*.tiff', id: x}]")) == ["id-of-many"]


def test_links_out_of_the_folder_are_refused(tmp_path):
    (tmp_path / "secret").mkdir()
    (tmp_path / "secret" / "x.tiff").touch()
    survey = tmp_path / "survey"
    survey.mkdir()
    (survey / "ir").symlink_to(tmp_path / "secret")
    (survey / "y.tiff").symlink_to(tmp_path / "secret" / "x.tiff")
    (survey / "z.tiff").touch()
    (survey / "inside.tiff").symlink_to(survey / "z.tiff")
    assert codes(survey, with_pictures("[ir/x.tiff, y.tiff, 'ir/*.tiff', '../secret/*.tiff']")) == ["path-outside"] * 4
    assert len(load(survey, with_pictures("[inside.tiff, z.tiff]")).thermograms) == 2


def test_include_merges_and_own_entries_win(tmp_path):
    (tmp_path / "firm.yaml").write_text(
        "include: base.yml\ncamera: {noise: 50 mK, accuracy: 2 K}\nprices: {electricity: 0.2 EUR/kWh}\ninspect: [electrical]\n"
    )
    (tmp_path / "base.yml").write_text("notes: from the base\ncamera: {noise: 9 mK, band: [8 um, 14 um]}\n")
    survey = tmp_path / "survey"
    survey.mkdir()
    found = load(
        survey, "include: ../firm.yaml\ninspect: [envelope]\ncamera: {accuracy: 1 K}\n" + with_pictures("[a.tiff]")
    )
    assert (found.camera.noise.value, found.camera.accuracy.value, found.camera.band[1].value) == (0.05, 1, 14)
    assert found.inspect == ("envelope",) and found.notes == "from the base" and found.currency == "EUR"


def test_problems_of_an_included_file_name_that_file(tmp_path):
    (tmp_path / "firm.yaml").write_text("currency: USD\ncamera:\n  noise: 50\n")
    with pytest.raises(UserError) as caught:
        load(tmp_path, "include: firm.yaml\ncamera: {accuracy: 1}\n" + with_pictures("[a.tiff]"))
    assert [problem.where for problem in caught.value.problems] == [
        f"{tmp_path}/survey.yaml:2:20",
        f"{tmp_path}/firm.yaml:3:10",
    ]


@pytest.mark.parametrize("named", ["/etc/x.yaml", "none.yaml", "firm.txt", "'C:\\x.yaml'", "[a]"])
def test_what_cannot_be_included(tmp_path, named):
    assert codes(tmp_path, f"include: {named}\n" + with_pictures("[a.tiff]"))[0] in {
        "include-path",
        "include-missing",
        "wrong-type",
    }


def test_includes_in_a_circle_and_too_deep(tmp_path):
    (tmp_path / "a.yaml").write_text("include: b.yaml\n")
    (tmp_path / "b.yaml").write_text("include: a.yaml\n")
    assert codes(tmp_path, "include: a.yaml\n" + with_pictures("[a.tiff]")) == ["include-cycle"]
    for number in range(12):
        (tmp_path / f"n{number}.yaml").write_text(f"include: n{number + 1}.yaml\n")
    assert codes(tmp_path, "include: n0.yaml\n" + with_pictures("[a.tiff]")) == ["include-depth"]


@pytest.mark.parametrize(
    ("prices", "currency", "expected"),
    [("{electricity: 0.2 EUR/kWh}", None, "EUR"), ("{}", None, "USD"), ("{electricity: 0.2 /kWh}", "CHF", "CHF")],
)
def test_the_currency_is_stated_or_that_of_the_prices(tmp_path, prices, currency, expected):
    found = load(
        tmp_path, with_pictures("[a.tiff]", f"prices: {prices}\n" + (f"currency: {currency}\n" if currency else ""))
    )
    assert found.currency == expected
    assert all(price.unit == f"{expected}/kWh" for price in found.prices.values())


def test_bounds_that_cannot_be_are_cut(tmp_path):
    found = load(tmp_path, with_pictures("[{file: a.tiff, emissivity: 0.98 +- 0.05}]"))
    assert found.thermograms[0].emissivity.high == 1 and found.thermograms[0].emissivity.low == pytest.approx(0.93)


def test_anchors_are_read_within_bounds(tmp_path):
    found = load(
        tmp_path, with_pictures("[{file: a.tiff, scale: &s {kelvin_per_count: 0.04}}, {file: b.tiff, scale: *s}]")
    )
    assert found.thermograms[1].scale.kelvin_per_count == 0.04


def test_the_same_text_gives_an_equal_manifest(tmp_path):
    assert load(tmp_path, SHORT) == load(tmp_path, SHORT)


@pytest.mark.parametrize(
    ("region", "said"),
    [
        ("outline: [[0, 0], [4, 4]]", "three different corners, got 2"),
        ("outline: [[0, 0], [4, 4], [0, 0]]", "three different corners, got 2"),
        ("outline: [[0, 0], [4, 4], [8, 8]]", "on one line"),
        ("line: [[1, 1]]", "two different points"),
        ("box: [0, 0, 5, 0]", "width and height"),
        ("point: [1e7, 0]", "pixels away"),
        ("facts: {supply_air: -300 degC}", "at least -273.15 degC"),
    ],
)
def test_regions_that_cannot_be(tmp_path, region, said):
    with pytest.raises(UserError) as caught:
        load(tmp_path, with_pictures(f"[{{file: a.tiff, regions: [{{name: r, {region}}}]}}]"))
    (problem,) = caught.value.problems
    assert said in problem.message


def test_an_outline_may_cross_itself(tmp_path):
    found = load(
        tmp_path,
        with_pictures("[{file: a.tiff, regions: [{name: bow, outline: [[0, 0], [4, 4], [4, 0], [0, 4]]}]}]"),
    )
    assert len(found.thermograms[0].regions[0].outline) == 4


def test_whose_value_holds_is_recorded_for_every_shared_setting(tmp_path):
    (tmp_path / "base.yml").write_text("prices: {electricity: 0.2 EUR/kWh, gas: 0.1 EUR/kWh}\ncurrency: EUR\n", "utf-8")
    firm = "include: base.yml\ncamera: {noise: 50 mK, accuracy: 2 K}\nprices: {electricity: 0.3 EUR/kWh}\n"
    (tmp_path / "firm.yaml").write_text(firm, "utf-8")
    survey = tmp_path / "house"
    survey.mkdir()
    manifest = load(survey, "include: ../firm.yaml\ncamera: {accuracy: 1 K}\n" + with_pictures("[a.tiff]"))
    assert [one.path for one in manifest.shared] == ["../firm.yaml", "../base.yml"]
    assert manifest.shared[0].sha256 == hashlib.sha256(firm.encode()).hexdigest()
    rows = {one.setting: (one.path, one.over) for one in manifest.origins}
    assert rows == {
        "camera.accuracy": ("survey.yaml", ("../firm.yaml",)),
        "camera.noise": ("../firm.yaml", ()),
        "currency": ("../base.yml", ()),
        "prices.electricity": ("../firm.yaml", ("../base.yml",)),
        "prices.gas": ("../base.yml", ()),
    }


def test_without_shared_files_nothing_is_recorded(tmp_path):
    manifest = load(tmp_path, with_pictures("[a.tiff]"))
    assert manifest.shared == manifest.origins == ()
