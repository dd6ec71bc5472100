"""What the electrical checks know about a part: its load, the air beside it, and its limits."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, FactSpec
from heatbrief.detect import facts_for, matches, number
from heatbrief.detect.measure import target_area
from heatbrief.detect.regions import fact_of
from heatbrief.model import Quantity, Region, Thermogram

DOMAIN = "electrical"
BREAKERS = ("breaker", "circuit breaker")
JOINTS = (
    "joint",
    "connector",
    "plug connector",
    "terminal",
    "lug",
    "busbar joint",
    "splice",
    "bolted connection",
    "contact",
)
FUSES = ("fuse", "fuse holder")
CONDUCTORS = ("conductor", "cable", "wire", "busbar")
CONVERTERS = ("inverter", "microinverter", "heat sink", "heatsink", "power supply", "charge controller")
OUTLETS = ("socket", "outlet", "receptacle", "outlet cover", "switch plate", "cover plate")
OTHERS = ("contactor", "relay", "disconnect", "isolator", "switch", "transformer", *OUTLETS)
MOTORS = ("motor", "motor frame", "pump motor", "fan motor", "compressor motor")
STEEL = ("steel enclosure", "steel bracket", "steel plate", "gland plate", "conduit")
SOLAR = ("solar", "photovoltaic", "pv", "string", "inverter", "microinverter")
OUTDOORS = (
    "outside",
    "outdoors",
    "outdoor",
    "exterior",
    "facade",
    "roof",
    "yard",
    "carport",
    "driveway",
    "garden",
    "solar",
    "photovoltaic",
    "pv",
)

ROOM_AIR_K, STATED_AIR_K = 2.0, 1.0
"""How far the air beside a part may be from the survey's air, and from air stated for the part (95 %; common practice).
"""

AIR_AROUND = FactSpec("air_around", "air temperature beside the part", unit="degC", example="31 degC")
PHASE = FactSpec(
    "phase", "which conductor of a three-phase circuit it is", choices=("L1", "L2", "L3", "N"), example="L1"
)
ELECTRONICS = FactSpec(
    "electronics",
    "whether the breaker has electronics (arc-fault or ground-fault protection, a trip unit), by its label",
    choices=("yes", "no"),
    example="yes",
)
YEAR_WIRED = FactSpec("year wired", "year in which the house was wired", unit="1", example="1968")
ALUMINIUM_YEARS = (1965, 1973)
"""Years in which branch wiring of aluminium was common. Source: S21 [seen]."""
POWER = FactSpec("power", "power of the unit, from its display", unit="W", example="3000 W")
RATED_POWER = FactSpec("rated power", "rated power of the unit", unit="W", example="5000 W")
LOAD_HELD = FactSpec("load held", "for how long the load had been about the same", unit="min", example="45 min")
FACTS = (*facts_for(("load", "reflection", "material change")), AIR_AROUND, LOAD_HELD)


@dataclass(frozen=True)
class Load:
    """Current through a part [A] and its share of the rating, each None when not known."""

    amps: float | None
    share: float | None

    @property
    def said(self) -> str:
        """In words for a sentence."""
        if self.share is None:
            return (
                "a load that was not recorded"
                if self.amps is None
                else f"a recorded {self.amps:g} A of an unknown rating"
            )
        return f"a recorded {number(self.share, '1')} load"


def plain(value: object) -> float | None:
    """A fact as a plain number in its declared unit, else None."""
    if isinstance(value, Quantity):
        return value.value
    return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None


def load_of(region: Region, context: Context) -> Load:
    """What the survey says about the load; a negative load or a rating of 0 counts as not known.

    Currents come first, then powers (for inverters), then a stated share.
    """
    amps, rated, share = (plain(fact_of(name, region, context)) for name in ("load", "rated", "load share"))
    amps = amps if amps is not None and amps >= 0 else None
    if share is None and amps is not None and rated is not None and rated > 0:
        share = amps / rated
    if share is None:
        power, most = (plain(fact_of(one.name, region, context)) for one in (POWER, RATED_POWER))
        share = power / most if power is not None and most is not None and most > 0 else None
    return Load(amps, share if share is not None and share >= 0 else None)


def is_outdoors(context: Context, region: Region | None = None) -> bool:
    """Whether the picture was taken outside, by what is said about it."""
    words = (context.view.shows, context.view.room, region.room if region is not None else "")
    return matches(OUTDOORS, " ".join(words))


def air_near(context: Context, region: Region | None) -> Quantity | None:
    """Air beside the part [degC] with bounds: as stated for it, else the survey's inside or outside air, else None."""
    stated = fact_of(AIR_AROUND.name, region, context)
    if isinstance(stated, Quantity):
        return _at_least(stated, STATED_AIR_K, "air beside the part, as stated")
    outside = is_outdoors(context, region)
    given = context.conditions.outside_air if outside else context.conditions.inside_air
    return (
        None
        if given is None
        else _at_least(given, ROOM_AIR_K, f"air {'outside' if outside else 'inside'}, within {ROOM_AIR_K:g} K of it")
    )


