"""What is wrong with an offer of a plugin: kinds of its fields, names, versions, functions. Offers are hostile input."""

from __future__ import annotations

import dataclasses
import functools
import re
import sys
import types
import typing
from collections.abc import Callable, Mapping
from typing import Any

from heatbrief.api.context import READABLE
from heatbrief.api.deprecation import API_OLDEST, API_VERSION
from heatbrief.api.offers import PagePart, PriceEntry, RivalTest
from heatbrief.api.step import Domain, Publisher, Step
from heatbrief.api.translation import Translation, text_fault
from heatbrief.model.action import Action
from heatbrief.model.caution import Caution
from heatbrief.model.costs import PER, ActionCost
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import SourceRecord

LONGEST_NAME = 100
LONGEST_TEXT = 20_000
_NAME = re.compile(r"[A-Za-z0-9_][A-Za-z0-9_.-]*")
BOOK_CURRENCY = "USD"
"""Currency of the example price book."""

Check = Callable[[Any, str], str]
"""(offer, name of the plugin) -> what is wrong, or ""."""


def name_of(offer: Any) -> str:
    """The name or key of an offer as far as it has one that may be shown."""
    name = getattr(offer, "name", None) or getattr(offer, "key", None)
    return name if isinstance(name, str) and len(name) <= LONGEST_NAME and name.isprintable() else ""


def step_fault(step: Any, plugin: str) -> str:
    """What is wrong with an offered step, or ""."""
    return (
        _kind_fault(step, Step)
        or _reads_fault(step)
        or (
            ""
            if step.stage in ("ingest", "calibrate", "detect", "estimate")
            else f"{step.stage!r} is not a stage of steps"
        )
        or _name_fault(step.name, plugin)
        or _runnable_fault(step)
        or _settings_fault(step)
    )


def publisher_fault(publisher: Any, plugin: str) -> str:
    """What is wrong with an offered publisher, or ""."""
    return (
        _kind_fault(publisher, Publisher)
        or _name_fault(publisher.name, plugin)
        or _runnable_fault(publisher)
        or _settings_fault(publisher)
    )


def function_fault(offer: Any, plugin: str, kind: type) -> str:
    """What is wrong with an offered rival explanation or part of pages, or ""."""
    return _kind_fault(offer, kind) or _name_fault(offer.name, plugin) or _runnable_fault(offer)


def keyed_fault(offer: Any, plugin: str, kind: type) -> str:
    """What is wrong with an offered text, or ""."""
    return _kind_fault(offer, kind) or _name_fault(offer.key, plugin)


def domain_fault(domain: Any, plugin: str) -> str:
    """What is wrong with an offered inspection, or ""."""
    return _kind_fault(domain, Domain) or _word_fault(domain.key)


def source_fault(source: Any, plugin: str) -> str:
    """What is wrong with an offered source, or ""."""
    return _kind_fault(source, SourceRecord) or _word_fault(source.key)


def price_fault(entry: Any, plugin: str) -> str:
    """What is wrong with an offered price by itself, or ""; whether it fits its action is seen in `priced_fault`."""
    if fault := keyed_fault(entry, plugin, PriceEntry):
        return fault
    for one in dataclasses.fields(ActionCost):
        value = getattr(entry.cost, one.name)
        if one.name == "life":
            if value is not None and (isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 100):
                return "life must be a whole number of years from 1 to 100"
        elif value is not None and not (isinstance(value, Quantity) and value.low >= 0):
            return f"{one.name} must be a Quantity from 0 upwards"
    return ""


def priced_fault(entry: PriceEntry, action: Action | None) -> str:
    """What is wrong with a price for its action, or ""."""
    if action is None:
        return "no action of this name is offered"
    if not action.priced_by:
        return "the action says that no price applies (`priced_by`)"
    units = {"cost": BOOK_CURRENCY, "fixed": BOOK_CURRENCY, "material": BOOK_CURRENCY + PER[action.priced_by]}
    units |= {"hours": "h", "hours_per_unit": "h"}
    for name, unit in units.items():
        given = getattr(entry.cost, name)
        if given is not None and given.unit != unit:
            return f"{name} must be in {unit}, got {given.unit!r}"
    return ""


def translation_fault(translation: Any, plugin: str) -> str:
    """What is wrong with offered texts, or ""."""
    if not isinstance(translation, Translation):
        return _wanted("a Translation", translation)
    if translation.key != f"{plugin}.{translation.language}":
        return f"the key must be {plugin}.{translation.language}"
    return text_fault(translation.texts)


