"""The typed manifest. Each class says what may stand at its place in `survey.yaml`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, ClassVar, Literal

from heatbrief.model.conditions import Conditions
from heatbrief.model.costs import Bill, Costs
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import SettingOrigin, SharedFile
from heatbrief.model.settings import setting

COUNTS = "counts"
"""The choice of `values` that keeps one picture out of a scale shared by the others."""
Point = tuple[float, float]
Row = tuple[float, float, float]


@dataclass(frozen=True)
class PropertyEntry:
    """The property that was surveyed."""

    SHORTHAND: ClassVar[str] = "name"

    name: str = setting(help="name of the property, shown on every page", example="Sandpiper Row 3")
    address: str = setting("", help="address, if it is to be published")
    client: str = setting("", help="who asked for the survey")
    surveyor: str = setting("", help="who took the pictures, with qualification if any")
    invented: bool = setting(False, help="true for demonstration data; every page says so")


@dataclass(frozen=True)
class CameraEntry:
    """The camera as its maker states it."""

    field_of_view: tuple[Quantity, Quantity] | None = setting(
        None, unit="deg", low=0.1, high=170, help="horizontal and vertical field of view", example="[56 deg, 42 deg]"
    )
    noise: Quantity | None = setting(
        None, unit="K", low=0, high=5, help="noise of one pixel as a temperature difference", example="50 mK"
    )
    accuracy: Quantity | None = setting(
        None, unit="K", low=0, high=50, help="stated accuracy, plus or minus", example="2 K"
    )
    accuracy_percent: Quantity | None = setting(
        None,
        unit="1",
        low=0,
        high=0.2,
        help="stated accuracy as a share of the reading in degC, if larger",
        example="2 %",
    )
    band: tuple[Quantity, Quantity] | None = setting(
        None, unit="um", low=0.5, high=30, help="spectral band", example="[8 um, 14 um]"
    )
    pixel_pitch: Quantity | None = setting(
        None,
        unit="um",
        low=0.5,
        high=200,
        help="distance between the centres of two pixels of the detector; with the focal length instead of the field "
        "of view",
        example="17 um",
    )
    focal_length: Quantity | None = setting(
        None, unit="mm", low=0.5, high=5000, help="focal length of the lens", example="13 mm"
    )
    response: tuple[tuple[float, float], ...] = setting(
        (),
        low=0,
        high=1e6,
        help="measured spectral response as [wavelength in um, relative response] pairs, instead of the band",
        example="[[7.5, 0], [8, 0.9], [13, 1], [14, 0]]",
    )
    flat_field: tuple[str, ...] = setting(
        (),
        help="frames of this camera that show its lens shading and fixed pattern, below the survey folder; two or more, taken "
        "at different moments, show what repeats",
        example="[flat/*.tiff]",
    )
    flat_field_shows: Literal["even surface", "many scenes"] = setting(
        "even surface",
        help="what those frames show: a surface of one temperature, or many ordinary scenes (at least eight) that share "
        "nothing but the camera",
    )


@dataclass(frozen=True)
class ColourBarEntry:
    """The colour bar in a picture of colours, and what its ends say. Boxes count pixels of the file from its top left."""

    box: tuple[int, int, int, int] = setting(
        low=0,
        high=100_000,
        help="[left, top, width, height] of the bar without its numbers",
        example="[600, 20, 16, 440]",
    )
    ends: tuple[Quantity, Quantity] = setting(
        unit="degC",
        low=-270,
        high=5000,
        help="temperatures at the cold and at the warm end of the bar",
        example="[12.4 degC, 31.0 degC]",
    )
    runs: Literal["up", "down", "right", "left"] | None = setting(
        None, help="where along the bar temperature rises; when left out, up or to the right along the longer side"
    )
    picture: tuple[int, int, int, int] | None = setting(
        None,
        low=0,
        high=100_000,
        help="[left, top, width, height] of the thermal picture in the file; regions then count from its top left",
    )
    overlays: tuple[tuple[int, int, int, int], ...] = setting(
        (), low=0, high=100_000, help="boxes [left, top, width, height] with text or marks drawn over the picture"
    )


@dataclass(frozen=True)
class ScaleEntry:
    """How recorded numbers become temperatures: kelvin per count and the value of count 0, a unit, or a colour bar."""

    kelvin_per_count: float | None = setting(
        None, positive=True, high=1000, help="kelvin for one count; count 0 is 0 K unless zero_at says otherwise"
    )
    zero_at: Quantity | None = setting(
        None, unit="degC", low=-1000, high=5000, help="temperature of count 0", example="-100 degC"
    )
    values: Literal["degC", "kelvin", "degF", "counts"] | None = setting(
        None,
        help="the numbers in the file are temperatures in this unit; `counts`: they are no temperatures, whatever "
        "`defaults:` says",
    )
    bar: ColourBarEntry | None = setting(
        None, help="the picture holds colours only; this is where its colour bar is and what it says"
    )
    known_points: bool = setting(
        False,
        help="make a provisional scale from two or more regions of this picture with the fact known_temperature",
    )


@dataclass(frozen=True)
class AppliedEntry:
    """What the camera already applied when it wrote the temperatures, so that it can be undone first."""

    emissivity: Quantity | None = setting(None, unit="1", low=0.01, high=1, help="emissivity set in the camera")
    reflected: Quantity | None = setting(
        None, unit="degC", low=-120, high=500, help="reflected temperature set in the camera"
    )
    transmittance: Quantity | None = setting(
        None, unit="1", low=0.05, high=1, help="atmospheric transmittance set in the camera"
    )


@dataclass(frozen=True)
class RegionEntry:
    """A region: give exactly one of outline, box, line, point; without any it is the whole picture."""

    name: str = setting(help="your own words for it", example="batt edge by the window")
    thermogram: str = setting("", help="the thermogram it lies on (in the list of all regions)")
    outline: tuple[Point, ...] | None = setting(
        None, help="corners [x, y] in pixels", example="[[112, 40], [188, 40], [188, 66]]"
    )
    box: tuple[float, float, float, float] | None = setting(None, help="[left, top, width, height] in pixels")
    line: tuple[Point, ...] | None = setting(None, help="points [x, y] in pixels")
    point: Point | None = setting(None, help="[x, y] in pixels")
    shows: str = setting("", help="what it is, in plain words", example="breaker")
    room: str = setting("", help="room or place")
    group: str = setting("", help="regions of one group are compared with each other")
    material: str = setting("", help="surface material, for its emissivity", names="material")
    emissivity: Quantity | None = setting(
        None, unit="1", low=0.01, high=1, help="emissivity if measured", example="0.93 +- 0.02"
    )
    facts: Mapping[str, Any] = setting(
        factory=dict, help="facts that a check asks for", example="{load: 12 A, rated: 20 A}"
    )


@dataclass(frozen=True)
class FloorEntry:
    """A drawing of the property from above, such as one storey, and where on it the rooms lie."""

    name: str = setting(help="which part of the property it shows, in your own words", example="ground floor")
    picture: str = setting(help="path of the drawing below the survey folder", example="plan/ground-floor.png")
    places: Mapping[str, Point] = setting(
        factory=dict,
        low=0,
        high=100_000,
        help="[x, y] in pixels of the drawing, from its top left, of rooms, regions or ids of pictures",
        example="{north bedroom: [120, 80], garage: [420, 210]}",
    )


@dataclass(frozen=True)
class RectangleEntry:
    """A rectangle of known size on the surface, such as a door: it gives scale and slant of the whole surface."""

    corners: tuple[Point, Point, Point, Point] = setting(
        help="its corners [x, y] in pixels, in order around it; the first two are the ends of its width",
        example="[[100, 120], [520, 80], [560, 400], [90, 360]]",
    )
    width: Quantity = setting(unit="m", positive=True, high=1000, help="true width", example="2 m")
    height: Quantity = setting(unit="m", positive=True, high=1000, help="true height", example="1.5 m")


@dataclass(frozen=True)
class ThermogramEntry:
    """One picture and what is known about it."""

    SHORTHAND: ClassVar[str] = "file"

    file: str = setting(help="path below the survey folder", example="ir/north-bedroom-ceiling.tiff")
    id: str = setting("", help="short name; the file's name when left out")
    page: int = setting(0, low=0, high=100000, help="page of a multi-page file, or frame of a video, from 0")
    pages: str = setting(
        "",
        help="several pages of a multi-page file, or frames of a video, as one sequence: `all`, or the first and the last",
        example="0..9",
    )
    every: Quantity | None = setting(
        None,
        unit="s",
        low=0.001,
        high=1e8,
        help="time from picture to picture of a pattern or of pages; the first was taken at `taken`",
        example="15 s",
    )
    shows: str = setting("", help="what it shows, in plain words", example="ceiling under the attic, from inside")
    room: str = setting("", help="room or place")
    domain: str = setting("", help="inspect it only as this domain", names="domain")
    size: tuple[int, int] | None = setting(None, low=1, help="[width, height] in pixels the picture must have")
    scale: ScaleEntry | None = setting(None, help="how counts become temperatures")
    applied: AppliedEntry | None = setting(None, help="settings the camera already applied")
    material: str = setting("", help="surface material of most of the picture", names="material")
    emissivity: Quantity | None = setting(None, unit="1", low=0.01, high=1, help="emissivity if measured")
    reflected: Quantity | None = setting(None, unit="degC", low=-120, high=500, help="reflected apparent temperature")
    distance: Quantity | None = setting(
        None, unit="m", low=0.01, high=5000, help="from camera to surface", example="2.4 m"
    )
    tilt: Quantity | None = setting(
        None, unit="deg", low=0, high=85, help="angle between the line of sight and the surface's normal"
    )
    pixel_size: Quantity | None = setting(
        None, unit="m", positive=True, high=100, help="size of a pixel on the surface", example="6 mm"
    )
    rectangle: RectangleEntry | None = setting(
        None, help="a rectangle of known size on the surface; wins over distance and field of view"
    )
    taken: str = setting("", help="date and time, ISO 8601", example="2026-07-14T16:20-07:00")
    sequence: str = setting("", help="pictures of one fixed view over time share a name")
    visible: str = setting("", help="path of the visible picture of the same view")
    visible_points: tuple[tuple[Point, Point], ...] = setting(
        (),
        help="the same places in the visible and in the thermal picture, [[x, y], [x, y]] in pixels of each; two or more",
        example="[[[210, 95], [60, 30]], [[820, 110], [130, 32]], [[800, 700], [128, 100]], [[220, 690], [61, 99]]]",
    )
    visible_matrix: tuple[Row, Row, Row] | None = setting(
        None, help="3 x 3 matrix from pixels of the visible picture to pixels of the thermal one, if it is known"
    )
    conditions: Conditions | None = setting(None, help="conditions that differ from the survey's")
    facts: Mapping[str, Any] = setting(factory=dict, help="facts that a check asks for")
    regions: tuple[RegionEntry, ...] = setting((), help="named regions on this picture")
    notes: str = setting("", help="anything else")


@dataclass(frozen=True)
class StepEntry:
    """One step of a stage. `settings` is filled by the loader: an instance of the step's own settings class."""

    SHORTHAND: ClassVar[str] = "use"

    use: str = setting(help="name of the step", example="envelope.insulation", names="step")
    on: Mapping[str, str] = setting(factory=dict, help="only pictures whose shows, room, domain or thermogram match")
    with_: Mapping[str, Any] = setting(factory=dict, help="settings of the step")
    settings: Any = field(default=None, init=False)


