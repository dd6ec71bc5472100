"""One thing a check looks at: the picture, the place in it, and what is known about it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from heatbrief.api.context import Context, View
from heatbrief.detect.compare import Reading
from heatbrief.detect.measure import Area, zone_of
from heatbrief.detect.regions import WHOLE, fact_of, view_of
from heatbrief.detect.words import slug
from heatbrief.model.conditions import Conditions
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Fact, Region
from heatbrief.model.thermogram import Thermogram


@dataclass(frozen=True)
class Case:
    """What gates, rivals and `conclude` argue about.

    check, domain   names of the step and its inspection
    subject         the thermogram (of a sequence: the one shown with the finding)
    region          where it was looked for; area or reading: what was found or compared there
    purpose         "insulation", "air leakage", "roof moisture", "moisture", "electrical", "irrigation", "plumbing",
                    "vehicle":
                    chooses the limits of the gates
    rule_set        "default", "strictest" or the name of one practice, see `heatbrief.detect.gates`
    tag             a word of the check's own that keeps two findings of one place apart
    """

    check: str
    domain: str
    subject: Thermogram
    context: Context
    region: Region | None = None
    area: Area | None = None
    reading: Reading | None = None
    purpose: str = "any"
    rule_set: str = "default"
    tag: str = ""

    @property
    def conditions(self) -> Conditions:
        """Conditions of the picture."""
        return self.context.conditions

    @property
    def view(self) -> View:
        """What is known about the picture."""
        return view_of(self.context, self.subject)

    @property
    def unscaled(self) -> bool:
        """True when the picture has counts instead of temperatures."""
        return self.subject.scale != "temperature"

    @cached_property
    def mask(self) -> np.ndarray:
        """Pixels the case is about: the area, else the region, else the whole picture; bool (height, width)."""
        shape = self.subject.shape
        if self.area is not None:
            return self.area.mask(*shape)
        return self.region.mask(*shape) if self.region is not None else np.ones(shape, bool)

    @property
    def contrast(self) -> Quantity | None:
        """Contrast of the area, if there is one."""
        return self.area.contrast if self.area is not None else None

    @property
    def warm(self) -> bool | None:
        """Whether it stands out as warm; None without an area."""
        return None if self.area is None else self.area.sign == "warm"

    @cached_property
    def emissivity(self) -> float | None:
        """Emissivity there, 0..1: of the region, of the zone of the picture, else as stated for the picture."""
        if self.region is not None and self.region.emissivity is not None:
            return self.region.emissivity.value
        zone = zone_of(self.subject, self.mask)
        if zone < len(self.subject.emissivity):
            return float(self.subject.emissivity[zone])
        return self.view.emissivity.value if self.view.emissivity is not None else None

    @property
    def material(self) -> str:
        """Material as stated for the region, else for the picture; "" when it is not."""
        return (self.region.material if self.region is not None else "") or self.view.material

    def fact(self, name: str) -> Fact | None:
        """A fact of the region, else of the picture or survey, else None."""
        return fact_of(name, self.region, self.context)

    def number(self, name: str) -> float | None:
        """A fact as a plain number in its declared unit, else None."""
        value = self.fact(name)
        if isinstance(value, Quantity):
            return value.value
        return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None

    def yes(self, name: str) -> bool | None:
        """A fact as yes or no, else None."""
        value = self.fact(name)
        if isinstance(value, bool):
            return value
        return (
            {"yes": True, "true": True, "no": False, "false": False}.get(str(value).strip().casefold())
            if value is not None
            else None
        )

    @property
    def id(self) -> str:
        """Identifier of the finding: check, picture, region, tag and place in order; stable as long as those are."""
        parts = [slug(self.check), slug(self.subject.id)]
        if self.region is not None and self.region.name and self.region.name != WHOLE:
            parts.append(slug(self.region.name))
        if self.tag:
            parts.append(slug(self.tag))
        if self.area is not None:
            parts.append(str(self.area.ordinal))
        return "-".join(parts)
