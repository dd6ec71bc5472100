"""Along a conductor: heat that falls off from an end points to a contact, even warmth along the length to load."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from heatbrief.api import Context, Step, StepOutput, setting
from heatbrief.detect import Case, Criterion, conclude, difference, groups_of, matches, number, own_regions, read_region
from heatbrief.model import Finding, Quantity, Region, Rival, Thermogram
from heatbrief.model.finding import RivalStatus
from heatbrief.physics.electrical import load_gate

from heatbrief_electrical import rivals
from heatbrief_electrical.parts import (
    ALWAYS,
    CONDUCTORS,
    DOMAIN,
    FACTS,
    JOINTS,
    air_near,
    cautions_for,
    gates_for,
    known,
    load_of,
    repair_for,
    rise_over,
)
from heatbrief_electrical.profile import Decay, Profile, fit_decay, profile_of

NAME = "electrical.joint"
SHAPE = "an even rise along the whole conductor"
EXPLAINED = 0.8
"""Share of the variance along the line that the exponential must explain. Own choice."""
LONGEST = 1.5
"""A 1/e length beyond this many line lengths is a slope, not a decay that ends within the picture. Own choice."""


@dataclass(frozen=True)
class Settings:
    """From when a pattern along a conductor counts."""

    least: float = setting(
        3.0,
        unit="K",
        positive=True,
        help="least fall along a conductor, or difference between like conductors, that is reported",
        example="3 K",
    )


@dataclass(frozen=True)
class Line:
    """A conductor with its profile and, where it falls off, the fit."""

    region: Region
    profile: Profile
    decay: Decay | None

    @property
    def level(self) -> float:
        """Temperature far from the warm end, or the median of an even one [K]."""
        return self.decay.far if self.decay is not None else float(np.median(self.profile.kelvin))


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Look along every line that is said to be a conductor."""
    lines, notes = [], []
    for region in own_regions(context, subject):
        if region.shape != "line" or not matches(CONDUCTORS, region.shows):
            continue
        profile = profile_of(subject, region)
        if profile is None:
            notes.append(f"{subject.id}, {region.name}: too few pixels with a value along the line; draw it longer.")
            continue
        lines.append(Line(region, profile, _decay(profile, settings)))
    findings = [
        _contact(subject, settings, context, line, line.decay, lines) for line in lines if line.decay is not None
    ]
    findings += _loads(subject, settings, context, lines)
    named = {finding.region for finding in findings}
    in_order = tuple(
        f"{subject.id}, {line.region.name}: even along its length." for line in lines if line.region.name not in named
    )
    return StepOutput(findings=tuple(findings), notes=tuple(notes), in_order=in_order)


def _decay(profile: Profile, settings: Settings) -> Decay | None:
    """The fit where it is a fall-off from an end that matters; else None."""
    fit = fit_decay(profile)
    if (
        fit is None
        or fit.rise.value < settings.least
        or fit.explained < EXPLAINED
        or fit.length > LONGEST * profile.length
    ):
        return None
    return fit


def _contact(
    subject: Thermogram, settings: Settings, context: Context, line: Line, decay: Decay, lines: list[Line]
) -> Finding:
    region = line.region
    joint = nearest_joint(subject, context, region, decay.start)
    place = joint.name if joint is not None else f"the {'first' if decay.start else 'last'} end of {region.name}"
    level = Quantity.normal(
        decay.far - 273.15,
        "degC",
        max(decay.scatter, line.profile.noise),
        "fit, far from the joint; camera accuracy not included",
    )
    case = Case(
        check=NAME,
        domain=DOMAIN,
        subject=subject,
        context=context,
        region=region,
        reading=read_region(subject, region),
        purpose="electrical",
    )
    load, fall = load_of(region, context), fall_of(subject, line, decay)
    return conclude(
        case,
        title=f"{region.name}: warmest at {place} and falling off",
        summary=f"Along {region.name} the temperature falls by {number(decay.rise.value, 'K')} from {place}, at "
        f"{load.said}{_reach_words(subject, decay)}. Heat made at one place falls off in this way; heat from the load "
        "would warm the conductor evenly. The pattern is consistent with a poor contact at that end. No severity is "
        "given for it here: the comparison of the joint with its twins does that.",
        criterion=Criterion(
            settings.least,
            because="smaller falls come from the joint's own mass and from draughts (common practice)",
            sources=("astm-e1934-patterns",),
        ),
        contrast=fall,
        gates=_line_gates(context, region),
        rivals=("reflection", _shape_rival(line, lines), rivals.load_changed),
        strong=("reflection", SHAPE),
        severity="safety",
        at_most="soon" if load_gate(load.share) in ("classed", "low load") else "plan",
        actions=(repair_for(context, region),),
        cautions=cautions_for(context, region),
        sources=("astm-e1934-patterns", "incropera"),
        measured=known(
            length_to_37_percent=_reach(subject, decay),
            explained_by_fit=Quantity.exact(round(decay.explained, 3), "1"),
            level_far_from_joint=level if _absolute(subject) else None,
        ),
        shares=f"{subject.id}:{joint.name if joint is not None else region.name}",
    )


