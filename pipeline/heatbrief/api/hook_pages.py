"""A page for each hook: what it returns, field by field, what is refused, and an example. Texts in `hooks.yaml`."""

from __future__ import annotations

import dataclasses
import functools
import re
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from typing import Any

from heatbrief.api import offers, step, translation
from heatbrief.api.deprecation import API_HISTORY, API_OLDEST, API_VERSION, DEPRECATIONS
from heatbrief.model import action, caution, costs, part, results

HOMES = (step, offers, translation, action, caution, costs, part, results)
"""Where the classes are that hooks return."""


@dataclass(frozen=True)
class HookPage:
    """What is said of one hook. classes: field -> meaning, by the name of the class, the returned one first."""

    name: str
    since: int
    does: str
    classes: Mapping[str, Mapping[str, str]]
    errors: tuple[str, ...]
    example: str


@functools.lru_cache(maxsize=1)
def hook_pages() -> Mapping[str, HookPage]:
    """All pages by the name of the hook."""
    import yaml

    text = (resources.files("heatbrief.api") / "hooks.yaml").read_text(encoding="utf-8")
    data = yaml.load(text, getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    return {name: HookPage(name, **{**entry, "errors": tuple(entry["errors"])}) for name, entry in data.items()}


def class_named(name: str) -> type:
    """A class that hooks return, by its name."""
    found: type = next(getattr(home, name) for home in HOMES if hasattr(home, name))
    return found


def page_text(page: HookPage) -> str:
    """The page as `heatbrief explain` prints it."""
    returned = next(iter(page.classes))
    lines = [f"{page.name}() -> Sequence[{returned}]", "", page.does, f"Since API {page.since}."]
    for name, meanings in page.classes.items():
        lines += ["", name]
        lines += [
            f"  {one.name}: {_kind(one)}{_default(one)}\n      {meanings[one.name]}"
            for one in dataclasses.fields(class_named(name))
        ]
    lines += [
        "",
        "Refused, with the name of the plugin and what to do:",
        "  - a wrong kind of object, or a name without the plugin's",
    ]
    lines += [f"  - {one}" for one in page.errors]
    return "\n".join([*lines, "", "Example", "", *(f"    {line}".rstrip() for line in page.example.splitlines())])


def hooks_overview() -> str:
    """All hooks in a line each, the API versions, and what is on its way out."""
    lines = [
        f"This release serves plugins written for API {API_OLDEST} to {API_VERSION} (HEATBRIEF_API in their package).",
        "",
    ]
    lines += [f"  API {number}  {day}  {what}" for number, (day, what) in API_HISTORY.items()]
    lines += ["", "Hooks (`heatbrief explain HOOK` for the page of each)"]
    lines += [
        f"  {page.name:<24} API {page.since}  {page.does.partition('. ')[0].rstrip('.')}."
        for page in hook_pages().values()
    ]
    lines += ["", "On its way out"]
    lines += [
        f"  {one.what}: since {one.since}, may be gone after {one.until}; instead {one.instead}"
        for one in DEPRECATIONS.values()
    ]
    return "\n".join(lines)


def _kind(one: dataclasses.Field[Any]) -> str:
    text = one.type if isinstance(one.type, str) else getattr(one.type, "__name__", str(one.type))
    return re.sub(r"Callable\[.*\]", "function", text)


def _default(one: dataclasses.Field[Any]) -> str:
    if one.default is not dataclasses.MISSING:
        shown = getattr(one.default, "__name__", None) or repr(one.default)
        return f" = {shown}"
    return " = empty" if one.default_factory is not dataclasses.MISSING else ""
