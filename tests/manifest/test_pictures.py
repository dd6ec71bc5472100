"""Ids of pictures, forms of regions and scales of pictures, case by case."""

from __future__ import annotations

import pytest
from heatbrief.errors import UserError
from heatbrief.manifest import pictures

from .test_load import codes, load, with_pictures


def ids(folder, entries):
    return [one.id for one in load(folder, with_pictures(entries)).thermograms]


LONG = "x" * 40


@pytest.mark.parametrize(
    ("entries", "expected"),
    [
        ("[x.tiff, x.png]", ["x", "x-png"]),
        ("[a/x.tiff, a/x.png]", ["a-x", "x-png"]),
        ("[a/x.tiff, a/x.png, b/x.png, c/b/x.png]", ["a-x", "x-png", "b-x", "x-2"]),
        ("[a/x.tiff, b/a/x.tiff, c/a/x.tiff]", ["a-x", "x-tiff", "x-2"]),
        ("[a/x.tiff, b/a/x.tiff, c/a/x.tiff, d/a/x.tiff]", ["a-x", "x-tiff", "x-2", "x-3"]),
        ("[{file: x.tiff, id: x-2}, a/x.tiff, b/a/x.tiff, c/a/x.tiff]", ["x-2", "a-x", "x-tiff", "x-3"]),
        ("[{file: y.tiff, id: x}, x.tiff]", ["x", "x-2"]),
        ("[{file: y.tiff, id: x}, {file: z.tiff, id: x-2}, x.tiff]", ["x", "x-2", "x-3"]),
        (f"[{LONG}.tiff, {{file: {LONG}.tiff, page: 12}}]", [LONG, "x" * 32 + "-page-12"]),
        (f"[{{file: y.tiff, id: {LONG}}}, {LONG}.tiff]", [LONG, "x" * 34 + "-2"]),
        ("[{file: y.tiff, id: x-page-7}, {file: x.tiff, page: 7}]", ["x-page-7", "x-page-7-2"]),
        ("['-.tiff', x.tiff]", None),
    ],
)
def test_ids_are_the_stem_with_as_much_as_tells_it_apart(tmp_path, entries, expected):
    found = ids(tmp_path, entries)
    assert found == (expected or found) and len(set(found)) == len(found) and max(map(len, found)) <= 40


@pytest.mark.parametrize(
    ("entries", "found"),
    [
        ("[{file: a.tiff, id: x}, {file: b.tiff, id: x}]", ["duplicate-id"]),
        ("[{file: a.tiff, id: X}]", ["bad-id"]),
        ("[a.tiff, a.tiff]", ["duplicate-picture"]),
        ("[a.tiff, {file: a.tiff, page: 0}]", ["duplicate-picture"]),
        ("[{file: ''}]", ["missing-value"]),
        ("[{file: a.tiff, taken: yesterday}]", ["bad-date"]),
        ("[{file: a.tiff, visible: ../x.jpg}]", ["path-outside"]),
    ],
)
def test_pictures_that_cannot_be(tmp_path, entries, found):
    assert codes(tmp_path, with_pictures(entries)) == found


@pytest.mark.parametrize("entries", ["[a.tiff, {file: a.tiff, page: 1}]", "[a.tiff, {file: a.tiff, id: other}]"])
def test_one_file_may_stand_twice_with_another_page_or_an_id(tmp_path, entries):
    assert len(load(tmp_path, with_pictures(entries)).thermograms) == 2


def test_a_survey_has_20000_pictures_at_most(tmp_path, monkeypatch):
    monkeypatch.setattr(pictures, "MOST_PICTURES", 3)
    assert len(load(tmp_path, with_pictures("[a.tiff, b.tiff, c.tiff]")).thermograms) == 3
    assert "too-many-pictures" in codes(tmp_path, with_pictures("[a.tiff, b.tiff, c.tiff, d.tiff]"))


def test_defaults_fill_only_what_is_left_open(tmp_path):
    text = with_pictures(
        "[{file: a.tiff, room: hall}, b.tiff]", "defaults: {room: attic, distance: 2 m, size: [4, 3]}\n"
    )
    a, b = load(tmp_path, text).thermograms
    assert (a.room, b.room) == ("hall", "attic") and a.distance.value == b.distance.value == 2.0
    assert a.size == b.size == (4, 3)
    wrong = with_pictures("[a.tiff]", "defaults: {scale: {zero_at: 3 degC}}\n")
    assert codes(tmp_path, wrong) == ["scale-incomplete"]


# --- scales --------------------------------------------------------------------------------

BAR = "bar: {box: [0, 0, 9, 90], ends: [10 degC, 20 degC]}"