def fall_of(subject: Thermogram, line: Line, decay: Decay) -> Quantity:
    """The fall of the fit with what errors of the whole picture leave in a difference of the line's two ends added to
    its bounds.
    """
    mask = line.region.mask(*subject.shape) & subject.valid
    rows, columns = np.nonzero(mask)
    if rows.size < 2:
        return decay.rise
    points = np.asarray(line.region.points, float)
    away = np.hypot(columns - points[0 if decay.start else -1][0], rows - points[0 if decay.start else -1][1])
    ends = []
    for chosen in (away <= np.quantile(away, 0.1), away >= np.quantile(away, 0.9)):
        part = np.zeros(subject.shape, bool)
        part[rows[chosen], columns[chosen]] = True
        ends.append(read_region(subject, part))
    if ends[0] is None or ends[1] is None:
        return decay.rise
    between = difference(ends[0], ends[1])
    share = between.half_width / max(abs(between.value), 1e-6)
    low, high = (
        math.hypot(one - decay.rise.value, share * decay.rise.value) for one in (decay.rise.low, decay.rise.high)
    )
    return Quantity(decay.rise.value, "K", decay.rise.value - low, decay.rise.value + high, 0.95, decay.rise.method)


def _line_gates(context: Context, region: Region) -> tuple[str, ...]:
    """As for other parts, but a line has no width in pixels to ask for."""
    return tuple(name for name in gates_for(context, region) if name != "spot")


def _absolute(subject: Thermogram) -> bool:
    return all(subject.absolute) if subject.absolute else True


def _reach(subject: Thermogram, decay: Decay) -> Quantity | None:
    """The 1/e length on the target [m], where the size of a pixel is known; good to about a third, as fits of this kind
    are.
    """
    if subject.pixel is None:
        return None
    value = float(decay.length * (subject.pixel.width + subject.pixel.height) / 2)
    return Quantity(
        value,
        "m",
        value * 0.67,
        value * 1.5,
        0.95,
        "length over which the fitted rise falls to 37 %, times the size of a pixel",
    )


def _reach_words(subject: Thermogram, decay: Decay) -> str:
    reach = _reach(subject, decay)
    return "" if reach is None else f", to about a third within {100 * reach.value:.0f} cm"


def _shape_rival(line: Line, lines: list[Line]) -> Callable[[Case], Rival | None]:
    """Load warms the far end too: compare it with the far ends of the group."""

    def even_warmth(case: Case) -> Rival | None:
        fit = line.decay
        if fit is None:
            return None
        shape = f"an exponential fall explains {fit.explained:.0%} of the change along it"
        others = [
            one.level for one in lines if one is not line and one.region.group and one.region.group == line.region.group
        ]
        if not others:
            return Rival(SHAPE, "ruled out", f"{shape}; an even rise would not fall")
        off = fit.far - float(np.median(others))
        status: RivalStatus = "ruled out" if off < max(2.0, 0.25 * fit.rise.value) else "not ruled out"
        return Rival(SHAPE, status, f"{shape}; far from the joint it differs from its twins by {number(off, 'K')}")

    return even_warmth


