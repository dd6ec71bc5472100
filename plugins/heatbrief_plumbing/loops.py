"""Radiators of one system, and loops of one heated floor, against each other: uneven flow."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from heatbrief.api import Context, FactSpec, Step, StepOutput, propagated, setting
from heatbrief.detect import Case, Comparison, Criterion, conclude, facts_for, groups_of, matches, read_region, twins
from heatbrief.model import Finding, Gate, Quantity, Region, Rival, Thermogram

from heatbrief_plumbing.air import known
from heatbrief_plumbing.radiator import RUNNING, SETTLED_MIN

NAME = "plumbing.loops"
RADIATORS, FLOORS = (
    ("radiator",),
    ("underfloor loop", "floor loop", "heating loop", "underfloor heating", "heated floor"),
)
NOT = ("engine radiator", "car", "vehicle", "engine")
RIVALS = ("reflection", "material change")
VALVES = FactSpec(
    "loop_valve",
    "how far the valve or thermostat of this radiator or loop is open",
    choices=("open", "shut", "throttled"),
    example="open",
)
SHUT = "a valve or thermostat that is shut or throttled on purpose"
FILLING = "warm water that has not yet come round"
COVERED = "a covering or furniture that keeps heat in"
COVER = FactSpec("covered", "whether a rug, furniture or cover lies there", choices=("yes", "no"), example="no")
FLOOR_SETTLED_MIN, WARM_K = 120.0, {"radiator": 10.0, "floor": 3.0}
UNEVEN_FLOOR_K = 5.0
"""Unevenness over a heated floor that a trade text calls unwanted [seen: plumbing-floor-uneven]."""


@dataclass(frozen=True)
class Settings:
    """What counts as uneven."""

    least: float = setting(
        3.0, unit="K", positive=True, help="least difference of radiators that is reported", example="3 K"
    )
    floor: float = setting(
        UNEVEN_FLOOR_K, unit="K", positive=True, help="least difference of floor loops reported", example="5 K"
    )
    share: float = setting(
        0.25,
        unit="1",
        low=0.05,
        high=0.9,
        example="25 %",
        help="least difference as a share of the others' rise over the room",
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Each region of a group that is colder than the median of the others."""
    findings: list[Finding | None] = []
    for kind, words in (("radiator", RADIATORS), ("floor", FLOORS)):
        for members in groups_of(context, subject, words).values():
            members = tuple(one for one in members if not matches(NOT, f"{one.shows} {context.view.shows}"))
            readings = [(region, read_region(subject, region)) for region in members]
            by_name = {region.name: region for region, reading in readings if reading is not None}
            compared = twins([reading for _, reading in readings if reading is not None])
            findings.extend(
                _finding(subject, settings, context, by_name[one.name], one, kind)
                for one in compared
                if one.difference.value < 0.0
            )
    return StepOutput(findings=tuple(one for one in findings if one is not None))


def _finding(
    subject: Thermogram, settings: Settings, context: Context, region: Region, found: Comparison, kind: str
) -> Finding | None:
    case = Case(
        check=NAME,
        domain="plumbing",
        subject=subject,
        context=context,
        region=region,
        reading=found.reading,
        purpose="plumbing",
    )
    colder = -found.difference.value
    others = _rise(case, found.reading.mean, colder)
    limit = settings.floor if kind == "floor" else settings.least
    if others is not None and kind == "radiator":
        limit = max(limit, settings.share * others.value)
    if found.difference.unit == "K" and -found.difference.low < limit:
        return None
    output = _output(case, found.reading.mean, found.difference, kind)
    unit = "K" if found.difference.unit == "K" else "counts"
    less = f" It gives about {output.value:.0%} of what they give." if output is not None else ""
    return conclude(
        case,
        contrast=found.difference,
        title=f"{region.name}: colder than the others",
        summary=f"{region.name} reads {colder:.1f} {unit} colder than the middle of {', '.join(found.others)}.{less} "
        "Consistent with less water flowing through it.",
        criterion=Criterion(limit, because="sound ones of a balanced system differ by less (common practice)"),
        gates=("spot", _heated(others, kind)),
        rivals=(*RIVALS, _shut, *((_covered,) if kind == "floor" else ()), _still_filling(kind)),
        strong=(SHUT, FILLING),
        severity="comfort",
        at_most="plan",
        actions=("plumbing.balance-heating",),
        cautions=("plumbing.scald",),
        sources=("en-442", "plumbing-radiator-pattern") if kind == "radiator" else ("en-1264", "plumbing-floor-uneven"),
        measured=known(rise_of_the_others=others, output_against_the_others=output),
    )


