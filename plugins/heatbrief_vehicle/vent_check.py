"""Air conditioning at the vents: against a published table by the air that goes in, never against a fixed drop."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, FactSpec, Step, StepOutput, setting
from heatbrief.detect import Case, Criterion, conclude, number, said
from heatbrief.model import Finding, Quantity, Rival, Thermogram

from heatbrief_vehicle.parts import DOMAIN, READS, SURFACE_FACTS, Part, amount, at_least, beyond, known, parts_of
from heatbrief_vehicle.vents import SOURCE, expected_drop, expected_vent

NAME = "vehicle.vents"
SHOWS = ("air conditioning vent", "centre vent", "center vent", "dashboard vent")
RUNNING = FactSpec(
    "ac_running", "how long the air conditioning had run at its highest fan", unit="min", example="10 min"
)
INLET = FactSpec(
    "inlet_air", "temperature of the air that goes into the air conditioning", unit="degC", example="25 degC"
)
INLET_HUMIDITY = FactSpec("inlet_humidity", "relative humidity of that air", unit="1", example="55 %")
CAUTIONS = ("vehicle.running-engine", "vehicle.refrigerant")
OTHER_CAR = "a vehicle or setting unlike the table's: other sizes, speed, fan or fresh air"
SKIN_K = 2.0
"""A louvre in the stream reads within this of the air (own choice)."""


@dataclass(frozen=True)
class Settings:
    """From when a vent counts as warm."""

    least: float = setting(
        5.0, unit="K", positive=True, help="how far beyond the table's range a vent is looked at", example="5 K"
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """One finding for each declared vent."""
    notes: list[str] = []
    found = tuple(_finding(part, settings, context) for part in parts_of(subject, context, SHOWS, notes))
    return StepOutput(findings=found, notes=tuple(notes))


def _finding(part: Part, settings: Settings, context: Context) -> Finding:
    region, now = part.region, context.conditions
    inlet = amount("inlet_air", region, context) or now.outside_air
    humid = amount("inlet_humidity", region, context) or now.outside_humidity
    table = None if inlet is None or humid is None else expected_vent(inlet.value, humid.value)
    drop = None if inlet is None or humid is None else expected_drop(inlet.value, humid.value)
    vent = part.reading.mean
    case = Case(NAME, DOMAIN, part.subject, context, region, reading=part.reading, purpose="vehicle", tag="vent")
    contrast = None if table is None or vent is None else beyond(_air(vent), table.high)
    ran = amount("ac_running", region, context)
    return conclude(
        case,
        title=f"{region.name}: {'warm' if contrast and contrast.value >= settings.least else 'temperature'}",
        summary=_words(vent, inlet, table, drop, contrast, settings.least),
        criterion=Criterion(settings.least, because="the table is of one car, so a margin is left", sources=(SOURCE,)),
        contrast=contrast,
        gates=(
            at_least(
                "air conditioning settled",
                None if ran is None else ran.value,
                10,
                "min",
                "Run it for 10 min at full fan.",
                SOURCE,
            ),
            at_least(
                "air that goes in",
                None if inlet is None else inlet.value,
                20,
                "degC",
                "Take it at 20 to 30 degC in shade.",
                SOURCE,
                30,
            ),
            at_least(
                "humidity of that air",
                None if humid is None else 100 * humid.value,
                50,
                "%",
                "Take it at 50 to 70 % humidity, or use the maker's own table.",
                SOURCE,
                70,
            ),
            "spot",
            "emissivity",
        ),
        rivals=("reflection", other_car),
        strong=("reflection", OTHER_CAR),
        severity="comfort",
        actions=("vehicle.check-air-conditioning",),
        cautions=CAUTIONS,
        sources=(SOURCE,),
        measured=known(expected_vent_temperature=table, expected_drop=drop, air_that_goes_in=inlet),
        shares=f"{part.subject.id}:{region.name}",
    )


def _air(vent: Quantity) -> Quantity:
    """The air that leaves, from the skin of the louvre."""
    return Quantity(vent.value, "degC", vent.low - SKIN_K, vent.high + SKIN_K, vent.coverage, vent.method)


def _words(
    vent: Quantity | None,
    inlet: Quantity | None,
    table: Quantity | None,
    drop: Quantity | None,
    contrast: Quantity | None,
    least: float,
) -> str:
    if vent is None:
        return "The surface of the vent allows no temperature."
    reads = f"The vent reads {number(vent.value, 'degC')}"
    if table is None or inlet is None or drop is None:
        return (
            f"{reads}. It is judged against the air that goes in and its humidity, which are not known or lie "
            "outside the table."
        )
    said_so = (
        f"{reads}; air of {number(inlet.value, 'degC')} should leave at {said(table)} in the car of the table, "
        f"a drop of {said(drop)}. "
    )
    if contrast is not None and contrast.value >= least:
        return (
            said_so + "Consistent with a low charge, a weak condenser fan, a flap that lets warm air in, or another car"
            " or setting than the table's; the picture does not tell which."
        )
    return said_so + "Nothing to do from this figure; the drop is no fixed number, it falls in hot or humid air."


def other_car(case: Case) -> Rival | None:
    """The table is of one car."""
    return Rival(OTHER_CAR, "not ruled out", "the table holds for one car at idle with recirculation and full fan")


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=SHOWS,
    facts=(RUNNING, INLET, INLET_HUMIDITY, *SURFACE_FACTS),
    summary="Vents of the air conditioning against a published table by inlet temperature and humidity.",
    reads=READS,
    cautions=CAUTIONS,
    sources=(SOURCE,),
    title="vents of the air conditioning",
)
