"""Facts about the run that a step may read. Plain data only: a Context travels to other processes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any

from heatbrief.api.offers import RivalTest
from heatbrief.model.conditions import Conditions
from heatbrief.model.costs import Bill
from heatbrief.model.flat_field import FlatField
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Fact, Region


@dataclass(frozen=True)
class Camera:
    """The camera as stated. Angles [deg], noise and accuracy [K], band and pixel pitch [um], focal length [mm].

    flat_field  frames that show what the camera adds by itself; its pattern is there when a calibrate step is called
    response  (wavelength [um], relative response) with wavelengths rising, or empty; wins over the band
    """

    field_of_view: tuple[float, float] | None = None
    noise: float | None = None
    accuracy: float | None = None
    accuracy_percent: float | None = None
    band: tuple[float, float] | None = None
    pixel_pitch: float | None = None
    focal_length: float | None = None
    response: tuple[tuple[float, float], ...] = ()
    flat_field: FlatField | None = None


@dataclass(frozen=True)
class Rectangle:
    """A rectangle of known size in the picture: corners [px] in order around it from its first side, `width`, then `height` [m]."""

    corners: tuple[tuple[float, float], ...]
    width: Quantity
    height: Quantity


@dataclass(frozen=True)
class ColourBar:
    """A colour bar in a picture of colours. Boxes are (left, top, width, height) in pixels of the file.

    ends      temperatures [degC] at its cold and at its warm end
    standard  standard uncertainty of each end [K], such as from rounding in print
    runs      where along the bar temperature rises: "up", "down", "right" or "left"
    picture   the thermal picture in the file, or None for all of it
    overlays  places with text or marks drawn over the picture
    """

    box: tuple[int, int, int, int]
    ends: tuple[float, float]
    standard: float = 0.0
    runs: str = "up"
    picture: tuple[int, int, int, int] | None = None
    overlays: tuple[tuple[int, int, int, int], ...] = ()


@dataclass(frozen=True)
class View:
    """What is known about the picture at hand.

    scale          (kelvin per count, kelvin at count 0), or None
    values_unit    "degC", "kelvin" or "degF" when the file holds temperatures, else ""
    colour_bar     where the picture's colour bar is and what it says, for pictures of colours only, else None
    known_points   True when regions of known temperature are to give counts without a scale a provisional one
    applied        what the camera already applied: emissivity [1], reflected [degC], transmittance [1]
    size           (width, height) the manifest declares, or None
    rectangle      a rectangle of known size on the surface, or None
    visible_points   pairs of the same place in the visible and in the thermal picture, each (x, y) in pixels
    visible_matrix   3 x 3 mapping row by row from pixels of the visible picture to those of the thermal one, or empty
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
    colour_bar: ColourBar | None = None
    known_points: bool = False
    applied: Mapping[str, float] = field(default_factory=dict)
    size: tuple[int, int] | None = None
    taken: str = ""
    sequence: str = ""
    rectangle: Rectangle | None = None
    visible_points: tuple[tuple[tuple[float, float], tuple[float, float]], ...] = ()
    visible_matrix: tuple[float, ...] = ()


TOGETHER = {
    "view": ("view", "views"),
    "prices": ("prices", "currency"),
    "conditions": ("conditions", "conditions_of"),
    "facts": ("facts", "facts_of"),
}
"""Parts that are given together."""


@dataclass(frozen=True)
class Context:
    """Facts about the run. New facts become new attributes; existing ones never change meaning within an API version.

    regions  of this thermogram, or of all thermograms for steps of scope "sequence" and "survey"
    views    for those scopes: the view of each thermogram by its id
    conditions_of, facts_of   for those scopes and for estimates: conditions and facts of each thermogram by its id
    prices   name -> price, such as {"electricity": 0.16 USD/kWh}
    bill     for the estimate stage: what was bought in a year, by the names of the prices
    rivals   rival explanations that plugins offer; `conclude` weighs those that ask for the check
    files    for the estimate stage: text of the files that the step's own settings name, by the path as written; given
             to every step whose settings name one
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
    bill: Mapping[str, Bill] = field(default_factory=dict)
    files: Mapping[str, str] = field(default_factory=dict)
    rivals: tuple[RivalTest, ...] = ()

    def only(self, reads: tuple[str, ...]) -> Context:
        """The same context with everything left out that a step did not declare to read.

        reads  names of parts ("conditions", "camera", "view", "regions", "facts", "prices", "bill", "property") or of single facts in them
               ("conditions.wind", "view.scale"). The view always keeps which thermogram it is.
        """
        kept: dict[str, Any] = {
            "view": View(thermogram=self.view.thermogram, source=self.view.source),
            "files": self.files,
            "rivals": self.rivals,
        }
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
    {"conditions", "camera", "view", "regions", "facts", "prices", "bill", "property"}
    | {
        f"{part}.{one.name}"
        for part, cls in (("conditions", Conditions), ("camera", Camera), ("view", View))
        for one in fields(cls)
    }
)
"""Everything a step may name in `reads`."""
