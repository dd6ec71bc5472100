"""What is developed is what is shipped."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
CONFIG = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
WHEEL = CONFIG["tool"]["hatch"]["build"]["targets"]["wheel"]


def test_every_package_folder_is_in_the_wheel_and_nothing_else_lies_there():
    there = {
        path.relative_to(ROOT).as_posix()
        for home in ("pipeline", "plugins", "site_templates")
        for path in (ROOT / home).iterdir()
        if path.name != "__pycache__"
    }
    assert there == set(WHEEL["packages"])


def test_top_level_holds_only_what_the_design_card_names():
    allowed = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "pipeline",
        "plugins",
        "site_templates",
        "tests",
        "surveys",
    }
    ignored = {"published", "build", "dist"}
    there = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")} - ignored
    assert there == allowed


@pytest.mark.parametrize("group", ["heatbrief.plugins", "mkdocs.themes", "pytest11"])
def test_entry_points_name_packages_that_are_shipped(group):
    shipped = {Path(package).name for package in WHEEL["packages"]}
    for target in CONFIG["project"]["entry-points"][group].values():
        assert target.split(".")[0] in shipped


def test_installed_version_is_the_written_one():
    import heatbrief

    assert heatbrief.__version__ == CONFIG["project"]["version"]
