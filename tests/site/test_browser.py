"""The site in a real browser, opened from disk."""

from __future__ import annotations

import browsing
import pytest
from heatbrief.site.render import VIEWER_SCRIPTS
from support import ROOT

pytestmark = pytest.mark.browser

PAGES = (
    "index.html",
    "findings.html",
    "rooms.html",
    "print.html",
    "findings/breaker-kitchen.html",
    "findings/valve-box.html",
    "thermograms.html",
    "thermograms/panel.html",
    "thermograms/lawn.html",
    "plan.html",
    "cautions/electrical-panel.html",
    "conditions.html",
    "not-analysed.html",
    "method.html",
    "sources.html",
    "words.html",
)


def open_at(browser, path, width):
    browsing.size(browser, width)
    browser.get(path.as_uri())
    browsing.wait_for_viewer(browser)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_errors_no_requests_no_sideways_scroll(browser, built, scheme):
    browser.get_log("performance")
    browser.get_log("browser")
    browser.execute_cdp_cmd(
        "Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": scheme}]}
    )
    for name in PAGES:
        for width in (360, 1280):
            open_at(browser, built.site / name, width)
            assert browser.execute_script("return document.documentElement.scrollWidth") <= width, (name, width)
            broken = browser.execute_script("return [...document.images].filter(i => !i.naturalWidth).map(i => i.src)")
            assert broken == [], name
    urls = browsing.requests_of(browser)
    assert urls and all(url.startswith(("file://", "data:")) for url in urls)
    assert browser.get_log("browser") == []


@pytest.mark.parametrize("width", [760, 960, 1000])
def test_tables_of_the_demonstration_fit_screens_of_middle_width(browser, heatbrief, tmp_path, width):
    assert heatbrief("run", ROOT / "surveys", "--out", tmp_path).code == 0
    for path in sorted(tmp_path.rglob("site/*s/*.html")):
        open_at(browser, path, width)
        assert browser.execute_script("return document.documentElement.scrollWidth") <= width, path.name


def scripts_on(path):
    """Scripts of a page: the filter's, or the viewer's and the two with its data."""
    if path.parent.name == "thermograms" and "viewer.js" in path.read_text("utf-8"):
        return len(VIEWER_SCRIPTS) + 2
    return 1 if path.name == "findings.html" else 0


def test_hostile_pages_do_not_scroll_sideways_or_run(browser, built_hostile):
    browser.get_log("browser")
    for path in sorted(built_hostile.site.rglob("*.html")):
        open_at(browser, path, 360)
        assert browser.execute_script("return document.documentElement.scrollWidth") <= 360, path.name
        assert browser.execute_script("return document.querySelectorAll('script').length") == scripts_on(path)
    assert browser.get_log("browser") == []


def test_the_filter_narrows_and_resets(browser, built):
    open_at(browser, built.site / "findings.html", 1280)

    def visible():
        return browser.execute_script(
            "const cards = [...document.querySelectorAll('#finding-list > li')];"
            "return cards.filter(c => c.offsetParent !== null).map(c => c.querySelector('h2').innerText)"
        )

    everything = visible()
    assert len(everything) == len(built.results.findings)
    form = browser.find_element("id", "finding-filter")
    assert form.is_displayed()
    form.find_element("name", "verdict").send_keys("suspect")
    assert sorted(visible()) == sorted(one.title for one in built.results.findings if one.verdict == "suspect")
    form.find_element("name", "words").send_keys("valve strip")
    assert visible() == ["Cool wet strip by the valve box"]
    assert "1 of 6" in browser.find_element("id", "filter-state").text
    form.find_element("name", "words").send_keys(" zebra")
    assert visible() == [] and browser.find_element("id", "filter-nothing").is_displayed()
    form.find_element("tag name", "button").click()
    browser.execute_async_script("setTimeout(arguments[0], 20)")
    assert visible() == everything


def test_without_scripts_everything_is_readable(browser, built):
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        open_at(browser, built.site / "findings.html", 1280)
        cards = browser.find_elements("css selector", "#finding-list > li")
        assert len(cards) == len(built.results.findings) and all(card.is_displayed() for card in cards)
        assert not browser.find_element("id", "finding-filter").is_displayed()
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


def test_outlines_lie_on_the_picture_and_can_be_hidden(browser, built):
    open_at(browser, built.site / "findings/breaker-kitchen.html", 1280)
    image, shape = browser.execute_script("""
        const image = document.querySelector('#figure-picture .image img').getBoundingClientRect();
        const shape = document.querySelector('#figure-picture .over.finding').getBoundingClientRect();
        const corners = box => [box.left, box.top, box.width, box.height];
        return [corners(image), corners(shape)]""")
    scale = image[2] / 180
    assert shape[0] - image[0] == pytest.approx(92.5 * scale, abs=3)
    assert shape[1] - image[1] == pytest.approx(70.5 * scale, abs=3)
    assert shape[2] == pytest.approx(24 * scale, abs=5)
    box = browser.find_element("id", "outlines-picture")
    overlay = browser.find_element("css selector", "#figure-picture .overlay")
    assert overlay.is_displayed()
    box.click()
    assert not overlay.is_displayed()


def test_keyboard_reaches_the_content_first(browser, built):
    from selenium.webdriver.common.keys import Keys

    open_at(browser, built.site / "index.html", 1280)
    browser.find_element("tag name", "body").send_keys(Keys.TAB)
    focused = browser.switch_to.active_element
    assert focused.get_attribute("href").endswith("#content")
    assert focused.location["x"] >= 0


def test_paper_has_no_navigation(browser, built):
    browser.execute_cdp_cmd(
        "Emulation.setEmulatedMedia",
        {"media": "print", "features": [{"name": "prefers-color-scheme", "value": "dark"}]},
    )
    try:
        open_at(browser, built.site / "index.html", 800)
        assert not browser.find_element("css selector", ".sections").is_displayed()
        alert = browser.find_element("css selector", ".alert")
        assert alert.is_displayed()
        # black on a light ground, whatever the screen's scheme
        assert alert.value_of_css_property("color") == "rgba(0, 0, 0, 1)"
        assert alert.value_of_css_property("background-color") == "rgba(251, 239, 236, 1)"
    finally:
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "", "features": []})
