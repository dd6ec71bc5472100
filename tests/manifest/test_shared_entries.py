"""Files that include each other, whose settings hold, drawings and pages at the edges of what is taken."""

from __future__ import annotations

import gc

import pytest
from heatbrief.manifest import include, origins
from heatbrief.manifest.include import MAX_INCLUDES, merged, read_with_includes
from heatbrief.manifest.load import load_manifest
from heatbrief.manifest.nodes import Problems, Table
from heatbrief.manifest.origins import origins_of, shared_files
from heatbrief.manifest.reader import parse_yaml

from .fake_registry import REGISTRY
from .test_load import codes, load, with_pictures


def tree(text, file="a.yaml"):
    return parse_yaml(text, file, Problems())


def plain(node):
    return {key: plain(one) for key, (_, one) in node.entries.items()} if isinstance(node, Table) else node.text


def test_own_entries_win_mappings_merge_and_nothing_is_included_twice():
    own = tree("a: 1\nm: {x: 1, deep: {p: 1}}\nl: [1]\n", "own.yaml")
    below = tree("include: z.yaml\na: 2\nb: 2\nm: {x: 2, y: 2, deep: {q: 2}}\nl: [2, 3]\n", "below.yaml")
    both = merged(own, below)
    assert list(both.entries) == ["a", "m", "l", "b"] and both.entries["a"] is own.entries["a"]
    assert plain(both.get("m")) == {"x": "1", "deep": {"p": "1", "q": "2"}, "y": "2"}
    assert both.get("l") is own.get("l") and both.get("b") is below.get("b")
    assert both.entries["m"][0] is own.entries["m"][0] and both.get("m").file == "own.yaml"
    assert plain(merged(tree("m: 1\n"), tree("m: {x: 2}\n"))) == {"m": "1"}


def chain(folder, length):
    """survey.yaml includes 1.yaml, that 2.yaml and so on."""
    for number in range(1, length + 1):
        more = f"include: {number + 1}.yaml\n" if number < length else "notes: last\n"
        (folder / f"{number}.yaml").write_text(more, "utf-8")
    return "include: 1.yaml\n" + with_pictures("[a.tiff]")


def test_files_include_each_other_eight_deep(tmp_path):
    found = load(tmp_path, chain(tmp_path, MAX_INCLUDES))
    assert found.notes == "last" and [one.path for one in found.shared] == [f"{n}.yaml" for n in range(1, 9)]
    assert codes(tmp_path, chain(tmp_path, MAX_INCLUDES + 1)) == ["include-depth"]


@pytest.mark.parametrize(
    ("named", "code"),
    [
        ("a\\\\b.yaml", "include-path"),
        ("/abs.yaml", "include-path"),
        ("C:x.yaml", "include-path"),
        ("a\\x07.yaml", "include-path"),
        ("firm.json", "include-path"),
        ("none.yaml", "include-missing"),
        ("x" * 300 + ".yaml", "include-missing"),
        (".yaml", "include-missing"),
    ],
)
def test_what_is_no_file_beside_it(tmp_path, named, code):
    path = tmp_path / "survey.yaml"
    path.write_text(f'include: "{named}"\n', "utf-8")
    problems = Problems()
    read_with_includes(path, problems)
    assert [one.code for one in problems.sorted()] == [code]


@pytest.mark.parametrize("text", ["include:\n", "include: ~\n", ""])
def test_including_nothing_is_nothing(tmp_path, text):
    path = tmp_path / "survey.yaml"
    path.write_text(text + "notes: x\n", "utf-8")
    problems, shared = Problems(), []
    assert "notes" in read_with_includes(path, problems, shared).entries and not len(problems) and shared == []
    path.write_text("- a\n", "utf-8")
    assert read_with_includes(path, problems) is None and problems.sorted()[0].code == "wrong-type"


def test_an_ending_in_capitals_is_one_too(tmp_path):
    (tmp_path / "FIRM.YML").write_text("notes: firm\n", "utf-8")
    assert load(tmp_path, "include: FIRM.YML\n" + with_pictures("[a.tiff]")).notes == "firm"


def test_a_link_that_leads_to_itself_is_no_file(tmp_path):
    (tmp_path / "loop.yaml").symlink_to(tmp_path / "loop.yaml")
    assert codes(tmp_path, "include: loop.yaml\n" + with_pictures("[a.tiff]")) == ["include-missing"]


# --- whose setting holds -------------------------------------------------------------------


def rows(own, *shared):
    below = [tree(text, f"/s/{number}.yaml") for number, text in enumerate(shared)]
    whole = tree(own, "/s/survey.yaml")
    for one in below:
        whole = merged(whole, one)
    found = origins_of(include.Path("/s/survey.yaml"), whole, below)
    return [(one.setting, one.path, one.over) for one in found]


def test_a_value_that_replaces_a_mapping_is_found_above_it():
    assert rows("a: 1\n", "a: {b: {c: 2}}\n") == [("a.b.c", "survey.yaml", ("0.yaml",))]
    assert rows("a: {b: 1}\n", "a: {b: {c: 2}}\n") == [("a.b.c", "survey.yaml", ("0.yaml",))]
    assert rows("a: {}\n", "a: 2\n") == [("a", "survey.yaml", ("0.yaml",))], "an empty mapping has no value"
    assert rows("x: 1\n", "a: 2\nb: [1]\nc:\nformat: 1\ninclude: q.yaml\n", "a: 3\n") == [
        ("a", "0.yaml", ("1.yaml",)),
        ("b", "0.yaml", ()),
    ]


