"""Ducts outside the conditioned space: bare or thinly wrapped joints against the rest of the jacket."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

from heatbrief.api import Context, FactSpec, Step, StepOutput, propagated, setting
from heatbrief.detect import Area, Case, Criterion, conclude, fact_of, facts_for, find_areas, search_mask
from heatbrief.detect.subjects import looked_at
from heatbrief.model import Finding, Quantity, Region, Rival, Thermogram

from heatbrief_envelope.duct_jacket import (
    DIAMETER,
    DUCT_R,
    DUCT_SIDE,
    USUAL_DIAMETER,
    duct_cautions,
    jacket_finding,
    resistance_of,
    skin_coefficient,
    way_of_air,
)
from heatbrief_envelope.surfaces import known

NAME = "envelope.duct"
SHOWS = ("attic duct", "supply duct", "return duct", "duct", "flex duct", "plenum")
RIVALS = ("reflection", "material change", "shade or sun", "thermal lag")
SUPPLY = FactSpec("supply_air", "temperature of the air in the duct", unit="degC", example="13 degC")
AROUND = FactSpec("air_around", "temperature of the air around the duct", unit="degC", example="50 degC")


@dataclass(frozen=True)
class Settings:
    """What counts as a gap in the jacket."""

    least: float = setting(
        2.0, unit="K", positive=True, help="least contrast against the jacket that is reported", example="2 K"
    )
    share: float = setting(
        0.1,
        unit="1",
        low=0.02,
        high=0.9,
        example="10 %",
        help="least contrast as a share of the difference between the air around and the air in the duct",
    )
    thin: float = setting(
        0.7,
        unit="1",
        low=0.1,
        high=1.0,
        example="70 %",
        help="share of the stated jacket's resistance below which a whole run counts as thinly insulated",
    )
    smallest: float = setting(0.003, unit="m2", low=0, help="smallest area that is reported", example="30 cm2")


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Parts of a duct whose skin is nearer to the air inside it than the jacket around."""
    findings: list[Finding] = []
    notes: list[str] = []
    for region in looked_at(context, SHOWS, subject):
        supply, around = (_fact(name, region, context) for name in ("supply_air", "air_around"))
        sign: Literal["warm", "cold", "either"]
        sign = "either" if supply is None or around is None else "cold" if supply.value < around.value else "warm"
        if supply is None or around is None:
            notes.append(
                f"{subject.id}, {region.name}: give `supply_air` and `air_around` to say which way a bare part shows."
            )
        elif abs(supply.value - around.value) < 3.0:
            notes.append(
                f"{subject.id}, {region.name}: the air in the duct is as warm as around it, so its jacket cannot be "
                "judged."
            )
            continue
        inside = search_mask(subject, region, context)
        areas = find_areas(subject, inside, sign, kind="constant", smallest_m2=settings.smallest)
        findings.extend(_finding(subject, settings, context, region, area, supply, around) for area in areas)
        if supply is not None and around is not None:
            thin = jacket_finding(subject, context, region, inside, supply, around, settings.thin)
            findings.extend(() if thin is None else (thin,))
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def _fact(name: str, region: Region, context: Context) -> Quantity | None:
    value = fact_of(name, region, context)
    return value if isinstance(value, Quantity) else None


def _finding(
    subject: Thermogram,
    settings: Settings,
    context: Context,
    region: Region,
    area: Area,
    supply: Quantity | None,
    around: Quantity | None,
) -> Finding:
    # the gates about the room do not apply; what drives the heat is the air around against the air in the duct
    own = replace(context, conditions=replace(context.conditions, inside_air=supply, outside_air=around))
    case = Case(
        check=NAME, domain="envelope", subject=subject, context=own, region=region, area=area, purpose="air leakage"
    )
    drive = (
        None
        if supply is None or around is None
        else propagated(
            lambda supply, around: abs(around - supply),
            "K",
            "air around minus air in the duct",
            supply=supply,
            around=around,
        )
    )
    limit = settings.least if drive is None else max(settings.least, settings.share * drive.value)
    word = "colder" if area.sign == "cold" else "warmer"
    unit = "K" if area.contrast.unit == "K" else "counts"
    return conclude(
        case,
        title=f"Part of {region.name} {word} than its jacket",
        summary=f"{abs(area.contrast.value):.1f} {unit} {word} than the jacket around. Consistent with a joint without "
        f"insulation, or with air {way_of_air(region, context)} there. "
        "Figures count the side that is seen.",
        criterion=Criterion(limit, because="ribs and wires of a sound jacket differ by less (common practice)"),
        gates=("difference", "spot", "emissivity"),
        rivals=(*RIVALS, _leak_or_bare(area)),
        strong=("reflection", "shade or sun"),
        severity="energy",
        at_most="plan",
        actions=("envelope.seal-duct", "envelope.wrap-duct"),
        cautions=duct_cautions(region, context),
        sources=("ashrae-152", "churchill-chu-cylinder"),
        measured=_measures(subject, region, context, area, supply, around, drive),
        shares=f"{subject.id}:{region.name}:{area.ordinal}",
    )


def _leak_or_bare(area: Area) -> Callable[[Case], Rival]:
    def leak_or_bare(case: Case) -> Rival:
        return Rival(
            f"air {way_of_air(case.region, case.context)} at the joint as well as missing insulation",
            "not testable",
            f"the area fills {area.fill:.0%} of the box around it; both call for the same visit",
            "a look or a hand at the joint with the fan running",
        )

    return leak_or_bare


def _measures(
    subject: Thermogram,
    region: Region,
    context: Context,
    area: Area,
    supply: Quantity | None,
    around: Quantity | None,
    drive: Quantity | None,
) -> dict[str, Quantity]:
    """Resistances from air to air, from the share of the difference that falls off at the skin: R = 1 / (h share)."""
    if supply is None or around is None or area.mean is None or area.surroundings is None or area.contrast.unit != "K":
        return known(air_difference=drive)
    diameter = _fact("diameter", region, context) or USUAL_DIAMETER
    emissivity = subject.emissivity[0] if subject.emissivity else 0.93
    film = skin_coefficient(area.mean, around, diameter, emissivity)

    here, jacket = (resistance_of(skin, supply, around, film) for skin in (area.mean, area.surroundings))
    return known(air_difference=drive, resistance=here, resistance_of_jacket=jacket)


STEP = Step(
    name=NAME,
    stage="detect",
    version=3,
    run=run,
    settings=Settings,
    domain="envelope",
    summary="Bare or thinly wrapped parts of ducts outside the conditioned space.",
    shows=SHOWS,
    facts=(SUPPLY, AROUND, DIAMETER, DUCT_R, DUCT_SIDE, *facts_for(RIVALS)),
    cautions=("envelope.attic", "envelope.attic-heat"),
    sources=("ashrae-152", "churchill-chu-cylinder"),
    status="stable",
    title="insulation of air ducts",
)
