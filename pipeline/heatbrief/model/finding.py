"""A finding and what was argued about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from heatbrief.model.quantity import Quantity

Verdict = Literal["defect", "suspect", "normal", "inconclusive"]
Urgency = Literal["now", "soon", "plan", "watch", "none"]
RivalStatus = Literal["ruled out", "not ruled out", "not testable"]

VERDICTS: tuple[Verdict, ...] = ("defect", "suspect", "inconclusive", "normal")
URGENCIES: tuple[Urgency, ...] = ("now", "soon", "plan", "watch", "none")
"""From most to least urgent; the order of pages and of `--fail-on`."""


@dataclass(frozen=True)
class Rival:
    """Another explanation of the same pattern, and how it fared.

    evidence  what was compared, in words with numbers
    missing   for "not testable": the fact or picture that would settle it
    """

    explanation: str
    status: RivalStatus
    evidence: str
    missing: str = ""


@dataclass(frozen=True)
class Gate:
    """A condition a check needs in order to mean anything.

    passed   True, False, or None when the fact is not known
    reason   what was asked and what was given, with numbers
    source   key of the practice that asks for it, "" when it is our choice
    """

    name: str
    passed: bool | None
    reason: str
    source: str = ""
    remedy: str = ""


@dataclass(frozen=True)
class Outline:
    """Place of a finding in its picture.

    polygon   (x, y) corners in pixels, closed implicitly
    pixels    number of pixels
    """

    polygon: tuple[tuple[float, float], ...]
    pixels: int


@dataclass(frozen=True)
class Finding:
    """One argued result of one check.

    title        a few words, as a heading; summary: one or two sentences for the owner
    probability  that the stated cause is real, 0..1, from contrast, gates and rivals; never 0 or 1
    measured     named quantities; empty of temperatures for unscaled pictures
    classes      published classes with their table's name and probability, as plain rows
    actions      keys of the action catalogue; cautions: keys of caution texts
    shares       findings with the same tag describe one cause or area and must not be counted twice
    """

    id: str
    domain: str
    check: str
    thermogram: str
    region: str
    title: str
    summary: str
    verdict: Verdict
    urgency: Urgency
    probability: float
    outline: Outline | None = None
    measured: Mapping[str, Quantity] = field(default_factory=dict)
    gates: tuple[Gate, ...] = ()
    rivals: tuple[Rival, ...] = ()
    classes: tuple[Mapping[str, str], ...] = ()
    actions: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    room: str = ""
    shares: str = ""
    next_time: tuple[str, ...] = ()
