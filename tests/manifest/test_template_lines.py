"""`heatbrief new`, line by line: what names of files say, and which pictures belong together."""

from __future__ import annotations

import pytest
from heatbrief.manifest.asked import Asked
from heatbrief.manifest.template import first_manifest, quoted
from PIL import Image


def new_manifest(folder, *more, **named):
    return first_manifest(folder, *more, **named).text


def fill(folder, *names):
    """Files by name: PNG and JPEG of 4 x 3 pixels, PNG below "colour" or with "rgb" in its name in colours; else empty."""
    for name in names:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        colour = path.suffix != ".png" or "rgb" in name or "colour" in name
        if path.suffix in (".png", ".jpg", ".jpeg"):
            Image.new("RGB" if colour else "L", (4, 3)).save(path)
        else:
            path.touch()
    return folder


def entries(folder, **more):
    """{file: lines of its entry}"""
    _, _, text = new_manifest(folder, **more).partition("thermograms:\n")
    found = {}
    for line in text.splitlines():
        if line.startswith("  - file: "):
            found[line.removeprefix("  - file: ").strip('"')] = lines = []
        else:
            lines.append(line.strip())
    return found


# --- when and what -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stem", "taken"),
    [
        ("wall 2026-07-14", "2026-07-14"),
        ("20260714", "2026-07-14"),
        ("x_20260714_162005", "2026-07-14T16:20:05"),
        ("2026-07-14T16h20m05", "2026-07-14T16:20:05"),
        ("2026.07.14 16.20", "2026-07-14T16:20"),
        ("2026-02-30", None),
        ("2026-13-01", None),
        ("120260714", None),
        ("202607141", None),
        ("19990714", None),
        ("wall 12", None),
    ],
)
def test_a_date_in_a_name(tmp_path, stem, taken):
    text = new_manifest(fill(tmp_path, f"{stem}.png"))
    assert (f"    taken: {taken}\n" in text) if taken else "taken:" not in text
    assert (f"\ndate: {taken[:10]}\n" in text) if taken else "# When was the survey?\n# date:" in text


def test_the_survey_has_its_first_day(tmp_path):
    assert "\ndate: 2026-07-14\n" in new_manifest(fill(tmp_path, "20260715.png", "20260714_1000.png"))


@pytest.mark.parametrize(
    ("stem", "shows"),
    [
        ("attic-12", "# shows: attic"),
        ("north wall_003", '# shows: "north wall"'),
        ("wall 20260714T1620", "# shows: wall"),
        ("abc-12", "# shows:"),
        ("abcd-12", "# shows: abcd"),
        ("IMAGE_0012", "# shows:"),
        ("thermal picture 3", "# shows:"),
        ("thermal roof 3", '# shows: "thermal roof"'),
        ("x1y2z3", "# shows:"),
        ("12 up", "# shows:"),
        ("new-door", '# shows: "new door"'),
    ],
)
def test_words_of_four_letters_say_what_a_picture_shows(tmp_path, stem, shows):
    (lines,) = entries(fill(tmp_path, f"{stem}.png")).values()
    assert lines[-1] == shows and lines[0] == "size: [4, 3]"


def test_only_the_first_entry_has_the_question(tmp_path):
    found = list(entries(fill(tmp_path, "attic.png", "panel.png", "roof.png")).values())
    assert [any("What does each picture show" in line for line in lines) for lines in found] == [True, False, False]


def test_lines_of_the_shot_list_stand_instead_of_words(tmp_path):
    shots = (Asked("attic", "attic from inside", ()), Asked("panel", "breaker panel", ()))
    found = entries(fill(tmp_path, "attic-1.png", "other.png"), shots=shots)
    assert found["attic-1.png"][-1] == "# shows: attic from inside"
    assert found["other.png"][-2:] == ["# shows: attic from inside", "# shows: breaker panel"]


# --- sequences -----------------------------------------------------------------------------


def test_pictures_that_differ_by_a_number_may_be_one_view_and_are_asked_for_once(tmp_path):
    found = entries(fill(tmp_path, "ir/a 1.png", "ir/a 2.png", "ir/a 3.png", "ir/b.png", "x/a 4.png", "7.png", "8.png"))
    asked = {name: [line for line in lines if "one fixed view" in line] for name, lines in found.items()}
    assert [name for name, lines in asked.items() if lines] == ["ir/a 1.png"]
    assert {name for name, lines in found.items() if "# sequence: ir-a" in lines} == {
        "ir/a 1.png",
        "ir/a 2.png",
        "ir/a 3.png",
    }
    assert not any("sequence" in line for name in ("ir/b.png", "x/a 4.png", "7.png") for line in found[name])


# --- visible pictures ----------------------------------------------------------------------


def visible(folder):
    return {
        name: next((line.removeprefix("visible: ") for line in lines if line.startswith("visible: ")), None)
        for name, lines in entries(folder).items()
    }


