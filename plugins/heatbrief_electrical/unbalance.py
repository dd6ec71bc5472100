"""Unbalance of voltages and currents that a licensed person has read, against published limits. No picture is
judged.
"""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, FactSpec, Step, StepOutput, setting
from heatbrief.detect import Case, Criterion, conclude, figure, matches, own_regions
from heatbrief.detect.regions import fact_of
from heatbrief.model import Finding, Quantity, Region, Thermogram
from heatbrief.physics import electrical

from heatbrief_electrical.calculators import life_factor, unbalance, winding_rise_more
from heatbrief_electrical.motors import WINDING
from heatbrief_electrical.parts import ALWAYS, DOMAIN, FACTS, MOTORS, cautions_for, known, load_of

NAME = "electrical.unbalance"
AT_MOTOR, AT_SERVICE, NOT_ABOVE = 0.01, 0.03, 0.05
"""Voltage unbalance: MG-1 at a motor, C84.1 at the service [seen: S17a], and the most a motor is run with [seen: S18].
"""
RATED_SHARE = 0.9
"""The ten-degree rule is used only at about rated load or more, where the winding is near its rating. Own choice."""
VOLTAGES = tuple(
    FactSpec(f"voltage {one}", f"voltage {one} of three, read by a licensed person", unit="V", example="400 V")
    for one in (1, 2, 3)
)
CURRENTS = tuple(
    FactSpec(f"current {one}", f"current {one} of three, read by a licensed person", unit="A", example="12 A")
    for one in (1, 2, 3)
)


@dataclass(frozen=True)
class Settings:
    """The limits."""

    motor: float = setting(
        AT_MOTOR,
        unit="1",
        low=0.001,
        high=0.2,
        help="voltage unbalance at a motor from which it is named",
        example="1 %",
    )
    service: float = setting(
        AT_SERVICE, unit="1", low=0.001, high=0.2, help="voltage unbalance at a service or panel", example="3 %"
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """One finding for every region, and for the picture, whose three voltages are given."""
    places: list[Region | None] = [
        one for one in own_regions(context, subject) if all(spec.name in one.facts for spec in VOLTAGES)
    ]
    if not places and all(spec.name in context.facts for spec in VOLTAGES):
        places = [None]
    found = (_finding(subject, settings, context, one) for one in places)
    return StepOutput(findings=tuple(one for one in found if one is not None))


def _read(specs: tuple[FactSpec, ...], region: Region | None, context: Context) -> list[Quantity] | None:
    values = [fact_of(one.name, region, context) for one in specs]
    good = [one for one in values if isinstance(one, Quantity) and one.value > 0]
    return good if len(good) == len(specs) else None


def _finding(subject: Thermogram, settings: Settings, context: Context, region: Region | None) -> Finding | None:
    voltages, currents = _read(VOLTAGES, region, context), _read(CURRENTS, region, context)
    off = unbalance(voltages) if voltages is not None else None
    if voltages is None or off is None:
        return None
    motor = region is not None and matches(MOTORS, region.shows)
    limit, who = (settings.motor, "NEMA MG-1 at a motor") if motor else (settings.service, "ANSI C84.1 at a service")
    place = region.name if region is not None else context.view.shows or subject.id
    amps = unbalance(currents) if currents is not None else None
    more = winding_rise_more(off) if motor else None
    said = f" The currents are unbalanced by {_percent(amps)}." if amps is not None else ""
    said += f" The winding would rise about {_percent(more)} more (rule from memory)." if more is not None else ""
    stop = (
        f" Above {100 * NOT_ABOVE:.0f} % motors are not run; call the electrician."
        if motor and off.value > NOT_ABOVE
        else ""
    )
    return conclude(
        Case(NAME, DOMAIN, subject, context, region, purpose="electrical"),
        title=f"{place}: voltages unbalanced by {_percent(off)}",
        summary=f"The three voltages read at {place} are {', '.join(figure(one.value) for one in voltages)} V: the one "
        f"farthest from their mean is off by {_percent(off)}. {who}, {100 * limit:g} % is the limit.{said}{stop} "
        "Unbalance is consistent with single-phase loads spread unevenly, or with a poor contact upstream.",
        criterion=Criterion(limit, "1", because=f"limit of {who}, as quoted", sources=("nema-mg1",)),
        contrast=off,
        severity="damage",
        at_most="soon" if motor and off.value > NOT_ABOVE else "plan",
        actions=("electrical.balance-loads",),
        cautions=cautions_for(context, region),
        sources=("unbalance-limits", *(("ten-degree-rule",) if _ageing(region, context, off) else ())),
        measured=known(
            voltage_unbalance=off,
            current_unbalance=amps,
            winding_rise_increase=more,
            insulation_life_over_that_at_rating=_ageing(region, context, off) if motor else None,
        ),
        shares=f"{subject.id}:{place}:unbalance",
    )


def _percent(share: Quantity) -> str:
    return f"{100 * share.value:.2g} %"


def _ageing(region: Region | None, context: Context, off: Quantity) -> Quantity | None:
    """The ten-degree rule for the extra rise, only for a winding of known class at about its rated load."""
    stated = region.facts.get(WINDING.name) if region is not None else None
    row = next((one for one in electrical.limits("motor_winding") if one["part"] == f"class {stated}"), None)
    share = load_of(region, context).share if region is not None else None
    more = winding_rise_more(off)
    if row is None or more is None or share is None or share < RATED_SHARE:
        return None
    return life_factor(more.scaled(float(row["rise"]), "K"), 0.0)


STEP = Step(
    name=NAME,
    stage="detect",
    version=2,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=(*MOTORS, "panel", "breaker panel", "switchboard", "service", "disconnect"),
    facts=(*FACTS, WINDING, *VOLTAGES, *CURRENTS),
    summary="Works out the unbalance of three voltages and currents that a licensed person has read, and what it "
    "means for a motor.",
    reads=("regions", "facts", "view", "conditions"),
    unscaled=True,
    cautions=ALWAYS,
    sources=("nema-mg1", "unbalance-limits", "nema-mg1-classes", "ten-degree-rule"),
    title="unbalance of voltages and currents",
)
