"""The stated rule by which every check of every domain comes to a verdict. RULE, ODDS and URGENCY_RULE print it as
tables.

RULE is read from the top; the first row that applies gives the verdict, except that rows saying "at most suspect"
only cap it.
The probability that the stated cause is real starts from how much of the contrast's interval lies above the check's
criterion and is
moved by ODDS, steps in the logarithm of the odds; it never leaves 0.01 to 0.99.
START, WEIGHT and ODDS are fitted, not chosen: by `python tests/benchmarks/detection.py --fit --scenes 1100` on
synthetic scenes of all domains with known truth, with seeds that the published scores do not use. So they hold for the
mix of defects, reflections, shade and ordinary warmth of those scenes; what is rare there (reflections, gates not
known) rests on few findings. In real surveys defects may be rarer or commoner. The thresholds DEFECT_FROM and
IMPROBABLE are our own choice.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Literal

from heatbrief.model.finding import URGENCIES, Gate, Rival, Urgency, Verdict
from heatbrief.model.quantity import NORMAL_95, Quantity

Severity = Literal["comfort", "energy", "moisture", "damage", "safety"]


@dataclass(frozen=True)
class Criterion:
    """The contrast from which a check counts a difference as real for its purpose.

    contrast  magnitude in `unit` ("K" unless stated); because: one sentence why; sources: keys
    """

    contrast: float
    unit: str = "K"
    because: str = ""
    sources: tuple[str, ...] = ()


@dataclass(frozen=True)
class Row:
    """One row of the rule: when it applies, what follows, and why."""

    key: str
    when: str
    then: str
    why: str


RULE: tuple[Row, ...] = (
    Row(
        "gate failed",
        "a condition the check needs was not met",
        "inconclusive",
        "outside its conditions the check says nothing; the finding names what would make it valid",
    ),
    Row(
        "nothing measured",
        "there is no contrast to judge",
        "inconclusive",
        "nothing can be compared with the criterion",
    ),
    Row(
        "below",
        "the whole interval of the contrast lies below the criterion",
        "normal",
        "smaller than what matters, bounds included",
    ),
    Row(
        "improbable",
        "the probability is below 25 %, and the interval holds the criterion or a strong rival is not ruled out",
        "inconclusive",
        "something else, or a difference that does not matter, is at least three times as likely",
    ),
    Row(
        "straddles",
        "the interval of the contrast holds the criterion",
        "at most suspect",
        "it cannot be told whether the difference matters",
    ),
    Row(
        "unscaled", "the picture has no temperature scale", "at most suspect", "only the pattern is known, not its size"
    ),
    Row(
        "gate unknown",
        "a condition the check needs is not known",
        "at most suspect",
        "the check may have been outside its conditions",
    ),
    Row(
        "strong rival",
        "an explanation that could make the whole pattern is not ruled out",
        "at most suspect",
        "two causes fit; the finding names the test between them",
    ),
    Row(
        "low probability",
        "the probability is below 90 %",
        "at most suspect",
        "too many explanations could not be tested",
    ),
    Row(
        "above",
        "the whole interval lies above the criterion and nothing above applies",
        "defect",
        "the conditions held, the difference matters, and no strong rival is left",
    ),
)
"""The verdict, row by row, in the order in which it is read."""

ODDS: tuple[tuple[str, float], ...] = (
    ("reflection not ruled out", -5.84),
    ("strong rival not ruled out", -1.21),
    ("other rival not ruled out", -1.19),
    ("strong rival not testable", -1.17),
    ("other rival not testable", -0.43),
    ("rival ruled out", 0.23),
    ("size not known", -0.02),
    ("gate not known", -3.01),
    ("gate failed", -6.00),
)
"""Steps in the natural logarithm of the odds for each gate and rival; fitted to 789 findings of 1100 training
scenes."""

REFLECTION = "a reflection of something warmer or colder"
"""The explanation with a step of its own: it is not ruled out only when it was seen to move or the surface mirrors."""

SIZE = "size in pixels"
"""The gate with a step of its own: a spot about as small as the limit is measured, not unknown like the weather."""

START, WEIGHT = 0.99, 1.04
"""START: highest and, as its complement, lowest probability to start from: a clear contrast alone does not prove its
cause. WEIGHT: by how much the logarithm of the odds of the start counts. Both fitted."""
DEFECT_FROM, IMPROBABLE = 0.9, 0.25
LEAST, MOST = 0.01, 0.99

URGENCY_RULE: dict[str, dict[str, Urgency]] = {
    "safety": {"defect": "now", "suspect": "soon", "inconclusive": "plan", "normal": "none"},
    "damage": {"defect": "soon", "suspect": "plan", "inconclusive": "watch", "normal": "none"},
    "moisture": {"defect": "soon", "suspect": "plan", "inconclusive": "watch", "normal": "none"},
    "energy": {"defect": "plan", "suspect": "watch", "inconclusive": "watch", "normal": "none"},
    "comfort": {"defect": "plan", "suspect": "watch", "inconclusive": "watch", "normal": "none"},
}
"""Urgency by severity and verdict; a check may lower it with `at_most`."""


@dataclass(frozen=True)
class Judgement:
    """Outcome of the rule; `row` is the key of the row that decided or capped it."""

    verdict: Verdict
    urgency: Urgency
    probability: float
    row: str
    reason: str


def judge(
    contrast: Quantity | None,
    criterion: Criterion,
    gates: Sequence[Gate] = (),
    rivals: Sequence[Rival] = (),
    *,
    severity: Severity = "energy",
    strong: Collection[str] = (),
    at_most: Urgency = "now",
) -> Judgement:
    """Verdict, urgency and probability by the stated rule.

    contrast  with bounds, in the criterion's unit (its magnitude is judged); another unit than the criterion's counts
              as unscaled
    strong    explanations among the rivals that could make the whole pattern
    at_most   highest urgency the check allows, for graded classes
    Raises ValueError for an unknown severity or urgency.
    """
    if severity not in URGENCY_RULE or at_most not in URGENCIES:
        raise ValueError(
            f"severity is one of {', '.join(URGENCY_RULE)}, at_most one of {', '.join(URGENCIES)}; "
            f"got {severity!r}, {at_most!r}"
        )
    scaled = contrast is not None and contrast.unit == criterion.unit
    start = share_above(contrast, criterion.contrast) if contrast is not None and scaled else 0.5
    probability = _moved(start, gates, rivals, strong)
    verdict, key = _verdict(contrast, scaled, criterion.contrast, gates, rivals, strong, probability)
    urgency = max(URGENCY_RULE[severity][verdict], at_most, key=URGENCIES.index)
    row = next(row for row in RULE if row.key == key)
    return Judgement(verdict, urgency, probability, key, f"{row.when}: {row.then}")


def share_above(contrast: Quantity, limit: float) -> float:
    """Probability 0..1 that the magnitude of the contrast exceeds a limit in its unit, each side of its interval read as half of a
    normal distribution."""
    value, low, high = magnitude(contrast)
    half = high - value if limit > value else value - low
    if half <= 0:
        return 1.0 if value >= limit else 0.0
    return 0.5 * math.erfc((limit - value) * NORMAL_95 / half / math.sqrt(2))


def magnitude(contrast: Quantity) -> tuple[float, float, float]:
    """(value, low, high) with the sign of the value turned positive; the low end may be negative."""
    if contrast.value < 0:
        return -contrast.value, -contrast.high, -contrast.low
    return contrast.value, contrast.low, contrast.high


def _moved(start: float, gates: Sequence[Gate], rivals: Sequence[Rival], strong: Collection[str]) -> float:
    steps = dict(ODDS)
    start = min(max(start, 1 - START), START)
    odds = WEIGHT * math.log(start / (1 - start))
    for gate in gates:
        odds += 0.0 if gate.passed else steps[step_of_gate(gate)]
    for rival in rivals:
        odds += steps[step_of(rival, rival.explanation in strong)]
    return round(min(max(1 / (1 + math.exp(-odds)), LEAST), MOST), 4)


def step_of_gate(gate: Gate) -> str:
    """The key of ODDS for a gate that did not pass."""
    if gate.passed is None:
        return "size not known" if gate.name == SIZE else "gate not known"
    return "gate failed"


def step_of(rival: Rival, strong: bool) -> str:
    """The key of ODDS for a rival."""
    if rival.status == "ruled out":
        return "rival ruled out"
    if rival.explanation == REFLECTION and rival.status == "not ruled out":
        return "reflection not ruled out"
    return f"{'strong' if strong else 'other'} rival {rival.status}"


def _verdict(
    contrast: Quantity | None,
    scaled: bool,
    limit: float,
    gates: Sequence[Gate],
    rivals: Sequence[Rival],
    strong: Collection[str],
    probability: float,
) -> tuple[Verdict, str]:
    if any(gate.passed is False for gate in gates):
        return "inconclusive", "gate failed"
    if contrast is None:
        return "inconclusive", "nothing measured"
    _, low, high = magnitude(contrast)
    if scaled and high < limit:
        return "normal", "below"
    survives = any(rival.status == "not ruled out" and rival.explanation in strong for rival in rivals)
    if scaled and probability < IMPROBABLE and (low < limit or survives):
        return "inconclusive", "improbable"
    for key, caps in (
        ("straddles", scaled and low < limit),
        ("unscaled", not scaled),
        ("gate unknown", any(gate.passed is None for gate in gates)),
        ("strong rival", survives),
        ("low probability", probability < DEFECT_FROM),
    ):
        if caps:
            return "suspect", key
    return "defect", "above"
