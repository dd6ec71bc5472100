"""Exhaust runners by cylinder: which ones differ from the others of their bank, with statistics fit for few parts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from heatbrief.api import Context, Step, StepOutput, setting
from heatbrief.detect import (
    Criterion,
    Reading,
    conclude,
    figure,
    matches,
    number,
    own_regions,
    read_region,
    search_mask,
    twins,
)
from heatbrief.detect.regions import fact_of
from heatbrief.model import Finding, Gate, Quantity, Region, Thermogram
from heatbrief.model.quantity import NORMAL_95
from heatbrief.physics.robust import mad_sigma
from heatbrief.physics.small_groups import GroupComparison, compare_group, modified_z_limit

from heatbrief_vehicle.parts import BANK, DOMAIN, SHIELDED, SINCE_START, SURFACE_FACTS, known, yes
from heatbrief_vehicle.runners import (
    COATING,
    SCATTER,
    RunnerCase,
    by_design,
    coating,
    count_gate,
    end_of_row,
    reading_of,
    scatter_of,
    start_gate,
)

NAME = "vehicle.exhaust"
SHOWS = ("exhaust runner", "exhaust manifold runner", "exhaust primary", "exhaust header", "exhaust port", "exhaust pipe of a cylinder")
SOURCES = ("runner-practice", "small-group-simulation", "mixture-peak")
CAUTIONS = ("vehicle.running-engine", "vehicle.rotating-parts", "vehicle.hot-surfaces")


@dataclass(frozen=True)
class Settings:
    """From when a runner counts as different."""

    least: float = setting(
        28.0,
        unit="K",
        positive=True,
        help="least difference from the other runners; up to about 28 K is ordinary at idle (common practice)",
        example="28 K",
    )


@dataclass(frozen=True)
class Runner:
    """A runner as read, with its place in the row from left to right."""

    region: Region
    reading: Reading
    place: float


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Compare the runners of every bank of one picture."""
    notes: list[str] = []
    findings: list[Finding] = []
    for name, runners in _banks(subject, context, notes).items():
        label = f"{subject.id}, {name}"
        group = compare_group([one.reading.values["mean"] for one in runners], settings.least)
        if group.status == "too few":
            notes.append(f"{label}: {len(runners)} runner{'s' if len(runners) != 1 else ''} without a shield; a comparison needs three or more.")
        elif group.status == "no majority":
            findings.append(_no_majority(subject, settings, context, name, runners, group))
        else:
            odd = [place for place in range(len(runners)) if group.flagged[place]]
            findings.extend(_odd(subject, settings, context, runners, group, place) for place in odd)
            if not odd:
                findings.append(_alike(subject, settings, context, name, runners, group))
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def _banks(subject: Thermogram, context: Context, notes: list[str]) -> dict[str, list[Runner]]:
    """Runners by group and bank, from left to right; shielded ones and those without values are left out and noted."""
    banks: dict[str, list[Runner]] = {}
    for region in own_regions(context, subject):
        if region.shape == "whole" or not matches(SHOWS, region.shows):
            continue
        if yes("shielded", region, context):
            notes.append(f"{subject.id}, {region.name}: behind a shield, left out of the comparison.")
            continue
        reading = read_region(subject, search_mask(subject, region, context), region.name)
        if reading is None:
            notes.append(f"{subject.id}, {region.name}: no pixel with a value in the region.")
            continue
        bank = str(fact_of("bank", region, context) or "").strip()
        key = " ".join(part for part in (region.group or "exhaust runners", bank and f"({bank} bank)") if part)
        x0, _, x1, _ = region.bounding_box(*subject.shape)
        banks.setdefault(key, []).append(Runner(region, reading, (x0 + x1) / 2))
    return {key: sorted(banks[key], key=lambda one: (one.place, one.region.name)) for key in sorted(banks)}


def against_rest(runners: Sequence[Runner], group: GroupComparison, place: int) -> tuple[Quantity, float]:
    """Difference [K] of one runner from the median of those that do not stand out, and that median [K, absolute].

    Its bounds hold the errors of the picture and the scatter of those others, which a sound runner would share.
    """
    rest = [one for number_of, one in enumerate(runners) if number_of != place and not group.flagged[number_of]]
    own, values = runners[place], [one.reading.values["mean"] for one in rest]
    found = twins([own.reading, *(one.reading for one in rest)])[0].difference
    half = math.hypot(found.half_width, NORMAL_95 * mad_sigma(values))
    return Quantity(
        found.value, "K", found.value - half, found.value + half, found.coverage, "minus the median of the others, their scatter in the bounds"
    ), float(np.median(values))


