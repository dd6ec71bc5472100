"""What the documents say is true of the code."""

from __future__ import annotations

import ast
import functools
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
PACKAGE, EXAMPLE = ROOT / "pipeline" / "heatbrief", "heatbrief_envelope"
PROSE = re.sub(r"<!-- (\w+) -->.*?<!-- /\1 -->|```.*?```", "", DEVELOPERS, flags=re.DOTALL)
TO_BE_WRITTEN = {"nl.yaml", "texts.nl.yaml"}
"""Files that a reader is asked to make."""
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


@pytest.mark.parametrize(
    "path",
    sorted(set(re.findall(r"`([\w./]+(?:\.(?:py|yaml|json|csv|html|css|js|typed)|/))`", PROSE)) - TO_BE_WRITTEN),
)
def test_every_file_and_folder_that_is_named_exists(path):
    """From the root, from the package, or, in "Before and after", from `compare/`; else it is one that code reads or writes."""
    there = any((home / path).exists() for home in (ROOT, PACKAGE, PACKAGE / "compare", ROOT / "plugins" / EXAMPLE))
    assert there or ("/" not in path and path in every_name()), path


def test_what_the_walk_through_says_to_look_for_is_there():
    """`file.py` (`name`, `name`) and `Name` (`file.py`): a function or class at the top of that file."""
    section = PROSE.split("One picture from manifest to page")[1].split("### Where a number")[0]
    pairs = [(file, name) for file, name in re.findall(r"`([\w/]+\.py)` \(`(\w+)`\)", section)]
    pairs += [(file, name) for name, file in re.findall(r"`(\w+)`\s+\(`([\w/]+\.py)`\)", section)]
    assert len(pairs) > 25
    for file, name in pairs:
        assert name in defined_in(next(one for one in (PACKAGE / file, ROOT / file) if one.exists())), f"{file}: {name}"
    loose = set(re.findall(r"`(\w+)`", section)) - {name for _, name in pairs}
    assert not loose, "say in which file these are"


def defined_in(path: Path) -> set[str]:
    """Names of functions and classes at the top of a file, and of click's commands, which are functions too."""
    tree = ast.parse(path.read_text("utf-8"))
    return {node.name for node in tree.body if isinstance(node, ast.FunctionDef | ast.ClassDef)}


@pytest.mark.parametrize("name", sorted(set(re.findall(r"`(_?[A-Za-z]\w*[A-Z_]\w*)(?:\(.*?\))?`", PROSE))))
def test_every_name_of_code_that_is_named_exists(name):
    """Names with an underscore or a capital within: of functions, classes, fields, arguments, constants and variables."""
    assert name in every_name()


@functools.cache
def every_name() -> frozenset[str]:
    found = set()
    for folder in ("pipeline", "plugins", "site_templates"):
        for path in (ROOT / folder).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text("utf-8"))):
                found |= {str(getattr(node, part, "")) for part in ("name", "id", "attr", "arg", "value")}
    for path in (ROOT / "site_templates").rglob("*.js"):
        found |= set(re.findall(r"\w+", path.read_text("utf-8")))
    return frozenset(found)


def test_every_verb_is_in_the_readme():
    for verb in VERBS:
        assert f"`heatbrief {verb}" in README, verb


@pytest.mark.parametrize("name", ["demo", "tests"])
def test_readme_has_the_two_commands(name):
    block = README.split(f"<!-- command: {name} -->\n```sh\n")[1].split("```")[0]
    assert block.count("\n") == 1


def test_an_empty_registry_still_lists():
    assert markdown_table(Registry()).startswith("| name |")
