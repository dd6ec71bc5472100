"""Plugins in, refusals with names. What one plugin does wrong never hides another."""

from __future__ import annotations

import dataclasses
import difflib
import functools
import itertools
import re
import warnings
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from importlib.metadata import EntryPoint, entry_points
from typing import Any

import pluggy

from heatbrief.api import hooks
from heatbrief.api.checks import CHECKS, Check, name_of, priced_fault, publisher_fault, step_fault
from heatbrief.api.deprecation import API_VERSION, PLUGIN_ATTRIBUTE, HeatbriefDeprecation, api_fault
from heatbrief.api.offers import PagePart, PriceEntry, RivalTest
from heatbrief.api.step import Domain, Publisher, Step
from heatbrief.api.translation import Translation
from heatbrief.detect.rivals import FACTS
from heatbrief.errors import Problem
from heatbrief.model.action import Action
from heatbrief.model.caution import Caution
from heatbrief.model.results import SourceRecord

__all__ = ["Registry", "build_registry", "load_registry", "publisher_fault", "step_fault"]

GROUP = "heatbrief.plugins"
OWN_NAMES = {"builtin": "heatbrief"}

REMEDY = "Update or remove that package."
MOST_OFFERS = 2_000
LONGEST_MESSAGE = 300


@dataclass(frozen=True)
class Registry:
    """Everything the installed plugins offer, by name, and what was refused and why."""

    domains: Mapping[str, Domain] = field(default_factory=dict)
    steps: Mapping[str, Step] = field(default_factory=dict)
    publishers: Mapping[str, Publisher] = field(default_factory=dict)
    cautions: Mapping[str, Caution] = field(default_factory=dict)
    actions: Mapping[str, Action] = field(default_factory=dict)
    sources: Mapping[str, SourceRecord] = field(default_factory=dict)
    rivals: Mapping[str, RivalTest] = field(default_factory=dict)
    page_parts: Mapping[str, PagePart] = field(default_factory=dict)
    prices: Mapping[str, PriceEntry] = field(default_factory=dict)
    texts: Mapping[str, Translation] = field(default_factory=dict)
    owners: Mapping[str, str] = field(default_factory=dict)
    warned: tuple[Problem, ...] = ()
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
    warned: list[Problem] = []
    origins: dict[str, str] = {}
    for name, origin, load in plugins:
        where = f"plugin {name} from {origin}"
        with _heard(where, warned):
            problem = _register(manager, name, load)
        if problem:
            refused.append(Problem(where, "plugin-refused", problem, REMEDY))
        else:
            origins[name] = origin
    collected = {hook: _collect(manager, hook, check, origins, refused, warned) for hook, check in CHECKS.items()}
    _unpriced(collected, refused)
    tests = tuple(rival for rival, _ in collected["heatbrief_rivals"].values())
    for name, (step, owner) in collected["heatbrief_steps"].items():
        collected["heatbrief_steps"][name] = (_with_common_facts(step, tests), owner)
    owners = {
        name: owner
        for hook, offers in collected.items()
        if hook != "heatbrief_prices"
        for name, (_, owner) in offers.items()
    }
    return Registry(
        **{
            field_name: {name: offer for name, (offer, _) in sorted(collected[hook].items())}
            for hook, field_name in _FIELDS.items()
        },
        owners=owners,
        warned=tuple(dict.fromkeys(warned)),
        refused=tuple(refused),
    )


def _with_common_facts(step: Step, tests: Iterable[RivalTest]) -> Step:
    """A check with the facts that test rival explanations: those that every check weighs, and those of plugins."""
    if step.stage != "detect":
        return step
    mine = step.name.partition(".")[0] + "."
    asked = [one for one in tests if one.name.startswith(mine) or one.weighed_in(step.name, step.domain)]
    wanted = {**FACTS, **{fact.name: fact for one in asked for fact in one.facts}}
    own = {fact.name for fact in step.facts}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", HeatbriefDeprecation)
        return dataclasses.replace(
            step, facts=(*step.facts, *(fact for name, fact in wanted.items() if name not in own))
        )


def _origin(point: EntryPoint) -> str:
    return f"{point.dist.name} {point.dist.version}" if point.dist else point.value