def _odd(subject: Thermogram, settings: Settings, context: Context, runners: Sequence[Runner], group: GroupComparison, place: int) -> Finding:
    runner, cold = runners[place], group.deviation[place] < 0
    difference, usual = against_rest(runners, group, place)
    others = int(np.sum(group.flagged)) - 1
    case = RunnerCase(
        check=NAME,
        domain=DOMAIN,
        subject=subject,
        context=context,
        region=runner.region,
        reading=runner.reading,
        purpose="vehicle",
        difference=difference,
        usual=usual,
        at_end=place in (0, len(runners) - 1),
    )
    more = (
        f" {others} other runner{'s stand' if others > 1 else ' stands'} out too and {'are' if others > 1 else 'is'} left out of the reference."
        if others
        else ""
    )
    return conclude(
        case,
        title=f"{runner.region.name}: {'cooler' if cold else 'hotter'} than the others",
        summary=f"{runner.region.name} is {number(abs(difference.value), 'K')} {'cooler' if cold else 'hotter'} than the median of the others.{more} {reading_of(cold)}",
        criterion=Criterion(
            settings.least, because="up to about 28 K between runners is ordinary at idle (common practice)", sources=("runner-practice",)
        ),
        gates=(start_gate(runner.region, context), count_gate(len(runners), "one"), "spot", "emissivity"),
        rivals=("reflection", coating, end_of_row, by_design),
        strong=("reflection", COATING),
        severity="damage",
        actions=("vehicle.read-counters", "vehicle.check-cylinder"),
        cautions=CAUTIONS,
        sources=SOURCES,
        measured=known(
            median_of_the_others=_degrees(runners, group, place),
            modified_z=None
            if not np.isfinite(group.modified_z[place])
            else Quantity.exact(round(float(group.modified_z[place]), 2), "1", "modified z in the group"),
        ),
        shares=f"{subject.id}:{runner.region.name}",
    )


def _degrees(runners: Sequence[Runner], group: GroupComparison, place: int) -> Quantity | None:
    """Temperature of the runner in the middle of the others [degC], where the surface allows one."""
    rest = sorted(
        (one for number_of, one in enumerate(runners) if number_of != place and not group.flagged[number_of]),
        key=lambda one: one.reading.values["mean"],
    )
    return rest[(len(rest) - 1) // 2].reading.mean if rest else None


def _no_majority(subject: Thermogram, settings: Settings, context: Context, name: str, runners: Sequence[Runner], group: GroupComparison) -> Finding:
    values = [one.reading.values["mean"] for one in runners]
    lowest, highest = runners[int(np.argmin(values))], runners[int(np.argmax(values))]
    spread = twins([lowest.reading, highest.reading])[0].difference
    gate = Gate(
        "a majority to compare with",
        False,
        f"asked: more than half of the runners alike within {settings.least:g} K; given: fewer",
        "small-group-simulation",
        "Compare with readings of the maker, or have the cylinders tested one by one.",
    )
    case = RunnerCase(
        check=NAME,
        domain=DOMAIN,
        subject=subject,
        context=context,
        region=lowest.region,
        reading=lowest.reading,
        purpose="vehicle",
        tag="spread",
        difference=spread,
    )
    return conclude(
        case,
        title=f"{name}: no majority to compare with",
        summary=f"The runners differ by up to {number(abs(spread.value), 'K')} and half or more stand apart from the rest, so it cannot be said which ones differ.",
        criterion=Criterion(
            settings.least, because="up to about 28 K between runners is ordinary at idle (common practice)", sources=("runner-practice",)
        ),
        gates=(gate, start_gate(lowest.region, context)),
        rivals=(by_design,),
        strong=(),
        severity="damage",
        actions=("vehicle.read-counters",),
        cautions=CAUTIONS,
        sources=SOURCES,
        shares=f"{subject.id}:{name}",
    )


def _alike(subject: Thermogram, settings: Settings, context: Context, name: str, runners: Sequence[Runner], group: GroupComparison) -> Finding:
    """No runner stands out: normal when the largest difference is below the limit with its bounds."""
    place = int(np.argmax(np.abs(group.deviation)))
    difference, usual = against_rest(runners, group, place)
    limit = modified_z_limit(len(runners)) if len(runners) > 3 else None
    case = RunnerCase(
        check=NAME,
        domain=DOMAIN,
        subject=subject,
        context=context,
        region=runners[place].region,
        reading=runners[place].reading,
        purpose="vehicle",
        tag="group",
        difference=difference,
        usual=usual,
        at_end=place in (0, len(runners) - 1),
    )
    beyond = abs(difference.value) >= settings.least
    why = (
        f"; beyond the usual spread, but the others scatter too much to name it (limit of the modified z: {figure(limit)})"
        if beyond and limit
        else ""
    )
    return conclude(
        case,
        title=f"{name}: {'scattered' if beyond else 'alike'}",
        summary=f"The runner that differs most, {runners[place].region.name}, is {number(abs(difference.value), 'K')} from the median of the others{why}. "
        + ("A second picture soon after a cold start would tell." if beyond else "Differences of up to about 28 K are ordinary at idle."),
        criterion=Criterion(
            settings.least, because="up to about 28 K between runners is ordinary at idle (common practice)", sources=("runner-practice",)
        ),
        gates=(start_gate(runners[place].region, context), count_gate(len(runners), "group"), "spot", "emissivity"),
        rivals=(by_design, scatter_of(group, place, limit)),
        strong=(SCATTER,),
        severity="damage",
        at_most="watch",
        actions=("vehicle.repeat-cold-start",),
        cautions=CAUTIONS,
        sources=SOURCES,
        shares=f"{subject.id}:{name}",
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=SHOWS,
    facts=(SINCE_START, SHIELDED, BANK, *SURFACE_FACTS),
    summary="Compares exhaust runners by cylinder with statistics for small groups; says how much, not why.",
    reads=("conditions", "camera", "regions", "facts", "view"),
    cautions=CAUTIONS,
    sources=(*SOURCES, "rorabacher-1991"),
)
