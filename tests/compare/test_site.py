"""The site of the later survey with what changed: from stored results and the comparison beside them alone."""

from __future__ import annotations

import base64
import io
import json
import re
import shutil

import numpy as np
import pytest
from heatbrief.compare import compare, read_survey
from heatbrief.compare.write import OBJECTS, keep_earlier, write_comparison
from heatbrief.errors import UserError
from heatbrief.site.build import build_site
from heatbrief.site.changes import earlier_counts, earlier_of
from heatbrief.site.portfolio import build_portfolio
from heatbrief.store.arrays import stored_values
from heatbrief.store.comparison import read_comparison
from heatbrief.store.results import read_results
from PIL import Image
from support import tree_state


@pytest.fixture(scope="module")
def published(surveys, tmp_path_factory):
    """A copy of the later survey with the comparison beside it, and its site."""
    folder = tmp_path_factory.mktemp("published") / "invented-repairs"
    shutil.copytree(surveys.after, folder, ignore=shutil.ignore_patterns("site"))
    before = read_survey(surveys.before)
    comparison = compare(before, read_survey(folder))
    write_comparison(comparison, folder / "compare")
    keep_earlier(comparison, before.pixels.objects, folder / "compare")
    (folder / "compare" / "index.html").write_text("<!doctype html>", "utf-8")
    build_site(read_results(folder), folder / "objects", folder / "site")
    return folder


def test_the_page_says_what_became_of_each_and_links_the_comparison(published, compared):
    page = (published / "site" / "changes.html").read_text("utf-8")
    rows = [one for one in compared.findings if one.row != "in order"]
    body = page[page.index("<tbody>") : page.index("</tbody>")]
    assert body.count("<tr>") == len(rows) > 10
    assert {one.outcome for one in rows} == set(re.findall(r"<b>([a-z ]+)</b></span>", body))
    assert 'href="./../compare/index.html"' in page
    assert 'href="./changes.html"' in (published / "site" / "index.html").read_text("utf-8")


def test_the_viewer_gets_the_earlier_picture_laid_on_the_later_one(published, surveys):
    results = read_results(published)
    earlier = earlier_of(results, published, published / "site")
    pairs = [(one, pair) for one in results.thermograms if (pair := earlier.pair(one)) is not None]
    assert len(pairs) > 10
    moved = 0
    for record, pair in pairs:
        text = (published / "site" / "pictures" / f"{record.id}-before-values.js").read_text("ascii")
        data = json.loads(text[text.index("(") + 1 : text.rindex(")")])
        counts = np.asarray(Image.open(io.BytesIO(base64.b64decode(data["values"]))))
        assert np.array_equal(counts, earlier_counts(earlier, pair))
        stored = stored_values(pair.earlier, surveys.before / "objects")
        x, y = (round(one) for one in pair.moved)
        moved += bool(x or y)
        row, column = data["height"] // 2, data["width"] // 2
        shown = data["low"] + data["step"] * (counts[row, column] - 1.0)
        assert shown == pytest.approx(stored[row + y, column + x])
        page = (published / "site" / "thermograms" / f"{record.id}.html").read_text("utf-8")
        assert f'data-id="{data["id"]}"' in page
    assert moved


def test_results_and_comparison_alone_give_the_same_site(published, tmp_path):
    copy = tmp_path / "copy"
    shutil.copytree(published, copy, ignore=shutil.ignore_patterns("site"))
    build_site(read_results(copy), copy / "objects", copy / "site")
    assert tree_state(copy / "site") == tree_state(published / "site")
    assert not build_site(read_results(copy), copy / "objects", copy / "site")


def test_a_comparison_of_other_results_is_not_shown_and_a_damaged_one_is_told(published, surveys, tmp_path):
    copy = tmp_path / "copy"
    shutil.copytree(surveys.before, copy, ignore=shutil.ignore_patterns("site"))
    shutil.copytree(published / "compare", copy / "compare")
    assert read_comparison(copy, read_results(copy)) is None
    build_site(read_results(copy), copy / "objects", copy / "site")
    assert not (copy / "site" / "changes.html").exists()
    for damage in ("{", "[]", '{"after": 3}'):
        (copy / "compare" / "comparison.json").write_text(damage, "utf-8")
        with pytest.raises(UserError) as caught:
            build_site(read_results(copy), copy / "objects", copy / "site")
        assert caught.value.problems[0].code == "comparison-damaged"


def test_only_the_earlier_pictures_that_are_used_are_kept(published):
    comparison = json.loads((published / "compare" / "comparison.json").read_text("utf-8"))
    named = {pair["earlier"]["object"] for pair in comparison["pictures"] if pair["earlier"]}
    assert named == {path.name for path in (published / "compare" / OBJECTS).iterdir()}


def test_the_portfolio_links_the_comparison(published):
    results = read_results(published)
    slug = published.name
    build_portfolio([(slug, results)], published.parent)
    assert f'href="{slug}/compare/index.html"' in (published.parent / "index.html").read_text("utf-8")


def test_what_is_taken_over_is_the_same_with_and_without_an_earlier_survey(published, tmp_path):
    copy, memory = tmp_path / "copy", tmp_path / "made.json"
    shutil.copytree(published, copy, ignore=shutil.ignore_patterns("site"))
    (copy / "compare").rename(tmp_path / "compare")
    for at in range(3):  # without, with, and without again
        if at == 1:
            (tmp_path / "compare").rename(copy / "compare")
        elif at == 2:
            (copy / "compare").rename(tmp_path / "compare")
        build_site(read_results(copy), copy / "objects", copy / "site", memory=memory)
        build_site(read_results(copy), copy / "objects", copy / "fresh")
        assert tree_state(copy / "site") == tree_state(copy / "fresh")
        shutil.rmtree(copy / "fresh")
        assert (copy / "site" / "changes.html").is_file() == (at == 1)
