"""Like parts of one group that carry like loads: breakers, joints, connectors, fuses and the like."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, Step, StepOutput, setting
from heatbrief.detect import Criterion, conclude, figure, groups_of, matches, number
from heatbrief.model import Finding, Quantity, Thermogram
from heatbrief.model.finding import Urgency
from heatbrief.physics.electrical import load_gate

from heatbrief_electrical import classes, rivals
from heatbrief_electrical.compared import Compared, Member, TwinCase, compare, members_of
from heatbrief_electrical.parts import (
    BREAKERS,
    CONDUCTORS,
    DOMAIN,
    FACTS,
    FUSES,
    JOINTS,
    OTHERS,
    air_near,
    cautions_for,
    gates_for,
    known,
    repair_for,
)

NAME = "electrical.twins"
SHOWS = (*BREAKERS, *JOINTS, *FUSES, *OTHERS, *CONDUCTORS)
RIVALS = ("reflection", "shade or sun", rivals.higher_load, rivals.other_finish, rivals.neighbour_heat, rivals.ordinary_spread, rivals.load_changed)
STRONG = ("reflection", "shade or sun", rivals.LOAD, rivals.FINISH, rivals.NEIGHBOUR, rivals.SPREAD)
IDLE_K = 2.0
BARE_METAL = ("Bare metal: the shown temperatures are probably too low and the true difference larger. It can be read only on a surface of paint, tape or "
              "another dull coat, which a licensed electrician can provide with the part made dead.")


@dataclass(frozen=True)
class Settings:
    """Which published table gives the classes, and from when a difference counts."""

    table: classes.TwinTable = setting(
        "neta-similar", help="published table of classes by difference; no table is the standard for every property, so its name is printed with each class",
        example="neta-similar")
    least: float = setting(1.0, unit="K", positive=True, help="least difference between like parts that is reported", example="1 K")


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Compare the parts of every group. Lines are left to the check along conductors."""
    findings: list[Finding] = []
    notes: list[str] = []
    for group, regions in groups_of(context, subject, SHOWS).items():
        parts = tuple(region for region in regions if region.shape != "line")
        members, empty = members_of(subject, parts, context)
        notes.extend(f"{subject.id}, {name}: no pixel with a value in the region." for name in empty)
        if len(members) < 2:
            if parts:
                notes.append(f"{subject.id}, group {group}: a comparison needs two parts or more with values in one picture.")
            continue
        compared = compare(members)
        odd = [one for one in compared if _stands_out(one, settings)]
        findings.extend(_finding(subject, settings, context, group, one) for one in odd)
        if not odd:
            calm = _calm(subject, settings, context, group, compared)
            findings.extend(calm[0])
            notes.extend(calm[1])
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def stage_of(compared: Compared) -> str:
    """What the loads of a part and its twins allow: "unknown", "pattern only", "low load" or "classed"; the least of them counts."""
    order = ("unknown", "pattern only", "low load", "classed")
    return min((load_gate(one.load.share) for one in (compared.member, *compared.others)), key=order.index)


def least_for(settings: Settings, stage: str) -> float:
    """Difference [K] from which a comparison counts: the start of the table where it gives a class, else the setting."""
    return max(settings.least, classes.first_band(settings.table)) if stage in ("classed", "low load") else settings.least


def _stands_out(compared: Compared, settings: Settings) -> bool:
    """Warmer than its twins; a fuse also when it is colder, because an open one carries nothing."""
    least = least_for(settings, stage_of(compared))
    return compared.difference.value >= least or (_is_cold_fuse(compared) and compared.difference.value <= -least)


def _is_cold_fuse(compared: Compared) -> bool:
    """A fuse near the temperature of the air while its twins are warm."""
    member = compared.member
    near_air = member.rise is not None and member.rise.low <= IDLE_K
    warm_twins = any(one.rise is not None and one.rise.low > IDLE_K for one in compared.others)
    return matches(FUSES, member.region.shows) and compared.difference.value < 0 and near_air and warm_twins


def _finding(subject: Thermogram, settings: Settings, context: Context, group: str, compared: Compared) -> Finding:
    region, stage = compared.member.region, stage_of(compared)
    case = TwinCase(check=NAME, domain=DOMAIN, subject=subject, context=context, region=region, reading=compared.member.reading,
                    purpose="electrical", rule_set=classes.rule_set_for(settings.table), compared=compared)
    full = classes.at_full_load(compared.difference, compared.member.load.share) if stage != "unknown" and compared.member.load.share else None
    full = full if stage in ("classed", "low load") else None
    rows, urgency, likely = class_rows(compared, settings.table, stage, full)
    cold = compared.difference.value < 0
    bare = case.emissivity is not None and case.emissivity < 0.6
    return conclude(
        case, title=f"{region.name}: {'colder' if cold else 'warmer'} than its twin" + ("s" if len(compared.others) > 1 else ""),
        summary=_cold_words(compared) if cold else " ".join([_words(compared, stage, likely, full), *([BARE_METAL] if bare else [])]),
        criterion=Criterion(least_for(settings, stage), because="smaller differences are not classed by the table in use" if rows else
                            "smaller differences between like parts are common (common practice)",
                            sources=classes.table_sources(settings.table) if rows else ()),
        gates=gates_for(context, region), rivals=RIVALS, strong=STRONG, severity="safety", at_most=urgency,
        actions=(*(() if stage in ("classed", "low load") else ("electrical.record-load", "electrical.repeat-at-load")), repair_for(context, region)),
        cautions=cautions_for(context, region), sources=("load-gate",),
        measured=known(
            hottest_part_over_twin=compared.hottest, rise_over_air=compared.member.rise, air_temperature=air_near(context, region),
            difference_at_full_load=full, load_share=_share(compared.member)),
        classes=rows, shares=f"{subject.id}:{region.name}")


