"""Two surveys of one property held against each other: what became of each finding."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from heatbrief.model.quantity import Quantity
from heatbrief.model.results import StoredArray

FORMAT = 1
"""Version of `comparison.json`."""

Outcome = Literal["repaired", "better", "unchanged", "worse", "not comparable"]
OUTCOMES: tuple[Outcome, ...] = ("worse", "unchanged", "not comparable", "better", "repaired")
"""In the order of the page: what still asks for work comes first."""


@dataclass(frozen=True)
class RuleRow:
    """One row of the rule by which outcomes are decided, read from the top."""

    key: str
    when: str
    then: str
    why: str


@dataclass(frozen=True)
class SurveySide:
    """One of the two surveys; `results` is the SHA-256 of its results document as stored."""

    name: str
    slug: str
    date: str
    manifest: str
    results: str = ""
    conditions: Mapping[str, Quantity | str] = field(default_factory=dict)


@dataclass(frozen=True)
class PicturePair:
    """The same view before and after. `before` and `after` are ids of thermograms, `after` is "" when it is missing.

    moved  how the later picture has to be moved to lie on the earlier one [px]; None when their sizes differ
    how    "by detail", "not moved", or why they could not be laid over each other
    earlier  values of the earlier picture, kept beside the comparison, where the two have one size; taken: when
    """

    before: str
    after: str
    moved: tuple[float, float] | None
    how: str
    earlier: StoredArray | None = None
    taken: str = ""


@dataclass(frozen=True)
class ComparedFinding:
    """What became of one finding of the earlier survey.

    finding, later   ids of the finding before and of the one in the same place after ("" when there is none)
    probability      that the outcome is right by the measurement; 0 when not comparable
    row, reason      key of the row of the rule that decided, and the reason in words
    measure          name of what was compared, made independent of the weather and load of the day
    before, after    that measure in each survey; left: after over before, with bounds
    chances          probability of each outcome
    needed           what would make it comparable next time
    promised         yearly amounts stated before; realised: the part of them that is gone; remaining: stated after
    polygon_after    the outline brought into the later picture
    """

    finding: str
    later: str
    domain: str
    check: str
    title: str
    room: str
    region: str
    picture_before: str
    picture_after: str
    outcome: Outcome
    probability: float
    row: str
    reason: str
    measure: str = ""
    before: Quantity | None = None
    after: Quantity | None = None
    left: Quantity | None = None
    chances: Mapping[str, float] = field(default_factory=dict)
    evidence: tuple[str, ...] = ()
    needed: tuple[str, ...] = ()
    verdict_before: str = ""
    verdict_after: str = ""
    urgency: str = "none"
    promised: Mapping[str, Quantity] = field(default_factory=dict)
    realised: Mapping[str, Quantity] = field(default_factory=dict)
    remaining: Mapping[str, Quantity] = field(default_factory=dict)
    polygon: tuple[tuple[float, float], ...] = ()
    polygon_after: tuple[tuple[float, float], ...] = ()

    @property
    def label(self) -> str:
        """What a count calls the outcome: places in order in both surveys are told apart from defects that stay."""
        return "in order" if self.row == "in order" else self.outcome


@dataclass(frozen=True)
class NewFinding:
    """A defect or suspicion of the later survey in a place where the earlier one had none."""

    finding: str
    title: str
    domain: str
    room: str
    region: str
    verdict: str
    urgency: str


@dataclass(frozen=True)
class Comparison:
    """The whole comparison; equal inputs give equal bytes."""

    format: int
    before: SurveySide
    after: SurveySide
    pictures: tuple[PicturePair, ...]
    findings: tuple[ComparedFinding, ...]
    new: tuple[NewFinding, ...]
    promised: Mapping[str, Quantity]
    realised: Mapping[str, Quantity]
    rule: tuple[RuleRow, ...]
    heatbrief: str
    invented: bool = False
    units: str = "metric"
    language: str = "en"
