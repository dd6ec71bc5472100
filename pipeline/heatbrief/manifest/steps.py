"""Stage entries: the step each one names, and its settings bound to the step's own class."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from heatbrief.api.step import STAGES, Publisher, Step
from heatbrief.manifest.bind import Binder
from heatbrief.manifest.known import NameList, Registry
from heatbrief.manifest.names import nearest, suggestion
from heatbrief.manifest.nodes import Node, Table, is_absent, shown
from heatbrief.manifest.scalars import BROKEN
from heatbrief.manifest.schema import StagesEntry, StepEntry

MATCHED = ("shows", "room", "domain", "thermogram")
"""What `on:` can choose pictures by."""


def bind_shared(binder: Binder, tree: Table, registry: Registry) -> dict[str, Any]:
    """The manifest's `settings:` by step, each bound to the step's own class; add what is wrong with them."""
    given = tree.get("settings")
    found: dict[str, Any] = {}
    for name, (key, value) in given.entries.items() if isinstance(given, Table) else ():
        offered: dict[str, Step | Publisher] = {**registry.steps, **registry.publishers}
        if name not in offered:
            binder.problems.add(
                key,
                "unknown-step",
                f"{shown(name)} is not a step that is installed",
                f"{suggestion(name, offered, 'steps')} `heatbrief plugins` lists what is installed.",
            )
        elif isinstance(value, Table):
            found[name] = _bound(binder, value, offered[name])
        elif not is_absent(value):
            binder.problems.add(
                value, "wrong-type", f"the settings of {name} must be a mapping", "Write `{setting: value}`."
            )
    return found


def bind_steps(
    binder: Binder, stages: StagesEntry, registry: Registry, thermograms: Collection[str], shared: Mapping[str, Any]
) -> None:
    """Fill `settings` of every entry; add what is wrong with names, settings and `on`."""
    for stage in STAGES:
        for entry in getattr(stages, stage) or ():
            node = binder.origin(entry)
            assert isinstance(node, Table)
            _check_on(binder, node, entry, thermograms)
            step = _find(binder, node, entry.use, stage, registry) if entry.use else None
            if step is not None:
                object.__setattr__(entry, "settings", _settings(binder, node, step, shared))


def offers(registry: Registry, stage: str) -> dict[str, Step | Publisher]:
    """What can stand in a stage, by name."""
    if stage == "publish":
        return dict(registry.publishers)
    return {name: step for name, step in registry.steps.items() if step.stage == stage}


def _find(binder: Binder, node: Table, use: str, stage: str, registry: Registry) -> Step | Publisher | None:
    offered = offers(registry, stage)
    if use in offered:
        return offered[use]
    place, everything = node.at("use"), {*registry.steps, *registry.publishers}
    more = "`heatbrief plugins` lists what is installed."
    if use in everything:
        other = registry.steps[use].stage if use in registry.steps else "publish"
        binder.problems.add(
            place,
            "wrong-stage",
            f"{shown(use)} belongs to the stage {other}, not {stage}",
            f"Move it under `{other}:`.",
        )
    elif (plugin := use.split(".")[0]) not in {name.split(".")[0] for name in everything}:
        near = nearest(use, everything)
        hint = f"Did you mean '{near}'? " if near else f"Install the package that offers {shown(plugin)}. "
        binder.problems.add(
            place,
            "unknown-plugin",
            f"no installed plugin offers {shown(use)}: {shown(plugin)} is not installed",
            hint + more,
        )
    else:
        binder.problems.add(
            place,
            "unknown-step",
            f"{shown(use)} is not a step that is installed",
            f"{suggestion(use, offered or everything, 'steps')} {more}",
        )
    return None


def _settings(binder: Binder, node: Table, step: Step | Publisher, shared: Mapping[str, Any]) -> Any:
    given: Node | None = node.get("with")
    if is_absent(given):
        return (
            shared[step.name] if step.name in shared else _bound(binder, Table(node.file, node.line, node.column), step)
        )
    return _bound(binder, given, step) if isinstance(given, Table) else None


def _bound(binder: Binder, given: Table, step: Step | Publisher) -> Any:
    try:
        settings = binder.bind(given, step.settings, step.name)
    except (TypeError, NameError, AttributeError, KeyError, ValueError) as error:
        binder.problems.add(
            given,
            "plugin-settings",
            f"the settings of {step.name} are not declared as they should be: {shown(str(error), 200)[1:-1]}",
            "Report this to the plugin's author.",
        )
        return None
    return None if settings is BROKEN else settings


def _check_on(binder: Binder, node: Table, entry: StepEntry, thermograms: Collection[str]) -> None:
    on = node.get("on")
    if not isinstance(on, Table):
        return
    domains = binder.known.get("domain")
    for key, (key_node, value) in on.entries.items():
        if key not in MATCHED:
            binder.problems.add(
                key_node, "unknown-key", f"{shown(key)} is not a key of on", suggestion(key, MATCHED, "keys")
            )
        elif key == "domain" and domains is not None and (word := entry.on.get("domain")) and not domains.accepts(word):
            binder.problems.add(
                value, "unknown-domain", f"{shown(word)} is not a known kind of inspection", domains.remedy(word)
            )
        elif key == "thermogram" and (word := entry.on.get("thermogram")) and word not in thermograms:
            binder.problems.add(
                value,
                "unknown-thermogram",
                f"there is no thermogram {shown(word)}",
                NameList(thermograms, "thermograms").remedy(word),
            )
