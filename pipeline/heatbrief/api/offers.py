"""What a plugin may offer besides steps: rival explanations, parts of pages, entries of the example price book."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from heatbrief.api.step import FactSpec
from heatbrief.model.costs import ActionCost


@dataclass(frozen=True)
class RivalTest:
    """Another explanation of a pattern, and how to test it.

    name         "<plugin>.<what>", kept for ever; a check of the same plugin may name it under `rivals` of `conclude`
    version      raised whenever it says something else of an equal case
    explanation  a few words, as they stand in the finding: "a sound return line"
    run          module-level function (case: Case) -> Rival | None; None where the explanation cannot apply
    checks       names of checks, or of inspections, of whichever plugin, in which it is weighed without being named
    strong       True when it can make the whole pattern by itself, so that the verdict waits for it
    facts        facts that test it; the manifest may state them for every check named in `checks`
    """

    name: str
    version: int
    explanation: str
    run: Callable[[Any], Any]
    checks: tuple[str, ...] = ()
    strong: bool = True
    facts: tuple[FactSpec, ...] = ()

    def weighed_in(self, check: str, domain: str) -> bool:
        """True for checks that weigh it without naming it."""
        return check in self.checks or bool(domain and domain in self.checks)


@dataclass(frozen=True)
class PagePart:
    """Something to add to pages, worked out from the results.

    name     "<plugin>.<what>", kept for ever; version: raised whenever it gives something else for equal results
    run      module-level function (results: ResultsDocument) -> Sequence[Part]. It sees everything but the parts of others
    domain   the inspection for which it is made; "" for every survey
    """

    name: str
    version: int
    run: Callable[[Any], Any]
    summary: str = ""
    domain: str = ""


@dataclass(frozen=True)
class PriceEntry:
    """What an action of the plugin takes, for the example price book (`costs: {book: example}`), in its currency, USD.

    key  of the action; cost: as in a manifest, ranges that hold the true price with 95 %
    """

    key: str
    cost: ActionCost
