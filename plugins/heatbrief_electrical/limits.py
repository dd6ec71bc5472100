"""The limit rule: a rise against the lowest of terminal rating and insulation, at this load and at full load."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from heatbrief.api import Context, FactSpec, propagated
from heatbrief.detect import figure, number
from heatbrief.detect.regions import fact_of
from heatbrief.model import Quantity, Region
from heatbrief.model.finding import URGENCIES, Urgency
from heatbrief.physics import electrical

from heatbrief_electrical import classes
from heatbrief_electrical.calculators import exponent_range

TERMINATIONS: Mapping[str, tuple[str, str]] = {
    "standard breaker": ("breaker_us", "termination, standard-rated breaker"),
    "full-rated breaker": ("breaker_us", "termination, 100 %-rated breaker"),
    "iec breaker": ("low_voltage_iec", "circuit breaker terminal"),
    "assembly terminal": ("low_voltage_iec", "assembly, terminals for outside insulated conductors"),
    "bare copper terminal": ("low_voltage_iec", "terminal, bare copper"),
    "brass terminal": ("low_voltage_iec", "terminal, bare or tinned brass"),
    "plated terminal": ("low_voltage_iec", "terminal, silver or nickel plated"),
    "connecting device": ("low_voltage_iec", "connecting device at test current"),
    "bolted bare": ("switchgear_iec", "bolted connection, bare"),
    "bolted tinned": ("switchgear_iec", "bolted connection, tin coated"),
    "bolted silvered": ("switchgear_iec", "bolted connection, silver or nickel coated"),
    "switchgear terminal bare": ("switchgear_iec", "terminal to outside conductor, bare"),
    "switchgear terminal coated": ("switchgear_iec", "terminal to outside conductor, silver, nickel or tin coated"),
    "silvered joint": ("switchgear_us", "silvered joint"),
    "bare copper joint": ("switchgear_us", "bare copper joint"),
}
"""Our words for what a conductor ends on: group and row of the published limits (rise in K)."""

INSULATIONS: Mapping[str, str] = {
    "TW": "insulation TW",
    "THWN": "insulation RHW, THW, THWN",
    "THHN": "insulation THHN, XHHW-2",
    "NM-B": "NM-B cable (90 degC wire used at 60 degC ampacity)",
    "PVC": "PVC",
    "XLPE": "XLPE or EPR",
    "rubber": "rubber",
    "NEC up to 100 A": "NEC circuit up to 100 A or 14 to 1 AWG, unless marked otherwise",
    "NEC above 100 A": "NEC circuit above 100 A or larger than 1 AWG",
}
"""Insulation, or the column of the code that caps the conductor: row of the published limits (highest temperature)."""

TERMINATION = FactSpec(
    "termination",
    "what the conductors end on; sets the rise allowed",
    choices=tuple(TERMINATIONS),
    example="standard breaker",
)
INSULATION = FactSpec(
    "insulation",
    "insulation of the conductors, or the column of the code that applies",
    choices=tuple(INSULATIONS),
    example="THWN",
)
LIMIT_FACTS = (TERMINATION, INSULATION)


@dataclass(frozen=True)
class Limit:
    """A rise [K] allowed at rated load, where it is printed and with which mark."""

    part: str
    rise: Quantity
    mark: str
    source: str

    @property
    def said(self) -> str:
        """In words for a sentence."""
        return (
            f"{self.part} ({number(self.rise.value, 'K')} at rated "
            f"load{', from memory' if self.mark == 'memory' else ''})"
        )


@dataclass(frozen=True)
class Held:
    """A rise held against a limit.

    allowed, margin   what the load allows, and allowed minus measured [K]; full, margin_full: the same at full load
    over, over_full   probability that the rise is above what is allowed, at this load and at full load
    """

    limit: Limit
    rise: Quantity
    allowed: Quantity
    margin: Quantity
    full: Quantity
    margin_full: Quantity
    over: float
    over_full: float


def _row(group: str, part: str) -> Mapping[str, Any]:
    return next(row for row in electrical.limits(group) if row["part"] == part)


def limit_for(
    region: Region | None, context: Context, air: Quantity | None, default: Limit | None = None
) -> Limit | None:
    """The lowest of the stated termination (else `default`) and the stated insulation over the air; None for
    neither.
    """
    found = []
    termination, insulation = (fact_of(one.name, region, context) for one in LIMIT_FACTS)
    if isinstance(termination, str) and termination in TERMINATIONS:
        row = _row(*TERMINATIONS[termination])
        rise = Quantity.exact(float(row["rise"]), "K")
        found.append(Limit(str(row["part"]), rise, str(row["mark"]), str(row["source"])))
    elif default is not None:
        found.append(default)
    if isinstance(insulation, str) and insulation in INSULATIONS and air is not None:
        row = _row("conductor", INSULATIONS[insulation])
        most = float(row["max"])
        rise = Quantity(
            most - air.value, "K", most - air.high, most - air.low, 0.95, "highest temperature minus the air"
        )
        if rise.value > 0:
            found.append(Limit(str(row["part"]), rise, str(row["mark"]), str(row["source"])))
    return min(found, key=lambda one: (one.rise.value, one.part), default=None)


def insulation_rating(region: Region, context: Context) -> float | None:
    """Highest temperature [degC] of the stated insulation, or None."""
    stated = fact_of(INSULATION.name, region, context)
    return (
        float(_row("conductor", INSULATIONS[stated])["max"])
        if isinstance(stated, str) and stated in INSULATIONS
        else None
    )


def stated_rise(kelvin: float) -> Limit:
    """A limit given as a setting."""
    said = "termination, standard-rated breaker" if kelvin == 50.0 else "rated rise given in the settings"
    return Limit(said, Quantity.exact(kelvin, "K"), "seen" if kelvin == 50.0 else "", "ul-489")


def held(rise: Quantity | None, share: float | None, limit: Limit | None) -> Held | None:
    """A rise at a load share against a limit; None without all three, or below 40 % load, where nothing may be said."""
    if rise is None or limit is None or electrical.load_gate(share) not in ("classed", "low load") or share is None:
        return None
    inputs = {"rise": rise, "rated": limit.rise, "exponent": exponent_range()}
    method = "exponent 1.6 to 2.0, the same at both loads"
    allowed = propagated(
        lambda rated, exponent: rated * share**exponent,
        "K",
        f"rated rise at this load, {method}",
        rated=limit.rise,
        exponent=exponent_range(),
    )
    margin = propagated(
        lambda rise, rated, exponent: rated * share**exponent - rise, "K", f"allowed minus measured, {method}", **inputs
    )
    full = propagated(
        lambda rise, exponent: rise / share**exponent,
        "K",
        f"rise at full load, {method}",
        rise=rise,
        exponent=exponent_range(),
    )
    margin_full = propagated(
        lambda rise, rated, exponent: rated - rise / share**exponent,
        "K",
        f"rated rise minus rise at full load, {method}",
        **inputs,
    )
    known = [one for one in (allowed, margin, full, margin_full) if one is not None]
    if len(known) < 4:
        return None
    allowed, margin, full, margin_full = known
    over, over_full = (1 - classes.reached(one, 0.0) for one in (margin, margin_full))
    return Held(limit, rise, allowed, margin, full, margin_full, over, over_full)


def raised(urgency: Urgency, found: Held | None) -> Urgency:
    """The more urgent of what a class allows and of the limit rule: above the limit at this load "now", at full load
    "soon".
    """
    if found is None:
        return urgency
    own: Urgency = (
        "now" if found.over >= classes.CAUTIOUS else "soon" if found.over_full >= classes.CAUTIOUS else "none"
    )
    return min(urgency, own, key=URGENCIES.index)


def rows(found: Held) -> tuple[Mapping[str, str], ...]:
    """The limit rule as rows beside the classes of the tables: at the recorded load, and at full load."""
    return tuple(
        {
            "table": f"limit: {found.limit.said}",
            "compares": basis,
            "class": f"above what the limit allows, by {figure(-margin.value, 'K')} K"
            if margin.value < 0
            else f"below it by {figure(margin.value, 'K')} K",
            "probability": classes.percent(share if margin.value < 0 else 1 - share),
            "printed advice": "a limit for new equipment; the face read here may be cooler than the terminal behind it",
        }
        for basis, margin, share in (
            ("mean rise over the air, at the recorded load", found.margin, found.over),
            ("mean rise over the air, extrapolated to full load", found.margin_full, found.over_full),
        )
    )
