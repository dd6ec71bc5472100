"""Three phases and a neutral: a joint in one phase against unbalance, by the currents; and the neutral that is warm."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from heatbrief.api import Context, Step, StepOutput, propagated, setting
from heatbrief.detect import Case, Criterion, conclude, figure, groups_of, number
from heatbrief.model import Finding, Quantity, Rival, Thermogram
from heatbrief.physics import electrical

from heatbrief_electrical import classes, rivals
from heatbrief_electrical.argued import STRONG, UNBALANCE, case_of, compared_finding, share_of
from heatbrief_electrical.calculators import exponent_range, neutral_current, unbalance
from heatbrief_electrical.compared import LIKE_LOAD, Compared, Member, compare, members_of
from heatbrief_electrical.limits import LIMIT_FACTS
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
HARMONICS = "third harmonics, or a neutral that other circuits share"
LOOSE = "a poor contact in the neutral itself"


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
        warm = _neutral(subject, settings, context, neutral[0], phases) if neutral else None
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
    off = _current_unbalance(phases)
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


def _current_unbalance(phases: tuple[Member, ...]) -> Quantity | None:
    amps = [one.load.amps for one in phases if one.load.amps is not None]
    return None if len(amps) < len(phases) else unbalance(amps)


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


@dataclass(frozen=True)
class Neutral:
    """A neutral against its phases: the rise its vector-sum current explains, what is left over it [K], and what that
    suggests.

    current   neutral current that its warmth suggests if its contact is sound [A]; third: share of third harmonics in
              that
    """

    explained: Quantity
    excess: Quantity
    current: Quantity | None
    third: Quantity | None


def neutral_of(neutral: Member, phases: tuple[Member, ...]) -> Neutral | None:
    """None without the rises, or without the three currents.

    Rise and current go together as in the phases (the neutral as thick as they are), exponent 1.6 to 2.0.
    """
    amps = [one.load.amps for one in phases if one.load.amps]
    rises = [one.rise for one in phases if one.rise is not None and one.rise.value > 0]
    if neutral.rise is None or len(amps) < len(phases) or len(rises) < len(phases):
        return None
    rise, current = sorted(zip(rises, amps, strict=True), key=lambda pair: pair[0].value)[1]
    vector = neutral.load.amps or float(electrical.neutral_current(amps[0], amps[1], amps[2]))
    inputs = {"rise": rise, "exponent": exponent_range()}
    explained = propagated(
        lambda rise, exponent: rise * (vector / current) ** exponent, "K", "rise that its current explains", **inputs
    )
    excess = propagated(
        lambda own, rise, exponent: own - rise * (vector / current) ** exponent,
        "K",
        "rise beyond what its current explains",
        own=neutral.rise,
        **inputs,
    )
    if explained is None or excess is None:
        return None
    total = neutral_current(amps[0], amps[1], amps[2])
    suggested = propagated(
        lambda own, rise, exponent: current * (max(own, 0.0) / rise) ** (1 / exponent),
        "A",
        "current that its warmth suggests",
        own=neutral.rise,
        **inputs,
    )
    third = None
    if suggested is not None and total is not None:
        third = propagated(
            lambda suggested: (max(suggested**2 - total.value**2, 0.0) ** 0.5) / sum(amps),
            "1",
            "third harmonics that would make this current, as a share of the phase currents",
            suggested=suggested,
        )
    return Neutral(explained, excess, suggested, third)


def _neutral(
    subject: Thermogram, settings: Settings, context: Context, neutral: Member, phases: tuple[Member, ...]
) -> Finding | None:
    """A neutral that is warmer than the unbalance of its phases explains."""
    found, off = neutral_of(neutral, phases), _current_unbalance(phases)
    if found is None or found.excess.value < settings.least:
        return None
    region, given = neutral.region, neutral.load.amps is not None
    cause = LOOSE if given else HARMONICS
    said = "its recorded current" if given else "the vector sum of the phase currents"
    suggested = "" if found.current is None or given else f" Its warmth suggests about {figure(found.current.value)} A."
    balanced = " The phases are about balanced." if off is not None and off.value <= LIKE_LOAD else ""
    case = Case(NAME, DOMAIN, subject, context, region, None, neutral.reading, "electrical", "default", "neutral")
    return conclude(
        case,
        title=f"{region.name}: warmer than its current explains"
        if given
        else f"{region.name}: warm while the phases leave it little current",
        summary=f"{region.name} is {number(neutral.rise.value if neutral.rise else 0.0, 'K')} over the air; {said} "
        f"explains about {number(max(found.explained.value, 0.0), 'K')}.{balanced}{suggested} The pattern is "
        f"consistent with {cause}. Have its current measured.",
        criterion=Criterion(
            settings.least,
            because="smaller differences come from the exponent of rise against current",
            sources=("ohm-joule", "load-exponent"),
        ),
        contrast=found.excess,
        gates=gates_for(context, region, load=False),
        rivals=("reflection", rivals.neighbour_heat, _other_cause(given)),
        strong=("reflection", rivals.NEIGHBOUR),
        severity="safety",
        at_most="soon",
        actions=("electrical.measure-neutral",),
        cautions=cautions_for(context, region),
        sources=("astm-e1934-patterns",),
        measured=known(
            rise_over_air=neutral.rise,
            rise_its_current_explains=found.explained,
            current_that_its_warmth_suggests=None if given else found.current,
            third_harmonic_that_would_make_it=None if given else found.third,
            current_unbalance=off,
            air_temperature=air_near(context, region),
        ),
        shares=f"{subject.id}:{region.name}",
    )


def _other_cause(given: bool) -> Callable[[Case], Rival]:
    """The cause that the neutral's own current would tell from the one named."""

    def other(case: Case) -> Rival:
        if given:
            return Rival(HARMONICS, "ruled out", "its current was recorded and explains less than is seen")
        return Rival(
            LOOSE,
            "not testable",
            "the current of the neutral is not given",
            "the neutral's current (`load`), read by a licensed person",
        )

    other.__name__ = "other cause"
    return other


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
