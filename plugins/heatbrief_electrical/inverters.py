"""Inverters and heat sinks in pairs, at the same sun and minute: rise for the power they carry, and the cold one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from heatbrief.api import Context, Step, StepOutput, propagated, setting
from heatbrief.detect import Criterion, conclude, figure, groups_of, number
from heatbrief.model import Finding, Quantity, Rival, Thermogram

from heatbrief_electrical import classes, rivals
from heatbrief_electrical.argued import CLASSED, case_of, stage_of
from heatbrief_electrical.compared import Compared, Member, TwinCase, compare, members_of
from heatbrief_electrical.parts import (
    ALWAYS,
    CONVERTERS,
    DOMAIN,
    FACTS,
    POWER,
    RATED_POWER,
    air_near,
    cautions_for,
    face_area,
    gates_for,
    known,
    plain,
)
from heatbrief_electrical.twin_words import class_words

NAME = "electrical.inverters"
STRONG = ("reflection", "shade or sun", rivals.LOAD, rivals.FINISH)
IDLE_K = 3.0
SETTING = "different air flow, mounting or sun"


@dataclass(frozen=True)
class Settings:
    """When two inverters count as different."""

    least: float = setting(
        5.0, unit="K", positive=True, help="least difference between like inverters that is reported", example="5 K"
    )
    table: classes.TwinTable = setting(
        "neta-similar", help="published table of classes by difference", example="neta-similar"
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Compare the inverters of every group of one picture."""
    findings: list[Finding] = []
    notes: list[str] = []
    for group, regions in groups_of(context, subject, CONVERTERS).items():
        members, empty = members_of(subject, regions, context)
        notes.extend(f"{subject.id}, {name}: no pixel with a value in the region." for name in empty)
        if len(members) < 2:
            notes.append(f"{subject.id}, group {group}: a comparison needs two units in one picture.")
            continue
        compared = compare(members)
        cold = [one for one in compared if is_off(one, settings)]
        odd = [] if cold else [one for one in compared if one.difference.value >= settings.least]
        findings.extend(_cold(subject, settings, context, one) for one in cold)
        findings.extend(_warm(subject, settings, context, one) for one in odd)
        if not cold and not odd:
            notes.append(
                f"{subject.id}, group {group}: no unit is {settings.least:g} K or more warmer than the others."
            )
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def is_off(compared: Compared, settings: Settings) -> bool:
    """About as warm as the air while a twin gives off heat. Judged without the loads: an idle unit has none."""
    own, others = compared.member.rise, [one for one in compared.others if one.rise is not None]
    apart = max((one.reading.values["mean"] - compared.member.reading.values["mean"] for one in others), default=0.0)
    return own is not None and own.value <= IDLE_K and apart >= settings.least


def same_setting(case: TwinCase) -> Rival | None:
    """A published study: case temperature follows air and module strongly, so only units of one place and minute
    compare.
    """
    outside_sun = case.conditions.sun
    held = (
        f"both are in one picture; sun on them is stated as {outside_sun}"
        if outside_sun
        else "both are in one picture; nothing is said about sun on them"
    )
    return Rival(
        SETTING,
        "ruled out" if outside_sun == "none" else "not testable",
        held,
        "" if outside_sun == "none" else "whether sun stands on either unit (`sun`)",
    )


def _warm(subject: Thermogram, settings: Settings, context: Context, compared: Compared) -> Finding:
    member = compared.member
    stage = stage_of(compared, settings.table)
    index = rise_index(compared)
    table = (
        classes.classed(compared.difference, settings.table, "mean of the unit over its twin, at the recorded load")
        if stage in CLASSED
        else None
    )
    said = class_words(table) if table is not None else "The load was low or not recorded, so no severity is given."
    ratio = (
        f" For its load its rise over the air is {figure(index.value)} times that of its twin."
        if index is not None
        else ""
    )
    return conclude(
        case_of(subject, context, compared, NAME, settings.table),
        title=f"{member.region.name}: warmer than its twin at the same load",
        summary=f"{member.region.name} is {number(compared.difference.value, 'K')} warmer than "
        f"{' and '.join(compared.against)} in the same picture, at {member.load.said}.{ratio} {said} The pattern is "
        "consistent with blocked cooling, a worn fan or a fault inside; some units lower their output when hot.",
        criterion=Criterion(
            settings.least,
            because="like units differ by a few kelvin with mounting and air flow (common practice)",
            sources=("microinverter-study",),
        ),
        gates=gates_for(context, member.region),
        rivals=("reflection", "shade or sun", rivals.higher_load, rivals.other_finish, same_setting),
        strong=STRONG,
        severity="damage",
        at_most="soon",
        actions=("electrical.clear-air-flow", "electrical.service-inverter"),
        cautions=cautions_for(context, member.region, "electrical.hot-surfaces"),
        sources=("microinverter-study", "inverter-derating"),
        measured=known(
            rise_over_air=member.rise,
            rise_for_load_over_twin=index,
            hottest_part_over_twin=compared.hottest,
            air_temperature=air_near(context, member.region),
            face_area=face_area(subject, member.region),
        ),
        classes=table.rows if table is not None else (),
        shares=f"{subject.id}:{member.region.name}",
    )


