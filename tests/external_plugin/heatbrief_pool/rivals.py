"""What else could look like a leak, and what could look like wet ground beside a pool."""

from __future__ import annotations

from heatbrief.api import FactSpec, RivalTest
from heatbrief.detect import Case
from heatbrief.model import Rival

RETURN_LINE = FactSpec("return line there", "whether a warm line runs there", choices=("yes", "no"), example="no")
SPLASHED = FactSpec("splashed", "whether people bathed in the hours before", choices=("yes", "no"), example="no")


def return_line(case: Case) -> Rival:
    """The warm line that brings water back from the heater looks the same when it is sound."""
    return _by_fact(case, RETURN_LINE.name, "a sound return line")


def splashes(case: Case) -> Rival | None:
    """Splashed ground is wet without any leak; nothing to say where a place is warm."""
    return None if case.warm else _by_fact(case, SPLASHED.name, "water splashed from the pool")


def _by_fact(case: Case, fact: str, explanation: str) -> Rival:
    there = case.yes(fact)
    status = "not testable" if there is None else "not ruled out" if there else "ruled out"
    evidence = f"{fact}: {case.fact(fact) or 'not said'}"
    return Rival(explanation, status, evidence, f"`{fact}` in the facts" if there is None else "")


RIVALS = (
    RivalTest("pool.return-line", 1, "a sound return line", return_line, facts=(RETURN_LINE,)),
    RivalTest(
        "pool.splashes", 1, "water splashed from the pool", splashes, ("plumbing.cold_ground",), facts=(SPLASHED,)
    ),
)
