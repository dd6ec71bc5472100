"""Every message code can be explained, every explanation belongs to a code, and `heatbrief explain` prints it whole."""

from __future__ import annotations

import ast
import functools
import re
from collections.abc import Iterator
from dataclasses import dataclass, field

import pytest
import yaml
from heatbrief.cli import explain
from heatbrief.codes import Code, load_codes
from heatbrief.manifest.jsonschema import json_schema
from heatbrief.registry import load_registry
from heatbrief.testing import scene
from support import ROOT

FOLDERS = ("pipeline", "plugins", "site_templates")
MAKERS = {"StepError": 0, "Problem": 1, "NotAnalysed": 1}
"""Class -> position of the code. Functions that hand a parameter on to one of them, and their callers, are found."""
FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef)


@dataclass
class Found:
    """Codes with a place where each is used, and places whose code could not be read from the source."""

    codes: dict[str, str] = field(default_factory=dict)
    unread: list[str] = field(default_factory=list)


class Module:
    """One source file: its calls with the functions they stand in, and the values its names are given."""

    def __init__(self, path: str, tree: ast.Module):
        self.path = path
        self.calls = list(_calls(tree, ()))
        self.given: dict[str, list[ast.expr]] = {}
        for node in ast.walk(tree):
            targets = (
                node.targets
                if isinstance(node, ast.Assign)
                else [node.target]
                if isinstance(node, (ast.AnnAssign, ast.NamedExpr))
                else []
            )
            for target in targets:
                if isinstance(target, ast.Name) and node.value is not None:
                    self.given.setdefault(target.id, []).append(node.value)

    def texts(self, node: ast.expr, names: frozenset[str] = frozenset()) -> set[str] | None:
        """The texts an expression can be, or None when they do not stand in this file."""
        match node:
            case ast.Constant(value=str(text)):
                return {text}
            case ast.IfExp(body=one, orelse=other):
                parts = [one, other]
            case (
                ast.BoolOp(values=parts)
                | ast.Tuple(elts=parts)
                | ast.List(elts=parts)
                | ast.Set(elts=parts)
                | ast.Dict(values=parts)
            ):
                pass
            case ast.Subscript(value=table):
                parts = [table]
            case ast.Call(func=ast.Attribute(value=table, attr="get"), args=[_, *default]):
                parts = [table, *default]
            case ast.Name(id=name) if name in self.given and name not in names:
                parts, names = self.given[name], names | {name}
            case _:
                return None
        found = [self.texts(part, names) for part in parts]
        return None if None in found else set().union(*found)


def _calls(node: ast.AST, inside: tuple[ast.AST, ...]) -> Iterator[tuple[ast.Call, tuple[ast.AST, ...]]]:
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.Call):
            yield child, inside
        yield from _calls(child, (*inside, child) if isinstance(child, FUNCTIONS) else inside)


def _called(call: ast.Call) -> str:
    return call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")


def _position(functions: tuple[ast.AST, ...], name: str) -> tuple[str, int] | None:
    """The innermost function with a parameter of that name, and its position for a caller."""
    for function in reversed(functions):
        names = [one.arg for one in [*function.args.posonlyargs, *function.args.args]]
        if name in names:
            return function.name, names.index(name) - (names[0] in ("self", "cls"))
        if name in [one.arg for one in function.args.kwonlyargs]:
            return function.name, 99
    return None


def find(modules: list[Module]) -> Found:
    """Every code that is given to a maker, directly or through functions that hand it on."""
    makers: dict[tuple[str, str], int] = {("", name): position for name, position in MAKERS.items()}
    while True:
        found, known = Found(), len(makers)
        for module in modules:
            for call, functions in module.calls:
                name = _called(call)
                position = makers.get(("", name), makers.get((module.path, name)))
                if position is None:
                    continue
                given = [
                    *call.args[position : position + 1],
                    *(one.value for one in call.keywords if one.arg == "code"),
                ]
                for one in given:
                    _take(module, one, functions, makers, found)
        if len(makers) == known:
            return found


def _take(
    module: Module, code: ast.expr, functions: tuple[ast.AST, ...], makers: dict[tuple[str, str], int], found: Found
) -> None:
    place = f"{module.path}:{code.lineno}"
    forwarder = _position(functions, code.id) if isinstance(code, ast.Name) else None
    texts = module.texts(code)
    if forwarder is not None:
        name, position = forwarder
        makers[module.path if name.startswith("_") else "", name] = position
    elif texts is not None:
        found.codes.update(dict.fromkeys(texts, place))
    elif not (
        isinstance(code, ast.Attribute) and code.attr == "code"
    ):  # an error's own code was found where the error is made
        found.unread.append(f"{place}: {ast.unparse(code)}")


@functools.cache
def used() -> Found:
    paths = sorted(path for folder in FOLDERS for path in (ROOT / folder).rglob("*.py"))
    return find([Module(str(path.relative_to(ROOT)), ast.parse(path.read_text("utf-8"))) for path in paths])


