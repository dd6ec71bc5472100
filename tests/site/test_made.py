"""What is taken over from an earlier build gives the same bytes as a build from nothing."""

from __future__ import annotations

import dataclasses
import json
import os
from pathlib import Path

import heatbrief.site.drawing as drawing
import heatbrief.site.made as made
import pytest
from heatbrief.model import Quantity
from heatbrief.site.build import build_site
from heatbrief.site.chart_drawing import draw_chart
from heatbrief.site.finding_page import finding_data, finding_pages
from heatbrief.site.narrow import Narrow
from heatbrief.site.page import clean
from heatbrief.site.thermogram_page import thermogram_data, thermogram_pages


def files_of(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def renamed(results, **changes):
    """The document with its first picture changed."""
    first, *rest = results.thermograms
    return dataclasses.replace(results, thermograms=(dataclasses.replace(first, **changes), *rest))


def told(results, **changes):
    """The document with its first finding changed."""
    first, *rest = results.findings
    return dataclasses.replace(results, findings=(dataclasses.replace(first, **changes), *rest))


CHANGES = {
    "title of a picture": lambda one: renamed(one, title="Another title in 2 m2"),
    "room of a picture": lambda one: renamed(one, room="Cellar"),
    "statistics of a picture": lambda one: renamed(one, statistics={"mean": Quantity.normal(20.0, "degC", 0.5)}),
    "a picture less": lambda one: dataclasses.replace(
        one,
        thermograms=one.thermograms[1:],
        findings=tuple(two for two in one.findings if two.thermogram != one.thermograms[0].id),
    ),
    "another order": lambda one: dataclasses.replace(one, thermograms=one.thermograms[::-1]),
    "title of a finding": lambda one: told(one, title="Something else"),
    "urgency of a finding": lambda one: told(one, urgency="watch"),
    "a finding less": lambda one: dataclasses.replace(one, findings=one.findings[1:], estimates=(), plan=()),
    "no outline": lambda one: told(one, outline=None),
    "costs": lambda one: dataclasses.replace(
        one,
        plan=tuple(dataclasses.replace(two, quantities={"cost": Quantity(9, "USD", 8, 10)}) for two in one.plan),
    ),
    "numbers of steps": lambda one: dataclasses.replace(
        one, plan=tuple(dataclasses.replace(two, order=len(one.plan) + 1 - two.order) for two in one.plan)
    ),
    "translations": lambda one: dataclasses.replace(
        one, texts={"en": {two.title: f"{two.title} in other words" for two in one.findings}}
    ),
    "floors": lambda one: dataclasses.replace(
        one, floors=tuple(dataclasses.replace(two, name="Another floor", places={}) for two in one.floors)
    ),
    "two titles alike": lambda one: told(one, title=one.findings[1].title),
    "two pictures alike": lambda one: renamed(one, title=one.thermograms[1].title),
    "estimates": lambda one: dataclasses.replace(one, estimates=()),
    "cautions": lambda one: dataclasses.replace(
        one, cautions=tuple(dataclasses.replace(two, title=f"{two.title}!") for two in one.cautions)
    ),
    "property": lambda one: dataclasses.replace(one, property=dataclasses.replace(one.property, name="Elsewhere")),
    "conditions": lambda one: dataclasses.replace(one, conditions={}),
    "units": lambda one: dataclasses.replace(one, survey=dataclasses.replace(one.survey, units="us")),
    "language": lambda one: dataclasses.replace(one, survey=dataclasses.replace(one.survey, language="de")),
}


@pytest.fixture(scope="module")
def remembered(built, tmp_path_factory):
    """A site with what it was made of."""
    folder = tmp_path_factory.mktemp("remembered")
    build_site(built.results, built.objects, folder / "site", memory=folder / "made.json")
    return folder


def copied(folder: Path, target: Path) -> Path:
    """The site and its memory again, with the times of the files as they were."""
    import shutil

    shutil.copytree(folder, target)
    return target


@pytest.mark.parametrize("what", CHANGES)
def test_a_change_gives_the_same_bytes_as_a_build_from_nothing(built, remembered, tmp_path, what):
    changed = CHANGES[what](built.results)
    again = copied(remembered, tmp_path / "again")
    assert build_site(changed, built.objects, again / "site", memory=again / "made.json")
    assert build_site(changed, built.objects, tmp_path / "fresh")
    assert files_of(again / "site") == files_of(tmp_path / "fresh")
    assert files_of(again / "site") != files_of(remembered / "site")


def test_what_did_not_change_is_not_made_again(built, remembered, tmp_path, monkeypatch):
    again = copied(remembered, tmp_path / "again")
    before = {path: path.stat().st_ino for path in (again / "site").rglob("*") if path.is_file()}
    drawn = []
    monkeypatch.setattr(drawing, "draw", lambda *given: drawn.append(given))
    changed = CHANGES["title of a picture"](built.results)
    assert build_site(changed, built.objects, again / "site", memory=again / "made.json")
    assert drawn == []
    same = {path.relative_to(again / "site").as_posix() for path, one in before.items() if path.stat().st_ino == one}
    first = built.results.thermograms[0]
    assert {one for one in same if one.startswith("pictures/")} == {
        one for one in files_of(built.site) if one.startswith("pictures/")
    }
    assert "words.html" in same and "index.html" in files_of(built.site)
    assert not any(first.id in one and one.startswith("thermograms/") for one in same)


def test_a_file_that_was_touched_is_made_again(built, remembered, tmp_path):
    again = copied(remembered, tmp_path / "again")
    page, picture = again / "site" / "words.html", next((again / "site" / "pictures").glob("*.png"))
    for path in (page, picture):
        data = path.read_bytes()
        path.write_bytes(data[:-1] + bytes([data[-1] ^ 1]))  # as long as before
    os.unlink(next((again / "site" / "charts").glob("*.svg")))
    changed = CHANGES["title of a picture"](built.results)
    build_site(changed, built.objects, again / "site", memory=again / "made.json")
    build_site(changed, built.objects, tmp_path / "fresh")
    assert files_of(again / "site") == files_of(tmp_path / "fresh")


@pytest.mark.parametrize(
    "spoil",
    [
        lambda path: path.write_bytes(b"\xff not JSON"),
        lambda path: path.write_text("[1, 2]"),
        lambda path: path.write_text(json.dumps(json.loads(path.read_text()) | {"code": "other"})),
        lambda path: path.write_text(json.dumps(json.loads(path.read_text()) | {"files": {}})),
        lambda path: path.write_text(json.dumps(json.loads(path.read_text()) | {"pages": {}})),
        lambda path: path.unlink(),
    ],
)
def test_a_damaged_memory_costs_time_only(built, remembered, tmp_path, spoil):
    again = copied(remembered, tmp_path / "again")
    spoil(again / "made.json")
    changed = CHANGES["room of a picture"](built.results)
    build_site(changed, built.objects, again / "site", memory=again / "made.json")
    build_site(changed, built.objects, tmp_path / "fresh")
    assert files_of(again / "site") == files_of(tmp_path / "fresh")


def test_a_disk_without_links_gets_copies(built, remembered, tmp_path, monkeypatch):
    again = copied(remembered, tmp_path / "again")

    def refuse(*_, **__):
        raise PermissionError(1, "no links here")

    monkeypatch.setattr(made.os, "link", refuse)
    changed = CHANGES["room of a picture"](built.results)
    build_site(changed, built.objects, again / "site", memory=again / "made.json")
    build_site(changed, built.objects, tmp_path / "fresh")
    assert files_of(again / "site") == files_of(tmp_path / "fresh")


def test_a_narrow_view_shows_all_that_a_page_shows(built, built_hostile, site_of):
    for one in (built, built_hostile):
        site = site_of(one)
        for record, page in zip(site.results.thermograms, thermogram_pages(Narrow(site)), strict=True):
            data = dict(page.data)
            for name in ("previous", "next"):
                data.pop(name)
            assert clean(data) == clean(thermogram_data(site, record))
        for finding, page in zip(site.findings, finding_pages(Narrow(site)), strict=True):
            data = dict(page.data)
            for name in ("previous", "next"):
                data.pop(name)
            assert clean(data) == clean(finding_data(site, finding))


def test_keys_differ_where_pages_differ(built, site_of):
    """No two documents have a page of one key and other data."""
    seen: dict[str, object] = {}
    documents = [built.results, *(change(built.results) for change in CHANGES.values())]
    for results in documents:
        site = dataclasses.replace(site_of(built), results=results)
        for page in (*thermogram_pages(Narrow(site)), *finding_pages(Narrow(site))):
            data = clean(dict(page.data))
            assert seen.setdefault(page.made_of, data) == data
    assert len(seen) > len(list(thermogram_pages(Narrow(site_of(built)))))


def test_charts_of_pages_that_stay_are_drawn_no_more(built, remembered, tmp_path, monkeypatch):
    again, asked = copied(remembered, tmp_path / "again"), []
    monkeypatch.setattr("heatbrief.site.build.draw_chart", lambda chart: asked.append(chart) or draw_chart(chart))
    build_site(CHANGES["conditions"](built.results), built.objects, again / "site", memory=again / "made.json")
    assert asked == []