def _at_least(given: Quantity, half: float, method: str) -> Quantity:
    return Quantity(
        given.value, "degC", min(given.low, given.value - half), max(given.high, given.value + half), 0.95, method
    )


def rise_over(mean: Quantity | None, air: Quantity | None) -> Quantity | None:
    """Rise of a surface over the air [K], or None when either is not known. The two errors are independent."""
    if mean is None or air is None:
        return None
    value = mean.value - air.value
    below = ((mean.value - mean.low) ** 2 + (air.high - air.value) ** 2) ** 0.5
    above = ((mean.high - mean.value) ** 2 + (air.value - air.low) ** 2) ** 0.5
    return Quantity(value, "K", value - below, value + above, 0.95, "mean of the region minus the air beside it")


def face_area(subject: Thermogram, region: Region) -> Quantity | None:
    """Area of the seen face [m2], where the size of a pixel is known."""
    mask = region.mask(*subject.shape)
    return target_area(mask, subject.pixel)


def gates_for(context: Context, region: Region | None, load: bool = True) -> tuple[str, ...]:
    """Survey gates of an electrical part; wind and sun matter outside only."""
    return (
        *(("load",) if load else ()),
        "spot",
        "emissivity",
        *(("wind", "sun") if is_outdoors(context, region) else ()),
    )


def phase_of(region: Region) -> str:
    """ "L1", "L2", "L3" or "N" as stated for the region itself, else ""."""
    stated = region.facts.get(PHASE.name)
    return stated if isinstance(stated, str) and stated in PHASE.choices else ""


def three_phases(regions: tuple[Region, ...]) -> dict[str, Region] | None:
    """L1, L2, L3 and, where named, N, when a group names each of the three exactly once and none of it is a fuse; else
    None.
    """
    named = [(phase_of(one), one) for one in regions if phase_of(one) and one.shape != "line"]
    found = dict(named)
    complete = {"L1", "L2", "L3"} <= set(found) and len(found) == len(named)
    return found if complete and not any(matches(FUSES, one.shows) for one in regions) else None


def wind_on(context: Context, region: Region | None) -> float | None:
    """Wind at the part [m/s], 0 inside; None where it is outside and not known."""
    if not is_outdoors(context, region):
        return 0.0
    return None if context.conditions.wind is None else context.conditions.wind.value


def is_solar(context: Context, region: Region | None) -> bool:
    """Whether the part, or the picture without one, belongs to a photovoltaic system, by the owner's words."""
    own = () if region is None else (region.shows, region.name, region.group)
    return matches(SOLAR, " ".join((*own, context.view.shows)))


def known(**quantities: Quantity | None) -> dict[str, Quantity]:
    """Those that are known, with underscores in their names as spaces."""
    return {name.replace("_", " "): one for name, one in quantities.items() if one is not None}


ALWAYS = (
    "electrical.panels",
    "electrical.arc-flash",
    "electrical.qualified-persons",
    "electrical.photovoltaics",
    "electrical.aluminium-wiring",
)
"""Cautions of the domain: covers, arc flash and shock, who may work and whom to call, the DC side, aluminium."""


def cautions_for(context: Context, region: Region | None, *more: str) -> tuple[str, ...]:
    """Keys of the cautions that stand beside a finding on this part, the ones that matter most for it first."""
    solar = is_solar(context, region)
    outlet = region is not None and matches(OUTLETS, region.shows)
    aluminium = ("electrical.aluminium-wiring",) if house_wiring(context, region) else ()
    return tuple(
        dict.fromkeys(
            (
                "electrical.panels",
                *(("electrical.photovoltaics",) if solar else ()),
                *(aluminium if outlet else ()),
                "electrical.arc-flash",
                "electrical.qualified-persons",
                *aluminium,
                *more,
            )
        )
    )


def house_wiring(context: Context, region: Region | None) -> bool:
    """Whether a part may hang on branch wiring of aluminium: of the house's own circuits, and not wired in other years.

    Source: cpsc-516, cpsc-1974 [seen: S21]
    """
    if region is not None and (is_solar(context, region) or matches((*CONVERTERS, *MOTORS), region.shows)):
        return False
    stated = fact_of(YEAR_WIRED.name, region, context)
    first, last = ALUMINIUM_YEARS
    return not isinstance(stated, Quantity) or first <= stated.value <= last


def repair_for(context: Context, region: Region, usual: str = "electrical.restore-connection") -> str:
    """Who mends it: the installer of the photovoltaic system, else a licensed electrician."""
    return "electrical.restore-photovoltaic-connection" if is_solar(context, region) else usual
