"""A registry with two steps, a publisher and two domains, as small as the loader needs it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from heatbrief.api import Domain, FactSpec, Publisher, Step, setting
from heatbrief.model import Quantity


@dataclass(frozen=True)
class InsulationSettings:
    """Settings of the check."""

    smallest: float = setting(0.05, unit="m2", positive=True, help="smallest area reported", example="0.05 m2")
    difference: float = setting(10.0, unit="K", low=1, help="least inside-outside difference", example="10 K")
    table: Literal["strict", "usual"] = setting("usual", help="rule set")
    cost: Quantity | None = setting(None, help="price of the work", example="12 USD/m2")
    passes: int = setting(1, low=1, high=9, help="passes")
    words: tuple[str, ...] = setting((), help="words")

    def __post_init__(self) -> None:
        if self.table == "strict" and self.passes > 5:
            raise ValueError("strict allows at most 5 passes")


def run(*_: object) -> None:
    """Never called."""


class Registry:
    """What the tests pretend is installed."""

    steps: ClassVar = {
        "envelope.insulation": Step(
            "envelope.insulation",
            "detect",
            1,
            run,
            InsulationSettings,
            "missing insulation",
            "envelope",
            facts=(
                FactSpec("load", "current at the time", "A", example="12 A"),
                FactSpec("rated", "rated current", "A"),
                FactSpec("supply_air", "air in the duct", "degC"),
                FactSpec("service", "kind of service", None, ("heating", "cooling")),
                FactSpec("maker", "maker", None),
            ),
        ),
        "heatbrief.tiff": Step("heatbrief.tiff", "ingest", 1, run, summary="TIFF", suffixes=(".tif", ".tiff")),
    }
    publishers: ClassVar = {"heatbrief.site": Publisher("heatbrief.site", 1, run)}
    domains: ClassVar = {key: Domain(key, key.title(), key) for key in ("envelope", "electrical")}


REGISTRY = Registry()
