"""What a plugin states about itself: keys that exist, settings with units and help."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import fields
from typing import get_type_hints

from heatbrief.model.quantity import Quantity
from heatbrief.model.settings import spec_of
from heatbrief.registry import Registry
from heatbrief.testing.contract_output import missing_keys

Text = tuple[str, str, str]


def text_faults(name: str, plugins: Registry) -> Iterable[Text]:
    """(offer, rule, message) of everything that is wrong with what a plugin states."""
    mine = f"{name}."
    domain = plugins.domains.get(name)
    if domain is not None:
        yield from _of(name, missing_keys("the domain", plugins, cautions=domain.cautions))
    for key, action in plugins.actions.items():
        if key.startswith(mine):
            yield from _of(key, missing_keys("the action", plugins, cautions=action.cautions, actions=action.after))
    for key, caution in plugins.cautions.items():
        if key.startswith(mine) and (not caution.points or not caution.defer):
            yield key, "cautions", "it needs points, and whom to ask under `defer`"
    for key, step in plugins.steps.items():
        if key.startswith(mine):
            yield from _of(key, missing_keys("the step", plugins, cautions=step.cautions, sources=step.sources))
            yield from _settings(key, step.settings)
            if not step.summary.strip():
                yield key, "words", "it has no summary"
            if step.domain and step.domain not in plugins.domains:
                yield key, "names", f"its domain {step.domain!r} is not offered"
            for fact in step.facts:
                if not fact.help.strip():
                    yield key, "words", f"the fact {fact.name!r} has no help"


def _settings(key: str, settings: type) -> Iterable[Text]:
    hints = get_type_hints(settings)
    for one in fields(settings):
        if one.name.startswith("_") or not one.init:
            continue
        spec = spec_of(one)
        if not spec.help.strip():
            yield key, "settings", f"{one.name} has no help"
        if hints[one.name] in (float, Quantity, float | None, Quantity | None) and spec.unit is None:
            yield key, "settings", f'{one.name} is a number without a unit; plain numbers have unit "1"'


def _of(offer: str, faults: Iterable[tuple[str, str]]) -> Iterable[Text]:
    return ((offer, rule, text) for rule, text in faults)