def class_rows(compared: Compared, table: str, stage: str, full: Quantity | None):
    """(rows, highest urgency, words about the likeliest class) of a comparison; no rows and no class without a load of 40 % or more.

    The mean difference sets the urgency; it is one step more urgent when the hottest part or full load falls in a more severe class.
    """
    if stage not in ("classed", "low load") or compared.difference.value < 0:
        return (), _pattern_urgency(compared), ""
    note = "low load" if stage == "low load" else ""
    first = classes.classed(compared.difference, table, "mean of the part over its twin, at the recorded load", note)
    more = [] if compared.hottest is None or compared.hottest.value <= 0 else [
        classes.classed(compared.hottest, table, "hottest part over the twin's hottest part, at the recorded load", note)]
    more += [] if full is None else [classes.classed(full, table, "mean of the part over its twin, extrapolated to full load", note)]
    urgency = classes.more_urgent(first.urgency) if first.severe and any(one.severe > first.severe for one in more) else first.urgency
    name = first.rows[0]["table"]
    likely = f"In the table \"{name}\" this falls in the class \"{first.likely}\" (probability {classes.percent(first.probability)}); other tables class it otherwise."
    return (*first.rows, *(row for one in more for row in one.rows)), urgency, likely


def _pattern_urgency(compared: Compared) -> Urgency:
    return "soon" if abs(compared.difference.value) > rivals.ORDINARY_K else "watch"


def _share(member: Member) -> Quantity | None:
    return None if member.load.share is None else Quantity.exact(member.load.share, "1", "load over rating, as stated")


def _words(compared: Compared, stage: str, likely: str, full: Quantity | None) -> str:
    member, against = compared.member, " and ".join(compared.against)
    said = f"{member.region.name} is {number(compared.difference.value, 'K')} warmer than {against} at {member.load.said}"
    said += ", with the difference in their loads allowed for." if compared.corrected else "."
    if stage in ("unknown", "pattern only"):
        why = "The load was not recorded" if stage == "unknown" else "At less than 40 % load little heat is made"
        return f"{said} {why}, so no severity is given: only the pattern is reported, which is consistent with a poor contact or with a higher load."
    parts = [said, likely]
    if stage == "low load":
        parts.append("The load was low (40 to 50 %), so the figure for full load is wide.")
    if full is not None and full.value > compared.difference.value * 1.02:
        parts.append(f"At full load the difference could be {figure(full.low, 'K')} to {number(full.high, 'K')}.")
    return " ".join([*parts, "The pattern is consistent with a poor contact in or at this part. A licensed electrician should test it."])


def _cold_words(compared: Compared) -> str:
    against = " and ".join(compared.against)
    return (f"{compared.member.region.name} is {number(-compared.difference.value, 'K')} colder than {against} and about as warm as the air. "
            "The pattern is consistent with a fuse that is open or carries no load.")


def _calm(subject: Thermogram, settings: Settings, context: Context, group: str, compared: tuple[Compared, ...]) -> tuple[list[Finding], list[str]]:
    """A group in which nothing stands out: said to be normal only at a known load of 40 % or more."""
    warmest = max(compared, key=lambda one: (one.difference.value, one.member.region.name))
    stage, member = stage_of(warmest), warmest.member
    if stage not in ("classed", "low load"):
        why = "their load is not known" if stage == "unknown" else "they carried less than 40 % of their rating"
        return [], [f"{subject.id}, group {group}: no part stands out, but {why}, so this says nothing about them at load."]
    case = TwinCase(check=NAME, domain=DOMAIN, subject=subject, context=context, region=member.region, reading=member.reading,
                    purpose="electrical", rule_set=classes.rule_set_for(settings.table), compared=warmest)
    rise = f" Its rise of {number(member.rise.value, 'K')} over the air is common for a loaded part." if member.rise is not None else ""
    finding = conclude(
        case, title=f"{group}: alike at like load",
        summary=f"The warmest, {member.region.name}, differs from its twin by {number(abs(warmest.difference.value), 'K')} at {member.load.said}.{rise} "
                "Loaded and warm is normal; nothing to do from this picture.",
        criterion=Criterion(least_for(settings, stage), because="smaller differences are not classed by the table in use",
                            sources=classes.table_sources(settings.table)),
        gates=gates_for(context, member.region), rivals=(rivals.higher_load, rivals.other_finish, rivals.ordinary_spread),
        strong=STRONG, severity="safety", at_most="watch", actions=("electrical.repeat-at-load",), cautions=cautions_for(context, member.region),
        measured=known(rise_over_air=member.rise, load_share=_share(member)), shares=f"{subject.id}:{member.region.name}")
    return [finding], []


STEP = Step(
    name=NAME, stage="detect", version=1, run=run, settings=Settings, domain=DOMAIN, status="trial", shows=SHOWS, facts=FACTS,
    summary="Compares like parts of one group at like load and puts the difference in a published table of classes, with probabilities.",
    reads=("conditions", "camera", "regions", "facts", "view"), cautions=("electrical.panels", "electrical.arc-flash", "electrical.photovoltaics"),
    sources=("neta-100-18", "mil-std-2194", "practice-tables", "rahne-limits", "inspection-body", "epri-guide", "load-gate", "rated-rise", "load-exponent"))