def test_the_visible_picture_is_that_of_the_same_folder_else_of_the_only_one_so_called(tmp_path):
    fill(
        tmp_path,
        "ir/a.png",
        "ir/a.jpg",
        "photo/a.jpg",
        "ir/b.png",
        "photo/b.JPG".lower(),
        "c/d.png",
        "e/d.png",
        "photo/d.jpg",
    )
    assert visible(tmp_path) == {
        "ir/a.png": "ir/a.jpg",
        "ir/b.png": "photo/b.jpg",
        "c/d.png": None,
        "e/d.png": None,
    }


def test_of_two_visible_pictures_the_first_counts(tmp_path):
    assert visible(fill(tmp_path, "ir/a.png", "one/a.jpg", "two/a.jpeg")) == {"ir/a.png": "one/a.jpg"}


@pytest.mark.parametrize("folder", ["visible", "Photo", "photos", "deep/VISIBLE/more"])
def test_every_picture_of_such_a_folder_is_a_visible_one(tmp_path, folder):
    assert visible(fill(tmp_path, "ir/a.png", f"{folder}/a.png")) == {"ir/a.png": f"{folder}/a.png"}


def test_a_file_of_that_name_is_no_folder_of_visible_ones(tmp_path):
    assert visible(fill(tmp_path, "visible.png")) == {"visible.png": None}


def test_a_colour_picture_belongs_to_a_plain_one_of_its_name_else_it_is_listed(tmp_path):
    """The colour type of a PNG says so; a JPEG alone is not listed."""
    assert visible(fill(tmp_path, "ir/a.png", "colour/a.png")) == {"ir/a.png": "colour/a.png"}
    alone = fill(tmp_path / "other", "rgb-1.png", "b.jpg", "c.png")
    assert visible(alone) == {"c.png": None, "rgb-1.png": None}


# --- what is left out ----------------------------------------------------------------------


def test_hidden_published_and_linked_files_are_left_out(tmp_path):
    fill(tmp_path, "a.png", ".b.png", ".c/d.png", "published/e.png", "f/published/g.png", "h.txt.bak")
    (tmp_path / "link.png").symlink_to(tmp_path / "a.png")
    (tmp_path / "folder.png").mkdir()
    assert list(entries(tmp_path)) == ["a.png"]


@pytest.mark.parametrize("name", ["plan/a.png", "Plans/a.jpg", "floors/b/a.jpeg", "floor plans/a.png"])
def test_drawings_are_no_pictures(tmp_path, name):
    text = new_manifest(fill(tmp_path, "x.png", name))
    assert list(entries(tmp_path)) == ["x.png"] and f"picture: {quoted(name)}" in text and "# floors:" not in text


def test_tables_in_a_folder_of_drawings_are_pictures(tmp_path):
    assert list(entries(fill(tmp_path, "plan/a.csv", "plan.png"))) == ["plan.png", "plan/a.csv"]


# --- head and defaults ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("files", "asks"),
    [
        ({"a.csv": "1,2"}, {"kelvin is one count"}),
        ({"a.csv": "1.5,2"}, {"decimal numbers"}),
        ({"a.csv": "1,2", "b.csv": "1.5,2"}, {"kelvin is one count", "decimal numbers"}),
        ({"a.csv": "x"}, {"recorded numbers become"}),
        ({"a.csv": "x", "b.csv": "1,2"}, {"kelvin is one count"}),
    ],
)
def test_the_scale_is_asked_for_by_what_the_numbers_look_like(tmp_path, files, asks):
    for name, text in files.items():
        (tmp_path / name).write_text(text)
    text = new_manifest(tmp_path).lower()
    assert {one for one in ("kelvin is one count", "decimal numbers", "recorded numbers become") if one in text} == asks


def test_what_is_inspected_is_asked_for_or_stated(tmp_path):
    fill(tmp_path, "a.png")
    assert "\ninspect: [envelope, plumbing]\n" in new_manifest(tmp_path, ["envelope", "plumbing"])
    assert "\n# inspect: [envelope]\n" in new_manifest(tmp_path)


@pytest.mark.parametrize(
    ("name", "said"),
    [("Row 3", '"Row 3"'), ("row", "row"), ("a\tb", "property"), ("a\nb", "property"), ("a\x07b", "property")],
)
def test_the_property_has_the_name_of_its_folder(tmp_path, name, said):
    assert f"property: {{name: {said}}}\n" in new_manifest(fill(tmp_path / name, "a.png"))


@pytest.mark.parametrize(
    ("text", "out"),
    [
        ("a/b-c_d.png", "a/b-c_d.png"),
        ("Off", '"Off"'),
        ("n", '"n"'),
        ("1a", '"1a"'),
        ("", '""'),
        ('"\\', '"\\"\\\\"'),
        ("\t\n\x07", '"\\t\\n\\U00000007"'),
        ("é", '"é"'),
    ],
)
def test_texts_are_quoted_where_yaml_would_change_them(text, out):
    assert quoted(text) == out