def _rise(case: Case, mean: Quantity | None, colder: float) -> Quantity | None:
    """How far the others stand over the room [K]."""
    air = case.conditions.inside_air
    if mean is None or air is None:
        return None
    return propagated(lambda mean, air: mean + colder - air, "K", "the others over the room", mean=mean, air=air)


def _output(case: Case, mean: Quantity | None, difference: Quantity, kind: str) -> Quantity | None:
    """Share of the others' output: rise to the power 1.3 for radiators, 1.1 for floors. Sources: en-442, en-1264."""
    air = case.conditions.inside_air
    if mean is None or air is None or mean.value - air.value - difference.value < WARM_K[kind]:
        return None
    power = 1.3 if kind == "radiator" else 1.1
    found = propagated(
        lambda mean, air, difference: (max(mean - air, 0.0) / max(mean - air - difference, 0.1)) ** power,
        "1",
        "rise over the room against that of the others",
        mean=mean,
        air=air,
        difference=difference,
    )
    return (
        None
        if found is None
        else Quantity(found.value, "1", max(found.low, 0.0), found.high, found.coverage, found.method)
    )


def _heated(rise: Quantity | None, kind: str) -> Gate:
    asked = f"asked: the others at least {WARM_K[kind]:g} K over the room; given: "
    remedy = "Take the picture while the heating runs, and give `inside_air`."
    if rise is None:
        return Gate("heating on", None, asked + "no room air, or no temperature", "", remedy)
    passed = True if rise.low >= WARM_K[kind] else None if rise.high >= WARM_K[kind] else False
    return Gate("heating on", passed, asked + f"{rise.value:.0f} K", "", "" if passed else remedy)


def _shut(case: Case) -> Rival:
    valve = str(case.fact("loop_valve") or "").strip().casefold()
    if not valve:
        return Rival(
            SHUT, "not testable", "the place of its valve is not given", "the place of the valve (`loop_valve`)"
        )
    return Rival(SHUT, "ruled out" if valve == "open" else "not ruled out", f"its valve is said to be {valve}")


def _covered(case: Case) -> Rival:
    covered = case.yes("covered")
    if covered is None:
        return Rival(
            COVERED,
            "not testable",
            "nothing is said about rugs and furniture",
            "whether anything lies there (`covered`)",
        )
    return Rival(
        COVERED,
        "not ruled out" if covered else "ruled out",
        f"the owner says that {'something' if covered else 'nothing'} lies there",
    )


def _still_filling(kind: str) -> Callable[[Case], Rival]:
    needed = SETTLED_MIN if kind == "radiator" else FLOOR_SETTLED_MIN

    def still_filling(case: Case) -> Rival:
        minutes = case.number("heating for")
        if minutes is None:
            return Rival(
                FILLING,
                "not testable",
                "how long the heating had run is not given",
                "how long the heating had run (`heating for`)",
            )
        says = f"the heating had run for {minutes:.0f} minutes; {needed:.0f} are asked"
        return Rival(FILLING, "ruled out" if minutes >= needed else "not ruled out", says)

    return still_filling


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain="plumbing",
    summary="Radiators of one system or loops of one floor that stay colder than the others.",
    shows=(*RADIATORS, *FLOORS),
    facts=(VALVES, COVER, RUNNING, *facts_for(RIVALS)),
    cautions=("plumbing.scald",),
    sources=("en-442", "en-1264", "plumbing-floor-uneven"),
    status="trial",
    title="radiators and loops that stay cold",
)
