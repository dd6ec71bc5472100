"""Plugins in, refusals with names. What one plugin does wrong never hides another."""

from __future__ import annotations

import dataclasses
import functools
import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from importlib.metadata import EntryPoint, entry_points
from typing import Any, TypeVar

import pluggy

from heatbrief.api import hooks
from heatbrief.api.context import READABLE
from heatbrief.api.step import API_VERSION, Domain, Publisher, Step
from heatbrief.api.translation import Translation, text_fault
from heatbrief.detect.rivals import FACTS
from heatbrief.errors import Problem
from heatbrief.model.action import Action
from heatbrief.model.caution import Caution
from heatbrief.model.results import SourceRecord

GROUP = "heatbrief.plugins"
OWN_NAMES = {"builtin": "heatbrief"}

Offer = TypeVar("Offer")


@dataclass(frozen=True)
class Registry:
    """Everything the installed plugins offer, by name, and what was refused and why."""

    domains: Mapping[str, Domain] = field(default_factory=dict)
    steps: Mapping[str, Step] = field(default_factory=dict)
    publishers: Mapping[str, Publisher] = field(default_factory=dict)
    cautions: Mapping[str, Caution] = field(default_factory=dict)
    actions: Mapping[str, Action] = field(default_factory=dict)
    sources: Mapping[str, SourceRecord] = field(default_factory=dict)
    texts: Mapping[str, Translation] = field(default_factory=dict)
    owners: Mapping[str, str] = field(default_factory=dict)
    refused: tuple[Problem, ...] = ()

    def of_stage(self, stage: str) -> tuple[Step, ...]:
        """Steps of one stage, sorted by name so that discovery order never matters."""
        return tuple(step for _, step in sorted(self.steps.items()) if step.stage == stage)


@functools.lru_cache(maxsize=1)
def load_registry() -> Registry:
    """The registry of all plugins installed in this environment."""
    points = sorted(entry_points(group=GROUP), key=lambda point: (point.dist.name if point.dist else "", point.name))
    return build_registry([(point.name, _origin(point), point.load) for point in points])


def build_registry(plugins: Iterable[tuple[str, str, Callable[[], Any]]]) -> Registry:
    """A registry of the given plugins: (name, origin for messages, function that returns the module or object)."""
    manager = pluggy.PluginManager("heatbrief")
    manager.add_hookspecs(hooks)
    refused: list[Problem] = []
    origins: dict[str, str] = {}
    for name, origin, load in plugins:
        problem = _register(manager, name, load)
        if problem:
            refused.append(
                Problem(f"plugin {name} from {origin}", "plugin-refused", problem, "Update or remove that package.")
            )
        else:
            origins[name] = origin
    collected = {hook: _collect(manager, hook, checks, origins, refused) for hook, checks in _CHECKS.items()}
    for name, (step, owner) in collected["heatbrief_steps"].items():
        collected["heatbrief_steps"][name] = (_with_common_facts(step), owner)
    owners = {name: owner for offers in collected.values() for name, (_, owner) in offers.items()}
    return Registry(
        **{
            field_name: {name: offer for name, (offer, _) in sorted(collected[hook].items())}
            for hook, field_name in _FIELDS.items()
        },
        owners=owners,
        refused=tuple(refused),
    )


def _with_common_facts(step: Step) -> Step:
    """A check with the facts that test rival explanations, which every check weighs."""
    if step.stage != "detect":
        return step
    own = {fact.name for fact in step.facts}
    return dataclasses.replace(step, facts=(*step.facts, *(fact for name, fact in FACTS.items() if name not in own)))


def _origin(point: EntryPoint) -> str:
    return f"{point.dist.name} {point.dist.version}" if point.dist else point.value


def _register(manager: pluggy.PluginManager, name: str, load: Callable[[], Any]) -> str:
    """Register one plugin; returns what is wrong with it, or ""."""
    try:
        manager.register(load(), name=name)
        manager.check_pending()
    except Exception as error:  # a plugin may fail in any way while loading; it is named and left out
        if manager.has_plugin(name):
            manager.unregister(name=name)
        return f"could not be loaded: {type(error).__name__}: {error}"
    return ""


