"""What a surface separates, which way heat goes through it, and what that says about temperatures measured on it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from heatbrief.api import Context, FactSpec, propagated
from heatbrief.detect import fact_of
from heatbrief.detect.films import facing_of, heat_goes, taken_outside
from heatbrief.detect.measure import Sign
from heatbrief.model import Quantity, Region

CELSIUS = 273.15
RADIANT_K = 1.0
"""Bound on how far the mean temperature of a room's surfaces lies from its air, when nothing was measured (common
practice)."""

AIR_BEYOND = FactSpec(
    "air_beyond", "air temperature on the other side, when it is not outside air", unit="degC", example="50 degC"
)
CONSTRUCTION = FactSpec(
    "construction",
    "how heavy the part is; heavy ones need longer steady conditions",
    choices=("light", "heavy"),
    example="light",
)
METER = FactSpec("moisture meter", "what a moisture meter says at the spot", choices=("wet", "dry"), example="wet")


@dataclass(frozen=True)
class Airs:
    """Air on the camera's side and beyond the surface [degC], either possibly unknown."""

    near: Quantity | None
    beyond: Quantity | None
    given: str

    @property
    def difference(self) -> Quantity | None:
        """Near minus beyond [K]."""
        if self.near is None or self.beyond is None:
            return None
        return propagated(
            lambda near, beyond: near - beyond,
            "K",
            f"air on this side minus {self.given}",
            near=self.near,
            beyond=self.beyond,
        )

    @property
    def sign(self) -> Sign | None:
        """How less insulation, a bridge or air from beyond shows: "warm", "cold", or None when nothing drives heat
        through."""
        drive = self.difference
        if drive is None or drive.low <= 0.0 <= drive.high or abs(drive.value) < 1.0:
            return None
        return "cold" if drive.value > 0.0 else "warm"


def airs_of(context: Context, region: Region) -> Airs:
    """The airs on both sides of a region; the fact `air_beyond` goes before the outside air."""
    now = context.conditions
    beyond = fact_of("air_beyond", region, context)
    if from_outside(context, region):
        return Airs(now.outside_air, now.inside_air, "the inside air")
    if isinstance(beyond, Quantity):
        return Airs(now.inside_air, beyond, "the air beyond")
    return Airs(now.inside_air, now.outside_air, "the outside air")


def with_airs(context: Context, airs: Airs) -> Context:
    """The context as the gates should see it: the air that really lies beyond in place of the outside air."""
    return replace(context, conditions=replace(context.conditions, inside_air=airs.near, outside_air=airs.beyond))


def words_of(context: Context, region: Region) -> str:
    """All words that say what a region shows."""
    return f"{region.shows} {context.view.shows}"


def from_outside(context: Context, region: Region) -> bool:
    """Whether the picture was taken from outside."""
    return taken_outside(words_of(context, region))


def film_resistance(text: str, airs: Airs) -> float:
    """Inside surface resistance for the facing and the direction of heat, m2 K W-1. Source: iso-6946."""
    from heatbrief.physics.surface_coefficients import ISO_RSI

    drive = airs.difference
    return ISO_RSI[heat_goes(facing_of(text), drive is not None and drive.value < 0)]


def temperature_factor(surface: Quantity | None, airs: Airs) -> Quantity | None:
    """(surface - beyond) / (near - beyond): 1 follows the room, 0 the air beyond. None without temperatures."""
    if surface is None or airs.near is None or airs.beyond is None or airs.sign is None:
        return None
    return propagated(
        lambda surface, near, beyond: (surface - beyond) / (near - beyond),
        "1",
        "temperature factor",
        surface=surface,
        near=airs.near,
        beyond=airs.beyond,
    )


def added_transmittance(contrast: Quantity, film: Quantity, airs: Airs) -> Quantity | None:
    """How much more heat passes per area and kelvin than through the surroundings, W m-2 K-1: h contrast / difference.

    Errors shared by both places cancel, so this is far surer than either transmittance by itself.
    """
    drive = airs.difference
    if drive is None or airs.sign is None or contrast.unit != "K":
        return None
    return propagated(
        lambda contrast, film, drive: -film * contrast / drive,
        "W/m2/K",
        "surface coefficient times contrast over the difference",
        contrast=contrast,
        film=film,
        drive=drive,
    )


def transmittance(surface: Quantity | None, film: Quantity, airs: Airs) -> Quantity | None:
    """U of a place from its absolute temperature, W m-2 K-1; surfaces of the room within RADIANT_K of its air."""
    drive = airs.difference
    if surface is None or airs.near is None or drive is None or airs.sign is None:
        return None
    room = Quantity(
        airs.near.value, "degC", airs.near.low - RADIANT_K, airs.near.high + RADIANT_K, 0.95, "room air and surfaces"
    )
    found = propagated(
        lambda surface, room, film, drive: film * (room - surface) / drive,
        "W/m2/K",
        "surface coefficient times (room minus surface) over the difference",
        surface=surface,
        room=room,
        film=film,
        drive=drive,
    )
    if found is None or found.high <= 0.0:
        return None
    return Quantity(max(found.value, 0.0), found.unit, max(found.low, 0.0), found.high, found.coverage, found.method)


def known(**quantities: Quantity | None) -> dict[str, Quantity]:
    """The quantities that could be worked out, underscores in names as spaces."""
    return {name.replace("_", " "): one for name, one in quantities.items() if one is not None}