@dataclass(frozen=True)
class StagesEntry:
    """The five stages in their order. A stage left out gets its defaults; an empty list switches it off."""

    ingest: tuple[StepEntry, ...] | None = setting(None, help="readers, tried in order")
    calibrate: tuple[StepEntry, ...] | None = setting(None, help="from counts to temperatures with bounds")
    detect: tuple[StepEntry, ...] | None = setting(None, help="checks")
    estimate: tuple[StepEntry, ...] | None = setting(None, help="calculators")
    publish: tuple[StepEntry, ...] | None = setting(None, help="what is written")


@dataclass(frozen=True)
class Manifest:
    """A whole `survey.yaml`."""

    format: Literal[1] = setting(help="version of this file's form", example="1")
    property: PropertyEntry = setting(help="what was surveyed")
    inspect: tuple[str, ...] = setting((), help="domains to inspect with good defaults", names="domain")
    conditions: Conditions = setting(factory=Conditions, help="conditions during the survey")
    camera: CameraEntry = setting(factory=CameraEntry, help="the camera")
    thermograms: tuple[ThermogramEntry, ...] = setting((), help="the pictures")
    defaults: ThermogramDefaults | None = setting(None, help="facts shared by all pictures that do not say otherwise")
    regions: tuple[RegionEntry, ...] = setting((), help="regions, each naming its thermogram")
    floors: tuple[FloorEntry, ...] = setting(
        (), help="drawings of the property from above, one for each storey; findings are shown on them"
    )
    stages: StagesEntry = setting(factory=StagesEntry, help="the stages written out")
    settings: Mapping[str, Any] = setting(
        factory=dict,
        help="settings by step, used wherever the step stands without settings of its own",
        example="{heatbrief.season: {cooling_degree_days: 1200 K d}}",
    )
    prices: Mapping[str, Quantity] = setting(
        factory=dict, help="prices with units", example="{electricity: 0.16 USD/kWh}"
    )
    emissions: Mapping[str, Quantity] = setting(
        factory=dict,
        unit="kg/kWh",
        low=0,
        high=5,
        help="carbon dioxide per kWh by fuel, where the published value does not fit",
        example="{electricity: 0.25 kg/kWh}",
    )
    costs: Costs = setting(factory=Costs, help="prices of work, budget, and how money is counted over the years")
    bill: Mapping[str, Bill] = setting(
        factory=dict,
        help="what was bought in a year, by the names of the prices; the findings are compared with it",
        example="{electricity: 9800 kWh}",
    )
    currency: str = setting("USD", help="currency of prices without one, as three letters")
    units: Literal["metric", "us"] = setting("metric", help="units on the site")
    language: str = setting("en", help="language of the site", names="language")
    date: str = setting("", help="date of the survey, ISO 8601")
    notes: str = setting("", help="anything else")
    include: str = setting("", help="a file of shared entries, such as a firm's; this file's own entries win")
    folder: Path = field(default=Path(), init=False)
    path: Path = field(default=Path(), init=False)
    stated_costs: frozenset[str] = field(default=frozenset(), init=False)
    shared: tuple[SharedFile, ...] = field(default=(), init=False)
    origins: tuple[SettingOrigin, ...] = field(default=(), init=False)


@dataclass(frozen=True)
class ThermogramDefaults:
    """Facts shared by all pictures that do not say otherwise."""

    scale: ScaleEntry | None = setting(None, help="how counts become temperatures")
    applied: AppliedEntry | None = setting(None, help="settings the camera already applied")
    material: str = setting("", help="surface material", names="material")
    emissivity: Quantity | None = setting(None, unit="1", low=0.01, high=1, help="emissivity if measured")
    reflected: Quantity | None = setting(None, unit="degC", low=-120, high=500, help="reflected apparent temperature")
    distance: Quantity | None = setting(None, unit="m", low=0.01, high=5000, help="from camera to surface")
    size: tuple[int, int] | None = setting(None, low=1, help="[width, height] in pixels the pictures must have")
    room: str = setting("", help="room or place")
    shows: str = setting("", help="what they show, in plain words")