def _collect(
    manager: pluggy.PluginManager,
    hook: str,
    check: Callable[[Any, str], str],
    origins: Mapping[str, str],
    refused: list[Problem],
) -> dict[str, tuple[Any, str]]:
    """What all plugins return from one hook, by name; faulty and doubly named offers are refused with their origin."""
    offers: dict[str, tuple[Any, str]] = {}
    implementations = sorted(getattr(manager.hook, hook).get_hookimpls(), key=lambda one: one.plugin_name)
    for implementation in implementations:
        plugin = implementation.plugin_name
        where = f"plugin {plugin} from {origins[plugin]}"
        try:
            returned = list(implementation.function())
        except Exception as error:
            refused.append(
                Problem(
                    where,
                    "plugin-refused",
                    f"{hook} failed: {type(error).__name__}: {error}",
                    "Update or remove that package.",
                )
            )
            continue
        for offer in returned:
            name = str(getattr(offer, "name", None) or getattr(offer, "key", None) or "")
            fault = check(offer, OWN_NAMES.get(plugin, plugin))
            if not fault and name in offers:
                fault = f"the name is already taken by {offers[name][1]}"
            if fault:
                refused.append(
                    Problem(
                        where, "offer-refused", f"{hook}: {name or offer!r}: {fault}", "Update or remove that package."
                    )
                )
            else:
                offers[name] = (offer, origins[plugin])
    return offers


def _is(kind: type) -> Callable[[Any, str], str]:
    return lambda offer, plugin: (
        "" if isinstance(offer, kind) else f"must be a {kind.__name__}, got {type(offer).__name__}"
    )


def _keyed(kind: type) -> Callable[[Any, str], str]:
    def check(offer: Any, plugin: str) -> str:
        return _is(kind)(offer, plugin) or _name_fault(offer.key, plugin)

    return check


def _name_fault(name: str, plugin: str) -> str:
    return "" if name.startswith(f"{plugin}.") else f"names must start with {plugin!r} and a dot"


def step_fault(step: Any, plugin: str) -> str:
    """What is wrong with an offered step, or ""."""
    if not isinstance(step, Step):
        return _is(Step)(step, plugin)
    unknown = [one for one in step.reads if one not in READABLE]
    if unknown:
        return f"reads unknown parts of the context: {', '.join(unknown)}"
    if step.stage not in ("ingest", "calibrate", "detect", "estimate"):
        return f"{step.stage!r} is not a stage of steps"
    return _name_fault(step.name, plugin) or _common_fault(step)


def publisher_fault(publisher: Any, plugin: str) -> str:
    """What is wrong with an offered publisher, or ""."""
    if not isinstance(publisher, Publisher):
        return _is(Publisher)(publisher, plugin)
    return _name_fault(publisher.name, plugin) or _common_fault(publisher)


def translation_fault(translation: Any, plugin: str) -> str:
    """What is wrong with offered texts, or ""."""
    if not isinstance(translation, Translation):
        return _is(Translation)(translation, plugin)
    if translation.key != f"{plugin}.{translation.language}":
        return f"the key must be {plugin}.{translation.language}"
    return text_fault(translation.texts)


def _common_fault(offer: Step | Publisher) -> str:
    if offer.api > API_VERSION:
        return f"was written for API {offer.api}, this release serves API {API_VERSION}"
    if not isinstance(offer.version, int) or offer.version < 1:
        return "version must be a whole number from 1"
    if not dataclasses.is_dataclass(offer.settings) or not offer.settings.__dataclass_params__.frozen:  # type: ignore[attr-defined]  # the library has no public name for it
        return "settings must be a frozen dataclass"
    module = sys.modules.get(getattr(offer.run, "__module__", ""))
    if getattr(module, getattr(offer.run, "__qualname__", ""), None) is not offer.run:
        return "run must be a function at the top level of its module, so that it can go to another process"
    return ""


_CHECKS: dict[str, Callable[[Any, str], str]] = {
    "heatbrief_domains": _is(Domain),
    "heatbrief_steps": step_fault,
    "heatbrief_publishers": publisher_fault,
    "heatbrief_cautions": _keyed(Caution),
    "heatbrief_actions": _keyed(Action),
    "heatbrief_sources": _is(SourceRecord),
    "heatbrief_texts": translation_fault,
}
_FIELDS = {hook: hook.removeprefix("heatbrief_") for hook in _CHECKS}
