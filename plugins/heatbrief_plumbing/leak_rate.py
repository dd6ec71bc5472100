"""What a leak brings: through a hole under pressure, or by drips; a year of water, heat and money."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, FactSpec, Step, StepOutput, propagated, setting
from heatbrief.model import Assumption, Estimate, Factor, Finding, Quantity, Term

from heatbrief_plumbing.exposed import WATER
from heatbrief_plumbing.facts import heating_fuel, positive, quantity

NAME = "plumbing.leak_rate"
CHECKS = ("plumbing.wet_ground", "plumbing.cold_ground", "plumbing.pipe", "plumbing.damp_surface")
HOLE = FactSpec("hole", "diameter of the hole, when it has been seen", unit="m", example="1.5 mm")
PRESSURE = FactSpec("pressure", "pressure of the water at the leak, above the air's", unit="Pa", example="4 bar")
DRIPS = FactSpec("drips_a_minute", "drips each minute, counted", unit="1", example="30")
HOURS_A_YEAR, LITRES, JOULES_A_KWH = 8760.0, 1000.0, 3.6e6
LITRES_AN_HOUR = 3.6e6
"""In a cubic metre a second."""


@dataclass(frozen=True)
class Settings:
    """How long a leak runs, and the water it starts from."""

    hours_a_year: float = setting(
        HOURS_A_YEAR,
        unit="h",
        low=0,
        high=8784,
        help="hours a year for which the leaking line stands under pressure",
        example="8760 h",
    )
    cold_water: float = setting(12.0, unit="degC", low=0, high=35, help="cold water as supplied", example="12 degC")
    heat_efficiency: float = setting(
        0.85, unit="1", low=0.1, high=6.0, help="heat in the water per energy bought", example="85 %"
    )


def run(findings: tuple[Finding, ...], settings: Settings, context: Context) -> StepOutput:
    """An estimate for every region with a hole and pressure, or counted drips, in its facts.

    One hole brings its water once: of several findings in a region the most probable one carries it.
    """
    chosen: dict[tuple[str, str], Finding] = {}
    for one in findings:
        if one.check in CHECKS and one.verdict != "normal":
            place = (one.thermogram, one.region)
            chosen[place] = max(chosen.get(place, one), one, key=lambda each: (each.probability, _size(each)))
    made = (_estimate(one, settings, context) for one in chosen.values())
    return StepOutput(estimates=tuple(one for one in made if one is not None))


def _size(finding: Finding) -> float:
    area = finding.measured.get("area")
    return area.value if area is not None else 0.0


@dataclass(frozen=True)
class Flow:
    """What leaves a leak as a product: `own` [L/h] of this place, times `spread` [1], which all leaks of its kind share."""

    own: Quantity
    spread: Factor
    source: str
    assumption: Assumption
    note: str = ""

    @property
    def flow(self) -> Quantity:
        """The flow [L/h]."""
        found = propagated(
            lambda own, spread: own * spread, "L/h", self.own.method, own=self.own, spread=self.spread.value
        )
        assert found is not None
        return positive(found)


def orifice_flow(hole: Quantity, pressure: Quantity) -> Flow:
    """Freely discharging flow with 20 % for the discharge coefficient. Source: leak-tables.

    Soil around the hole may hold it back; soft pipes open with pressure.
    """
    from heatbrief.physics.water import ORIFICE_SPREAD, leak_flow

    own = propagated(
        lambda hole, pressure: LITRES_AN_HOUR * float(leak_flow(max(hole, 0.0), max(pressure, 0.0))),
        "L/h",
        "hole and pressure, free outflow",
        hole=hole,
        pressure=pressure,
    )
    assert own is not None
    return Flow(
        own,
        Factor("outflow of holes", Quantity.between(1.0 - ORIFICE_SPREAD, 1.0 + ORIFICE_SPREAD, "1", 1.0)),
        "leak-tables",
        Assumption("discharge coefficient", "0.61, 20 % either way", "published leak tables"),
        "Free outflow. Soil may hold it back, and soft pipes open with pressure.",
    )


def drip_rate(drips: Quantity) -> Flow:
    """Flow of counted drips; published drop volumes run from 0.25 to 0.36 mL. Source: usgs-drip."""
    from heatbrief.physics.water import DROP_VOLUME, drip_flow

    low, best, high = DROP_VOLUME
    return Flow(
        drips.scaled(LITRES_AN_HOUR * float(drip_flow(1.0 / 60.0, best)), "L/h", "drips counted"),
        Factor("volume of drops", Quantity.between(low / best, high / best, "1", 1.0)),
        "usgs-drip",
        Assumption("volume of a drop", "0.25 to 0.36 mL", "published counts that differ"),
    )


def _estimate(finding: Finding, settings: Settings, context: Context) -> Estimate | None:
    leak = _leak(finding, context)
    if leak is None:
        return None
    flow = leak.flow
    water = flow.scaled(settings.hours_a_year / LITRES, "m3/a", f"flow over {settings.hours_a_year:g} h a year")
    terms = _terms(finding, leak, settings, context)
    return Estimate(
        id=f"{finding.id}-leak",
        finding=finding.id,
        kind="leak-flow",
        title="Water that the leak brings",
        quantities={"leak_flow": flow, "yearly_water": water},
        assumptions=(
            Assumption("time under pressure", f"{settings.hours_a_year:g} h a year", "setting of the calculator"),
            leak.assumption,
        ),
        sources=(leak.source, "coolprop"),
        notes=tuple(one for one in (leak.note, _unpriced(terms, context)) if one),
        terms=terms,
    )


def _leak(finding: Finding, context: Context) -> Flow | None:
    hole, pressure, drips = (quantity(finding, name, context) for name in ("hole", "pressure", "drips_a_minute"))
    if hole is not None and pressure is not None:
        return orifice_flow(hole, pressure)
    return None if drips is None else drip_rate(drips)


def _terms(finding: Finding, leak: Flow, settings: Settings, context: Context) -> tuple[Term, ...]:
    """Water of a year, and the energy bought to warm it where it is stated to be hot."""
    from heatbrief.physics.water import heated_water_energy

    factors = (Factor(f"water at best of {finding.id}", positive(leak.own)), leak.spread)
    water = Term("water", "m3/a", settings.hours_a_year / LITRES, factors)
    hot = quantity(finding, "water_temperature", context)
    if hot is None or hot.value <= settings.cold_water + 5.0:
        return (water,)
    warmth = propagated(
        lambda hot: float(heated_water_energy(1.0, hot - settings.cold_water)) / JOULES_A_KWH,
        "kWh/m3",
        "heat in the water that leaks",
        hot=hot,
    )
    assert warmth is not None
    heat = Factor(f"heat in the water of {finding.id}", positive(warmth))
    return (
        water,
        Term(heating_fuel(context), "kWh/a", water.constant / settings.heat_efficiency, (*factors, heat)),
    )


def _unpriced(terms: tuple[Term, ...], context: Context) -> str:
    """A note on prices that no cost can be without, or ""."""
    missing = {term.buys for term in terms} - set(context.prices)
    if "water" in missing:
        return "No cost: give `water` under `prices`, and `sewer` where it is charged on the same meter."
    return "No cost: give `heat`, `gas` or `electricity` under `prices`, whichever warms the water." if missing else ""


STEP = Step(
    name=NAME,
    stage="estimate",
    version=2,
    run=run,
    settings=Settings,
    domain="plumbing",
    summary="Water, heat and money of a leak from its hole and pressure, or from counted drips.",
    facts=(HOLE, PRESSURE, DRIPS, WATER),
    reads=("conditions", "prices", "regions", "facts"),
    sources=("leak-tables", "usgs-drip"),
    status="trial",
    title="water lost by a leak",
)