@pytest.mark.parametrize(
    ("scale", "found"),
    [
        ("kelvin_per_count: 0.01", None),
        ("kelvin_per_count: 0.01, zero_at: 3 degC", None),
        ("values: degC", None),
        ("known_points: true", None),
        (BAR, None),
        ("zero_at: 3 degC", "scale-incomplete"),
        ("known_points: false", "scale-incomplete"),
        ("kelvin_per_count: ~", None),
        ("values: degC, kelvin_per_count: 0.01", "scale-twice"),
        ("values: degC, zero_at: 3 degC", "scale-twice"),
        ("known_points: true, values: degC", "scale-twice"),
        ("known_points: true, zero_at: 3 degC", "scale-twice"),
        (f"known_points: true, {BAR}", "scale-twice"),
        (f"{BAR}, values: degC", "scale-twice"),
        (f"{BAR}, zero_at: 3 degC", "scale-twice"),
        (f"{BAR}, kelvin_per_count: 3", "scale-twice"),
        ("bar: {box: [0, 0, 1, 1], ends: [10 degC, 10.1 degC]}", None),
        ("bar: {box: [0, 0, 1, 0], ends: [10 degC, 20 degC]}", "colour-bar"),
        ("bar: {box: [0, 0, 9, 9], picture: [0, 0, 0, 9], ends: [10 degC, 20 degC]}", "colour-bar"),
        ("bar: {box: [0, 0, 9, 9], overlays: [[0, 0, 9, 0]], ends: [10 degC, 20 degC]}", "colour-bar"),
        ("bar: {box: [0, 0, 9, 9], ends: [10 degC, 10 degC]}", "colour-bar"),
    ],
)
def test_a_scale_is_given_in_one_way(tmp_path, scale, found):
    text = with_pictures(f"[{{file: a.tiff, scale: {{{scale}}}}}]")
    if found is None:
        assert load(tmp_path, text).thermograms[0].scale is not None
    else:
        assert codes(tmp_path, text) == [found]


# --- regions -------------------------------------------------------------------------------


def region(folder, *forms, names=None):
    listed = ", ".join(f"{{name: '{names[n] if names else f'r{n}'}', {form}}}" for n, form in enumerate(forms))
    return load(folder, with_pictures(f"[{{file: a.tiff, regions: [{listed}]}}]")).thermograms[0].regions


MANY = ", ".join(f"[{n % 100}, {n // 100}]" for n in range(10_000))


@pytest.mark.parametrize(
    ("form", "fine"),
    [
        ("outline: [[1, 1], [3, 1], [1, 2]]", True),
        ("outline: [[1, 2], [3, 6], [5, 10]]", False),
        ("outline: [[1, 2], [3, 6], [5, 10], [5, 11]]", True),
        ("outline: [[1, 2], [3, 6], [5, 11], [5, 10]]", True),
        ("outline: [[1, 2], [1, 6], [1, 9]]", False),
        ("outline: [[1, 2], [4, 2], [9, 2]]", False),
        ("outline: [[2, 1], [4, 5], [3, 4]]", True),
        ("outline: [[5, 5], [9, 9], [1, 1]]", False),
        ("line: [[1, 1], [1, 2]]", True),
        ("line: [[1, 1], [1, 1]]", False),
        ("box: [0, 0, 0.1, 0.1]", True),
        ("box: [0, 0, 0, 5]", False),
        ("box: [-5, -5, 9, 9]", True),
        ("point: [1000000, -1000000]", True),
        ("point: [1000001, 0]", False),
        ("point: [0, -1000001]", False),
        (f"line: [{MANY}]", True),
        (f"line: [{MANY}, [0, 0]]", False),
    ],
    ids=lambda one: str(one)[:40],
)
def test_forms_of_regions(tmp_path, form, fine):
    if fine:
        assert len(region(tmp_path, form)) == 1
    else:
        with pytest.raises(UserError) as caught:
            region(tmp_path, form)
        assert [one.code for one in caught.value.problems] == ["region-form"]


def test_a_region_has_one_form_or_is_the_whole_picture(tmp_path):
    assert region(tmp_path, "shows: wall")[0].point is None
    both = "point: [1, 1], line: [[1, 1], [2, 2]]"
    assert codes(tmp_path, with_pictures(f"[{{file: a.tiff, regions: [{{name: r, {both}}}]}}]")) == ["several-forms"]


def test_names_of_regions_differ_by_more_than_case(tmp_path):
    def found(a, b):
        listed = f"{{name: '{a}', point: [1, 1]}}, {{name: '{b}', point: [2, 2]}}"
        return codes(tmp_path, with_pictures(f"[{{file: a.tiff, regions: [{listed}]}}]"))

    assert found("Door", " door ") == ["duplicate-region"] and found("a", " ") == ["empty-name"]
    assert len(region(tmp_path, "point: [1, 1]", "point: [2, 2]", names=["a", "b"])) == 2


def test_regions_of_the_common_list_name_their_picture(tmp_path):
    def listed(entry):
        return with_pictures("[a.tiff, b.tiff]", f"regions: [{{name: r, point: [1, 1]{entry}}}]\n")

    found = load(tmp_path, listed(", thermogram: b")).thermograms
    assert [len(one.regions) for one in found] == [0, 1] and found[1].regions[0].thermogram == "b"
    assert codes(tmp_path, listed("")) == ["missing-key"] and codes(tmp_path, listed(", thermogram: ~")) == [
        "missing-key"
    ]
    assert codes(tmp_path, listed(", thermogram: c")) == ["unknown-thermogram"]
    own = "[{file: a.tiff, regions: [{name: r, point: [1, 1], thermogram: %s}]}, b.tiff]"
    assert codes(tmp_path, with_pictures(own % "b")) == ["region-elsewhere"]
    assert load(tmp_path, with_pictures(own % "a")).thermograms[0].regions[0].thermogram == "a"
