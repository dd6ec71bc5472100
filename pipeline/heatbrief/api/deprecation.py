"""Which API versions are served, and what is on its way out, with dates."""

from __future__ import annotations

import functools
import warnings
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, TypeVar

Function = TypeVar("Function", bound=Callable[..., Any])

API_VERSION = 2
"""Raised when something is added that a plugin may need, or taken away."""

API_OLDEST = 1
"""Plugins written for an earlier API are refused."""

API_HISTORY: Mapping[int, tuple[str, str]] = MappingProxyType(
    {
        1: ("2026-11-25", "domains, steps, publishers, cautions, actions, sources"),
        2: (
            "2026-11-25",
            "rival explanations, parts of pages, entries of the price book, texts in other languages; HEATBRIEF_API",
        ),
    }
)
"""API version -> (the day it came, what it brought)."""

PLUGIN_ATTRIBUTE = "HEATBRIEF_API"
"""A plugin's package says by this number for which API it was written; 1 when it does not."""


class HeatbriefDeprecation(DeprecationWarning):
    """A plugin uses something that a later release will not have."""


@dataclass(frozen=True)
class Deprecation:
    """Something on its way out.

    what   name as plugin authors know it; instead: what to write from now on
    since  day from which it is said [ISO date]; until: day before which it is not taken away
    """

    what: str
    since: str
    until: str
    instead: str

    def __str__(self) -> str:
        return (
            f"{self.what} is deprecated since {self.since} and may be gone after {self.until}. Instead: {self.instead}"
        )


DEPRECATIONS: Mapping[str, Deprecation] = MappingProxyType(
    {
        one.what: one
        for one in (
            Deprecation("Step.api", "2026-11-25", "2027-11-25", "HEATBRIEF_API = 2 in the plugin's package"),
            Deprecation("Publisher.api", "2026-11-25", "2027-11-25", "HEATBRIEF_API = 2 in the plugin's package"),
        )
    }
)


def warn_deprecated(what: str, stacklevel: int = 2) -> None:
    """Warn of something in DEPRECATIONS. stacklevel: 2 blames the caller of the function that calls this."""
    warnings.warn(str(DEPRECATIONS[what]), HeatbriefDeprecation, stacklevel + 1)


def deprecated(what: str) -> Callable[[Function], Function]:
    """Marks a function that is listed in DEPRECATIONS under this name; each call warns its caller."""
    DEPRECATIONS[what]  # a name that is not in the table is a mistake of ours, seen at import

    def mark(function: Function) -> Function:
        @functools.wraps(function)
        def warned(*arguments: Any, **named: Any) -> Any:
            warn_deprecated(what)
            return function(*arguments, **named)

        return warned  # type: ignore[return-value]  # it is called as the function is

    return mark


def api_fault(declared: Any) -> str:
    """What is wrong with the API version a plugin declares, or ""."""
    if isinstance(declared, bool) or not isinstance(declared, int):
        return f"{PLUGIN_ATTRIBUTE} must be a whole number, got {type(declared).__name__}"
    if not API_OLDEST <= declared <= API_VERSION:
        served = f"{API_OLDEST} to {API_VERSION}" if API_OLDEST < API_VERSION else str(API_VERSION)
        who = "heatbrief" if declared > API_VERSION else "the plugin"
        return f"was written for API {declared}, this release serves API {served}; {who} must be updated"
    return ""
