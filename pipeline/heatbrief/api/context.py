"""Facts about the run that a step may read. Plain data only: a Context travels to other processes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any

from heatbrief.model.conditions import Conditions
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Fact, Region


@dataclass(frozen=True)
class Camera:
    """The camera as stated. Angles [deg], noise and accuracy [K], band [um]."""

    field_of_view: tuple[float, float] | None = None
    noise: float | None = None
    accuracy: float | None = None
    accuracy_percent: float | None = None
    band: tuple[float, float] | None = None


@dataclass(frozen=True)
class View:
    """What is known about the picture at hand.

    scale          (kelvin per count, kelvin at count 0), or None
    values_unit    "degC", "kelvin" or "degF" when the file holds temperatures, else ""
    applied        what the camera already applied: emissivity [1], reflected [degC], transmittance [1]
    size           (width, height) the manifest declares, or None
    """

    thermogram: str = ""
    source: str = ""
    page: int = 0
    shows: str = ""
    room: str = ""
    material: str = ""
    emissivity: Quantity | None = None
    reflected: Quantity | None = None
    distance: Quantity | None = None
    tilt: Quantity | None = None
    pixel_size: Quantity | None = None
    scale: tuple[float, float] | None = None
    values_unit: str = ""
    applied: Mapping[str, float] = field(default_factory=dict)
    size: tuple[int, int] | None = None
    taken: str = ""
    sequence: str = ""


TOGETHER = {"view": ("view", "views"), "prices": ("prices", "currency"), "conditions": ("conditions", "conditions_of"),
            "facts": ("facts", "facts_of")}
"""Parts that are given together."""


@dataclass(frozen=True)
class Context:
    """Facts about the run. New facts become new attributes; existing ones never change meaning within an API version.

    regions  of this thermogram, or of all thermograms for steps of scope "sequence" and "survey"
    views    for those scopes: the view of each thermogram by its id
    conditions_of, facts_of   for those scopes and for estimates: conditions and facts of each thermogram by its id
    prices   name -> price, such as {"electricity": 0.16 USD/kWh}
    pixels   for the estimate stage: area of a pixel [m2] by thermogram, where known
    """

    property: str = ""
    conditions: Conditions = field(default_factory=Conditions)
    camera: Camera = field(default_factory=Camera)
    view: View = field(default_factory=View)
    views: Mapping[str, View] = field(default_factory=dict)
    regions: tuple[Region, ...] = ()
    facts: Mapping[str, Fact] = field(default_factory=dict)
    conditions_of: Mapping[str, Conditions] = field(default_factory=dict)
    facts_of: Mapping[str, Mapping[str, Fact]] = field(default_factory=dict)
    prices: Mapping[str, Quantity] = field(default_factory=dict)
    currency: str = "USD"

    def only(self, reads: tuple[str, ...]) -> Context:
        """The same context with everything left out that a step did not declare to read.

        reads  names of parts ("conditions", "camera", "view", "regions", "facts", "prices", "property") or of single facts in them
               ("conditions.wind", "view.scale"). The view always keeps which thermogram it is.
        """
        kept: dict[str, Any] = {"view": View(thermogram=self.view.thermogram, source=self.view.source)}
        for name in reads:
            part, _, fact = name.partition(".")
            if fact:
                base = kept.get(part, type(getattr(self, part))())
                kept[part] = replace(base, **{fact: getattr(getattr(self, part), fact)})
            else:
                kept.update({one: getattr(self, one) for one in TOGETHER.get(part, (part,))})
        return Context(**kept)

    def region_of(self, name: str) -> Region | None:
        """The region of that name, or None."""
        return next((region for region in self.regions if region.name == name), None)



READABLE = frozenset(
    {"conditions", "camera", "view", "regions", "facts", "prices", "property"}
    | {f"{part}.{one.name}" for part, cls in (("conditions", Conditions), ("camera", Camera), ("view", View)) for one in fields(cls)}
)
"""Everything a step may name in `reads`."""
