"""Pages of a survey with an earlier one: accessible, narrow, without requests; the earlier picture under the pointer."""

from __future__ import annotations

import shutil
from pathlib import Path

import browsing
import numpy as np
import pytest
from heatbrief.compare import compare, read_survey
from heatbrief.compare.page import write_page
from heatbrief.compare.write import keep_earlier, write_comparison
from heatbrief.site.build import build_site
from heatbrief.site.portfolio import build_portfolio
from heatbrief.store.results import read_results, write_results
from PIL import Image

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def published(built, tmp_path_factory) -> Path:
    """The sample property beside an earlier survey of it, in which every picture read 1 K less."""
    home = tmp_path_factory.mktemp("changes")
    for name in ("before", "out/sandpiper-row-3"):
        shutil.copytree(built.objects, home / name / "objects")
        write_results(built.results, home / name)
    earlier, later = read_survey(home / "before"), read_survey(home / "out" / "sandpiper-row-3")
    comparison = compare(earlier, later)
    folder = home / "out" / "sandpiper-row-3"
    write_comparison(comparison, folder / "compare")
    keep_earlier(comparison, home / "before" / "objects", folder / "compare")
    write_page(comparison, earlier, later, folder / "compare")
    for file in (folder / "compare" / "objects").iterdir():
        counts = np.asarray(Image.open(file)).astype(np.int32)
        Image.fromarray(np.where(counts > 100, counts - 100, 0).astype(np.uint16)).save(file)
    results = read_results(folder)
    build_site(results, folder / "objects", folder / "site")
    build_portfolio([(folder.name, results), (folder.name, results)], home / "out")
    return home / "out"


def pages(out: Path) -> list[Path]:
    return [
        out / "index.html",
        out / "sandpiper-row-3" / "compare" / "index.html",
        out / "sandpiper-row-3" / "site" / "changes.html",
        out / "sandpiper-row-3" / "site" / "rooms.html",
        out / "sandpiper-row-3" / "site" / "thermograms" / "panel.html",
    ]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_an_automated_checker_finds_nothing(browser, published, scheme):
    script = browsing.checker()
    if script is None:
        pytest.skip("the package with axe-core is not installed")
    assert [one for page in pages(published) for one in browsing.violations(browser, page, scheme, script)] == []


def test_no_errors_no_requests_no_sideways_scroll(browser, published):
    browser.get_log("performance")
    browser.get_log("browser")
    for page in pages(published):
        for width in (360, 1280):
            browsing.size(browser, width)
            browser.get(page.as_uri())
            browsing.wait_for_viewer(browser)
            assert browser.execute_script("return document.documentElement.scrollWidth") <= width, (page.name, width)
    urls = browsing.requests_of(browser)
    assert urls and all(url.startswith(("file://", "data:")) for url in urls)
    assert browser.get_log("browser") == []


def test_the_slider_offers_the_earlier_survey(browser, published):
    browsing.size(browser, 1280, 1000)
    browser.get(pages(published)[-1].as_uri())
    browsing.wait_for_viewer(browser)
    choice = browser.find_element("name", "compare")
    assert "the earlier survey" in choice.text
    browser.execute_script(
        "arguments[0].value = 'panel before'; arguments[0].dispatchEvent(new Event('change'))", choice
    )
    browser.execute_async_script("setTimeout(arguments[0], 300)")
    assert browser.find_element("id", "compare-slider").is_displayed()
    assert browser.find_element("css selector", ".compared canvas").is_displayed()
    browser.find_element("css selector", "#figure-picture .image").send_keys("\ue014")  # arrow to the right
    text = browser.find_element("id", "reading").text.replace("\u00a0", " ")
    assert "difference 1.0 K" in text, text


def test_small_screens_fold_the_navigation(browser, published):
    from selenium.webdriver.common.keys import Keys

    browsing.size(browser, 360)
    browser.get(pages(published)[2].as_uri())
    top = browser.find_element("css selector", ".top")
    assert top.size["height"] < 130
    shown = [one for one in browser.find_elements("css selector", ".sections a") if one.is_displayed()]
    assert shown == []
    summary = browser.find_element("css selector", ".folded summary")
    summary.send_keys(Keys.ENTER)
    shown = [one for one in browser.find_elements("css selector", ".sections a") if one.is_displayed()]
    assert len(shown) == 13 and all(one.size["height"] >= 24 for one in shown)
    browsing.size(browser, 1280)
    shown = [one for one in browser.find_elements("css selector", ".sections a") if one.is_displayed()]
    assert len(shown) == 13
