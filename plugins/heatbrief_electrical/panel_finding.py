"""A panel as a whole: the warmest circuit by what its load allows, the ranking, and what was left out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from heatbrief.detect import Case, Criterion, conclude, figure, number
from heatbrief.model import Finding, Gate, Quantity
from heatbrief.physics import electrical

from heatbrief_electrical import idle
from heatbrief_electrical.circuit import Circuit
from heatbrief_electrical.panel_rows import panel_rows, running_words
from heatbrief_electrical.parts import air_near, cautions_for, known

LIMITS = ("ul-489", "rated-rise", "load-exponent")
ABOUT_RATED = (
    "50 K is the rise of a standard breaker's termination at rated load (UL 489 as quoted by a maker); the plate of "
    "the panel comes first"
)


def panel_finding(
    case: Case,
    rated_rise: float,
    circuits: tuple[Circuit, ...],
    ranked: tuple[Circuit, ...],
    named: Mapping[str, str],
    states: Mapping[str, str],
    gates: Sequence[Gate | str],
) -> Finding:
    """The panel as a whole: normal when every loaded circuit that is not reported by itself stays below what its load
    allows.

    case        of the whole picture; rated_rise: the limit [K] where no circuit has one of its own
    named       circuits with a finding of their own, and what is said of them; states: of those that are idle
    """
    judged = [one for one in circuits if one.held is not None]
    calm = [one for one in judged if one.name not in named and not one.beside_twin]
    worst = max(calm, key=lambda one: (one.use, one.name), default=None)
    held = worst.held if worst is not None else None
    apart = [one.name for one in judged if one not in calm]
    elsewhere = {
        **{name: idle.EXPLAINED[state] for name, state in states.items() if state},
        **{one.name: "warmer than its twin; has a page of its own" for one in circuits if one.beside_twin},
        **named,
    }
    rows = panel_rows(circuits, ranked, elsewhere)
    words = (
        _opening(worst),
        running_words(circuits, rows),
        _apart(apart),
        _ranking_words(ranked),
        _left_out(circuits, judged),
        _above_rating(circuits),
    )
    return conclude(
        case,
        title="Panel: circuits by rise over the air and load",
        summary=" ".join(part for part in words if part),
        criterion=Criterion(held.allowed.low if held else rated_rise, because=ABOUT_RATED, sources=LIMITS),
        contrast=held.rise if held else None,
        gates=gates,
        rivals=(),
        severity="safety",
        at_most="watch",
        actions=("electrical.record-load", "electrical.repeat-at-load"),
        cautions=cautions_for(case.context, None),
        sources=("load-gate", *LIMITS),
        measured=known(
            air_temperature=air_near(case.context, worst.member.region if worst else None),
            allowed_rise_at_this_load=held.allowed if held else None,
            margin_at_this_load=held.margin if held else None,
            rise_at_full_load=held.full if held and worst and worst.full else None,
            margin_at_full_load=held.margin_full if held and worst and worst.full else None,
        ),
        classes=rows,
        shares=f"{case.subject.id}:panel",
    )


def _opening(worst: Circuit | None) -> str:
    if worst is None or worst.held is None:
        return (
            "Loaded and warm is normal for a breaker. No circuit could be held against its limit: a load of 40 % or "
            "more, a rating and the air temperature beside the panel are needed."
        )
    share = worst.member.load.share or 0.0
    return (
        "Loaded and warm is normal for a breaker. Measured by what its load allows, the warmest of the others is "
        f"{worst.name}: {number(worst.held.rise.value, 'K')} over the air at {number(share, '1')} load, where about "
        f"{number(worst.held.allowed.value, 'K')} would go with its limit, {worst.held.limit.said}."
    )


def _apart(names: list[str]) -> str:
    return f"Reported by themselves: {', '.join(names)}." if names else ""


SHOWN = 3
"""Circuits that the summary names; the rows hold them all."""


def _ranking_words(ranked: tuple[Circuit, ...]) -> str:
    if not ranked:
        return ""
    rows = [
        f"{place}. {one.name}, {figure(one.full.value, 'K')} K ({figure(one.full.low, 'K')} to "
        f"{figure(one.full.high, 'K')} K{_low_load(one)})"
        for place, one in enumerate(ranked[:SHOWN], 1)
        if one.full is not None
    ]
    more = "; the table has the rest" if len(ranked) > SHOWN else ""
    zero = counted_from(ranked[0].above) if ranked[0].above is not None else "the air"
    return f"Ranked by the rise each would have at full load, counted from {zero}: {'; '.join(rows)}{more}."


def _above_rating(circuits: tuple[Circuit, ...]) -> str:
    names = [one.name for one in circuits if one.member.load.share is not None and one.member.load.share > 1.0]
    return (
        f"Recorded above its rating: {', '.join(names)}; have this looked at whatever the picture shows."
        if names
        else ""
    )


def _low_load(circuit: Circuit) -> str:
    return ", low load" if electrical.load_gate(circuit.member.load.share) == "low load" else ""


def _left_out(circuits: tuple[Circuit, ...], judged: list[Circuit]) -> str:
    rest = [one.name for one in circuits if one not in judged]
    return f"Not ranked, because the load was below 40 % or not recorded: {', '.join(rest)}." if rest and judged else ""


def counted_from(above: Quantity) -> str:
    """What a warmth was counted from, in words."""
    return above.method.removeprefix("mean of the region over ") if " over " in above.method else "the air"
