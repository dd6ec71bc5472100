"""The page over several properties."""

from __future__ import annotations

import dataclasses
import re

import pytest
from heatbrief.errors import UserError
from heatbrief.site.portfolio import build_portfolio


def calm(results):
    return dataclasses.replace(
        results, findings=(), property=dataclasses.replace(results.property, name="Calm House", slug="calm")
    )


def test_most_urgent_first_with_counts_and_links(built, tmp_path):
    properties = [("calm", calm(built.results)), ("sandpiper", built.results)]
    assert build_portfolio(properties, tmp_path)
    text = (tmp_path / "index.html").read_text("utf-8")
    assert text.index("Sandpiper Row 3") < text.index("Calm House")
    assert re.findall(r'<th scope="row"><a href="([^"]+)"', text) == [
        "sandpiper/site/index.html",
        "calm/site/index.html",
    ]
    assert "1 to make safe today" in text and "no findings" in text and "invented" in text
    assert 'rel="stylesheet"' not in text and "<style>" in text
    assert [path.name for path in tmp_path.iterdir()] == ["index.html"]


def test_pages_beside_a_site_are_linked_where_they_are(built, tmp_path):
    (tmp_path / "calm" / "since").mkdir(parents=True)
    (tmp_path / "calm" / "since" / "index.html").write_text("page", "utf-8")
    build_portfolio([("calm", calm(built.results)), ("sandpiper", built.results)], tmp_path)
    text = (tmp_path / "index.html").read_text("utf-8")
    assert re.findall(r'href="([^"]+/(?:since|compare)/[^"]+)"', text) == ["calm/since/index.html"]


def test_unchanged_is_left_and_foreign_is_refused(built, tmp_path):
    properties = [("a", built.results), ("b", calm(built.results))]
    assert build_portfolio(properties, tmp_path)
    assert not build_portfolio(list(reversed(properties)), tmp_path)
    (tmp_path / "index.html").write_text("<title>mine</title>", "utf-8")
    with pytest.raises(UserError) as caught:
        build_portfolio(properties, tmp_path)
    assert caught.value.problems[0].code == "not-a-site"
    assert (tmp_path / "index.html").read_text("utf-8") == "<title>mine</title>"


def test_hostile_names_stay_text(built_hostile, built, tmp_path):
    build_portfolio([("a", built_hostile.results), ("b", built.results)], tmp_path)
    text = (tmp_path / "index.html").read_text("utf-8")
    assert text.count("<script") == 1 and "{{7*7}}" in text and "alert(1)</" not in text
