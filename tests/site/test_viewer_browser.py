"""The viewer in a real browser, from disk: true readings, regions that a manifest takes, paper, accessibility."""

from __future__ import annotations

import base64
import re

import browsing
import numpy as np
import pytest
from heatbrief.manifest.load import load_manifest
from heatbrief.model.region import Region
from heatbrief.registry import load_registry
from heatbrief.site.pictures import read_counts, values_of
from heatbrief.store.png import png_bytes

pytestmark = pytest.mark.browser
SURVEY = """format: 1
property: {name: Invented}
inspect: [electrical]
thermograms:
  - {file: ir/panel.tiff, shows: breaker panel}
"""


@pytest.fixture
def viewer(browser, built):
    """Open a picture's page: viewer("panel"), viewer("lawn", 360)."""

    def opened(name, width=1280, site=None):
        browsing.colours(browser, "light")
        browsing.size(browser, width, 1000)
        browser.get(((site or built.site) / f"thermograms/{name}.html").as_uri())
        browsing.wait_for_viewer(browser)
        return browser

    return opened


def point(browser, x, y, *actions):
    """Pointer events at the centre of a pixel of the picture."""
    for action in actions or ("pointermove",):
        browser.execute_script(
            """const stage = document.querySelector('#figure-picture .image'), box = stage.getBoundingClientRect();
            const [x, y, name, width, height] = arguments;
            stage.dispatchEvent(new PointerEvent(name, {bubbles: true, pointerId: 1, pointerType: 'touch', button: 0,
              clientX: box.left + (x + .5) / width * box.width,
              clientY: box.top + (y + .5) / height * box.height}));""",
            x,
            y,
            action,
            *dimensions(browser),
        )


def dimensions(browser):
    return browser.execute_script(
        "const c = document.querySelector('#figure-picture canvas'); return [c.width, c.height]"
    )


def choose(browser, tool):
    browser.execute_script("document.querySelector(`[name=tool][value=${arguments[0]}]`).click()", tool)
    # a script cannot capture a pointer that does not exist
    browser.execute_script("document.querySelector('#figure-picture .image').setPointerCapture = () => {}")


def reading(browser):
    return browser.find_element("id", "reading").text.replace("\u00a0", " ").replace("\u2212", "-")


def true_values(built, name):
    array = next(one for one in built.results.thermograms if one.id == name).array
    return values_of(array, read_counts(array, built.objects)), array.step


