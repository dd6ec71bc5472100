"""Like parts of one group that carry like loads: breakers, joints, connectors, fuses and the like."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, Step, StepOutput, setting
from heatbrief.detect import Criterion, conclude, groups_of, matches, number
from heatbrief.model import Finding, Thermogram
from heatbrief.physics.electrical import load_gate

from heatbrief_electrical import classes, rivals
from heatbrief_electrical.argued import CLASSED, STRONG, case_of, compared_finding, least_for, share_of, stage_of
from heatbrief_electrical.compared import LIKE_LOAD, Compared, Member, compare, members_of
from heatbrief_electrical.limits import LIMIT_FACTS
from heatbrief_electrical.parts import (
    ALWAYS,
    BREAKERS,
    CONDUCTORS,
    DOMAIN,
    FACTS,
    FUSES,
    JOINTS,
    OTHERS,
    PHASE,
    cautions_for,
    gates_for,
    known,
    three_phases,
)

NAME = "electrical.twins"
SHOWS = (*BREAKERS, *JOINTS, *FUSES, *OTHERS, *CONDUCTORS)
IDLE_K = 2.0


@dataclass(frozen=True)
class Settings:
    """Which published table gives the classes, and from when a difference counts."""

    table: classes.TwinTable = setting(
        "neta-similar",
        help="published table of classes by difference; no table is the standard for every property, so its name is "
        "printed with each class",
        example="neta-similar",
    )
    least: float = setting(
        1.0, unit="K", positive=True, help="least difference between like parts that is reported", example="1 K"
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Compare the parts of every group. Lines are left to the check along conductors."""
    findings: list[Finding] = []
    notes: list[str] = []
    for group, regions in groups_of(context, subject, SHOWS).items():
        parts = tuple(region for region in regions if region.shape != "line")
        if three_phases(parts) is not None:
            continue
        members, empty = members_of(subject, parts, context)
        notes.extend(f"{subject.id}, {name}: no pixel with a value in the region." for name in empty)
        if len(members) < 2:
            if parts:
                notes.append(
                    f"{subject.id}, group {group}: a comparison needs two parts or more with values in one picture."
                )
            continue
        cold = [one for one in compare(members) if _is_cold_fuse(one) and one.difference.value <= -settings.least]
        findings.extend(_finding(subject, settings, context, one) for one in cold)
        compared = compare(_comparable(members, cold))
        if not compared:
            continue
        apart = [one for one in compared if not comparable(one)]
        if apart:
            notes.append(
                f"{subject.id}, group {group}: {', '.join(one.member.region.name for one in apart)} carried another "
                "load than the twins and could not be corrected to it: not compared."
            )
            continue
        odd = [
            one
            for one in compared
            if one.difference.value >= least_for(settings.least, settings.table, stage_of(one, settings.table))
        ]
        findings.extend(_finding(subject, settings, context, one) for one in odd)
        if not odd:
            calm = _calm(subject, settings, context, group, compared)
            findings.extend(calm[0])
            notes.extend(calm[1])
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def _comparable(members: tuple[Member, ...], cold: list[Compared]) -> tuple[Member, ...]:
    """Without cold fuses, and without idle parts where two loaded ones are left: an idle part would make its loaded
    twins look warm.
    """
    left = tuple(one for one in members if all(one is not found.member for found in cold))
    loaded = tuple(one for one in left if load_gate(one.load.share) in ("classed", "low load"))
    known = all(one.load.share is not None for one in left)
    return loaded if known and len(loaded) >= 2 else left


def comparable(compared: Compared) -> bool:
    """False where the loads are known to differ and the difference could not be corrected for it, as beside an idle
    twin.
    """
    return compared.load_ratio is None or compared.corrected or abs(compared.load_ratio - 1) <= LIKE_LOAD


def _is_cold_fuse(compared: Compared) -> bool:
    """A fuse near the temperature of the air while its twins are warm."""
    member = compared.member
    near_air = member.rise is not None and member.rise.low <= IDLE_K
    warm_twins = any(one.rise is not None and one.rise.low > IDLE_K for one in compared.others)
    return matches(FUSES, member.region.shows) and compared.difference.value < 0 and near_air and warm_twins


def _finding(subject: Thermogram, settings: Settings, context: Context, compared: Compared) -> Finding:
    return compared_finding(subject, context, compared, check=NAME, table=settings.table, least=settings.least)


def _calm(
    subject: Thermogram, settings: Settings, context: Context, group: str, compared: tuple[Compared, ...]
) -> tuple[list[Finding], list[str]]:
    """A group in which nothing stands out: said to be normal only at a known load of 40 % or more."""
    warmest = max(compared, key=lambda one: (one.difference.value, one.member.region.name))
    stage, member = stage_of(warmest, settings.table), warmest.member
    if stage not in CLASSED:
        least = number(classes.least_load(settings.table), "1")
        why = "their load is not known" if stage == "unknown" else f"they carried less than {least} of their rating"
        return [], [
            f"{subject.id}, group {group}: no part stands out, but {why}, so this says nothing about them at load."
        ]
    case = case_of(subject, context, warmest, NAME, settings.table)
    rise = (
        f" Its rise of {number(member.rise.value, 'K')} over the air is common for a loaded part."
        if member.rise is not None
        else ""
    )
    finding = conclude(
        case,
        title=f"{group}: alike at like load",
        summary=f"The warmest, {member.region.name}, differs from its twin by "
        f"{number(abs(warmest.difference.value), 'K')} at {member.load.said}.{rise} Loaded and warm is normal; nothing "
        "to do from this picture.",
        criterion=Criterion(
            least_for(settings.least, settings.table, stage),
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
        measured=known(rise_over_air=member.rise, load_share=share_of(member)),
        shares=f"{subject.id}:{member.region.name}",
    )
    return [finding], []


STEP = Step(
    name=NAME,
    stage="detect",
    version=3,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=SHOWS,
    facts=(*FACTS, *LIMIT_FACTS, PHASE),
    summary="Compares like parts of one group at like load and puts the difference in a published table of classes, "
    "with probabilities.",
    reads=("conditions", "camera", "regions", "facts", "view"),
    cautions=ALWAYS,
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
    title="like parts at like load",
)
