"""Exhaust runners by cylinder: which ones differ from the others of their bank, with statistics fit for few parts."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from heatbrief.api import Context, Step, StepOutput
from heatbrief.detect import Criterion, conclude, matches, number, own_regions, read_region, search_mask
from heatbrief.detect.regions import fact_of
from heatbrief.model import Finding, Quantity, Thermogram
from heatbrief.physics.small_groups import GroupComparison

from heatbrief_vehicle.exhaust_group import (
    BECAUSE,
    CAUTIONS,
    NAME,
    SOURCES,
    Runner,
    Settings,
    against_rest,
    alike,
    no_majority,
)
from heatbrief_vehicle.few import compare_few
from heatbrief_vehicle.parts import BANK, DOMAIN, READS, SHIELDED, SINCE_START, SURFACE_FACTS, known, yes
from heatbrief_vehicle.runner_gates import count_gate, start_gate
from heatbrief_vehicle.runners import COATING, RUNNERS, RunnerCase, by_design, coating, end_of_row, hidden, reading_of

SHOWS = RUNNERS


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Compare the runners of every bank of one picture."""
    notes: list[str] = []
    findings: list[Finding] = []
    for name, runners in _banks(subject, context, notes).items():
        label = f"{subject.id}, {name}"
        group = compare_few([one.reading.values["mean"] for one in runners], settings.least)
        if group.status == "too few":
            notes.append(
                f"{label}: {len(runners)} runner{'s' if len(runners) != 1 else ''} without a shield; a comparison "
                "needs three or more."
            )
        elif group.status == "no majority":
            findings.append(no_majority(subject, settings, context, name, runners, group))
        else:
            odd = [place for place in range(len(runners)) if group.flagged[place]]
            findings.extend(_odd(subject, settings, context, runners, group, place) for place in odd)
            if not odd:
                findings.append(alike(subject, settings, context, name, runners, group))
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


def _odd(
    subject: Thermogram,
    settings: Settings,
    context: Context,
    runners: Sequence[Runner],
    group: GroupComparison,
    place: int,
) -> Finding:
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
        f" {others} other runner{'s stand' if others > 1 else ' stands'} out too and "
        f"{'are' if others > 1 else 'is'} left out of the reference."
        if others
        else ""
    )
    return conclude(
        case,
        title=f"{runner.region.name}: {'cooler' if cold else 'hotter'} than the others",
        summary=f"{runner.region.name} is {number(abs(difference.value), 'K')} {'cooler' if cold else 'hotter'} "
        f"than the median of the others.{more} {reading_of(cold)}",
        criterion=Criterion(settings.least, because=BECAUSE, sources=("runner-practice",)),
        gates=(start_gate(runner.region, context), count_gate(len(runners), settings.least), "spot", "emissivity"),
        rivals=("reflection", coating, hidden, end_of_row, by_design),
        strong=("reflection", COATING),
        severity="damage",
        actions=("vehicle.read-counters", "vehicle.check-cylinder"),
        cautions=CAUTIONS,
        sources=SOURCES,
        measured=known(
            median_of_the_others=_degrees(runners, group, place),
            modified_z=None
            if not np.isfinite(group.modified_z[place])
            else Quantity.exact(
                round(float(group.modified_z[place]), 2),
                "1",
                "distance from the group's median, in units of the scatter of the others",
            ),
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


STEP = Step(
    name=NAME,
    stage="detect",
    version=3,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=SHOWS,
    facts=(SINCE_START, SHIELDED, BANK, *SURFACE_FACTS),
    title="exhaust by cylinder",
    summary="Compares exhaust runners by cylinder with statistics for small groups; says how much, not why.",
    reads=READS,
    cautions=CAUTIONS,
    sources=(*SOURCES, "rorabacher-1991"),
)
