"""Parts without a twin: rise over the air in a published table, and against the limit of terminals or insulation."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, Step, StepOutput, setting
from heatbrief.detect import Case, Criterion, conclude, figure, matches, number, own_regions, read_region
from heatbrief.detect.regions import fact_of
from heatbrief.model import Finding, Quantity, Region, Rival, Thermogram

from heatbrief_electrical import classes, limits, rivals
from heatbrief_electrical.argued import CLASSED, load_quantity, share_of
from heatbrief_electrical.calculators import life_factor
from heatbrief_electrical.compared import Member, members_of
from heatbrief_electrical.limits import LIMIT_FACTS, limit_for
from heatbrief_electrical.parts import (
    ALUMINIUM_YEARS,
    ALWAYS,
    CONDUCTORS,
    DOMAIN,
    FACTS,
    FUSES,
    JOINTS,
    OTHERS,
    OUTLETS,
    STEEL,
    YEAR_WIRED,
    air_near,
    cautions_for,
    face_area,
    gates_for,
    known,
    repair_for,
    wind_on,
)
from heatbrief_electrical.twin_words import BARE_METAL, class_words
from heatbrief_electrical.wind import MOST_M_S

NAME = "electrical.single"
SHOWS = (*JOINTS, *FUSES, *OTHERS, *CONDUCTORS, *STEEL)
ORDINARY = "ordinary warmth of a loaded part of its kind"
INDUCED = "The pattern is consistent with current induced in steel beside a single conductor (common practice)."
ALUMINIUM = (
    "In a house wired about 1965 to 1973 a warm cover plate is consistent with aluminium branch wiring: leave it in "
    "place, stop using the outlet and call a licensed electrician."
)
COVER_K = 3.0
"""A cover plate without load is as warm as the wall; from this rise on it is reported (common practice, own choice)."""


@dataclass(frozen=True)
class Settings:
    """Which published table gives the classes over air."""

    table: classes.AmbientTable = setting(
        "neta-ambient",
        help="published table of classes by rise over the air; its name is printed with each class",
        example="european-ambient",
    )
    least: float = setting(
        11.0,
        unit="K",
        positive=True,
        help="rise over the air from which a part without a twin is named; smaller ones are common in loaded parts",
        example="11 K",
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Judge every part that has no like part to be compared with."""
    regions = tuple(one for one in own_regions(context, subject) if is_single(one, own_regions(context, subject)))
    members, empty = members_of(subject, regions, context)
    notes = [f"{subject.id}, {name}: no pixel with a value in the region." for name in empty]
    findings = []
    for member in members:
        if member.rise is None:
            notes.append(
                f"{subject.id}, {member.region.name}: neither a like part to compare with nor the air beside it is "
                "known, so nothing is said."
            )
            continue
        stage = stage_of(member, settings, context)
        if stage not in CLASSED and member.rise.value < least_of(member.region, settings):
            notes.append(
                f"{subject.id}, {member.region.name}: not warm, but its load is unknown or low, so this says nothing "
                "about it at load."
            )
            continue
        findings.append(_finding(subject, settings, context, member, stage))
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def is_single(region: Region, regions: tuple[Region, ...]) -> bool:
    """Whether a region is such a part and has no like part in its group; lines are left to the check along
    conductors.
    """
    if region.shape == "line" or not region.shows or not matches(SHOWS, region.shows):
        return False
    return not region.group or not any(
        one.group == region.group and one.name != region.name and one.shape != "line" for one in regions
    )


def least_of(region: Region, settings: Settings) -> float:
    """Rise [K] from which the part is named: less for cover plates, which carry nothing themselves."""
    return min(COVER_K, settings.least) if matches(OUTLETS, region.shows) else settings.least


def stage_of(member: Member, settings: Settings, context: Context) -> str:
    """What load and wind allow."""
    wind = wind_on(context, member.region)
    found = classes.stage(member.load.share, settings.table)
    return "windy" if found in CLASSED and wind is not None and wind > MOST_M_S else found


def no_twin(case: Case) -> Rival:
    """Without a twin nothing tells a poor contact from a part that is always so warm."""
    return Rival(ORDINARY, "not ruled out", "no like part at like load is in the picture to compare it with")