@pytest.mark.parametrize("kind", ["columns alike", "rows alike", "noise"])
def test_every_filter_is_undone(viewer, kind):
    rows, columns = np.mgrid[0:50, 0:70]
    noise = np.random.default_rng(1).integers(0, 65536, (50, 70))
    counts = {"columns alike": 900 * rows + columns // 7, "rows alike": 900 * columns + rows % 3, "noise": noise}[kind]
    png = base64.b64encode(png_bytes(counts.astype(np.uint16))).decode("ascii")
    found = viewer("panel").execute_async_script(
        "const [values, width, height, done] = arguments;"
        "heatbriefViewer.unpack({values, width, height}).then((one) => done(Array.from(one.counts)))",
        png,
        70,
        50,
    )
    assert found == counts.ravel().tolist()


def test_the_pointer_reads_the_stored_temperature(viewer, built):
    browser = viewer("panel")
    values, step = true_values(built, "panel")
    for x, y in [(0, 0), (104, 87), (60, 90), (179, 239), (33, 201)]:
        point(browser, x, y)
        shown = re.search(
            r"column (\d+), row (\d+) · (-?[\d.]+) °C · true value between ([\d.]+) and ([\d.]+) °C", reading(browser)
        )
        assert (int(shown[1]), int(shown[2])) == (x, y)
        assert shown[3] == f"{values[y, x]:.1f}"  # what bounds of a kelvin leave
        stored = browser.find_element("id", "reading").get_attribute("data-value")
        assert float(stored) == pytest.approx(values[y, x], abs=step / 2 + 1e-9)
        assert float(shown[4]) < float(shown[3]) < float(shown[5])
    point(browser, 104, 87)
    assert "in: kitchen breaker" in reading(browser)
    point(browser, 140, 225)
    assert "no valid reading here" in reading(browser)


def test_the_keyboard_reads_too(viewer, built):
    from selenium.webdriver.common.keys import Keys

    browser = viewer("panel")
    values, step = true_values(built, "panel")
    stage = browser.find_element("css selector", "#figure-picture .image")
    stage.send_keys(Keys.ARROW_RIGHT, Keys.ARROW_RIGHT, Keys.ARROW_UP)
    x, y = 180 // 2 + 2, 240 // 2 - 1
    assert f"column {x}, row {y} · " in reading(browser)
    assert reading(browser).split(" · ")[1] == f"{values[y, x]:.1f} °C"
    stored = browser.find_element("id", "reading").get_attribute("data-value")
    assert float(stored) == pytest.approx(values[y, x], abs=step / 2 + 1e-9)
    stage.send_keys(Keys.ENTER)
    assert f"point: [{x}, {y}]" in lines(browser)


def lines(browser):
    return browser.find_element("name", "region-lines").get_attribute("value")


def draw(browser, tool):
    choose(browser, tool)
    corners = {
        "line": [(20, 30), (90, 60)],
        "box": [(48, 70), (71, 103)],
        "outline": [(100, 40), (150, 44), (140, 90), (100, 40)],
    }
    if tool == "point":
        point(browser, 30, 200, "pointerdown")
    elif tool == "outline":
        for x, y in corners[tool]:
            point(browser, x, y, "pointerdown", "pointerup")
    else:
        (x0, y0), (x1, y1) = corners[tool]
        point(browser, x0, y0, "pointerdown")
        point(browser, x1, y1, "pointermove", "pointerup")


@pytest.mark.parametrize(
    ("tool", "name"),
    [
        ("point", "batt edge by the window"),
        ("line", "Küche — 台所 😀"),
        ("box", "kitchen: \"hot\" # [1] {x} 'y' \\ 100 %"),
        ("outline", "- *a, b: c"),
    ],
)
def test_a_drawn_region_is_a_region_of_the_manifest(viewer, tmp_path, tool, name):
    browser = viewer("panel")
    draw(browser, tool)
    browser.execute_script(
        "const n = document.querySelector('[name=region-name]'); n.value = arguments[0];"
        "n.dispatchEvent(new Event('input'))",
        name,
    )
    survey = tmp_path / "survey.yaml"
    survey.write_text(SURVEY + lines(browser), "utf-8")
    manifest = load_manifest(survey, load_registry())
    (region,) = manifest.thermograms[0].regions
    assert region.name == name.replace("😀", "").strip() or region.name == name
    assert region.thermogram == "panel"
    if tool == "box":
        assert region.box == (48, 70, 24, 34)
    if tool == "outline":
        assert region.outline == ((100, 40), (150, 44), (140, 90))


def test_what_was_drawn_is_summed_up_as_the_analysis_would(viewer, built):
    browser = viewer("panel")
    draw(browser, "box")
    values, _ = true_values(built, "panel")
    part = values[70:104, 48:72]
    text = browser.find_element("css selector", ".drawn-summary").text.replace("\u00a0", " ")
    low, high, mean, count = re.search(
        r"From ([\d.]+) °C to ([\d.]+) °C, mean ([\d.]+) °C, (\d+) pixels", text
    ).groups()
    assert int(count) == part.size
    assert (float(low), float(high), float(mean)) == pytest.approx((part.min(), part.max(), part.mean()), abs=0.051)
    chart = browser.find_element("css selector", ".drawn-chart svg")
    assert "How often" in chart.get_attribute("aria-label")


def test_colours_and_range_change_what_is_painted(viewer):
    browser = viewer("panel")
    # only the test reads the canvas back; it holds nothing from a file, so it may
    look = (
        "const c = document.querySelector('#figure-picture canvas');"
        "return [...c.getContext('2d').getImageData(104, 87, 1, 1).data]"
    )
    first = browser.execute_script(look)
    browser.execute_script(
        "const m = document.querySelector('[name=map]'); m.value = 'grey'; m.dispatchEvent(new Event('input'))"
    )
    grey = browser.execute_script(look)
    assert grey != first and grey[0] == grey[1] == grey[2]
    browser.execute_script(
        "const l = document.querySelector('[name=high]'); l.value = '90'; l.dispatchEvent(new Event('input'))"
    )
    assert browser.execute_script(look)[0] < grey[0]
    assert "light is 90 " in browser.find_element("css selector", ".scale-text").text
    browser.execute_script(
        "const l = document.querySelector('[name=high]'); l.value = '1'; l.dispatchEvent(new Event('input'))"
    )
    assert browser.find_element("css selector", ".range-wrong").is_displayed()


def test_the_ordinary_picture_lies_where_it_belongs(viewer):
    browser = viewer("panel")
    browser.execute_script(
        "const c = document.querySelector('[name=compare]'); c.value = 'photo'; c.dispatchEvent(new Event('change'))"
    )
    browser.execute_async_script("const done = arguments[0]; setTimeout(done, 200)")
    photo, stage = browser.execute_script(
        "const box = s => document.querySelector('#figure-picture ' + s).getBoundingClientRect().toJSON();"
        "return ['.compared img', '.image'].map(box)"
    )
    # 640 x 480 of the photo are the whole 180 x 240 of the picture, pixel centre on pixel centre
    assert photo["width"] == pytest.approx(stage["width"], rel=1e-3)
    assert photo["height"] == pytest.approx(stage["height"], rel=1e-3)
    assert abs(photo["left"] - stage["left"]) < stage["width"] / 180
    assert browser.find_element("id", "compare-slider").is_displayed()


def test_without_a_scale_there_is_no_degree_anywhere(viewer):
    browser = viewer("lawn", 360)
    for tool in ("line", "box"):
        draw(browser, tool)
        point(browser, 90, 70)
        assert "counts" in reading(browser)
        text = browser.execute_script(
            "return document.querySelector('main').innerText + document.querySelector('#reading').innerText"
        )
        own = text.replace("Lawn by the valve box at 40 °C", "").replace(
            "No scale was given, so 20 °C could not be used.", ""
        )
        own = own.replace("looked 5 K cooler", "")
        assert "°" not in own and not re.search(r"\d\s?K\b", own)
    assert browser.execute_script("return document.documentElement.scrollWidth") <= 360


def test_first_paint_does_not_wait_for_the_values(viewer):
    browser = viewer("panel")
    painted, asked = browser.execute_script("""
        const paint = performance.getEntriesByType('paint').find(one => one.name === 'first-contentful-paint');
        const values = performance.getEntriesByType('resource').find(one => one.name.includes('-values.js'));
        return [paint ? paint.startTime : 0, values ? values.startTime : null]""")
    page = (browser.page_source or "").split("<script defer")[0]
    assert "-values.js" in page and 'src="../pictures/panel-values.js"' not in page
    assert asked is None or asked >= painted


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_an_automated_checker_finds_nothing(browser, built, built_german, scheme):
    script = browsing.checker()
    if script is None:
        pytest.skip("the package with axe-core is not installed")
    found = [
        one
        for page in browsing.pages_of_each_kind(built.site)
        for one in browsing.violations(browser, page, scheme, script)
    ]
    drawn = built.site / "thermograms" / "panel.html"
    browser.get(drawn.as_uri())
    browsing.wait_for_viewer(browser)
    draw(browser, "box")
    browser.execute_script(script)
    result = browser.execute_async_script(
        "axe.run(document, {runOnly: {type: 'tag', values: arguments[0]}}).then(arguments[1])", browsing.RULES
    )
    found += [one["id"] for one in result["violations"]]
    found += browsing.violations(browser, built_german.site / "index.html", scheme, script)
    assert found == []


def test_the_checker_sees_a_fault(browser, tmp_path):
    script = browsing.checker()
    if script is None:
        pytest.skip("the package with axe-core is not installed")
    page = tmp_path / "bad.html"
    page.write_text(
        "<!doctype html><title>x</title><img src='data:,'><p style='color:#ccc;background:#fff'>pale</p>", "utf-8"
    )
    rules = {one.split(": ")[1] for one in browsing.violations(browser, page, "light", script)}
    assert {"image-alt", "color-contrast", "html-has-lang"} <= rules


def test_everything_prints_with_page_numbers_and_all_cautions(browser, built):
    browser.get((built.site / "print.html").as_uri())
    text = browser.find_element("tag name", "main").text
    for caution in built.results.cautions:
        assert all(point in text for point in caution.points)
    assert all(one.title in text for one in (*built.results.findings, *built.results.plan))
    printed = browser.execute_cdp_cmd(
        "Page.printToPDF", {"preferCSSPageSize": True, "paperWidth": 8.27, "paperHeight": 11.69}
    )
    pdf = base64.b64decode(printed["data"])
    assert pdf.startswith(b"%PDF") and len(re.findall(rb"/Type\s*/Page\b", pdf)) >= 3


def test_counters_stand_in_the_margins_of_the_paper(built):
    style = (built.site / "css" / "print.css").read_text("utf-8")
    assert re.search(r"@bottom-right \{ content: counter\(page\)[^}]*counter\(pages\)", style)
    assert 'content: "Sandpiper Row 3"' in built.page("print.html")


def test_the_copy_button_says_what_it_did(viewer):
    browser = viewer("panel")
    draw(browser, "box")
    browser.find_element("name", "copy").click()
    assert browser.find_element("css selector", ".copied").text in (
        "Copied.",
        "The lines are marked; copy them with the keyboard.",
    )


def test_profile_follows_the_line(viewer, built):
    browser = viewer("panel")
    draw(browser, "line")
    path = browser.find_element("css selector", ".drawn-chart .trace").get_attribute("d")
    region = Region("cable", "panel", "line", ((20, 30), (90, 60)))
    assert len(re.findall("[ML]", path)) == region.mask(240, 180).sum()
