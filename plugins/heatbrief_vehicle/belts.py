"""Belts, pulleys and the bearings behind them, just after the engine stopped."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, FactSpec, Step, StepOutput, setting
from heatbrief.detect import Case, matches
from heatbrief.model import Gate, Rival, Thermogram

from heatbrief_vehicle.like_parts import Kind, against, odd_ones, warm_part
from heatbrief_vehicle.parts import (
    DOMAIN,
    READS,
    SINCE_STOP,
    SURFACE_FACTS,
    Part,
    by_group,
    open_rival,
    parts_of,
    seconds,
    word,
)

NAME = "vehicle.belts"
PULLEYS = ("pulley", "idler", "tensioner", "coolant pump")
BELTS = ("drive belt", "accessory belt")
STOPPED = FactSpec(
    "engine", "whether the engine ran when the picture was taken", choices=("running", "stopped"), example="stopped"
)
CAUTIONS = ("vehicle.rotating-parts", "vehicle.running-engine", "vehicle.hot-surfaces")
SOURCES = ("belt-practice",)
FRESH_S = 300.0
LOADED = "a part that works harder by design, such as the alternator, or stands nearer to the exhaust"


@dataclass(frozen=True)
class Settings:
    """From when a part counts as warm."""

    least: float = setting(
        20.0,
        unit="K",
        positive=True,
        help="least difference of a pulley or belt from its like (common practice)",
        example="20 K",
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Pulleys of a group against each other, and each belt against the pulleys it runs over."""
    notes: list[str] = []
    findings = []
    for group, parts in by_group(parts_of(subject, context, (*PULLEYS, *BELTS), notes)).items():
        pulleys = [part for part in parts if matches(PULLEYS, part.region.shows)]
        belts = [part for part in parts if part not in pulleys]
        if len(pulleys) < 2:
            notes.append(f"{subject.id}, {group or 'belt'}: a comparison needs two pulleys of one drive or more.")
            continue
        for part, apart in odd_ones(pulleys, settings.least):
            kind = _kind(part, settings, context, "a bearing that runs dry or a pulley out of line")
            findings.append(warm_part(part, apart, kind, context, "the median of the other pulleys"))
        for belt in belts:
            kind = _kind(belt, settings, context, "a belt that slips, is loose or runs out of line")
            findings.append(warm_part(belt, against(belt, pulleys), kind, context, "the median of its pulleys"))
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def _kind(part: Part, settings: Settings, context: Context, odd: str) -> Kind:
    return Kind(
        check=NAME,
        least=settings.least,
        odd=odd,
        because="no published limit was found; common practice",
        source=SOURCES[0],
        severity="damage",
        at_most="plan",
        actions=("vehicle.check-belts",),
        cautions=CAUTIONS,
        gates=(_fresh(part, context), "spot", "emissivity"),
        rivals=("reflection", "material change", loaded),
    )


def _fresh(part: Part, context: Context) -> Gate:
    """Warm from running, engine stopped: nothing turns while the picture is taken."""
    since = seconds("since_stop", part.region, context)
    running = word("engine", part.region, context)
    asked = f"asked: engine stopped, at most {FRESH_S:g} s before"
    told = f"{running or 'nothing about the engine'}, {'no time' if since is None else f'{since:g} s'}"
    held = None if since is None else since <= FRESH_S
    remedy = (
        "" if held else "Take it within 5 min after the engine stopped, from outside the bay, and give `since_stop`."
    )
    return Gate("soon after running", held, f"{asked}; given: {told}", "belt-practice", remedy)


def loaded(case: Case) -> Rival:
    """Pulleys carry different loads."""
    return open_rival(LOADED, "a picture does not show the load of each pulley", "the same drive of a like vehicle")


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=(*PULLEYS, *BELTS),
    facts=(SINCE_STOP, STOPPED, *SURFACE_FACTS),
    summary="Pulleys of a belt drive against each other, and the belt against its pulleys.",
    reads=READS,
    cautions=CAUTIONS,
    sources=SOURCES,
    title="belt drive",
)
