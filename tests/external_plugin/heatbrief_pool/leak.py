"""Warm patches in the ground beside a heated pool."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, Step, StepOutput, setting
from heatbrief.detect import Case, Criterion, chosen_regions, conclude, facts_for, find_areas, search_mask
from heatbrief.model import Thermogram

SHOWS = ("pool surround", "pool deck")
RIVALS = ("reflection", "shade or sun")


@dataclass(frozen=True)
class Settings:
    least: float = setting(2.0, unit="K", positive=True, help="least contrast that is reported", example="2 K")


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    findings = []
    for region in chosen_regions(context, SHOWS, subject):
        inside = search_mask(subject, region, context)
        for area in find_areas(subject, inside, "warm", smallest_m2=0.02):
            case = Case("pool.leak", "pool", subject, context, region=region, area=area, purpose="irrigation")
            findings.append(
                conclude(
                    case,
                    title=f"Warm patch beside the pool, in {region.name}",
                    summary=f"{area.contrast.value:.1f} K warmer than the ground around: pool water may lie below.",
                    criterion=Criterion(settings.least, because="paving varies by less (common practice)"),
                    gates=("sun", "rain"),
                    rivals=(*RIVALS, "pool.return-line"),
                    severity="moisture",
                    actions=("pool.pressure-test",),
                    cautions=("pool.electricity",),
                )
            )
    return StepOutput(findings=tuple(findings))


STEP = Step(
    "pool.leak",
    "detect",
    1,
    run,
    Settings,
    "Warm patches in the ground beside a heated pool.",
    domain="pool",
    shows=SHOWS,
    facts=facts_for(RIVALS),
    cautions=("pool.electricity",),
)
