"""Hoses of the cooling system: which way coolant goes, whether it goes at all, and whether the heater has flow."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, FactSpec, Step, StepOutput, setting
from heatbrief.detect import Case, Criterion, conclude, difference, number
from heatbrief.model import Finding, Gate, Quantity, Rival, Thermogram

from heatbrief_vehicle.core import WARM_C
from heatbrief_vehicle.parts import DOMAIN, READS, SURFACE_FACTS, Part, at_least, by_group, known, parts_of, word
from heatbrief_vehicle.parts import open_rival as untested

NAME = "vehicle.hoses"
SHOWS = ("radiator hose", "coolant hose", "heater hose")
KIND = FactSpec(
    "hose",
    "which hose of the cooling system it is",
    choices=("upper", "lower", "heater inlet", "heater outlet"),
    example="upper",
)
CAUTIONS = ("vehicle.running-engine", "vehicle.rotating-parts", "vehicle.coolant", "vehicle.hot-surfaces")
SOURCES = ("radiator-practice", "hose-practice", "thermostat-manuals")
LAYOUT = "an engine whose thermostat sits at the lower hose, or whose coolant goes the other way by design"
IDLE = "little flow at idle with a partly open thermostat, or a heater that is switched off"
PAIRS = (("upper", "lower"), ("heater inlet", "heater outlet"))


@dataclass(frozen=True)
class Settings:
    """From when two hoses count as different."""

    largest_drop: float = setting(
        30.0,
        unit="K",
        positive=True,
        help="radiator hoses: from here little flow is suspected (common practice)",
        example="30 K",
    )
    heater_drop: float = setting(
        20.0, unit="K", positive=True, help="heater hoses: the same (common practice)", example="20 K"
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """One finding for each declared pair of hoses."""
    notes: list[str] = []
    findings = []
    for group, parts in by_group(parts_of(subject, context, SHOWS, notes)).items():
        by_kind = {word("hose", part.region, context): part for part in parts}
        made = [
            _pair(by_kind[first], by_kind[second], settings, context)
            for first, second in PAIRS
            if first in by_kind and second in by_kind
        ]
        findings.extend(made)
        if not made:
            label = f"{subject.id}, {group or 'hoses'}"
            notes.append(f"{label}: a comparison needs `hose: upper` and `hose: lower`, or both heater hoses.")
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def _pair(first: Part, second: Part, settings: Settings, context: Context) -> Finding:
    heater = word("hose", first.region, context).startswith("heater")
    drop = difference(first.reading, second.reading)
    warmer = first if drop.value >= 0 else second
    least = settings.heater_drop if heater else settings.largest_drop
    top = warmer.reading.mean
    case = Case(
        NAME, DOMAIN, first.subject, context, first.region, reading=first.reading, purpose="vehicle", tag="pair"
    )
    return conclude(
        case,
        title=f"{first.region.name} and {second.region.name}: {'far apart' if abs(drop.value) >= least else 'alike'}",
        summary=_words(first, second, drop, heater, least),
        criterion=Criterion(least, because="less is usual while coolant flows (common practice)", sources=SOURCES[1:2]),
        contrast=drop,
        gates=(
            at_least(
                "engine at working temperature",
                None if top is None else top.value,
                WARM_C,
                "degC",
                "Take it when the engine has reached its working temperature.",
                "thermostat-manuals",
            ),
            _bare(first, second, context),
            "spot",
            "emissivity",
        ),
        rivals=("reflection", idle, *(() if heater else (layout,))),
        strong=("reflection", IDLE),
        severity="damage",
        at_most="plan",
        actions=("vehicle.check-cooling", "vehicle.repeat-warm"),
        cautions=CAUTIONS,
        sources=SOURCES,
        measured=known(other_hose=second.reading.mean),
        shares=f"{first.subject.id}:{'heater' if heater else 'radiator'} hoses",
    )


def _words(first: Part, second: Part, drop: Quantity, heater: bool, least: float) -> str:
    way = (
        f"{first.region.name} is {number(abs(drop.value), 'K')} {'warmer' if drop.value >= 0 else 'colder'} than "
        f"{second.region.name}"
    )
    if abs(drop.value) < least:
        turned = "" if heater or drop.low > 0 else _turned(drop)
        return f"{way}; both carry coolant.{turned}"
    if heater:
        return f"{way}. Consistent with little flow through the heater: a shut valve, air, or a blocked core."
    return (
        f"{way}. Consistent with little flow through the radiator: a shut or partly open thermostat, a pump that moves "
        "little, or a blocked core."
    )


def _turned(drop: Quantity) -> str:
    """What the sign says about the direction of flow."""
    if drop.high < 0:
        return " The lower hose is the warmer one, so coolant seems to enter there, by design or with hoses swapped."
    return " Which way coolant goes cannot be told from this difference."


def _bare(first: Part, second: Part, context: Context) -> Gate:
    """Two hoses are compared as surfaces of one kind."""
    same = word("same material", first.region, context) or word("same material", second.region, context)
    held = None if not same else same in ("yes", "true")
    told = "nothing" if held is None else same
    remedy = "" if held else "Say `same material: yes` when both hoses are bare and alike."
    return Gate("hoses of one kind", held, f"asked: both bare and of one material; given: {told}", "", remedy)


def layout(case: Case) -> Rival | None:
    """Layouts differ."""
    return untested(
        LAYOUT, "the layout is not seen in a picture", "where the thermostat sits and which way coolant goes (manual)"
    )


def idle(case: Case) -> Rival | None:
    """Ordinary states that look the same."""
    told = (
        "the opening of thermostat and heater valve is not seen; the same after a drive with a warm heater would tell"
    )
    return Rival(IDLE, "not ruled out", told)


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=SHOWS,
    facts=(KIND, *SURFACE_FACTS),
    summary="Upper against lower radiator hose and the two heater hoses: direction of flow, and whether there is any.",
    reads=READS,
    cautions=CAUTIONS,
    sources=SOURCES,
    title="coolant hoses",
)
