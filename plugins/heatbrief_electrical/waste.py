"""Heat that a warm electrical part gives off beyond its twin, and what that costs in a year of stated hours."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, Step, StepOutput, setting
from heatbrief.detect import figure
from heatbrief.model import Assumption, Estimate, Finding, Quantity, Term

from heatbrief_electrical.calculators import (
    drop_of,
    heat_of_face,
    resistance_of,
    yearly_cost,
    yearly_energy,
    yearly_terms,
)
from heatbrief_electrical.parts import DOMAIN

NAME = "electrical.waste"
CHECKS = ("electrical.twins", "electrical.phases", "electrical.inverters", "electrical.motors")
SEEN_ONLY = (
    "Only the face in the picture is counted; sides, back and the wires carry heat away too, so the true loss is "
    "larger."
)


@dataclass(frozen=True)
class Settings:
    """What the picture cannot tell."""

    hours: float | None = setting(
        None,
        unit="h",
        low=0,
        high=8784,
        help="hours in a year at the load of the picture; without it no yearly figures are given",
        example="1500 h",
    )
    emissivity: float = setting(
        0.9, unit="1", low=0.05, high=1, help="emissivity of the faces for the heat they radiate", example="0.9"
    )


def run(findings: tuple[Finding, ...], settings: Settings, context: Context) -> StepOutput:
    """One estimate for each warm part that was compared with a twin and whose size and air temperature are known."""
    estimates, notes = [], []
    chosen = [one for one in findings if one.check in CHECKS and one.verdict in ("defect", "suspect") and _warm(one)]
    for finding in chosen:
        flow = heat_flow(finding, settings)
        if flow is None:
            notes.append(
                f"{finding.id}: no heat flow, because the size of a pixel, the temperature or the air beside the part "
                "is not known."
            )
            continue
        estimates.append(_estimate(finding, flow, settings, context))
    if estimates and settings.hours is None:
        notes.append(
            "No yearly energy for electrical parts: give `hours`, the hours in a year at the load of the picture, to "
            "electrical.waste."
        )
    return StepOutput(estimates=tuple(estimates), notes=tuple(notes))


def _warm(finding: Finding) -> bool:
    contrast = finding.measured.get("contrast")
    return contrast is not None and contrast.unit == "K" and contrast.value > 0


def heat_flow(finding: Finding, settings: Settings) -> Quantity | None:
    """Heat [W] of the seen face beyond what it would give off at its twin's temperature, or None when something is not
    known.
    """
    area, mean, air, contrast = (
        finding.measured.get(name) for name in ("face area", "mean temperature", "air temperature", "contrast")
    )
    if area is None or mean is None or air is None or contrast is None:
        return None
    return heat_of_face(area, mean, air, _emissivity(settings), contrast)


def _emissivity(settings: Settings) -> Quantity:
    best = settings.emissivity
    return Quantity.between(max(best - 0.1, 0.0), min(best + 0.1, 1.0), "1", best)


def _terms(finding: Finding, settings: Settings) -> tuple[Term, ...]:
    """The energy of a year by the inputs that all parts share and those of this one; empty without hours."""
    area, mean, air, contrast = (
        finding.measured.get(name) for name in ("face area", "mean temperature", "air temperature", "contrast")
    )
    if settings.hours is None or area is None or mean is None or air is None or contrast is None:
        return ()
    return yearly_terms(finding.id, settings.hours, area, mean, air, _emissivity(settings), contrast)


def _estimate(finding: Finding, flow: Quantity, settings: Settings, context: Context) -> Estimate:
    energy = None if settings.hours is None else yearly_energy(flow, settings.hours)
    price = context.prices.get("electricity")
    cost = None if energy is None or price is None else yearly_cost(energy, price, context.currency)
    load = finding.measured.get("load")
    amps = load if load is not None and load.unit == "A" and load.value > 0 else None
    wanted = {
        "heat_flow": flow,
        "yearly_energy": energy,
        "yearly_cost": cost,
        "resistance_that_makes_it": resistance_of(flow, amps) if amps is not None else None,
        "voltage_across_it": drop_of(flow, amps) if amps is not None else None,
    }
    found = {name: one for name, one in wanted.items() if one is not None}
    hours = "not given, so no yearly figures" if settings.hours is None else f"{figure(settings.hours)} h in a year"
    assumptions = (
        Assumption("hours at this load", hours, "given in the settings" if settings.hours is not None else "not given"),
        Assumption("emissivity of the face", f"{settings.emissivity:g} within 0.1", "setting of the check"),
        Assumption("surroundings", "as warm as the air beside the part", "own choice"),
    )
    return Estimate(
        f"waste-{finding.id}",
        finding.id,
        "yearly-cost" if cost is not None else "yearly-energy" if energy is not None else "heat-flow",
        f"Heat given off by {finding.region} beyond its twin",
        found,
        assumptions,
        ("churchill-chu-1975", "stefan-boltzmann", *(("ohm-joule",) if amps is not None else ())),
        (SEEN_ONLY,),
        _terms(finding, settings),
    )


STEP = Step(
    name=NAME,
    stage="estimate",
    version=3,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    summary="Watts that an overheated part gives off beyond its twin, and their yearly cost when the hours at that "
    "load are given.",
    reads=("prices",),
    sources=("churchill-chu-1975", "stefan-boltzmann", "iso-13789", "ohm-joule"),
    title="power lost in an overheated part",
)
