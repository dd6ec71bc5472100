"""The rival explanation that a part carries more load than those it is compared with.

Same rules as in `rivals_picture`: a Case in, a Rival out, None where it does not apply.
"""

from __future__ import annotations

import numpy as np

from heatbrief.detect.case import Case
from heatbrief.detect.regions import own_regions
from heatbrief.model.finding import Rival, RivalStatus
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Fact, Region

LIKE_LOAD = 0.10
"""Twins need loads within 10 % (domains dossier 1.5; common practice, no source)."""
STATED = ("load", "load share")
"""Facts that state a load, in amperes and as a share of the rating: only like is compared with like."""
EXPLANATIONS = {"load": "an ordinary rise at a higher load"}


def rival(name: str, status: RivalStatus, evidence: str, missing: str = "") -> Rival:
    """A Rival with the fixed wording of its name."""
    return Rival(EXPLANATIONS[name], status, evidence, missing)


def load(case: Case) -> Rival | None:
    """Whether the part carried more load than its twins, which would warm it without any fault."""
    own = {name: value for name in STATED if (value := case.number(name)) is not None}
    if not own:
        return rival(
            "load",
            "not testable",
            "the load of the part is not given",
            "the load of the part and of its twins (`load`), read by a licensed person",
        )
    twins = _twins(case)
    for name, value in own.items():
        others = [_number(one.facts.get(name)) for one in twins]
        known = [one for one in others if one is not None]
        if known and len(known) == len(others):
            return _compared(value, float(np.median(known)))
    return rival(
        "load",
        "not testable",
        "the load of the twins is not given for all of them",
        "the load of every twin (`load`)",
    )


def _compared(own: float, usual: float) -> Rival:
    if own > 0 >= usual:
        return rival("load", "not ruled out", "it carries a load and its twins carry none")
    ratio = own / usual if usual > 0 else 1.0
    evidence = f"its load is {ratio:.2f} times that of its twins"
    if ratio <= 1 + LIKE_LOAD:
        return rival("load", "ruled out", f"{evidence}; up to {1 + LIKE_LOAD:.1f} counts as alike")
    return rival(
        "load",
        "not ruled out",
        f"{evidence}, which warms it by {ratio**1.6:.1f} to {ratio**2:.1f} times as much without any fault",
    )


def _twins(case: Case) -> list[Region]:
    """The other regions of its group on the same picture."""
    own = case.region
    if own is None or not own.group:
        return []
    return [one for one in own_regions(case.context, case.subject) if one.group == own.group and one.name != own.name]


def _number(value: Fact | None) -> float | None:
    if isinstance(value, Quantity):
        return value.value
    return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None