def _finding(subject: Thermogram, settings: Settings, context: Context, member: Member, stage: str) -> Finding:
    region, rise, air = member.region, member.rise, air_near(context, member.region)
    if rise is None:
        raise ValueError("a part without a rise cannot be judged")
    held = limits.held(rise, member.load.share, limit_for(region, context, air))
    table = (
        classes.classed(rise, settings.table, "mean of the part over the air beside it; no comparison part")
        if stage in CLASSED and rise.value > 0
        else None
    )
    over = held is not None and held.margin.value < 0
    case = Case(
        NAME, DOMAIN, subject, context, region, None, member.reading, "electrical", classes.rule_set_for(settings.table)
    )
    bare = case.emissivity is not None and case.emissivity < 0.6
    words = (
        _opening(member, rise),
        _class_said(table, stage),
        _limit_said(held),
        _cause(region, context, rise, settings),
        BARE_METAL if bare else "",
    )
    urgency = limits.raised(
        table.urgency if table is not None else "soon" if matches(OUTLETS, region.shows) else "plan", held
    )
    return conclude(
        case,
        title=f"{region.name}: above what its load allows"
        if over
        else f"{region.name}: {figure(rise.value, 'K')} K over the air",
        summary=" ".join(one for one in words if one),
        criterion=_criterion(region, settings, held),
        contrast=rise,
        gates=gates_for(context, region),
        rivals=(
            "reflection",
            "shade or sun",
            rivals.neighbour_heat,
            *(() if over else (no_twin,)),
            rivals.load_changed,
        ),
        strong=("reflection", "shade or sun", rivals.NEIGHBOUR, ORDINARY),
        severity="safety",
        at_most=urgency,
        actions=_actions(region, context, stage),
        cautions=cautions_for(context, region),
        sources=("load-gate", *((held.limit.source,) if held else ())),
        measured=known(
            air_temperature=air,
            allowed_rise_at_this_load=held.allowed if held else None,
            margin_at_this_load=held.margin if held else None,
            margin_at_full_load=held.margin_full if held else None,
            rise_at_full_load=held.full if held else None,
            insulation_life_over_that_at_rating=_ageing(subject, context, region),
            load=load_quantity(member),
            load_share=share_of(member),
            face_area=face_area(subject, region),
        ),
        classes=(*(table.rows if table is not None else ()), *(limits.rows(held) if held is not None else ())),
        shares=f"{subject.id}:{region.name}",
        next_time=() if over else ("Have a like part at like load in the same picture (`group`).",),
    )


def _criterion(region: Region, settings: Settings, held: limits.Held | None) -> Criterion:
    """The limit at this load where one is stated; else the rise that is common in a loaded part."""
    if held is not None:
        return Criterion(
            held.allowed.value,
            because=f"what the limit allows at this load: {held.limit.said}",
            sources=(held.limit.source, "rated-rise"),
        )
    return Criterion(least_of(region, settings), because="smaller rises over the air are common (common practice)")


def _opening(member: Member, rise: Quantity) -> str:
    return (
        f"{member.region.name} is {number(rise.value, 'K')} over the air beside it at {member.load.said}. No "
        "comparison part."
    )


def _class_said(table: classes.Classed | None, stage: str) -> str:
    if table is not None:
        return f"{class_words(table)} A loaded part may be warm without a fault."
    why = {"unknown": "The load was not recorded", "windy": f"Above {MOST_M_S:g} m/s of wind the warmth is blown away"}
    return f"{why.get(stage, 'At so low a load little heat is made')}, so no severity is given."


def _limit_said(held: limits.Held | None) -> str:
    if held is None:
        return ""
    return (
        f"With the limit of the {held.limit.said} its load would allow {figure(held.allowed.low, 'K')} to "
        f"{number(held.allowed.high, 'K')}; at full load it could rise by {figure(held.full.low, 'K')} to "
        f"{number(held.full.high, 'K')}."
    )


def _cause(region: Region, context: Context, rise: Quantity, settings: Settings) -> str:
    if rise.value < least_of(region, settings):
        return ""
    if matches(STEEL, region.shows):
        return INDUCED
    if matches(OUTLETS, region.shows):
        return _outlet_words(region, context)
    return "The pattern is consistent with a poor contact or with a high load."


def _outlet_words(region: Region, context: Context) -> str:
    stated = fact_of(YEAR_WIRED.name, region, context)
    year = stated.value if isinstance(stated, Quantity) else None
    first, last = ALUMINIUM_YEARS
    if year is not None and not first <= year <= last:
        return "The pattern is consistent with a poor contact behind the plate or with a load plugged in."
    return ALUMINIUM


def _actions(region: Region, context: Context, stage: str) -> tuple[str, ...]:
    if matches(OUTLETS, region.shows):
        return ("electrical.check-outlet",)
    return (*(() if stage in CLASSED else ("electrical.record-load",)), repair_for(context, region))


def _ageing(subject: Thermogram, context: Context, region: Region) -> Quantity | None:
    """The ten-degree rule at the hottest place of an insulation whose rating is stated; None well below its rating."""
    reading, rating = read_region(subject, region), limits.insulation_rating(region, context)
    if reading is None or reading.peak is None or rating is None or not matches(CONDUCTORS, region.shows):
        return None
    return life_factor(reading.peak, rating)


STEP = Step(
    name=NAME,
    stage="detect",
    version=2,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=SHOWS,
    facts=(*FACTS, *LIMIT_FACTS, YEAR_WIRED),
    summary="Parts without a twin: rise over the air in a published table, and against the limit of terminals or "
    "insulation.",
    reads=("conditions", "camera", "regions", "facts", "view"),
    cautions=ALWAYS,
    sources=(
        "neta-100-18",
        "rahne-limits",
        "ul-489",
        "iec-60694",
        "iec-61439",
        "iec-60947",
        "nec-110-14",
        "rated-rise",
        "ten-degree-rule",
        "cpsc-516",
        "single-conductor-steel",
        "load-gate",
    ),
    title="parts without a twin",
)