def _reads_fault(step: Step) -> str:
    unknown = [str(one) for one in step.reads if one not in READABLE]
    return f"reads unknown parts of the context: {', '.join(unknown)}" if unknown else ""


def _name_fault(name: str, plugin: str) -> str:
    return _word_fault(name) or ("" if name.startswith(f"{plugin}.") else f"names must start with {plugin!r} and a dot")


def _word_fault(name: str) -> str:
    if len(name) > LONGEST_NAME or not _NAME.fullmatch(name):
        return f"names are of letters, digits, dots, hyphens and underscores, at most {LONGEST_NAME}"
    return ""


def _runnable_fault(offer: Any) -> str:
    if isinstance(offer.version, bool) or not isinstance(offer.version, int) or offer.version < 1:
        return "version must be a whole number from 1"
    api = getattr(offer, "api", None)
    if api is not None and not API_OLDEST <= api <= API_VERSION:
        return f"was written for API {api}, this release serves API {API_OLDEST} to {API_VERSION}"
    module = sys.modules.get(getattr(offer.run, "__module__", ""))
    if getattr(module, getattr(offer.run, "__qualname__", ""), None) is not offer.run:
        return "run must be a function at the top level of its module, so that it can go to another process"
    return ""


def _settings_fault(offer: Step | Publisher) -> str:
    if not dataclasses.is_dataclass(offer.settings) or not offer.settings.__dataclass_params__.frozen:  # type: ignore[attr-defined]  # the library has no public name for it
        return "settings must be a frozen dataclass"
    return ""


@functools.cache
def _hints(kind: type) -> Mapping[str, Any]:
    return typing.get_type_hints(kind)


def _kind_fault(offer: Any, kind: type) -> str:
    """What is wrong with the kinds of an offer's fields, or ""."""
    if not isinstance(offer, kind):
        return f"must be a {kind.__name__}, got {type(offer).__name__}"
    for name, hint in _hints(kind).items():
        if fault := _value_fault(getattr(offer, name), hint):
            return f"{name} {fault}"
    return ""


def _value_fault(value: Any, hint: Any) -> str:
    """Whether a value is of the annotated kind: words, lists of things, functions, our own classes."""
    origin = typing.get_origin(hint)
    if origin in (typing.Union, types.UnionType):
        return (
            "" if any(not _value_fault(value, one) for one in typing.get_args(hint)) else _wanted("another kind", value)
        )
    if origin is typing.Literal:
        return "" if isinstance(value, str) else _wanted("a word", value)
    if origin is tuple:
        if not isinstance(value, tuple):
            return _wanted("a tuple", value)
        return next(filter(None, (_value_fault(one, typing.get_args(hint)[0]) for one in value)), "")
    if hint is str:
        if not isinstance(value, str):
            return _wanted("text", value)
        return "" if len(value) <= LONGEST_TEXT else f"is longer than {LONGEST_TEXT:,} characters"
    if origin is not None:
        return "" if callable(value) else _wanted("a function", value)
    if dataclasses.is_dataclass(hint):
        return _kind_fault(value, hint)  # type: ignore[arg-type]  # a dataclass is a class here
    if hint is type(None):
        return "" if value is None else _wanted("nothing", value)
    return "" if hint in (int, type, Any) or isinstance(value, hint) else _wanted(f"of kind {hint.__name__}", value)


def _wanted(what: str, value: Any) -> str:
    return f"must be {what}, got {type(value).__name__}"


CHECKS: Mapping[str, Check] = {
    "heatbrief_domains": domain_fault,
    "heatbrief_steps": step_fault,
    "heatbrief_publishers": publisher_fault,
    "heatbrief_cautions": lambda offer, plugin: keyed_fault(offer, plugin, Caution),
    "heatbrief_actions": lambda offer, plugin: keyed_fault(offer, plugin, Action),
    "heatbrief_sources": source_fault,
    "heatbrief_rivals": lambda offer, plugin: function_fault(offer, plugin, RivalTest),
    "heatbrief_page_parts": lambda offer, plugin: function_fault(offer, plugin, PagePart),
    "heatbrief_prices": price_fault,
    "heatbrief_texts": translation_fault,
}
"""Hook -> what its offers are checked by."""
