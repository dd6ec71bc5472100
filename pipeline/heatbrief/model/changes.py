"""What changed between two reports of one property: findings, and what they were made from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

FORMAT = 1
"""Version of `since.json`."""

InputKind = Literal["picture", "condition", "step", "shared", "survey", "release"]


@dataclass(frozen=True)
class FindingState:
    """A finding as one of the two reports has it."""

    finding: str
    title: str
    place: str
    verdict: str
    urgency: str
    probability: float


@dataclass(frozen=True)
class ChangedFinding:
    """A finding in both reports with another verdict, urgency, probability, outline or number.

    what  which of these: "verdict", "urgency", "probability", "measured NAME"
    """

    before: FindingState
    now: FindingState
    what: tuple[str, ...]


@dataclass(frozen=True)
class ChangedInput:
    """Something that findings are made from; "" where it was not there."""

    kind: InputKind
    name: str
    before: str
    now: str


@dataclass(frozen=True)
class Changes:
    """Everything that changed. Equal inputs give equal bytes.

    name    of the property; before: what was reported last, "" for a first report
    """

    format: int
    name: str
    slug: str
    before: str
    now: str
    new: tuple[FindingState, ...] = ()
    gone: tuple[FindingState, ...] = ()
    changed: tuple[ChangedFinding, ...] = ()
    inputs: tuple[ChangedInput, ...] = ()
    heatbrief: str = ""
    invented: bool = False
    language: str = "en"

    @property
    def first(self) -> bool:
        """True when there is no earlier report."""
        return not self.before

    @property
    def any(self) -> bool:
        """True when something changed."""
        return bool(self.new or self.gone or self.changed or self.inputs)
