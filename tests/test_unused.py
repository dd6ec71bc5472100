"""Nothing is left lying about: every function, class, constant and method is used by a product, or offered to its authors."""

from __future__ import annotations

import ast

import pytest
from unused import Module, modules, unused, uses

LIBRARY = "heatbrief.physics."
"""A library of published formulas for plugins to call: one that no check of ours needs is no leftover."""

CALLED_FROM_OUTSIDE = {
    "heatbrief.cli._Verbs.": "click calls these",
    "heatbrief.site.mkdocs_hook.": "MkDocs calls these by their names",
    "heatbrief.estimate.season.conductance_of": "the sum of a finding in one line, for the tests of its published figures",
    "heatbrief.estimate.season.season_heat": "the same",
    "heatbrief.estimate.plan_of_work.plan_of_work": "the plan alone, for tests that look at its order",
    "heatbrief.testing.truth.read_truth": "reads what `write` wrote, for tests that have its pictures",
}
"""Name or beginning of names -> why nothing of ours has to name it."""


@pytest.fixture(scope="module")
def found() -> list[str]:
    return unused()


def test_everything_is_used_or_offered(found):
    left = [one for one in found if not one.startswith((LIBRARY, *CALLED_FROM_OUTSIDE))]
    assert not left, f"remove these, or offer them in DEVELOPERS.md or api/hooks.yaml: {left}"


def test_every_exception_is_still_one(found):
    assert [one for one in CALLED_FROM_OUTSIDE if not any(name.startswith(one) for name in found)] == []


def test_what_only_itself_or_a_package_names_is_unused():
    """A call of itself and a name that a package hands on are no use; a use through the package is."""
    home = "def f():\n    return f()\n\ndef g():\n    return 1\n"
    package = "from pack.home import f, g\n"
    user = "from pack import g\nprint(g())\n"
    known = {name: module_of(text) for name, text in (("pack.home", home), ("pack", package), ("user", user))}
    named = {one for name in known for one in uses(known, name)}
    assert ("pack.home", "g") in named and ("pack.home", "f") not in named


def test_many_names_are_looked_at():
    assert sum(len(one.defined) + len(one.methods) for one in modules().values()) > 3000


def module_of(text: str) -> Module:
    tree = ast.parse(text)
    made = Module(tree, {one.name: one for one in tree.body if isinstance(one, ast.FunctionDef)})
    for node in tree.body:
        if isinstance(node, ast.ImportFrom):
            made.imported.update((one.name, (node.module, one.name)) for one in node.names)
    return made
