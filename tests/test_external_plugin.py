"""A plugin written by somebody else is installed, tested and used, with public names only."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest
from heatbrief.testing import Scene, render, write
from heatbrief.testing.parts import Patch
from support import ROOT, call, install_beside, private_imports, results_of

PROJECT = ROOT / "tests" / "external_plugin"
SURVEY = """\
format: 1
property: {name: Invented pool, invented: true}
inspect: [pool]
conditions: {sun: none, hours_without_sun: 24 h, hours_without_rain: 72 h, outside_air: 22 degC, reflected: 22 degC}
camera: {field_of_view: [45 deg, 34 deg], noise: 50 mK, accuracy: 2 K}
thermograms:
  - file: deck.tiff
    shows: pool deck
    scale: {kelvin_per_count: 0.01}
    material: concrete
    distance: 2 m
    facts: {return line there: no, second view: same place}
    regions: [{name: north deck, box: [5, 5, 150, 110], shows: pool deck}]
"""


@pytest.fixture(scope="module")
def installed(tmp_path_factory) -> tuple[Path, dict[str, str]]:
    """A copy of the project, and an environment in which it is installed beside heatbrief."""
    home = tmp_path_factory.mktemp("external")
    project, target = home / "project", home / "site"
    shutil.copytree(PROJECT, project, ignore=shutil.ignore_patterns("__pycache__", ".pytest_cache"))
    return project, install_beside(project, target)


@pytest.fixture
def pool(tmp_path) -> Path:
    """A survey folder with one picture of a pool deck."""
    scene = Scene(name="deck", base_c=22.0, parts=(Patch(name="leak", box=(60, 40, 30, 24), rise_k=5.0),))
    write(render(scene), tmp_path, "deck")
    (tmp_path / "survey.yaml").write_text(SURVEY, "utf-8")
    return tmp_path


def test_it_imports_public_names_only():
    assert len(list(PROJECT.rglob("*.py"))) >= 3
    assert private_imports(PROJECT) == []


def test_its_own_tests_pass_with_the_fixtures_of_heatbrief(installed):
    project, environment = installed
    done = call(project, environment, "pytest", "-q", "-p", "no:cacheprovider")
    assert done.returncode == 0, done.stdout + done.stderr
    assert "3 passed" in done.stdout


def test_its_finding_is_on_the_site_with_caution_and_action(installed, pool):
    _, environment = installed
    done = call(pool, environment, "heatbrief", "run", pool, "--out", pool / "out")
    assert done.returncode == 0, done.stderr
    results = results_of(pool / "out", "invented-pool")
    (finding,) = results["findings"]
    assert (finding["check"], finding["domain"], finding["verdict"]) == ("pool.leak", "pool", "defect")
    assert [item["action"] for item in results["plan"]] == ["pool.pressure-test"]
    assert [one["plugin"] for one in results["run"]["steps"] if one["name"] == "pool.leak"] == ["heatbrief-pool 1.0"]
    page = (pool / "out" / "invented-pool" / "site" / "findings" / f"{finding['id']}.html").read_text("utf-8")
    for words in (finding["title"], "a sound return line", "Electricity beside the pool", "Test the pool lines under"):
        assert words.casefold() in page.casefold(), words
    assert finding["id"] in (pool / "out" / "invented-pool" / "site" / "index.html").read_text("utf-8")


def test_without_it_the_inspection_is_unknown(pool):
    done = call(pool, dict(os.environ), "heatbrief", "check", pool)
    assert done.returncode == 2
    assert "pool" in done.stderr and "survey.yaml:3" in done.stderr


def test_it_is_listed_with_its_origin(installed):
    project, environment = installed
    done = call(project, environment, "heatbrief", "plugins")
    assert done.returncode == 0
    assert "pool.leak" in done.stdout and "refused" not in done.stderr
