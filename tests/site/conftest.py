"""Tests of the site on a built sample: words, numbers, links, charts, the viewer in a browser. `test_build/` holds page
data as they should stay.
"""

from __future__ import annotations

import importlib.util
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

import pytest
from heatbrief.model.results import ResultsDocument
from heatbrief.site.build import build_site
from heatbrief.site.context import Site
from heatbrief.site.drawing import draw_all
from heatbrief.site.settings import SiteSettings
from heatbrief.site.words import Words


def _load(name: str) -> ModuleType:
    """A module beside this file; tests are imported by path, so that their folder is no package."""
    spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name(f"{name}.py"))
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


_load("sample_content")
sample, browsing = _load("sample"), _load("browsing")


@dataclass(frozen=True)
class Built:
    """A document, its objects and its site."""

    results: ResultsDocument
    objects: Path
    site: Path

    def page(self, path: str) -> str:
        return (self.site / path).read_text("utf-8")

    def pages(self) -> dict[str, str]:
        return {
            path.relative_to(self.site).as_posix(): path.read_text("utf-8")
            for path in sorted(self.site.rglob("*.html"))
        }


@pytest.fixture(scope="session")
def sample_module() -> ModuleType:
    return sample


def _built(results: ResultsDocument, folder: Path) -> Built:
    site = folder / "site"
    assert build_site(results, folder / "objects", site)
    return Built(results, folder / "objects", site)


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory, sample_module: ModuleType) -> Built:
    folder = tmp_path_factory.mktemp("sample")
    return _built(sample_module.sample(folder / "objects"), folder)


@pytest.fixture(scope="session")
def built_hostile(tmp_path_factory: pytest.TempPathFactory, sample_module: ModuleType) -> Built:
    folder = tmp_path_factory.mktemp("hostile")
    return _built(sample_module.hostile(sample_module.sample(folder / "objects")), folder)


@pytest.fixture
def site_of():
    """The view of a document that pages are made from: site_of(built) or site_of(built, "us")."""

    def make(built: Built, units: str = "metric") -> Site:
        return Site(built.results, draw_all(built.results, built.objects), Words(), units)

    return make


@pytest.fixture(scope="session")
def browser() -> Iterator[object]:
    """A headless Chromium without network habits of its own; skips where it is missing."""
    with browsing.opened() as found:
        if found is None:
            pytest.skip("selenium, chromium or chromedriver is not on this machine")
        found.get("about:blank")
        yield found


@pytest.fixture(scope="session")
def built_german(tmp_path_factory: pytest.TempPathFactory, built: Built) -> Built:
    folder = tmp_path_factory.mktemp("german")
    assert build_site(built.results, built.objects, folder / "site", SiteSettings(language="de"))
    return Built(built.results, built.objects, folder / "site")