def test_four_hundred_settings_are_listed():
    many = "".join(f"k{n:03}: 1\n" for n in range(401))
    assert len(rows("x: 1\n", many)) == origins.MOST_ORIGINS == 400
    assert len(rows("x: 1\n", many.replace("k400: 1\n", ""))) == 400 and len(rows("x: 1\n", "a: 1\n")) == 1


def test_a_shared_file_that_is_gone_has_no_digest(tmp_path):
    gone = Table(str(tmp_path / "gone.yaml"), 1, 1)
    (one,) = shared_files(tmp_path / "survey.yaml", [gone])
    assert (one.path, one.sha256) == ("gone.yaml", "")


# --- drawings, pages and pictures ----------------------------------------------------------


@pytest.mark.parametrize(("count", "found"), [(50, None), (51, ["floor-place"])])
def test_fifty_drawings_are_shown(tmp_path, count, found):
    floors = ", ".join(f"{{name: f{n}, picture: p.png}}" for n in range(count))
    text = with_pictures("[a.tiff]", f"floors: [{floors}]\n")
    if found:
        assert codes(tmp_path, text) == found
    else:
        assert len(load(tmp_path, text).floors) == count


@pytest.mark.parametrize(("pages", "code"), [("3..3", None), ("3..4", "id-of-many")])
def test_an_id_is_for_one_page(tmp_path, pages, code):
    text = with_pictures(f"[{{file: a.tiff, id: mine, pages: {pages}}}]")
    if code:
        assert codes(tmp_path, text) == [code]
    else:
        assert [one.page for one in load(tmp_path, text).thermograms] == [3]


@pytest.mark.parametrize(
    ("pages", "count"), [("0..19999", 20_000), ("0..20000", None), ("5..4", None), ("5", None), ("5 .. 6", 2)]
)
def test_a_range_of_pages(tmp_path, pages, count):
    text = with_pictures(f"[{{file: a.tiff, pages: {pages}}}]")
    if count is None:
        assert codes(tmp_path, text)[0] == "bad-pages"
    elif count < 100:
        assert len(load(tmp_path, text).thermograms) == count


def test_sequences_of_files_with_one_name_are_told_apart(tmp_path):
    names = ["a/x.tiff", "b/x.tiff", "c/b/x.tiff", "d/b/x.tiff"]
    text = with_pictures("[" + ", ".join(f"{{file: {name}, pages: 0..1}}" for name in names) + "]")
    found = load(tmp_path, text).thermograms
    assert [one.sequence for one in found[::2]] == ["x", "b-x", "x-tiff", "2-x"]


@pytest.mark.parametrize(("frames", "found"), [(64, None), (65, ["too-many-frames"])])
def test_sixty_four_frames_of_a_flat_field_are_read(tmp_path, frames, found):
    (tmp_path / "flat").mkdir()
    for number in range(frames):
        (tmp_path / "flat" / f"{number:02}.tiff").touch()
    text = with_pictures("[a.tiff]", "camera: {flat_field: ['flat/*.tiff']}\n")
    if found:
        assert codes(tmp_path, text) == found
    else:
        assert load(tmp_path, text).camera.flat_field == tuple(f"flat/{n:02}.tiff" for n in range(frames))


def test_frames_count_once_and_stay_in_the_folder(tmp_path):
    found = load(tmp_path, with_pictures("[a.tiff]", "camera: {flat_field: [b.tiff, a.tiff, b.tiff]}\n"))
    assert found.camera.flat_field == ("b.tiff", "a.tiff")
    assert codes(tmp_path, with_pictures("[a.tiff]", "camera: {flat_field: [../b.tiff]}\n")) == ["path-outside"]


@pytest.mark.parametrize(
    ("prices", "currency"),
    [
        ("{a: 1 EUR, b: 2 EUR}", "EUR"),
        ("{a: 1 EUR, b: 2 USD, c: 3 USD}", ["two-currencies"]),
        ("{a: 1 USD, b: 2 EUR, c: 3 EUR}", ["two-currencies"]),
        ("{}", "USD"),
    ],
)
def test_the_currency_is_that_of_most_prices(tmp_path, prices, currency):
    text = with_pictures("[a.tiff]", f"prices: {prices}\n")
    if isinstance(currency, str):
        assert load(tmp_path, text).currency == currency
    else:
        assert codes(tmp_path, text) == currency


@pytest.mark.parametrize("pictures", ["[]", "", "~"])
def test_no_pictures_are_only_fine_before_a_visit(tmp_path, pictures):
    assert codes(tmp_path, with_pictures(pictures)) == ["no-pictures"]
    path = tmp_path / "survey.yaml"
    assert load_manifest(path, REGISTRY, pictures_required=False).thermograms == ()


def test_reading_leaves_the_collector_of_cycles_as_it_was(tmp_path):
    for on in (True, False):
        (gc.enable if on else gc.disable)()
        try:
            load(tmp_path, with_pictures("[a.tiff]"))
            assert gc.isenabled() is on
        finally:
            gc.enable()
