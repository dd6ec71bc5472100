"""Every word a user meets, gathered from the product itself, by the place where it stands."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable, Iterator, Mapping
from typing import Any, get_args, get_type_hints

import click
import yaml
from heatbrief import codes
from heatbrief.cli import heatbrief as command
from heatbrief.detect import gates, rivals
from heatbrief.manifest.jsonschema import json_schema
from heatbrief.model.comparison import Comparison
from heatbrief.model.results import ResultsDocument
from heatbrief.registry import Registry
from heatbrief.store import results
from support import ROOT

THEME = ROOT / "site_templates/heatbrief_site"
LONGEST = 4
"""Words of the longest text of the site that counts as a label; what is longer is a sentence."""
TONES = re.compile(r"--([a-z][a-z-]*): *(?:#|rgb)")


def visible_terms(registry: Registry) -> Mapping[str, frozenset[str]]:
    """Place -> the words that stand there."""
    gather: Mapping[str, Callable[[], Iterator[str]]] = {
        "commands": lambda: (path for path, _ in _commands(command, "")),
        "options": _options,
        "manifest keys": lambda: _keys_and_choices(registry, "keys"),
        "manifest choices": lambda: _keys_and_choices(registry, "choices"),
        "steps": lambda: iter([*registry.steps, *registry.publishers]),
        "facts": lambda: (fact.name for step in registry.steps.values() for fact in step.facts),
        "conditions of checks": lambda: (kind.title for kind in gates.gate_kinds().values()),
        "rival explanations": lambda: iter(rivals.RIVALS),
        "actions": lambda: (one.title for one in registry.actions.values()),
        "cautions": lambda: (one.title for one in registry.cautions.values()),
        "message codes": lambda: iter(codes.load_codes()),
        "keys of results.json": _document,
        "columns of the tables": _columns,
        "labels of the site": _labels,
        "colours of the site": lambda: iter(TONES.findall((THEME / "theme/css/site.css").read_text("utf-8"))),
    }
    return {place: frozenset(words()) for place, words in gather.items()}


def _commands(group: click.Command, path: str) -> Iterator[tuple[str, click.Command]]:
    if not isinstance(group, click.Group):
        return
    context = click.Context(group)
    for name in group.list_commands(context):
        one = group.get_command(context, name)
        assert one is not None
        yield f"{path} {name}".strip(), one
        yield from _commands(one, f"{path} {name}".strip())


def _options() -> Iterator[str]:
    for _, one in [("", command), *_commands(command, "")]:
        for parameter in one.params:
            yield from (name for name in parameter.opts if name.startswith("-"))
            if isinstance(parameter.type, click.Choice):
                yield from (str(choice) for choice in parameter.type.choices)
            if isinstance(parameter, click.Argument):
                yield parameter.make_metavar(click.Context(one))


def _keys_and_choices(registry: Registry, which: str) -> Iterator[str]:
    """Names of properties, or words of enumerations, of the manifest's JSON Schema; steps and facts have places of their own."""
    elsewhere = {*registry.steps, *registry.publishers, *registry.domains}
    elsewhere |= {fact.name for step in registry.steps.values() for fact in step.facts} if which == "keys" else set()
    for node in _nodes(json_schema(registry)):
        words = node.get("properties", {}) if which == "keys" else [*node.get("enum", ()), node.get("const")]
        yield from (word for word in words if isinstance(word, str) and word and word not in elsewhere)


def _nodes(tree: Any) -> Iterator[Mapping[str, Any]]:
    if isinstance(tree, Mapping):
        yield tree
    shown = [part for name, part in tree.items() if name != "anchor"] if isinstance(tree, Mapping) else tree
    for part in shown if isinstance(shown, list) else ():
        yield from _nodes(part)


def _labels() -> Iterator[str]:
    """Labels, states and titles in the messages of the site: texts of few words without a full stop."""
    for text in _texts(yaml.safe_load((THEME / "messages/en.yaml").read_text("utf-8"))):
        if text and len(text.split()) <= LONGEST and not text.endswith(".") and "{" not in text:
            yield text


def _texts(tree: Any) -> Iterator[str]:
    if isinstance(tree, str):
        yield tree
    shown = [part for name, part in tree.items() if name != "anchor"] if isinstance(tree, Mapping) else tree
    for part in shown if isinstance(shown, list) else ():
        yield from _texts(part)


def _columns() -> Iterator[str]:
    yield from (*results.FINDING_COLUMNS, *results.PLAN_COLUMNS)


def _document() -> Iterator[str]:
    """Names of the fields of results.json, from the classes it is written from."""
    waiting, seen = [ResultsDocument, Comparison], set()
    while waiting:
        kind = waiting.pop()
        if kind in seen:
            continue
        seen.add(kind)
        for one in dataclasses.fields(kind):
            yield one.name
        waiting += [part for hint in get_type_hints(kind).values() for part in _classes(hint)]


def _classes(hint: Any) -> Iterator[type]:
    if isinstance(hint, type) and dataclasses.is_dataclass(hint):
        yield hint
    for part in get_args(hint):
        yield from _classes(part)
