"""One part against others of its kind in one picture: the judgement that pulleys, terminals and posts share."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from heatbrief.api import Context
from heatbrief.detect import Case, Criterion, conclude, difference, number, twins
from heatbrief.detect.judge import Severity
from heatbrief.model import Finding, Gate, Quantity, Rival
from heatbrief.model.finding import Urgency

from heatbrief_vehicle.few import compare_few
from heatbrief_vehicle.parts import DOMAIN, Part


@dataclass(frozen=True)
class Kind:
    """What a comparison of like parts says. `odd` completes "consistent with ..."; `asks` are gates and rivals."""

    check: str
    least: float
    odd: str
    because: str
    source: str
    severity: Severity
    actions: tuple[str, ...]
    cautions: tuple[str, ...]
    gates: tuple[str | Gate, ...] = ("spot", "emissivity")
    rivals: tuple[str | Callable[[Case], Rival | None], ...] = ("reflection", "material change")
    at_most: Urgency = "now"


def odd_ones(parts: Sequence[Part], least: float) -> list[tuple[Part, Quantity]]:
    """Parts to report, each with its difference from the others: those that stand out as warmer, else the warmest.

    Two parts: the warmer one against the other. Three and more: `compare_few`.
    """
    ordered = sorted(parts, key=lambda part: (-part.kelvin, part.region.name))
    if len(ordered) == 2:
        return [(ordered[0], difference(ordered[0].reading, ordered[1].reading))]
    flagged = compare_few([part.kelvin for part in ordered], least).flagged
    sound = [part for part, flag in zip(ordered, flagged, strict=True) if not flag]
    middle = sorted(part.kelvin for part in sound)[len(sound) // 2]
    warm = [part for part, flag in zip(ordered, flagged, strict=True) if flag and part.kelvin > middle]
    return [(part, against(part, sound)) for part in warm or ordered[:1]]


def against(part: Part, others: Sequence[Part]) -> Quantity:
    """Difference of one part from the median of others [K]."""
    rest = [one.reading for one in others if one is not part]
    return twins([part.reading, *rest])[0].difference


def warm_part(part: Part, apart: Quantity, kind: Kind, context: Context, others: str) -> Finding:
    """The finding for one part that is compared with others of its kind."""
    above = apart.value >= kind.least
    name = part.region.name
    case = Case(kind.check, DOMAIN, part.subject, context, part.region, reading=part.reading, purpose="vehicle")
    warmer = f"{name} is {number(abs(apart.value), 'K')} {'warmer' if apart.value >= 0 else 'colder'} than {others}"
    return conclude(
        case,
        title=f"{name}: {'warmer than its like' if above else 'like the others'}",
        summary=f"{warmer}; consistent with {kind.odd}."
        if above
        else f"{warmer}; from {kind.least:g} K one looks closer.",
        criterion=Criterion(kind.least, because=kind.because, sources=(kind.source,)),
        contrast=apart,
        gates=kind.gates,
        rivals=kind.rivals,
        severity=kind.severity,
        at_most=kind.at_most if above else "watch",
        actions=kind.actions,
        cautions=kind.cautions,
        sources=(kind.source,),
        shares=f"{part.subject.id}:{name}",
    )