def nearest_joint(subject: Thermogram, context: Context, line: Region, start: bool) -> Region | None:
    """The declared joint closest to the warm end, no farther than a third of the line's length from it."""
    points = np.asarray(line.points, float)
    end = points[0] if start else points[-1]
    reach = max(6.0, float(np.hypot(*np.diff(points, axis=0).T).sum()) / 3)
    found = []
    for region in own_regions(context, subject):
        if not matches(JOINTS, region.shows) or region.name == line.name:
            continue
        x0, y0, x1, y1 = region.bounding_box(*subject.shape)
        gap = float(np.hypot(max(x0 - end[0], 0.0, end[0] - (x1 - 1)), max(y0 - end[1], 0.0, end[1] - (y1 - 1))))
        if gap <= reach:
            found.append((gap, region.name, region))
    return min(found, key=lambda one: one[:2])[2] if found else None


def _loads(subject: Thermogram, settings: Settings, context: Context, lines: list[Line]) -> list[Finding]:
    """Conductors that are even along their length and warmer than their twins."""
    even = {line.region.name: line for line in lines if line.decay is None}
    findings = []
    for regions in groups_of(context, subject, CONDUCTORS).values():
        members = [line for line in lines if line.region.name in {region.name for region in regions}]
        for line in members:
            others = [one for one in members if one is not line]
            off = line.level - float(np.median([one.level for one in others])) if others else 0.0
            if line.region.name in even and off >= settings.least:
                findings.append(_evenly_warm(subject, settings, context, line, others, off))
    return findings


def _evenly_warm(
    subject: Thermogram, settings: Settings, context: Context, line: Line, others: list[Line], off: float
) -> Finding:
    region = line.region
    noise = max(line.profile.noise, *(one.profile.noise for one in others))
    contrast = Quantity.normal(off, "K", noise, "median along the conductor minus that of the others")
    own, theirs = load_of(region, context), [load_of(one.region, context).amps for one in others]
    compared = (
        ""
        if own.amps is None or any(load is None for load in theirs)
        else f" The recorded currents are {own.amps:g} A and {', '.join(f'{load:g} A' for load in theirs)}."
    )
    reading = read_region(subject, region)
    case = Case(
        check=NAME,
        domain=DOMAIN,
        subject=subject,
        context=context,
        region=region,
        reading=reading,
        purpose="electrical",
        tag="even",
    )
    return conclude(
        case,
        title=f"{region.name}: evenly warmer than its twins",
        summary=f"{region.name} is {number(off, 'K')} warmer than the others of its group, evenly along its "
        f"length.{compared} The pattern is consistent with a higher load or a conductor small for its load, not with "
        "one poor contact. Have the currents compared.",
        criterion=Criterion(
            settings.least,
            because="smaller differences between like conductors are common (common practice)",
            sources=("astm-e1934-patterns",),
        ),
        contrast=contrast,
        gates=_line_gates(context, region),
        rivals=("reflection", _warmer_by_load, rivals.load_changed),
        strong=("reflection", rivals.LOAD),
        severity="safety",
        at_most="plan",
        actions=("electrical.record-load", "electrical.check-conductor"),
        cautions=cautions_for(context, region),
        sources=("astm-e1934-patterns",),
        measured=known(
            rise_over_air=rise_over(reading.mean, air_near(context, region)) if reading is not None else None
        ),
        shares=f"{subject.id}:{region.name}",
    )


def _warmer_by_load(case: Case) -> Rival | None:
    """Uses the stated loads of the group."""
    from heatbrief.detect import RIVALS

    return RIVALS["load"].function(case)


STEP = Step(
    name=NAME,
    stage="detect",
    version=3,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=CONDUCTORS,
    facts=FACTS,
    summary="Tells heat made at a joint, which falls off along the conductor, from the even warmth of a loaded "
    "conductor.",
    reads=("conditions", "camera", "regions", "facts", "view"),
    cautions=ALWAYS,
    sources=("astm-e1934-patterns", "incropera"),
    title="heat at a joint",
)
