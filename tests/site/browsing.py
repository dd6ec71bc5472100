"""A headless browser and an automated checker of accessibility, for tests and the benchmark."""

from __future__ import annotations

import contextlib
import importlib.util
import json
import shutil
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
BY_COLOUR = ["color-contrast", "link-in-text-block"]
FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
)


@contextlib.contextmanager
def opened() -> Iterator[Any]:
    """A browser without network habits of its own; None where selenium, Chromium or its driver is missing."""
    chromium, driver = (shutil.which(name) for name in ("chromium", "chromedriver"))
    if not chromium or not driver or importlib.util.find_spec("selenium") is None:
        yield None
        return
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    with tempfile.TemporaryDirectory(prefix="heatbrief-browser-") as profile:
        for flag in (*FLAGS, f"--user-data-dir={profile}"):
            options.add_argument(flag)
        browser = webdriver.Chrome(options=options, service=Service(driver))
        browser.set_script_timeout(300)
        try:
            yield browser
        finally:
            browser.quit()


def checker() -> str | None:
    """The script of axe-core, from the package that carries it; None when it is not installed."""
    for package in ("axe_playwright_python", "axe_core_python"):
        found = importlib.util.find_spec(package)
        for folder in (found.submodule_search_locations or []) if found else []:
            script = Path(folder) / "axe.min.js"
            if script.is_file():
                return script.read_text("utf-8")
    return None


def size(browser: Any, width: int, height: int = 800) -> None:
    browser.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False},
    )


def colours(browser: Any, scheme: str) -> None:
    browser.execute_cdp_cmd(
        "Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": scheme}]}
    )


def wait_for_viewer(browser: Any) -> None:
    """Until the viewer of the open page, if it has one, is ready."""
    end = time.monotonic() + 10
    while time.monotonic() < end:
        if browser.execute_script(
            "const v = document.getElementById('viewer'); return !v || v.hasAttribute('data-ready')"
        ):
            return
        time.sleep(0.02)
    raise AssertionError("the viewer did not start")


def violations(browser: Any, page: Path, scheme: str, script: str) -> list[str]:
    """What the checker finds on a page, as "page scheme: rule: element"; in the dark only what colours can change."""
    colours(browser, scheme)
    size(browser, 1280)
    browser.get(page.as_uri())
    wait_for_viewer(browser)
    browser.execute_script(script)
    found = browser.execute_async_script(
        "axe.run(document, {runOnly: arguments[0], resultTypes: ['violations']}).then(arguments[1])",
        {"type": "tag", "values": RULES} if scheme == "light" else {"type": "rule", "values": BY_COLOUR},
    )
    return [
        f"{page.name} {scheme}: {one['id']}: {node['html'][:160]}"
        for one in found["violations"]
        for node in one["nodes"]
    ]


def requests_of(browser: Any) -> list[str]:
    """Addresses asked for since the last call."""
    messages = [json.loads(entry["message"])["message"] for entry in browser.get_log("performance")]
    return [one["params"]["request"]["url"] for one in messages if one["method"] == "Network.requestWillBeSent"]


def pages_of_each_kind(site: Path) -> list[Path]:
    """Every section page, and one page of each folder."""
    return [
        *sorted(site.glob("*.html")),
        *(min(site.glob(f"{name}/*.html")) for name in ("findings", "thermograms", "cautions")),
    ]
