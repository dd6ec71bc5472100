"""What a surface should let through, from what its owner knows of it."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources
from typing import Any

from heatbrief.api import Context, FactSpec
from heatbrief.detect import fact_of
from heatbrief.model import Quantity, Region

R_IP = 0.1761101838
"""m2 K/W per h ft2 degF/Btu."""


@lru_cache(maxsize=1)
def _table() -> dict[str, Any]:
    import yaml

    result: dict[str, Any] = yaml.load(
        resources.files(__package__).joinpath("assemblies.yaml").read_text(encoding="utf-8"),
        getattr(yaml, "CSafeLoader", yaml.SafeLoader),
    )
    return result


EXPECTED_U = FactSpec(
    "expected_u", "heat transfer coefficient the surface should have", unit="W/m2/K", example="0.3 W/m2/K"
)
EXPECTED_R = FactSpec(
    "expected_r", "resistance from air to air the surface should have", unit="m2*K/W", example="5.3 m2 K/W"
)
ASSEMBLY = FactSpec(
    "assembly", "what the surface is built as, in the words of assemblies.yaml", example="wood stud wall R-15"
)
EXPECTED = (EXPECTED_U, EXPECTED_R, ASSEMBLY)
U_VALUE = "u_value"


def expected_u(region: Region | None, context: Context) -> Quantity | None:
    """U that the surface should have [W m-2 K-1], from `expected_u`, `expected_r`, `u_value` or `assembly`, else None.

    Source: envelope-assemblies for assemblies.
    """
    for name in (EXPECTED_U.name, U_VALUE):
        given = fact_of(name, region, context)
        if isinstance(given, Quantity) and given.low > 0.0:
            return given
    given = fact_of(EXPECTED_R.name, region, context)
    if isinstance(given, Quantity) and given.low > 0.0:
        return inverse(given, "1 over the stated resistance")
    named = str(fact_of(ASSEMBLY.name, region, context) or "").strip()
    resistance = _table()["assemblies"].get(named)
    if resistance is None:
        return None
    low, high = (resistance + film for film in _table()["films"])
    middle = 0.5 * (low + high)
    return Quantity.between(1 / (high * R_IP), 1 / (low * R_IP), "W/m2/K", 1 / (middle * R_IP), f"{named}, with films")


def unknown_assembly(region: Region, context: Context) -> str:
    """What to say of an `assembly` that the table does not have, else ""."""
    named = str(fact_of(ASSEMBLY.name, region, context) or "").strip()
    known = _table()["assemblies"]
    return f"`assembly` {named[:60]!r} is none of: {', '.join(known)}" if named and named not in known else ""


def inverse(one: Quantity, method: str) -> Quantity:
    """1 / quantity for one that is above 0: "W/m2/K" from "m2*K/W" and back."""
    unit = "W/m2/K" if one.unit == "m2*K/W" else "m2*K/W"
    return Quantity(1.0 / one.value, unit, 1.0 / one.high, 1.0 / one.low, one.coverage, method)
