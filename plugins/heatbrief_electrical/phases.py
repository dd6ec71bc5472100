"""Three phases: a joint in one of them against unbalance, by the currents; and the neutral that is warm."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, Step, StepOutput, setting
from heatbrief.detect import Case, Criterion, conclude, figure, groups_of, number
from heatbrief.model import Finding, Quantity, Rival, Thermogram

from heatbrief_electrical import classes, rivals
from heatbrief_electrical.argued import STRONG, UNBALANCE, case_of, compared_finding, share_of
from heatbrief_electrical.compared import LIKE_LOAD, Compared, Member, compare, members_of
from heatbrief_electrical.limits import LIMIT_FACTS
from heatbrief_electrical.neutral import current_unbalance, neutral_finding
from heatbrief_electrical.parts import (
    ALWAYS,
    BREAKERS,
    CONDUCTORS,
    DOMAIN,
    FACTS,
    JOINTS,
    OTHERS,
    PHASE,
    air_near,
    cautions_for,
    gates_for,
    known,
    three_phases,
)

NAME = "electrical.phases"
SHOWS = (*BREAKERS, *JOINTS, *OTHERS, *CONDUCTORS)
ALIKE = 0.02
"""Currents that differ by more than this are allowed for: 2 % of current is 4 % of rise. Own choice."""
JOINT = (
    "The currents of the phases are alike, so the pattern is consistent with a joint or contact in that phase, not "
    "with unbalance."
)
BOTH = (
    "Its higher current does not explain it; the pattern is consistent with a joint or contact in that phase as well "
    "as unbalance."
)
LOWER = (
    "It carries no more current than the others, so the pattern is consistent with a joint or contact in that phase."
)


@dataclass(frozen=True)
class Settings:
    """Which published table gives the classes, and from when a difference counts."""

    table: classes.TwinTable = setting(
        "neta-similar",
        help="published table of classes by difference; its name is printed with each class",
        example="european-phases",
    )
    least: float = setting(
        3.0, unit="K", positive=True, help="least difference between phases that is reported", example="3 K"
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Judge every group that names its three phases."""
    findings: list[Finding] = []
    notes: list[str] = []
    for group, regions in groups_of(context, subject, SHOWS).items():
        named = three_phases(regions)
        if named is None:
            continue
        phases, empty = members_of(subject, [named[one] for one in ("L1", "L2", "L3")], context)
        notes.extend(f"{subject.id}, {name}: no pixel with a value in the region." for name in empty)
        if len(phases) < 3:
            continue
        found = _phase(subject, settings, context, phases)
        findings.extend(found)
        neutral = members_of(subject, [named["N"]], context)[0] if "N" in named else ()
        warm = neutral_finding(subject, settings.least, context, neutral[0], phases, NAME) if neutral else None
        findings.extend([warm] if warm is not None else [])
        if not found and warm is None:
            notes.append(
                f"{subject.id}, group {group}: no phase is {settings.least:g} K or more warmer than the others."
            )
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def pattern_of(phases: tuple[Member, ...], least: float) -> tuple[str, Compared | None]:
    """("joint" | "unbalance" | "unknown" | "not told apart" | "even", the phase it is about).

    joint            warmer than its current explains, bounds included
    unbalance        warmer, and its higher current explains it within the bounds
    unknown          warmer, currents not all given; not told apart: they differ and the air is not known
    """
    plain = compare(phases, like=float("inf"))
    warmest = max(plain, key=lambda one: (one.difference.value, one.member.region.name))
    if any(one.load_ratio is None for one in plain):
        return ("unknown", warmest) if warmest.difference.value >= least else ("even", None)
    allowed = compare(phases, like=ALIKE)
    told = all(one.corrected or abs((one.load_ratio or 0.0) - 1) <= ALIKE for one in allowed)
    if told:
        left = max(allowed, key=lambda one: (one.difference.value, one.member.region.name))
        if left.difference.value >= least and left.difference.low > 0:
            return "joint", left
        return ("unbalance", warmest) if warmest.difference.value >= least else ("even", None)
    if warmest.difference.value < least:
        return "even", None
    ratio = warmest.load_ratio or 0.0
    return ("joint", warmest) if ratio <= 1 + ALIKE else ("not told apart", warmest)


