"""Like parts of one group that carry like loads: breakers, joints, connectors, fuses and the like."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, Step, StepOutput, setting
from heatbrief.detect import Criterion, conclude, groups_of, matches, number
from heatbrief.model import Finding, Quantity, Thermogram
from heatbrief.physics.electrical import load_gate

from heatbrief_electrical import classes, rivals
from heatbrief_electrical.compared import LIKE_LOAD, Compared, Member, TwinCase, compare, members_of
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
    face_area,
    gates_for,
    known,
    repair_for,
)
from heatbrief_electrical.twin_words import BARE_METAL, class_rows, cold_words, warm_words

NAME = "electrical.twins"
SHOWS = (*BREAKERS, *JOINTS, *FUSES, *OTHERS, *CONDUCTORS)
RIVALS = ("reflection", "shade or sun", rivals.higher_load, rivals.other_finish, rivals.neighbour_heat, rivals.ordinary_spread, rivals.load_changed)
STRONG = ("reflection", "shade or sun", rivals.LOAD, rivals.FINISH, rivals.NEIGHBOUR, rivals.SPREAD)
IDLE_K = 2.0


@dataclass(frozen=True)
class Settings:
    """Which published table gives the classes, and from when a difference counts."""

    table: classes.TwinTable = setting(
        "neta-similar",
        help="published table of classes by difference; no table is the standard for every property, so its name is printed with each class",
        example="neta-similar",
    )
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
        cold = [one for one in compare(members) if _is_cold_fuse(one) and one.difference.value <= -settings.least]
        findings.extend(_finding(subject, settings, context, group, one) for one in cold)
        compared = compare(_comparable(members, cold))
        if not compared:
            continue
        apart = [one for one in compared if not comparable(one)]
        if apart:
            notes.append(
                f"{subject.id}, group {group}: {', '.join(one.member.region.name for one in apart)} carried another load than the twins and could not be corrected to it: "
                "not compared."
            )
            continue
        odd = [one for one in compared if one.difference.value >= least_for(settings, stage_of(one))]
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


def _comparable(members: tuple[Member, ...], cold: list[Compared]) -> tuple[Member, ...]:
    """Without cold fuses, and without idle parts where two loaded ones are left: an idle part would make its loaded twins look warm."""
    left = tuple(one for one in members if all(one is not found.member for found in cold))
    loaded = tuple(one for one in left if load_gate(one.load.share) in ("classed", "low load"))
    known = all(one.load.share is not None for one in left)
    return loaded if known and len(loaded) >= 2 else left


def comparable(compared: Compared) -> bool:
    """False where the loads are known to differ and the difference could not be corrected for it, as beside an idle twin."""
    return compared.load_ratio is None or compared.corrected or abs(compared.load_ratio - 1) <= LIKE_LOAD


def _is_cold_fuse(compared: Compared) -> bool:
    """A fuse near the temperature of the air while its twins are warm."""
    member = compared.member
    near_air = member.rise is not None and member.rise.low <= IDLE_K
    warm_twins = any(one.rise is not None and one.rise.low > IDLE_K for one in compared.others)
    return matches(FUSES, member.region.shows) and compared.difference.value < 0 and near_air and warm_twins


def _finding(subject: Thermogram, settings: Settings, context: Context, group: str, compared: Compared) -> Finding:
    region, stage = compared.member.region, stage_of(compared)
    case = TwinCase(
        check=NAME,
        domain=DOMAIN,
        subject=subject,
        context=context,
        region=region,
        reading=compared.member.reading,
        purpose="electrical",
        rule_set=classes.rule_set_for(settings.table),
        compared=compared,
    )
    full = classes.at_full_load(compared.difference, compared.member.load.share) if stage != "unknown" and compared.member.load.share else None
    cold = compared.difference.value < 0
    full = full if stage in ("classed", "low load") and not cold else None
    rows, urgency, likely = class_rows(compared, settings.table, stage, full)
    bare = case.emissivity is not None and case.emissivity < 0.6
    return conclude(
        case,
        title=f"{region.name}: {'colder' if cold else 'warmer'} than its twin" + ("s" if len(compared.others) > 1 else ""),
        summary=cold_words(compared) if cold else " ".join([warm_words(compared, stage, likely, full), *([BARE_METAL] if bare else [])]),
        criterion=Criterion(
            least_for(settings, stage),
            because="smaller differences are not classed by the table in use"
            if rows
            else "smaller differences between like parts are common (common practice)",
            sources=classes.table_sources(settings.table) if rows else (),
        ),
        gates=gates_for(context, region, load=not cold),
        rivals=RIVALS,
        strong=STRONG,
        severity="safety",
        at_most=urgency,
        actions=(*(() if stage in ("classed", "low load") else ("electrical.record-load",)), repair_for(context, region)),
        cautions=cautions_for(context, region),
        sources=("load-gate",),
        measured=known(
            hottest_part_over_twin=compared.hottest,
            rise_over_air=compared.member.rise,
            air_temperature=air_near(context, region),
            difference_at_full_load=full,
            load_share=_share(compared.member),
            face_area=face_area(subject, region),
        ),
        classes=rows,
        shares=f"{subject.id}:{region.name}",
    )


def _share(member: Member) -> Quantity | None:
    return None if member.load.share is None else Quantity.exact(member.load.share, "1", "load over rating, as stated")


def _calm(subject: Thermogram, settings: Settings, context: Context, group: str, compared: tuple[Compared, ...]) -> tuple[list[Finding], list[str]]:
    """A group in which nothing stands out: said to be normal only at a known load of 40 % or more."""
    warmest = max(compared, key=lambda one: (one.difference.value, one.member.region.name))
    stage, member = stage_of(warmest), warmest.member
    if stage not in ("classed", "low load"):
        why = "their load is not known" if stage == "unknown" else "they carried less than 40 % of their rating"
        return [], [f"{subject.id}, group {group}: no part stands out, but {why}, so this says nothing about them at load."]
    case = TwinCase(
        check=NAME,
        domain=DOMAIN,
        subject=subject,
        context=context,
        region=member.region,
        reading=member.reading,
        purpose="electrical",
        rule_set=classes.rule_set_for(settings.table),
        compared=warmest,
    )
    rise = f" Its rise of {number(member.rise.value, 'K')} over the air is common for a loaded part." if member.rise is not None else ""
    finding = conclude(
        case,
        title=f"{group}: alike at like load",
        summary=f"The warmest, {member.region.name}, differs from its twin by {number(abs(warmest.difference.value), 'K')} at {member.load.said}.{rise} "
        "Loaded and warm is normal; nothing to do from this picture.",
        criterion=Criterion(
            least_for(settings, stage),
            because="smaller differences are not classed by the table in use",
            sources=classes.table_sources(settings.table),
        ),
        gates=gates_for(context, member.region),
        rivals=(rivals.higher_load, rivals.other_finish, rivals.ordinary_spread),
        strong=STRONG,
        severity="safety",
        at_most="watch",
        actions=("electrical.repeat-at-load",),
        cautions=cautions_for(context, member.region),
        measured=known(rise_over_air=member.rise, load_share=_share(member)),
        shares=f"{subject.id}:{member.region.name}",
    )
    return [finding], []


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=SHOWS,
    facts=FACTS,
    summary="Compares like parts of one group at like load and puts the difference in a published table of classes, with probabilities.",
    reads=("conditions", "camera", "regions", "facts", "view"),
    cautions=("electrical.panels", "electrical.arc-flash", "electrical.photovoltaics"),
    sources=(
        "neta-100-18",
        "mil-std-2194",
        "practice-tables",
        "rahne-limits",
        "inspection-body",
        "epri-guide",
        "load-gate",
        "rated-rise",
        "load-exponent",
    ),
)
