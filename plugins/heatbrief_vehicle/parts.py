"""What the vehicle checks share: the facts they read and small helpers."""

from __future__ import annotations

from heatbrief.api import Context, FactSpec
from heatbrief.detect import facts_for
from heatbrief.detect.regions import fact_of
from heatbrief.model import Quantity, Region

DOMAIN = "vehicle"
SINCE_START = FactSpec("since_start", "time since the engine was started from cold", unit="s", example="90 s")
SHIELDED = FactSpec("shielded", "whether a heat shield or wrap covers the part", choices=("yes", "no"), example="no")
BANK = FactSpec("bank", "which bank of a V or flat engine the runner belongs to", example="left")
SINCE_STOP = FactSpec("since_stop", "time since the vehicle stopped after the drive", unit="s", example="60 s")


def seconds(name: str, region: Region | None, context: Context) -> float | None:
    """A fact about time [s], else None."""
    value = fact_of(name, region, context)
    return value.value if isinstance(value, Quantity) else None


def yes(name: str, region: Region | None, context: Context) -> bool:
    """True when a fact says yes."""
    value = fact_of(name, region, context)
    return value is True or str(value).strip().casefold() in ("yes", "true")


def known(**quantities: Quantity | None) -> dict[str, Quantity]:
    """Those that are known, with underscores in their names as spaces."""
    return {name.replace("_", " "): one for name, one in quantities.items() if one is not None}


SURFACE_FACTS = facts_for(("reflection", "material change"))
