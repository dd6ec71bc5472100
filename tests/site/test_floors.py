"""Drawings of the property: marks at their places, in words, reached by the keyboard, and nothing of the file but pixels."""

from __future__ import annotations

import dataclasses
import io
import re

import browsing
import pytest
from heatbrief.errors import UserError
from heatbrief.model.results import FloorRecord
from heatbrief.site.build import build_site
from heatbrief.site.context import Site
from heatbrief.site.floors import floor_files, floors_data, place_of, unplaced
from PIL import Image


def test_a_finding_stands_at_its_region_then_its_picture_then_its_room(built):
    finding = built.results.findings[0]
    assert finding.region and finding.thermogram and finding.room
    names = (finding.region, finding.thermogram, finding.room)
    for at in range(3):
        floors = (FloorRecord("one", "", 1, 1, dict.fromkeys(names[at:], (0.5, 0.5))),)
        assert place_of(floors, finding) == (0, names[at])
    assert place_of((FloorRecord("one", "", 1, 1, {"": (0.5, 0.5)}),), finding) is None


def test_marks_say_the_most_urgent_and_hold_every_finding(built, site_of):
    site = site_of(built)
    floors = floors_data(site)
    marked = [link["url"] for floor in floors for mark in floor["marks"] for link in mark["findings"]]
    placed = [one for one in site.findings if place_of(site.results.floors, one)]
    assert sorted(marked) == sorted(site.path("findings", one.id) for one in placed) and len(placed) >= 2
    first = floors[0]["marks"][0]
    assert (first["name"], first["urgency"], first["word"]) == ("utility room", "now", "now")
    assert first["name"] in floors[0]["alt"]
    left = len(site.findings) - len(placed)
    assert unplaced(site).startswith(str(left)) if left else unplaced(site) == ""


def test_the_list_below_names_all_that_the_marks_hold(built):
    page = built.page("rooms.html")
    drawings, lists = page[page.index('class="floor"') : page.index('class="room"')], page[page.index('class="room"') :]
    links = set(re.findall(r'href="(?:\./)?(findings/[^"]+)"', drawings))
    assert links and links <= set(re.findall(r'href="(?:\./)?(findings/[^"]+)"', lists))
    assert re.search(r'on the drawing: <a href="\.\./rooms\.html#floor-1"', built.page("findings/breaker-kitchen.html"))


def test_only_pixels_are_published(built, site_of, tmp_path):
    exif = Image.Exif()
    exif[0x010E] = "home of the owner"
    stream = io.BytesIO()
    Image.new("RGB", (80, 60), "white").save(stream, "JPEG", exif=exif)
    (tmp_path / "a.jpg").write_bytes(stream.getvalue())
    site = site_of(built)
    drawn = dataclasses.replace(site.pictures, objects=tmp_path)
    results = dataclasses.replace(site.results, floors=(FloorRecord("one", "a.jpg", 80, 60),))
    ((picture, path, write),) = floor_files(Site(results, drawn, site.words, "metric"))
    data = write()
    assert picture == "a.jpg" and path == "pictures/floor-1.jpg" and b"home of the owner" not in data
    assert Image.open(io.BytesIO(data)).size == (80, 60)


def test_a_missing_drawing_is_an_error_and_nothing_is_written(built, tmp_path):
    results = dataclasses.replace(built.results, floors=(FloorRecord("one", "gone.png", 80, 60),))
    with pytest.raises(UserError) as caught:
        build_site(results, built.objects, tmp_path / "site")
    assert caught.value.problems[0].code == "picture-missing" and not (tmp_path / "site").exists()


@pytest.mark.browser
def test_flags_stand_on_their_places_and_open_by_keyboard(browser, built):
    from selenium.webdriver.common.keys import Keys

    for width in (1280, 360):
        browsing.size(browser, width)
        browser.get((built.site / "rooms.html").as_uri())
        foot, place = browser.execute_script("""
            const image = document.querySelector('.floor-plate img').getBoundingClientRect();
            const mark = document.querySelector('.mark'), box = mark.querySelector('.label').getBoundingClientRect();
            const part = name => Number(mark.style.getPropertyValue(name)) / 100;
            return [[box.left, box.bottom], [image.left + part('--x') * image.width, image.top + part('--y') * image.height]]""")
        assert foot[0] == pytest.approx(place[0], abs=3)
        assert 0 < place[1] - foot[1] < 14  # the pole
        label = browser.find_element("css selector", ".mark summary")
        box = label.size
        assert min(box["height"], box["width"]) >= 24  # WCAG 2.2, 2.5.8 [memory]
        link = browser.find_element("css selector", ".mark details a")
        assert not link.is_displayed()
        label.send_keys(Keys.ENTER)
        assert link.is_displayed()
        browser.switch_to.active_element.send_keys(Keys.TAB)
        assert browser.switch_to.active_element == link
        assert browser.execute_script("return document.documentElement.scrollWidth") <= width
