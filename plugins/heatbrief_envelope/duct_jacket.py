"""The jacket of a whole run of duct against the insulation it is stated to have; what supply and return differ in."""

from __future__ import annotations

import numpy as np
from heatbrief.api import Context, FactSpec, propagated
from heatbrief.detect import Case, Criterion, conclude, fact_of, matches, read_region
from heatbrief.model import Finding, Quantity, Region, Thermogram

from heatbrief_envelope.surfaces import CELSIUS, known, words_of

DIAMETER = FactSpec("diameter", "outer diameter of the duct with its jacket", unit="m", example="0.3 m")
DUCT_R = FactSpec("duct_r", "nominal resistance of the duct's insulation", unit="m2*K/W", example="1.06 m2 K/W")
DUCT_SIDE = FactSpec(
    "duct side", "whether the duct brings air to the rooms or back", choices=("supply", "return"), example="supply"
)
USUAL_DIAMETER = Quantity.between(0.15, 0.5, "m", 0.3, "usual size (common practice)")


def side_of(region: Region | None, context: Context) -> str:
    """ "supply" or "return": by the fact, else by the words of the region, else supply."""
    stated = fact_of(DUCT_SIDE.name, region, context)
    if stated in ("supply", "return"):
        return str(stated)
    return "return" if region is not None and "return" in region.shows.casefold() else "supply"


def way_of_air(region: Region | None, context: Context) -> str:
    """What a leak does: a supply duct blows air out, a return duct draws air in from around it."""
    return "drawn in from around it" if side_of(region, context) == "return" else "escaping"


def duct_cautions(region: Region, context: Context) -> tuple[str, ...]:
    """Those of a crawl space where the words say so, else those of an attic."""
    if matches(("crawl space", "crawlspace", "basement", "cellar"), words_of(context, region)):
        return ("envelope.crawl-space",)
    return ("envelope.attic", "envelope.attic-heat", "envelope.vermiculite")


def skin_coefficient(skin: Quantity, around: Quantity, diameter: Quantity, emissivity: float) -> Quantity:
    """Natural convection of a horizontal cylinder plus radiation to surroundings at the air's temperature, W m-2 K-1,
    with bounds.

    Source: churchill-chu-cylinder, stefan-boltzmann; a quarter either way for draught and a roof hotter than the air
    (common practice).
    """
    from heatbrief.physics.surface_coefficients import radiative_coefficient_exact
    from heatbrief.physics.water import pipe_convection

    def film(skin: float, around: float, diameter: float) -> float:
        a, b = skin + CELSIUS, around + CELSIUS
        return float(pipe_convection(a, b, diameter) + radiative_coefficient_exact(a, b, emissivity))

    found = propagated(
        film, "W/m2/K", "natural convection of a cylinder and radiation", skin=skin, around=around, diameter=diameter
    )
    assert found is not None
    low, high = min(found.low, 0.75 * found.value), max(found.high, 1.25 * found.value)
    return Quantity(found.value, found.unit, low, high, 0.95, found.method)


def resistance_of(skin: Quantity, supply: Quantity, around: Quantity, film: Quantity) -> Quantity | None:
    """Air to air [m2 K W-1] from the share of the difference that falls off at the skin: R = 1 / (h share)."""

    def resistance(skin: float, supply: float, around: float, film: float) -> float:
        share = (skin - around) / (supply - around)
        return 1.0 / (film * share) if share > 0.0 else float("inf")

    return propagated(
        resistance, "m2*K/W", "from the temperature of the skin", skin=skin, supply=supply, around=around, film=film
    )


def jacket_finding(
    subject: Thermogram,
    context: Context,
    region: Region,
    inside: np.ndarray,
    supply: Quantity,
    around: Quantity,
    thin: float,
) -> Finding | None:
    """A run whose skin is nearer to the air inside it than its stated jacket allows; None without `duct_r`."""
    from heatbrief.physics.ducts import effective_resistance

    nominal, reading = fact_of(DUCT_R.name, region, context), read_region(subject, inside, region.name)
    if not isinstance(nominal, Quantity) or reading is None or reading.mean is None:
        return None
    side = side_of(region, context)
    wanted = nominal.scaled(1.0, "m2*K/W")
    effective = propagated(
        lambda r: float(effective_resistance(max(r, 0.0), side)),
        "m2*K/W",
        f"ASHRAE 152, {side} duct with films",
        r=wanted,
    )
    given = fact_of(DIAMETER.name, region, context)
    film = skin_coefficient(
        reading.mean,
        around,
        given if isinstance(given, Quantity) else USUAL_DIAMETER,
        subject.emissivity[0] if subject.emissivity else 0.93,
    )
    assert effective is not None
    excess = propagated(
        lambda skin, supply, around, film, wanted: (
            max(0.0, (skin - around) / (supply - around) - 1.0 / (film * wanted)) * abs(supply - around)
        ),
        "K",
        "skin against that of the stated jacket",
        skin=reading.mean,
        supply=supply,
        around=around,
        film=film,
        wanted=effective,
    )
    if excess is None:
        return None
    least = abs(supply.value - around.value) * (1 / thin - 1) / (film.value * effective.value)
    excess = Quantity(excess.value, "K", max(0.0, excess.low), excess.high, excess.coverage, excess.method)
    own = Case(
        check="envelope.duct",
        domain="envelope",
        subject=subject,
        context=context,
        region=region,
        reading=reading,
        tag="jacket",
    )
    found = resistance_of(reading.mean, supply, around, film)
    return conclude(
        own,
        title=f"Jacket of {region.name}",
        summary=f"The skin of the whole run reads {reading.mean.value:.1f} degC, {excess.value:.1f} K nearer to the "
        "air in the duct than the stated jacket lets it. "
        + (
            "Consistent with a jacket that is thin, wet or pressed flat." if excess.low > least else "No more is shown."
        ),
        contrast=excess,
        criterion=Criterion(
            least, because=f"a jacket with {thin:.0%} of the stated resistance", sources=("ashrae-152",)
        ),
        gates=("spot", "emissivity"),
        rivals=("reflection", "material change", "shade or sun", "thermal lag"),
        severity="energy",
        at_most="plan",
        actions=("envelope.wrap-run",),
        cautions=duct_cautions(region, context),
        sources=("ashrae-152", "churchill-chu-cylinder"),
        measured=known(
            expected_resistance=effective,
            resistance=found,
            area=None if subject.pixel is None else subject.pixel.area_of(inside),
        ),
        shares=f"{subject.id}:{region.name}:jacket",
    )
