"""Pipes in the cold: how near their skin is to freezing, and how long still water would last."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from heatbrief.api import Context, Step, StepOutput, propagated, setting
from heatbrief.detect import Case, Criterion, conclude, facts_for, read_region, said
from heatbrief.model import Finding, Gate, Quantity, Region, Rival, Thermogram

from heatbrief_plumbing.air import CELSIUS, known
from heatbrief_plumbing.exposed import AROUND, DIAMETER, EXPOSED, WATER, exposed_regions

NAME = "plumbing.freeze_risk"
RIVALS = ("reflection",)
ALERT_C = -6.7
"""Outdoor alert for pipes in unheated insulated attics of warm-climate houses, 20 degF [seen: plumbing-frost-alert]."""
AWAY_C = 12.8
"""Least room temperature when away, 55 degF [seen: plumbing-frost-away]."""
STILL = "water that moves, or heat that reaches the pipe at other times"


BORE = Quantity.between(0.5, 0.87, "1", 0.8, "thick plastic to thin copper")
"""Water's share of the cross-section within a pipe's outside diameter: copper 15 x 1 mm 0.75, 28 x 1.5 mm 0.80, 54 x 2 mm 0.86,
plastic 20 x 2.8 mm 0.52. Common sizes, from memory."""


@dataclass(frozen=True)
class Settings:
    """From where a skin counts as close to freezing."""

    watch: float = setting(
        4.0, unit="degC", low=0.5, high=10.0, help="skin below which a pipe is reported", example="4 degC"
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Exposed pipes whose skin, or the air around them, is near freezing."""
    findings = (_finding(subject, settings, context, region) for region in exposed_regions(subject, context))
    return StepOutput(findings=tuple(one for one in findings if one is not None))


def _finding(subject: Thermogram, settings: Settings, context: Context, region: Region) -> Finding | None:
    case = Case(check=NAME, domain="plumbing", subject=subject, context=context, region=region, purpose="plumbing")
    reading = read_region(subject, region)
    skin = None if reading is None else reading.low
    if skin is None or skin.unit != "degC" or skin.low > settings.watch:
        return None
    contrast = propagated(
        lambda skin: max(settings.watch - skin, 0.0), "K", "how far the skin is below the level of watch", skin=skin
    )
    air = _coldest_air(case)
    times = freezing_hours(case, air)
    return conclude(
        case,
        contrast=contrast,
        title=f"Pipe near freezing in {region.name}",
        summary=f"The coldest skin reads {said(skin)}. {_words(times, air)}For comparison: one published alert for "
        f"pipes in unheated attics is {ALERT_C:g} degC outdoors; advice for empty houses is to keep at least "
        f"{AWAY_C:g} degC inside.",
        criterion=Criterion(settings.watch, because="a skin at 0 degC means that water in the pipe can freeze"),
        gates=("spot" if region.shape == "box" else _drawn(region), "emissivity"),
        rivals=(*RIVALS, _moving),
        strong=("reflection",),
        severity="damage",
        at_most="soon",
        actions=("plumbing.protect-from-frost",),
        cautions=("plumbing.frost", "plumbing.water-and-electricity"),
        sources=("plumbing-frost-alert", "plumbing-frost-away", "lumped-balance"),
        measured=known(coldest_skin=skin, air_around=air) | times,
        classes=tuple(_published(air)),
    )


def _drawn(region: Region) -> Gate:
    return Gate(
        "pixels on the pipe",
        None,
        "asked: a box of 3 pixels and more on the pipe; given: a line or outline, of which the coldest pixel counts",
        "three-pixel-rule",
        "Go nearer and draw a box on the pipe.",
    )


def _coldest_air(case: Case) -> Quantity | None:
    stated = case.fact("air_around")
    return stated if isinstance(stated, Quantity) else case.conditions.outside_air


def freezing_hours(case: Case, air: Quantity | None) -> dict[str, Quantity]:
    """Hours for still water to reach 0 degC and then to freeze through in a bare pipe; empty unless the air is below
    freezing and the diameter is known. Source: lumped-balance, churchill-chu-cylinder."""
    diameter = case.number("pipe_diameter")
    if air is None or diameter is None or air.high >= -0.2 or diameter <= 0:
        return {}
    stated = case.fact("water_temperature")
    start = (
        stated
        if isinstance(stated, Quantity)
        else Quantity.between(5.0, 15.0, "degC", 10.0, "water as supplied, not stated")
    )
    film = Quantity.between(8.0, 25.0, "W/m2/K", 12.3, "still to moving air")
    names = ("hours to 0 degC", "hours to freeze through")
    found = {}
    for place, name in enumerate(names):
        hours = propagated(
            _hours(diameter, place),
            "h",
            "still water in a bare pipe; no supercooling",
            air=air,
            start=start,
            film=film,
            bore=BORE,
        )
        if hours is not None:
            found[name] = Quantity(hours.value, "h", max(hours.low, 0.0), hours.high, hours.coverage, hours.method)
    return found


def _hours(diameter: float, place: int) -> Callable[[float, float, float, float], float]:
    """Hours by air, start, film and the water's share of the cross-section: the pipe loses heat by its outer face."""
    from heatbrief.physics.water import freeze_times

    def hours(air: float, start: float, film: float, bore: float) -> float:
        seconds = freeze_times(diameter * bore, max(start, 0.01) + CELSIUS, air + CELSIUS, film)[place]
        return float(np.asarray(seconds)) / 3600.0

    return hours


def _words(times: dict[str, Quantity], air: Quantity | None) -> str:
    if not times or air is None:
        return ""
    first, second = times["hours to 0 degC"], times["hours to freeze through"]
    return (
        f"In air at {air.value:.0f} degC, still water would reach 0 degC in {first.low:.1f} to {first.high:.1f} h "
        f"and freeze through {second.low:.1f} to {second.high:.1f} h later. "
    )


def _published(air: Quantity | None) -> Iterator[dict[str, str]]:
    if air is None:
        return
    yield {
        "table": "pipes in unheated attics, warm climate (20 degF)",
        "class": f"{'at or below' if air.value <= ALERT_C else 'above'} {ALERT_C:g} degC outdoors, as information",
        "source": "plumbing-frost-alert",
        "mark": "seen",
    }


def _moving(case: Case) -> Rival:
    runs = case.yes("pipe_running")
    if runs is None:
        return Rival(
            STILL,
            "not testable",
            "whether water moves in the pipe is not given",
            "whether the water ran (`pipe_running`)",
        )
    return Rival(
        STILL, "not ruled out" if runs else "ruled out", f"the water is said {'' if runs else 'not '}to have run"
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=2,
    run=run,
    settings=Settings,
    domain="plumbing",
    summary="Exposed pipes near freezing, with published thresholds as information.",
    shows=EXPOSED,
    facts=(WATER, DIAMETER, AROUND, *facts_for(RIVALS)),
    cautions=("plumbing.frost",),
    sources=("plumbing-frost-alert", "plumbing-frost-away"),
    status="trial",
    title="pipes near freezing",
)