def _phase(subject: Thermogram, settings: Settings, context: Context, phases: tuple[Member, ...]) -> list[Finding]:
    kind, about = pattern_of(phases, settings.least)
    if about is None:
        return []
    off = current_unbalance(phases)
    if kind == "unbalance":
        return [_unbalanced(subject, settings, context, about, phases, off)]
    ratio = about.load_ratio
    alike = ratio is not None and abs(ratio - 1) <= LIKE_LOAD
    words = (JOINT if alike else BOTH if (ratio or 0) > 1 else LOWER) if kind == "joint" else _open_words(kind)
    found = compared_finding(
        subject,
        context,
        about,
        check=NAME,
        table=settings.table,
        least=settings.least,
        pattern=words,
        measured=known(current_unbalance=off),
        sources=("astm-e1934-patterns",),
        open_rival=None if kind == "joint" else more_current,
    )
    return [found]


def more_current(case: Case) -> Rival:
    """Where the currents do not tell, unbalance stays open."""
    return Rival(
        UNBALANCE, "not ruled out", "the currents of the three phases, or the air beside them, are not all known"
    )


def _open_words(kind: str) -> str:
    why = (
        "the currents are not all known"
        if kind == "unknown"
        else "the currents differ and the air beside the parts is not known"
    )
    return f"Whether it is a joint in that phase or unbalance cannot be told: {why}."


def _unbalanced(
    subject: Thermogram,
    settings: Settings,
    context: Context,
    about: Compared,
    phases: tuple[Member, ...],
    off: Quantity | None,
) -> Finding:
    region = about.member.region
    said = f"; the currents are unbalanced by {number(off.value, '1')}" if off is not None else ""
    loads = ", ".join(
        f"{one.region.name} {figure(one.load.amps or 0.0)} A" for one in phases if one.load.amps is not None
    )
    listed = f" Recorded: {loads}." if loads else ""
    return conclude(
        case_of(subject, context, about, NAME, settings.table, "unbalance"),
        title=f"{region.name}: warmer with its higher current",
        summary=f"{region.name} is {number(about.difference.value, 'K')} warmer than the other phases and carries more "
        f"current{said}.{listed} Its current explains the warmth, so the pattern is consistent with unbalanced loads, "
        "not with a joint.",
        criterion=Criterion(settings.least, because="smaller differences between phases are common (common practice)"),
        contrast=about.difference,
        gates=gates_for(context, region, load=False),
        rivals=("reflection", "shade or sun", rivals.other_finish, rivals.load_changed),
        strong=STRONG,
        severity="damage",
        at_most="plan",
        actions=("electrical.balance-loads",),
        cautions=cautions_for(context, region),
        sources=("astm-e1934-patterns", "nema-mg1"),
        measured=known(
            current_unbalance=off,
            rise_over_air=about.member.rise,
            load_share=share_of(about.member),
            air_temperature=air_near(context, region),
        ),
        shares=f"{subject.id}:{region.name}",
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=2,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=SHOWS,
    facts=(*FACTS, *LIMIT_FACTS, PHASE),
    summary="Tells a joint in one phase of three from unbalance by the currents, and a neutral warmed by harmonics or "
    "shared circuits.",
    reads=("conditions", "camera", "regions", "facts", "view"),
    cautions=ALWAYS,
    sources=(
        "neta-100-18",
        "rahne-limits",
        "astm-e1934-patterns",
        "ohm-joule",
        "nema-mg1",
        "load-exponent",
        "load-gate",
        "wind-table",
    ),
    title="three phases and the neutral",
)
