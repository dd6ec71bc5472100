"""The stated rule by which a repair is verified. RULE prints it; `decide` applies it to what is left of a finding.

The edges are our own choice: a repair that leaves more than a third is no repair, and a change by less than a fifth is within what
repeated surveys of an unchanged place differ by.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from heatbrief.model.comparison import Outcome, RuleRow
from heatbrief.model.quantity import NORMAL_95, Quantity

EDGES = (0.35, 0.8, 1.25)
"""Share left below which a finding counts as repaired, below which as better, above which as worse."""
WIDE_EDGES = (0.25, 0.5, 2.0)
"""The same where the measure could not be made independent of weather and load."""
LEAST_SURE = 0.6
"""An outcome less probable than this is not given."""
REVERSED = -0.5


def _percent(share: float) -> str:
    return f"{share:.0%}".replace("%", "\u00a0%")


RULE: tuple[RuleRow, ...] = (
    RuleRow(
        "not argued before",
        "the earlier survey came to no verdict on it",
        "not comparable",
        "there is no defect to follow",
    ),
    RuleRow(
        "picture missing", "the later survey has no picture of the view", "not comparable", "nothing was looked at"
    ),
    RuleRow(
        "unscaled",
        "one of the pictures has no temperature scale",
        "not comparable",
        "counts of two surveys share no unit",
    ),
    RuleRow(
        "no place",
        "the place cannot be found in the later picture",
        "not comparable",
        "another place says nothing about this one",
    ),
    RuleRow(
        "gate failed",
        "the later check found its own conditions not met",
        "not comparable",
        "outside its conditions the check says nothing",
    ),
    RuleRow(
        "conditions missing",
        "a fact needed to allow for weather or load is not given for both surveys",
        "not comparable",
        "a milder day or a smaller load looks like a repair",
    ),
    RuleRow(
        "too little to drive it",
        "the difference or load that makes the fault visible was too small in one survey",
        "not comparable",
        "a fault that is not driven cannot be seen",
    ),
    RuleRow(
        "not measurable",
        "the place has too few pixels, or too few beside it, to measure it again",
        "not comparable",
        "there is no number to compare",
    ),
    RuleRow(
        "reversed",
        "the place now stands out the other way",
        "not comparable",
        "that is another effect, to be argued by itself",
    ),
    RuleRow(
        "too uncertain",
        f"no outcome reaches a probability of {_percent(LEAST_SURE)} within the bounds",
        "not comparable",
        "the bounds hold several answers",
    ),
    RuleRow(
        "in order", "it was normal before and the later survey finds nothing there", "unchanged", "nothing has changed"
    ),
    RuleRow(
        "newly found",
        "it was normal before and the later survey finds a defect or suspects one there",
        "worse",
        "the same check by the same rule says so",
    ),
    RuleRow(
        "still found",
        "little is left, but the same check still calls it a defect",
        "better",
        "a repair leaves no defect",
    ),
    RuleRow(
        "repaired",
        f"less than {_percent(EDGES[0])} of it is still there",
        "repaired",
        "what is left is within what sound places show",
    ),
    RuleRow(
        "better", f"{_percent(EDGES[0])} to {_percent(EDGES[1])} of it is still there", "better", "part of it is gone"
    ),
    RuleRow(
        "unchanged",
        f"{_percent(EDGES[1])} to {_percent(EDGES[2])} of it is still there",
        "unchanged",
        "two surveys of an untouched place differ by as much",
    ),
    RuleRow("worse", f"it is more than {_percent(EDGES[2])} of what it was", "worse", "it has grown"),
)
"""Read from the top; the first row that applies decides."""

_OUTCOMES: tuple[Outcome, ...] = ("repaired", "better", "unchanged", "worse")


@dataclass(frozen=True)
class Decision:
    """An outcome, its probability, the row that gave it, and the chances of every outcome."""

    outcome: Outcome
    probability: float
    row: str
    chances: Mapping[str, float]


def row(key: str) -> RuleRow:
    """A row of the rule by its key."""
    return next(one for one in RULE if one.key == key)


def refused(key: str) -> Decision:
    """The decision of a row that stops the comparison."""
    return Decision("not comparable", 0.0, key, {})


def decide(left: Quantity, edges: tuple[float, float, float] = EDGES, still_found: bool = False) -> Decision:
    """The outcome for the share that is left, after over before, unit "1"; each side of its interval is half a normal distribution."""
    below = [_below(left, edge) for edge in edges]
    shares = (below[0], below[1] - below[0], below[2] - below[1], 1.0 - below[2])
    chances: dict[str, float] = {name: round(share, 4) for name, share in zip(_OUTCOMES, shares, strict=True)}
    if _below(left, REVERSED) > 0.5:
        return Decision("not comparable", 0.0, "reversed", chances)
    outcome: Outcome = max(_OUTCOMES, key=lambda name: chances[name])
    if chances[outcome] < LEAST_SURE:
        return Decision("not comparable", 0.0, "too uncertain", chances)
    if still_found and outcome == "repaired":
        return Decision("better", chances["repaired"], "still found", chances)
    return Decision(outcome, min(chances[outcome], 0.99), outcome, chances)


def _below(quantity: Quantity, limit: float) -> float:
    half = quantity.high - quantity.value if limit > quantity.value else quantity.value - quantity.low
    if half <= 0:
        return 1.0 if quantity.value < limit else 0.0
    return 0.5 * math.erfc((quantity.value - limit) * NORMAL_95 / half / math.sqrt(2))