def _register(manager: pluggy.PluginManager, name: str, load: Callable[[], Any]) -> str:
    """Register one plugin; returns what is wrong with it, or ""."""
    try:
        plugin = load()
        if fault := api_fault(getattr(plugin, PLUGIN_ATTRIBUTE, 1)):
            return fault
        manager.register(plugin, name=name)
        manager.check_pending()
    except (Exception, SystemExit) as error:  # a plugin may fail in any way while loading; it is named and left out
        if manager.has_plugin(name):
            manager.unregister(name=name)
        return _unknown_hook(error) or f"could not be loaded: {_said(error)}"
    return ""


def _unknown_hook(error: BaseException) -> str:
    """Words for a hook that this release does not have, or ""."""
    found = (
        re.match(r"unknown hook '(\w{1,60})'", str(error)) if isinstance(error, pluggy.PluginValidationError) else None
    )
    if found is None:
        return ""
    near = difflib.get_close_matches(found[1], CHECKS, 1)
    return (
        f"offers a hook {found[1]!r}, which API {API_VERSION} does not have"
        + (f"; did you mean {near[0]!r}?" if near else "")
        + " (`heatbrief plugins hooks` lists all)"
    )


def _said(error: BaseException) -> str:
    return f"{type(error).__name__}: {str(error)[:LONGEST_MESSAGE]}"


def _collect(
    manager: pluggy.PluginManager,
    hook: str,
    check: Check,
    origins: Mapping[str, str],
    refused: list[Problem],
    warned: list[Problem],
) -> dict[str, tuple[Any, str]]:
    """What all plugins return from one hook, by name; faulty and doubly named offers are refused with their origin."""
    offers: dict[str, tuple[Any, str]] = {}
    implementations = sorted(getattr(manager.hook, hook).get_hookimpls(), key=lambda one: one.plugin_name)
    for implementation in implementations:
        plugin = implementation.plugin_name
        where = f"plugin {plugin} from {origins[plugin]}"
        try:
            with _heard(where, warned):
                returned = list(itertools.islice(implementation.function(), MOST_OFFERS + 1))
        except (Exception, SystemExit) as error:
            refused.append(Problem(where, "plugin-refused", f"{hook} failed: {_said(error)}", REMEDY))
            continue
        if len(returned) > MOST_OFFERS:
            fault = f"{hook} offers more than {MOST_OFFERS:,} things; none of them is taken"
            refused.append(Problem(where, "plugin-refused", fault, REMEDY))
            continue
        for offer in returned:
            fault = _fault(check, offer, OWN_NAMES.get(plugin, plugin))
            name = name_of(offer)
            if not fault and name in offers:
                fault = f"the name is already taken by {offers[name][1]}"
            if fault:
                shown = repr(name) if name else f"something of kind {type(offer).__name__}"
                refused.append(Problem(where, "offer-refused", f"{hook}: {shown}: {fault}", REMEDY))
            else:
                offers[name] = (offer, origins[plugin])
    return offers


def _fault(check: Check, offer: Any, plugin: str) -> str:
    """What is wrong with an offer; one that breaks when it is looked at is wrong too."""
    try:
        return check(offer, plugin)
    except Exception as error:
        return f"cannot be looked at: {_said(error)}"


@contextmanager
def _heard(where: str, warned: list[Problem]) -> Iterator[None]:
    """Notes what a plugin uses that is on its way out."""
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always", HeatbriefDeprecation)
        yield
    warned += [
        Problem(where, "plugin-deprecated", str(one.message), "Tell the authors of that package.")
        for one in caught
        if issubclass(one.category, HeatbriefDeprecation)
    ]


def _unpriced(collected: Mapping[str, dict[str, tuple[Any, str]]], refused: list[Problem]) -> None:
    """Take out prices that do not fit their action."""
    actions, prices = collected["heatbrief_actions"], collected["heatbrief_prices"]
    for key, (entry, origin) in list(prices.items()):
        fault = priced_fault(entry, actions.get(key, (None, ""))[0])
        if fault:
            del prices[key]
            where = f"plugin {key.partition('.')[0]} from {origin}"
            refused.append(Problem(where, "offer-refused", f"heatbrief_prices: {key!r}: {fault}", REMEDY))


_FIELDS = {hook: hook.removeprefix("heatbrief_") for hook in CHECKS}
