"""What a plugin's modules hold and its hooks do not hand over: a check that is written and never runs."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterable, Mapping
from importlib.metadata import entry_points
from types import ModuleType

from heatbrief.api import PagePart, Publisher, RivalTest, Step
from heatbrief.registry import GROUP, Registry

Offer = Step | RivalTest | PagePart | Publisher
_HOOKS: Mapping[type, tuple[str, str]] = {
    Step: ("steps", "heatbrief_steps"),
    RivalTest: ("rivals", "heatbrief_rivals"),
    PagePart: ("page_parts", "heatbrief_page_parts"),
    Publisher: ("publishers", "heatbrief_publishers"),
}
"""Kind of offer -> field of the registry and hook."""


def left_out(name: str, plugins: Registry) -> Iterable[tuple[str, str, str]]:
    """(offer, rule, message) of every offer that stands in a module of the plugin's package and in no hook."""
    for module in _modules(name):
        held = [one for value in vars(module).values() for one in (value if isinstance(value, tuple) else (value,))]
        for value in held:
            if not isinstance(value, Offer) or not value.name.startswith(f"{name}."):
                continue
            field, hook = _HOOKS[type(value)]
            if value.name not in getattr(plugins, field):
                yield value.name, "offers", f"stands in {module.__name__}, and {hook}() does not hand it over"


def _modules(name: str) -> Iterable[ModuleType]:
    """The modules of the package by which a plugin is installed; one that cannot be imported is not looked into."""
    for point in entry_points(group=GROUP, name=name):
        try:
            package = importlib.import_module(point.module)
        except Exception:  # told as "loading"
            continue
        yield package
        for one in pkgutil.iter_modules(getattr(package, "__path__", ()), f"{point.module}."):
            try:
                yield importlib.import_module(one.name)
            except Exception:  # a module that no hook uses may need what is not installed
                continue
