"""A plugin project is started with the command, installed beside heatbrief, tested and used, with public names only."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from heatbrief.testing import Scene, render, write
from heatbrief.testing.parts import Patch
from support import call, install_beside, private_imports, results_of

SURVEY = """\
format: 1
property: {name: Invented pool, invented: true}
inspect: [pool]
conditions: {sun: none, hours_without_sun: 24 h, hours_without_rain: 72 h, outside_air: 22 degC, reflected: 22 degC}
prices: {electricity: 0.16 USD/kWh}
settings: {pool.heat: {hours: 2000 h}}
camera: {field_of_view: [45 deg, 34 deg], noise: 50 mK, accuracy: 2 K}
thermograms:
  - file: deck.tiff
    shows: pool surface
    scale: {kelvin_per_count: 0.01}
    material: concrete
    distance: 2 m
    facts: {sound line there: no, second view: same place}
    regions: [{name: north deck, box: [5, 5, 150, 110], shows: pool surface}]
"""


@pytest.fixture(scope="module")
def project(tmp_path_factory) -> Path:
    """The project as `heatbrief plugins new pool` starts it."""
    home = tmp_path_factory.mktemp("external")
    done = call(home, dict(os.environ), "heatbrief", "plugins", "new", "pool")
    assert done.returncode == 0, done.stderr
    return home / "heatbrief-pool"


@pytest.fixture(scope="module")
def installed(project) -> tuple[Path, dict[str, str]]:
    """The project, and an environment in which it is installed beside heatbrief."""
    target = project.parent / "site"
    return project, install_beside(project, target)


@pytest.fixture
def pool(tmp_path) -> Path:
    """A survey folder with one picture of a pool deck."""
    scene = Scene(name="deck", base_c=22.0, parts=(Patch(name="leak", box=(60, 40, 30, 24), rise_k=5.0),))
    write(render(scene), tmp_path, "deck")
    (tmp_path / "survey.yaml").write_text(SURVEY, "utf-8")
    return tmp_path


def test_it_imports_public_names_only(project):
    assert len(list(project.rglob("*.py"))) >= 3
    assert private_imports(project) == []


def test_its_own_tests_pass_with_the_fixtures_of_heatbrief(installed):
    project, environment = installed
    done = call(project, environment, "pytest", "-q", "-p", "no:cacheprovider")
    assert done.returncode == 0, done.stdout + done.stderr
    assert "6 passed" in done.stdout


def test_its_finding_is_on_the_site_with_caution_and_action(installed, pool):
    _, environment = installed
    done = call(pool, environment, "heatbrief", "run", pool, "--out", pool / "out")
    assert done.returncode == 0, done.stderr
    results = results_of(pool / "out", "invented-pool")
    (finding,) = results["findings"]
    assert (finding["check"], finding["domain"], finding["verdict"]) == ("pool.patches", "pool", "defect")
    assert [item["action"] for item in results["plan"]] == ["pool.look-closer"]
    assert [one["plugin"] for one in results["run"]["steps"] if one["name"] == "pool.patches"] == [
        "heatbrief-pool 0.1.0"
    ]
    (estimate,) = [one for one in results["estimates"] if one["finding"] == finding["id"]]
    assert estimate["quantities"]["yearly_cost"]["unit"] == "USD/a"
    page = (pool / "out" / "invented-pool" / "site" / "findings" / f"{finding['id']}.html").read_text("utf-8")
    for words in (finding["title"], "a sound warm line", "Before you start", "Have the warm place looked at"):
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
    assert "pool.patches" in done.stdout and "pool.heat" in done.stdout and "refused" not in done.stderr


def test_its_shot_list_is_written(installed, tmp_path):
    _, environment = installed
    done = call(tmp_path, environment, "heatbrief", "new", tmp_path / "walk", "--for", "pool")
    assert done.returncode == 0, done.stderr
    assert "sound line there" in (tmp_path / "walk" / "shots.html").read_text("utf-8")


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
