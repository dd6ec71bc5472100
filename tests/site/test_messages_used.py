"""Every fixed sentence is asked for by a page, a template or a script: what nothing says is not translated either."""

from __future__ import annotations

import ast
import functools
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml
from heatbrief.detect.gates import gate_rules
from heatbrief_site import resource

ROOT = Path(__file__).resolve().parents[2]
PIPELINE, THEME = ROOT / "pipeline" / "heatbrief", ROOT / "site_templates" / "heatbrief_site" / "theme"
MESSAGES = yaml.safe_load(resource("messages/en.yaml").read_text("utf-8"))

ONE_OF = {
    "overview.*": {"analysed", "unscaled", "unreadable", "normal", "inconclusive"},
    "completeness.*": {"given", "partly", "missing"},
    "portfolio.*": {"since", "compare"},
    "since.*": {"verdict", "urgency", "probability"},
    "viewer.say.hint_*": {"point", "line", "box", "outline"},
}
"""Names that are put together at run time, where the place beside them holds other names too -> what may stand there."""

OF_ONE_KIND = ("gate", "rival_status", "sections", "status", "trades", "urgency", "verdict")
"""Sections whose names all are of one kind, so that code may take one by a name of that kind."""

TAKE_A_BRANCH = ("words.get", "site.words.get", "self.words.get", "self.get")

BY_VALUE = ("labels", "inputs", "phrases", "said", "percent_labels")
"""Sections whose names are names or words of results: something in the packages must write these."""

ENOUGH = re.compile(r"(?:[^a-z]*[a-z]){6}").match
"""A text with places in it tells which value it writes when it has some letters of its own."""


def leaves(found: object, name: str = "") -> Iterator[str]:
    """Dotted names of sentences; the forms of a number and the rows of a list are one."""
    if not isinstance(found, dict) or set(found) == {"one", "other"}:
        yield name
        return
    for key, value in found.items():
        yield from leaves(value, f"{name}.{key}" if name else str(key))


def trees(*folders: Path) -> Iterator[ast.AST]:
    for folder in folders:
        for path in sorted(folder.rglob("*.py")):
            yield from ast.walk(ast.parse(path.read_text("utf-8")))


def with_stars(node: ast.JoinedStr) -> str:
    return "".join(str(one.value) if isinstance(one, ast.Constant) else "*" for one in node.values)


def asked_in_code() -> set[str]:
    """Names in code as they are, with a star for what is filled in and at the end of a branch that is taken whole."""
    found = set()
    for node in trees(PIPELINE):
        if isinstance(node, ast.JoinedStr):
            found.add(with_stars(node))
        elif isinstance(node, ast.Constant) and "." in str(node.value):
            found.add(str(node.value))
        elif isinstance(node, ast.Call) and ast.unparse(node.func) in TAKE_A_BRANCH:
            whole = [str(one.value) for one in node.args[:1] if isinstance(one, ast.Constant)]
            found |= {*whole, *(f"{one}.**" for one in whole)}
    return found


def asked_in_templates() -> set[str]:
    found = set()
    for path in (*THEME.glob("*.html"), *(PIPELINE / "pages").glob("*.html")):
        text = re.sub(r"""\[["']([^"']+)["']\]""", r".\1", path.read_text("utf-8"))
        short = [("config.extra.t", "")]
        for name, whole in re.findall(r"\bset (\w+) = ([\w.]+)", text):
            short += [(name, value) for value in spelled_out(whole, short)]
        for name in re.findall(r"[\w.-]+\[?", text):
            found |= {value.replace("[", ".*").removesuffix(".replace") for value in spelled_out(name, short)}
    return found


def spelled_out(name: str, short: list[tuple[str, str]]) -> set[str]:
    """A name of a template with what its beginning stands for; a beginning may stand for several things in turn."""
    return {
        f"{whole}{name[len(begin) :]}".strip(".")
        for begin, whole in short
        if name == begin or name.startswith(f"{begin}.")
    }


def asked_in_scripts() -> set[str]:
    text = " ".join(path.read_text("utf-8") for path in sorted(THEME.glob("js/*.js")))
    found = {f"viewer.say.{name}" for name in re.findall(r"\bsay\.(\w+)", text)}
    return found | {f"viewer.say.{name}*" for name in re.findall(r'\bsay\["(\w+)" \+', text)}


@functools.cache
def written() -> frozenset[str]:
    """Words and names that the packages write: texts, fields and arguments."""
    found = set()
    for node in trees(PIPELINE, ROOT / "plugins"):
        if isinstance(node, ast.Constant):
            found.add(str(node.value))
        elif isinstance(node, ast.JoinedStr):
            found.add(with_stars(node))
        elif isinstance(node, ast.keyword) and node.arg:
            found |= {node.arg, node.arg.replace("_", " ")}
        elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            found |= {node.target.id}
    return frozenset(found)


def patterns(names: set[str]) -> list[re.Pattern[str]]:
    """Of the names with a star those that tell what they ask for: by `ONE_OF`, a branch taken whole or of one kind, a branch of a section."""
    found = [f"{name[:-1]}{one}" for name in ONE_OF if name in names for one in ONE_OF[name]]
    found += [
        name
        for name in names - {*ONE_OF}
        if "*" in name
        and (name.endswith(".**") or name.startswith(OF_ONE_KIND) or "." in name.partition("*")[0].strip("."))
    ]
    return [re.compile(re.escape(name).replace(r"\*", ".+")) for name in found]


@pytest.fixture(scope="module")
def asked() -> set[str]:
    return asked_in_code() | asked_in_templates() | asked_in_scripts()


def test_every_sentence_is_asked_for(asked):
    told = patterns({name for name in asked if name.partition(".")[0] in MESSAGES})
    left = [name for name in leaves(MESSAGES) if name not in asked and not any(one.fullmatch(name) for one in told)]
    assert [name for name in left if not name.startswith((*BY_VALUE, "practices."))] == ["language"]


def test_every_practice_of_the_gates_has_its_name_and_no_other():
    assert set(MESSAGES["practices"]) == {rule.rule_set for rule in gate_rules()}


@pytest.mark.parametrize("section", [*BY_VALUE, *OF_ONE_KIND])
def test_every_word_for_a_value_has_something_that_writes_the_value(section):
    found = written()
    told = [re.escape(one).replace(r"\*", ".+") for one in found if one.count("*") in (1, 2) and ENOUGH(one)]
    for name in MESSAGES[section]:
        spoken = {name, f"{name} of something", f"{name}, 4.2"}
        assert found & {name, f"hours of {name}"} or any(re.fullmatch(part, one) for part in told for one in spoken), (
            name
        )


@pytest.mark.parametrize("language", ["en", "de"])
def test_every_name_is_a_text(language):
    """`on` and `no` without quotes are truth values in YAML, and no template finds them."""
    every = yaml.safe_load(resource(f"messages/{language}.yaml").read_text("utf-8"))
    stack = [every]
    while stack:
        one = stack.pop()
        assert all(isinstance(key, str) for key in one), one.keys()
        stack += [value for value in one.values() if isinstance(value, dict)]
