"""Plugins of somebody else, one by hand and one started with the command: installed, tested and used, by public names only."""

from __future__ import annotations

import os
import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest
from heatbrief.testing import Scene, render, write
from heatbrief.testing.parts import Patch
from support import ROOT, call, install_beside, private_imports, results_of

PROJECT = ROOT / "tests" / "external_plugin"
SURVEY = """\
format: 1
property: {{name: Invented pool, invented: true}}
inspect: [pool]
conditions: {{sun: none, hours_without_sun: 24 h, hours_without_rain: 72 h, outside_air: 22 degC, reflected: 22 degC}}
costs: {{book: example}}
camera: {{field_of_view: [45 deg, 34 deg], noise: 50 mK, accuracy: 2 K}}
{more}
thermograms:
  - file: deck.tiff
    shows: {shows}
    scale: {{kelvin_per_count: 0.01}}
    material: concrete
    distance: 2 m
    facts: {{{fact}: no, second view: same place}}
    regions: [{{name: north deck, box: [5, 5, 150, 110], shows: {shows}}}]
"""


@dataclass(frozen=True)
class Project:
    """A plugin project, the environment in which it is installed beside heatbrief, and what to expect of it."""

    folder: Path
    environment: dict[str, str]
    origin: str
    check: str
    action: str
    estimate: str
    tests: int
    words: tuple[str, ...]
    survey: str


def by_hand(home: Path) -> Project:
    shutil.copytree(PROJECT, home / "project", ignore=shutil.ignore_patterns("__pycache__", ".pytest_cache"))
    return Project(
        home / "project",
        install_beside(home / "project", home / "site"),
        "heatbrief-pool 1.0",
        "pool.leak",
        "pool.pressure-test",
        "heat_flow",
        7,
        ("a sound return line", "Electricity beside the pool", "Test the pool lines under", "After the heater is off"),
        SURVEY.format(
            shows="pool deck",
            fact="return line there",
            more="stages: {publish: [{use: heatbrief.site}, {use: pool.list}], "
            "calibrate: [{use: pool.housing, with: {edge: 1 px}}, {use: heatbrief.radiance}]}",
        ),
    )


def by_command(home: Path) -> Project:
    done = call(home, dict(os.environ), "heatbrief", "plugins", "new", "pool")
    assert done.returncode == 0, done.stderr
    folder = home / "heatbrief-pool"
    return Project(
        folder,
        install_beside(folder, home / "site"),
        "heatbrief-pool 0.1.0",
        "pool.patches",
        "pool.look-closer",
        "yearly_cost",
        6,
        ("a sound warm line", "Before you start", "Have the warm place looked at"),
        SURVEY.format(
            shows="pool surface",
            fact="sound line there",
            more="prices: {electricity: 0.16 USD/kWh}\nsettings: {pool.heat: {hours: 2000 h}}",
        ),
    )


@pytest.fixture(scope="module", params=[by_hand, by_command], ids=["by hand", "by command"])
def project(request, tmp_path_factory) -> Project:
    return request.param(tmp_path_factory.mktemp("external"))


@pytest.fixture
def pool(tmp_path, project) -> Path:
    """A survey folder with one picture of a pool deck."""
    scene = Scene(name="deck", base_c=22.0, parts=(Patch(name="leak", box=(60, 40, 30, 24), rise_k=5.0),))
    write(render(scene), tmp_path, "deck")
    (tmp_path / "survey.yaml").write_text(project.survey, "utf-8")
    return tmp_path


def test_it_imports_public_names_only(project):
    assert len(list(project.folder.rglob("*.py"))) >= 3
    assert private_imports(project.folder) == []


def test_its_own_tests_pass_with_the_fixtures_of_heatbrief(project):
    done = call(project.folder, project.environment, "pytest", "-q", "-p", "no:cacheprovider")
    assert done.returncode == 0, done.stdout + done.stderr
    assert f"{project.tests} passed" in done.stdout


def test_what_it_offers_is_in_the_results_and_on_the_site(project, pool):
    done = call(pool, project.environment, "heatbrief", "run", pool, "--out", pool / "out")
    assert done.returncode == 0, done.stderr
    published = pool / "out" / "invented-pool"
    results = results_of(pool / "out", "invented-pool")
    (finding,) = results["findings"]
    assert (finding["check"], finding["domain"], finding["verdict"]) == (project.check, "pool", "defect")
    (item,) = results["plan"]
    assert (item["action"], item["price_origin"]) == (project.action, "example price book")
    assert item["quantities"]["cost"]["low"] >= 60.0
    assert [one["plugin"] for one in results["run"]["steps"] if one["name"] == project.check] == [project.origin]
    assert [one["finding"] for one in results["estimates"] if project.estimate in one["quantities"]] == [finding["id"]]
    assert {one["plugin"] for one in results["parts"]} == {project.origin}
    page = (published / "site" / "findings" / f"{finding['id']}.html").read_text("utf-8")
    for words in (finding["title"], *project.words):
        assert words.casefold() in page.casefold(), words
    first = (published / "site" / "index.html").read_text("utf-8")
    assert finding["id"] in first and f"of {project.origin}" in first and 'class="chart"' in first
    if "pool.list" in project.survey:
        assert (published / "pool.list" / "findings.txt").read_text("utf-8") == f"soon: {finding['title']}\n"
        assert results["thermograms"][0]["masked"] == 2 * (160 + 118)
    again = call(pool, project.environment, "heatbrief", "publish", pool / "out", "--out", pool / "again")
    assert again.returncode == 0
    assert (pool / "again" / "invented-pool" / "site" / "index.html").read_text("utf-8") == first


def test_without_it_the_inspection_is_unknown(pool):
    done = call(pool, dict(os.environ), "heatbrief", "check", pool)
    assert done.returncode == 2
    assert "pool" in done.stderr and "survey.yaml:3" in done.stderr


def test_it_is_listed_with_its_origin(project):
    done = call(project.folder, project.environment, "heatbrief", "plugins")
    assert done.returncode == 0 and "refused" not in done.stderr
    for name in (project.check, project.origin, "Rival explanations", "Parts of pages"):
        assert name in done.stdout


def test_its_shot_list_is_written(project, tmp_path):
    done = call(tmp_path, project.environment, "heatbrief", "new", tmp_path / "walk", "--for", "pool")
    assert done.returncode == 0, done.stderr
    assert "line there" in (tmp_path / "walk" / "shots.html").read_text("utf-8")


@pytest.mark.parametrize(
    "name",
    ["Pool", "pool-roof", "2pool", "class", "heatbrief", "envelope", "", "a" * 40, "../x", "pool\n", "heatbrief_x"],
)
def test_names_that_cannot_be_are_refused(tmp_path, name):
    done = call(tmp_path, dict(os.environ), "heatbrief", "plugins", "new", name)
    assert done.returncode == 2 and "error[plugin-name]" in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_there_stays_as_it_is(tmp_path):
    (tmp_path / "heatbrief-pool").mkdir()
    done = call(tmp_path, dict(os.environ), "heatbrief", "plugins", "new", "pool")
    assert done.returncode == 2 and "error[folder-exists]" in done.stderr
    assert list((tmp_path / "heatbrief-pool").iterdir()) == []
