"""Yearly energy and money of air leaks whose flow another calculator knows."""

from __future__ import annotations

from collections.abc import Sequence

from heatbrief.api import Context
from heatbrief.errors import StepError
from heatbrief.estimate.season import conducting, drive_factor, house_of, yearly_figures
from heatbrief.estimate.season_settings import Settings
from heatbrief.model.estimate import Assumption, Estimate, Factor
from heatbrief.model.finding import Finding

KIND = "air-flow"
FLOW_OF_THE_DAY = (
    "The flow is taken as that of the day of the picture; warmth and wind make it larger on colder and windier days, "
    "and smaller on others."
)


def yearly_air(
    findings: Sequence[Finding], estimates: Sequence[Estimate], settings: Settings, context: Context
) -> tuple[Estimate, ...]:
    """A year of every leak of a finding whose heat at the time is estimated (`heat_flow` of kind "air-flow").

    Heat per kelvin times degree days, as for surfaces. Nothing where the weather file cannot be used: the season
    calculator has said so. Source: degree-day-definition
    """
    leaks = {
        one.finding: one for one in estimates if one.kind == KIND and one.finding and "heat_flow" in one.quantities
    }
    wanted = [one for one in findings if one.id in leaks and one.verdict in ("defect", "suspect")]
    if not wanted:
        return ()
    try:
        house = house_of(settings, context)
    except StepError:
        return ()
    made = []
    for finding in wanted:
        drive = drive_factor(finding, context, -1)
        if drive is None:
            continue
        missing: list[str] = []
        flow = Factor(f"heat through the leak of {finding.id}", leaks[finding.id].quantities["heat_flow"])
        seasons = conducting((flow, drive), settings, house, False, missing)
        quantities, terms = yearly_figures(seasons, house.money, missing)
        if quantities:
            made.append(
                Estimate(
                    id=f"{finding.id}-season",
                    finding=finding.id,
                    kind="yearly-energy",
                    title="Over a usual year",
                    quantities=quantities,
                    assumptions=(
                        *house.climate.assumptions,
                        Assumption("air flow", "as at the time", "estimate of the leak"),
                    ),
                    sources=("degree-day-definition", "eia-btu"),
                    notes=tuple(dict.fromkeys((*missing, FLOW_OF_THE_DAY, *house.climate.notes))),
                    terms=terms,
                )
            )
    return tuple(made)