@pytest.mark.parametrize(
    "source",
    [
        'raise StepError("here-it-is", "message")',
        'raise StepError(code="here-it-is", message="message")',
        'raise errors.StepError("other" if wide else "here-it-is", "message")',
        'problems.append(Problem(where, "here-it-is", message))',
        'yield NotAnalysed(source, "here-it-is", message)',
        'code = "here-it-is"\nraise StepError(code, "message")',
        'KINDS = {"a": "here-it-is", "b": "other"}\nraise StepError(KINDS[kind], "message")',
        'KINDS: dict = {"a": "other"}\nraise StepError(KINDS.get(kind, "here-it-is"), "message")',
        'def single(cls, code, where):\n    return cls(Problem(where, code, ""))\nUserError.single("here-it-is", where)',
        'def add(self, node, code, message):\n    self.all = Problem(node, code, message)\nproblems.add(node, "here-it-is", "message")',
        'def add(self, node, code):\n    Problem(node, code)\ndef _fail(self, code):\n    self.problems.add(self.node, code)\nself._fail("here-it-is")',
        'def _wrong(reason, *, code):\n    return StepError(code, reason)\nraise _wrong("reason", code="here-it-is")',
    ],
)
def test_a_code_is_found_in_every_form_of_call(source):
    found = find([Module("example.py", ast.parse(source))])
    assert "here-it-is" in found.codes
    assert found.codes.keys() <= {"here-it-is", "other"} and not found.unread


def test_a_code_that_cannot_be_read_from_the_source_is_noticed():
    assert find([Module("example.py", ast.parse("raise StepError(made_up(), message)"))]).unread
    assert not find([Module("example.py", ast.parse("names.add('word')\nraise StepError(error.code, message)"))]).unread


def test_every_code_stands_readably_in_the_source():
    assert used().unread == []


def test_every_code_is_explained():
    assert {code: place for code, place in used().codes.items() if code not in load_codes()} == {}


def test_no_code_is_explained_in_vain():
    assert sorted(load_codes().keys() - used().codes.keys()) == []


def test_codes_are_short_words_and_sorted():
    assert list(load_codes()) == sorted(load_codes())
    assert [code for code in load_codes() if not re.fullmatch(r"[a-z][a-z0-9]*(-[a-z0-9]+)*", code)] == []


@pytest.mark.parametrize("code", sorted(load_codes()))
def test_explanations_are_whole_sentences(code):
    entry = load_codes()[code]
    assert entry.title and entry.title[0].isupper() and entry.title[-1].isalnum() and len(entry.title.split()) <= 9
    for text in (entry.cause, entry.remedy):
        assert text == " ".join(text.split()) and text.endswith(".") and text.count("`") % 2 == 0
        sentences = re.split(r"(?<=\.) ", re.sub(r"`[^`]*`", "Name", text))
        assert 1 <= len(sentences) <= 3 and all(one[0].isupper() and len(one.split()) >= 3 for one in sentences), (
            sentences
        )


@functools.cache
def manifest_keys() -> frozenset[str]:
    """Every key the schema knows, and those of the files for scales and for made pictures."""

    def keys(schema: object) -> Iterator[str]:
        if isinstance(schema, dict):
            yield from schema.get("properties", {})
            for value in schema.values():
                yield from keys(value)
        elif isinstance(schema, list):
            for value in schema:
                yield from keys(value)

    return frozenset({*keys(json_schema(load_registry())), *scene.Scene.__dataclass_fields__, "electricity"})


@pytest.mark.parametrize("code", sorted(load_codes()))
def test_examples_can_be_copied_into_a_manifest(code):
    for example in re.findall(r"`([^`]*)`", f"{load_codes()[code].cause} {load_codes()[code].remedy}"):
        if ":" not in example:
            continue
        read = yaml.safe_load(example)
        assert isinstance(read, dict), example
        assert set(_keys_of(read)) <= manifest_keys(), example


def _keys_of(read: object) -> Iterator[str]:
    if isinstance(read, dict):
        for key, value in read.items():
            yield key
            yield from _keys_of(value)
    elif isinstance(read, list):
        for value in read:
            yield from _keys_of(value)


def shown(entry: Code) -> str:
    return f"{entry.title}\n\nWhy: {entry.cause}\nWhat to do: {entry.remedy}"


def test_explain_knows_every_code():
    known = explain._known(load_registry())  # a code must not be hidden by a step, source or caution of the same name
    assert {code for code, entry in load_codes().items() if known[code]() != shown(entry)} == set()


@pytest.mark.parametrize("code", ["bad-quantity", "colour-picture", "unscaled", "worker-died"])
def test_the_command_prints_title_cause_and_remedy(heatbrief, code):
    outcome = heatbrief("explain", code)
    assert (outcome.code, outcome.out) == (0, shown(load_codes()[code]) + "\n")


def test_an_unknown_code_gets_the_nearest_one(heatbrief):
    outcome = heatbrief("explain", "colour-pictures")
    assert outcome.code == 2 and outcome.out == ""
    assert "error[unknown-code]: colour-pictures:" in outcome.err and "Did you mean colour-picture" in outcome.err
