"""What a cellular shade saves: the same window with the shade up and let down, compared in one sequence."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from heatbrief.api import Context, FactSpec, Step, StepOutput, propagated, setting
from heatbrief.detect import (
    Case,
    Criterion,
    Reading,
    conclude,
    difference,
    facts_for,
    matches,
    own_regions,
    read_region,
)
from heatbrief.model import Finding, Quantity, Region, Rival, Thermogram

from heatbrief_envelope.surfaces import AIR_BEYOND, Airs, airs_of, known, with_airs

NAME = "envelope.shade_pair"
COVERS = ("shade", "blind", "curtain", "shutter")
MARKERS = ("tape on the glass", "paper on the glass", "marker on the glass")
"""What is read with the shade up: something dull stuck to the pane, because glass mirrors."""
SHOWS = (*(f"cellular {word}" for word in ("shade", "blind")), *COVERS, *MARKERS)
RIVALS = ("recent touch",)
STATE = FactSpec("shade", "whether the shade was up or let down", choices=("up", "down"), example="down")
DRIFT = "the airs or the sun changed between the two pictures"
MOST_DRIFT = 0.15


@dataclass(frozen=True)
class Settings:
    """How much a shade should save."""

    least_effect: float = setting(
        0.2,
        unit="1",
        low=0,
        high=0.95,
        help="least cut of the heat flow through the glazing that a sound shade gives",
        example="20 %",
    )


def run(subjects: Sequence[Thermogram], settings: Settings, context: Context) -> StepOutput:
    """The first picture with the shade down against the first with it up, read on a marker on the glass."""
    up, down = (_first(subjects, context, state) for state in ("up", "down"))
    if up is None or down is None:
        stated = [one.id for one in subjects if context.facts_of.get(one.id, {}).get(STATE.name)]
        if not stated:
            return StepOutput()
        return StepOutput(notes=(f"{', '.join(stated)}: asked for one picture with `shade: up` and one with `down`.",))
    marker, cover = _region(up, context, MARKERS), _region(down, context, COVERS)
    if marker is None or cover is None:
        return StepOutput(
            notes=(
                f"{up.id} and {down.id}: glass mirrors, so stick dull tape on the pane and draw it as a region that "
                f"shows `{MARKERS[0]}` on {up.id}, and the shade as a region on {down.id}.",
            )
        )
    bare, covered = read_region(up, marker), read_region(down, cover)
    if bare is None or covered is None or not bare.scaled or not covered.scaled:
        return StepOutput(notes=(f"{up.id} and {down.id}: no temperatures to compare.",))
    return _compared(up, down, cover, bare, covered, settings, context)


def _first(subjects: Sequence[Thermogram], context: Context, state: str) -> Thermogram | None:
    return next((one for one in subjects if context.facts_of.get(one.id, {}).get(STATE.name) == state), None)


def _region(subject: Thermogram, context: Context, words: Sequence[str]) -> Region | None:
    return next((one for one in own_regions(context, subject) if matches(words, one.shows)), None)


def _own(subject: Thermogram, context: Context) -> Context:
    return replace(
        context,
        conditions=context.conditions_of.get(subject.id, context.conditions),
        view=context.views.get(subject.id, context.view),
        facts=context.facts_of.get(subject.id, context.facts),
    )


def _compared(
    up: Thermogram,
    down: Thermogram,
    cover: Region,
    bare: Reading,
    covered: Reading,
    settings: Settings,
    context: Context,
) -> StepOutput:
    own = _own(down, context)
    airs, before = airs_of(own, cover), airs_of(_own(up, context), cover)
    if (
        airs.sign is None
        or airs.difference is None
        or before.difference is None
        or airs.near is None
        or bare.mean is None
    ):
        return StepOutput(notes=(f"{down.id}: without a difference of the airs a shade changes nothing.",))
    effect = effect_of(bare.mean, difference(covered, bare), airs.near)
    if effect is None:
        return StepOutput(notes=(f"{down.id}: the glass is as warm as the room, so nothing can be compared.",))
    return StepOutput(findings=(_finding(down, up, cover, covered, effect, airs, before, bare.mean, settings, own),))


def effect_of(bare: Quantity, change: Quantity, near: Quantity) -> Quantity | None:
    """Share by which the heat flow between room and window falls: change of the surface over (room minus bare surface).

    The room's coefficient is taken as the same on both, so it drops out, and so does the camera's error in the change.
    Source: iso-6946.
    """
    fall = near.value - bare.value
    if abs(fall) < 1.0 or (near.low - bare.high) * (near.high - bare.low) <= 0.0:
        return None
    return propagated(
        lambda bare, change, near: change / (near - bare),
        "1",
        "change of the surface over room minus bare surface",
        bare=bare,
        change=change,
        near=near,
    )


def _finding(
    down: Thermogram,
    up: Thermogram,
    cover: Region,
    covered: Reading,
    effect: Quantity,
    airs: Airs,
    before: Airs,
    bare: Quantity,
    settings: Settings,
    context: Context,
) -> Finding:
    assert airs.near is not None
    fall = abs(airs.near.value - bare.value)
    short = Quantity(
        max(settings.least_effect - effect.value, 0.0) * fall,
        "K",
        max(settings.least_effect - effect.high, 0.0) * fall,
        max(settings.least_effect - effect.low, 0.0) * fall,
        effect.coverage,
        "what the shade falls short of, as a temperature of its face",
    )
    case = Case(
        check=NAME,
        domain="envelope",
        subject=down,
        context=with_airs(context, airs),
        region=cover,
        reading=covered,
        purpose="air leakage",
        rule_set="astm-c1060",
    )
    shown = f"{effect.value:.0%} ({max(effect.low, 0.0):.0%} to {effect.high:.0%})"
    enough = effect.low >= settings.least_effect
    return conclude(
        case,
        title=f"{cover.name} cuts the heat flow through the window by about {effect.value:.0%}",
        summary=f"Against {up.id}, with the shade up, the heat flow between room and window falls by {shown}. "
        + (
            "Frames and panes behind it come closer to the outside temperature, so look for water on them on cold days."
            if enough and airs.sign == "cold"
            else ""
            if enough
            else "Less than a shade that closes at its sides: consistent with gaps along its edges."
        ),
        contrast=short,
        criterion=Criterion(0.3, because=f"a sound shade cuts {settings.least_effect:.0%} or more (common practice)"),
        gates=("difference", "sun"),
        rivals=(*RIVALS, _drift(airs, before)),
        strong=(DRIFT,),
        severity="comfort",
        at_most="watch",
        actions=("envelope.fit-shade",),
        cautions=("envelope.ladders",),
        sources=("iso-6946",),
        measured=known(effect_of_shade=effect, air_difference=airs.difference),
        shares=f"{down.id}:{cover.name}",
    )


def _drift(airs: Airs, before: Airs) -> Callable[[Case], Rival]:
    def drift(case: Case) -> Rival:
        now, then = airs.difference, before.difference
        assert now is not None and then is not None
        changed = abs(now.value - then.value) / max(abs(now.value), 1.0)
        return Rival(
            DRIFT,
            "ruled out" if changed <= MOST_DRIFT else "not ruled out",
            f"the difference of the airs changed by {changed:.0%}; up to {MOST_DRIFT:.0%} counts as even",
        )

    return drift


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain="envelope",
    scope="sequence",
    summary="Heat flow through a window with its shade up and down; the pane is read on tape, never on glass.",
    shows=SHOWS,
    facts=(STATE, AIR_BEYOND, *facts_for(RIVALS)),
    cautions=("envelope.ladders",),
    sources=("iso-6946",),
    status="trial",
    title="window with its shade up and down",
)