def rise_index(compared: Compared) -> Quantity | None:
    """Rise for each watt (else ampere) over the same of the coldest twin, with bounds; None without both loads and the
    air.
    """
    own = compared.member
    other = min(compared.others, key=lambda one: one.reading.values["mean"])
    power, theirs = output_of(own), output_of(other)
    if not power or not theirs or own.rise is None or other.rise is None or other.rise.low <= 0:
        return None
    apart = own.reading.values["mean"] - other.reading.values["mean"]
    words = "rise over the air for the power it carries, over the same of the twin"
    return (
        propagated(_index(apart, power[0], theirs[0]), "1", words, rise=other.rise) if power[1] == theirs[1] else None
    )


def output_of(member: Member) -> tuple[float, str] | None:
    """What a unit carries: its stated power [W], else its current [A]; None for neither or for nothing."""
    power = plain(member.region.facts.get(POWER.name))
    if power is not None and power > 0:
        return power, "W"
    return (member.load.amps, "A") if member.load.amps else None


def _index(apart: float, own: float, other: float) -> Callable[[float], float]:
    """The rises share their error of the air and the camera, so the twin's rise alone is moved."""
    return lambda rise: (rise + apart) / own / (rise / other)


def _cold(subject: Thermogram, settings: Settings, context: Context, compared: Compared) -> Finding:
    member = compared.member
    assert member.rise is not None  # `is_off` asks for it
    warmest: Member = max(compared.others, key=lambda one: one.reading.values["mean"])
    apart = Quantity.normal(
        member.reading.values["mean"] - warmest.reading.values["mean"],
        "K",
        (member.reading.standards["mean"] ** 2 + warmest.reading.standards["mean"] ** 2) ** 0.5,
        "mean of one region minus mean of another",
    )
    return conclude(
        case_of(subject, context, compared, NAME, settings.table, "cold"),
        title=f"{member.region.name}: as cold as the air while its twin works",
        summary=f"{member.region.name} is {number(member.rise.value, 'K')} over the air while {warmest.region.name} is "
        f"{number(warmest.rise.value if warmest.rise else 0.0, 'K')} over it. "
        "A unit that works gives off heat; the pattern is consistent with one that is off, has tripped or has no "
        "input.",
        criterion=Criterion(
            settings.least,
            because="like units differ by a few kelvin with mounting and air flow (common practice)",
            sources=("microinverter-study",),
        ),
        contrast=apart,
        gates=gates_for(context, member.region, load=False),
        rivals=("reflection", "shade or sun", rivals.other_finish, _switched_off),
        strong=("reflection", "shade or sun", rivals.FINISH, OFF),
        severity="damage",
        at_most="plan",
        actions=("electrical.read-inverter-display", "electrical.service-inverter"),
        cautions=cautions_for(context, member.region),
        sources=("microinverter-study",),
        measured=known(rise_over_air=member.rise, air_temperature=air_near(context, member.region)),
        shares=f"{subject.id}:{member.region.name}",
    )


OFF = "a unit that is meant to be off"


def _switched_off(case: TwinCase) -> Rival | None:
    """A stated load above 0 says it should work; 0 says it did not, though not why."""
    load = case.number("load")
    load = case.number(POWER.name) if load is None else load
    if load is None:
        return Rival(
            OFF,
            "not testable",
            "it is not stated whether the unit was meant to work",
            "the unit's display or its load at that minute (`load`)",
        )
    if load > 0:
        return Rival(OFF, "ruled out", "a load above 0 is stated for it")
    return Rival(OFF, "not ruled out", "a load of 0 is stated for it; it may have been switched off")


STEP = Step(
    name=NAME,
    stage="detect",
    version=3,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=CONVERTERS,
    facts=(*FACTS, POWER, RATED_POWER),
    summary="Compares like inverters and heat sinks of one picture: the warm one for its load, and the cold one that "
    "is off.",
    reads=("conditions", "camera", "regions", "facts", "view"),
    cautions=ALWAYS,
    sources=("microinverter-study", "inverter-derating", "neta-100-18", "load-gate"),
    title="like inverters",
)
