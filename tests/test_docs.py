"""What the documents say is true of the code."""

from __future__ import annotations

import inspect
import re
from pathlib import Path

import pytest
from heatbrief.api import hooks
from heatbrief.cli import VERBS
from heatbrief.cli.plugins import markdown_table
from heatbrief.registry import Registry, load_registry

ROOT = Path(__file__).resolve().parents[1]
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")
README = (ROOT / "README.md").read_text("utf-8")
HOOKS = [
    (name, function)
    for name, function in inspect.getmembers(hooks, inspect.isfunction)
    if name.startswith("heatbrief_")
]


@pytest.mark.parametrize(("name", "function"), HOOKS)
def test_every_hook_has_a_section_with_its_arguments(name, function):
    arguments = ", ".join(inspect.signature(function).parameters)
    assert f"### `{name}({arguments})`" in DEVELOPERS
    assert function.__doc__


def test_catalogue_is_what_the_installed_plugins_offer():
    shown = DEVELOPERS.split("<!-- catalogue -->")[1].split("<!-- /catalogue -->")[0].strip()
    own = load_registry()
    assert not own.refused
    assert all(owner.startswith("heatbrief ") for owner in own.owners.values()), (
        "run this test without other plugins installed"
    )
    assert shown == markdown_table(own)


def test_paths_named_in_the_walk_through_exist():
    section = DEVELOPERS.split("One picture from manifest to page")[1].split("## Layers")[0]
    paths = re.findall(r"`([\w/]+(?:\.py|/))`", section)
    assert len(paths) > 15
    for path in paths:
        assert (ROOT / path).exists() or (ROOT / "pipeline" / "heatbrief" / path).exists(), path


def test_every_verb_is_in_the_readme():
    for verb in VERBS:
        assert f"`heatbrief {verb}" in README, verb


@pytest.mark.parametrize("name", ["demo", "tests"])
def test_readme_has_the_two_commands(name):
    block = README.split(f"<!-- command: {name} -->\n```sh\n")[1].split("```")[0]
    assert block.count("\n") == 1


def test_an_empty_registry_still_lists():
    assert markdown_table(Registry()).startswith("| name |")
