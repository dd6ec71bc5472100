"""The results document: the only thing that joins the analysis to the site."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from heatbrief.model.action import PlanItem
from heatbrief.model.caution import Caution
from heatbrief.model.estimate import Estimate
from heatbrief.model.finding import Finding
from heatbrief.model.part import Part
from heatbrief.model.quantity import Quantity
from heatbrief.model.said import Said

FORMAT = 1
"""Version of the document; `heatbrief.store.results` migrates older ones."""

Status = Literal["analysed", "unscaled", "unreadable"]


@dataclass(frozen=True)
class PropertyInfo:
    """The property and who had it surveyed. `invented` marks demonstration data on every page."""

    name: str
    slug: str
    address: str = ""
    client: str = ""
    surveyor: str = ""
    invented: bool = False


@dataclass(frozen=True)
class StoredArray:
    """A picture's values as a 16-bit greyscale PNG among the objects beside the results.

    object   file name in `objects/`
    low, step  value = low + step * (count - 1) in `unit`; count 0 means masked
    unit     "degC" or "count"
    withheld (first pixel in reading order, how many) of places whose surface gives no temperature: the values there
             start at `low` and are good for differences among themselves only
    """

    object: str
    low: float
    step: float
    unit: str
    width: int
    height: int
    withheld: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True)
class RegionRecord:
    """A region as drawn, with its statistics (empty of temperatures for unscaled pictures) and the facts its owner gave."""

    name: str
    shape: str
    points: tuple[tuple[float, float], ...]
    shows: str = ""
    room: str = ""
    material: str = ""
    statistics: Mapping[str, Quantity] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    group: str = ""
    facts: Mapping[str, Quantity | str] = field(default_factory=dict)


@dataclass(frozen=True)
class BudgetLine:
    """One line of the uncertainty of a picture's mean temperature: standard effect in kelvin."""

    name: str
    standard: float
    unit: str
    effect: float
    correlated: bool


@dataclass(frozen=True)
class ThermogramRecord:
    """One picture in the results; `source` is relative to the survey folder.

    visible_matrix  3 x 3 row by row, from pixels of `visible` to pixels of the thermal picture, or empty
    """

    id: str
    source: str
    sha256: str
    width: int
    height: int
    status: Status
    title: str = ""
    room: str = ""
    taken: str = ""
    statistics: Mapping[str, Quantity] = field(default_factory=dict)
    regions: tuple[RegionRecord, ...] = ()
    array: StoredArray | None = None
    visible: str = ""
    visible_matrix: tuple[float, ...] = ()
    conditions: Mapping[str, Quantity | str] = field(default_factory=dict)
    settings: Mapping[str, Quantity | str] = field(default_factory=dict)
    budget: tuple[BudgetLine, ...] = ()
    masked: int = 0
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class FloorRecord:
    """A drawing of the property from above.

    picture  file name in `objects/`, without anything but pixels; width, height [px]
    places   room, region or id of a picture -> (x, y) as shares of width and height, from the top left
    """

    name: str
    picture: str
    width: int
    height: int
    places: Mapping[str, tuple[float, float]] = field(default_factory=dict)


@dataclass(frozen=True)
class NotAnalysed:
    """Something that was given and could not be used, or a check that could not run. Nothing is dropped silently.

    failed  True when an input or step failed; False when it was left out for a stated reason (no scale, no check asked for)
    """

    source: str
    code: str
    message: str
    remedy: str = ""
    step: str = ""
    failed: bool = False


@dataclass(frozen=True)
class InOrder:
    """Something that was measured and is as it should be. `thermogram` is an id, or the name of what was looked at."""

    thermogram: str
    step: str
    message: str


@dataclass(frozen=True)
class SourceRecord:
    """A published source as quoted on the site, with its mark."""

    key: str
    text: str
    mark: str
    url: str = ""


@dataclass(frozen=True)
class CompletenessRow:
    """One thing that published practices ask a survey or its report to contain.

    asked_by  names of the practices, each with its mark when it is not read
    given     whether the survey or this report has it
    where     where it stands, or where to state it
    """

    item: str
    asked_by: tuple[str, ...]
    given: bool
    where: str


@dataclass(frozen=True)
class BriefLine:
    """One line of the first page; `ref` is a finding's id or an action's key."""

    text: str
    who: str = ""
    ref: str = ""
    quantities: Mapping[str, Quantity] = field(default_factory=dict)


@dataclass(frozen=True)
class Brief:
    """The first page: what is dangerous, what to do first and who does it, what it costs and brings, how sure that is.

    flags           what does not fit together, such as savings beyond the bill
    example_prices  True when costs come from the example price book
    sure, flagged   `how_sure` and `flags` as codes with values, in the same order; empty in old documents
    """

    dangers: tuple[BriefLine, ...] = ()
    first: tuple[BriefLine, ...] = ()
    total: Mapping[str, Quantity] = field(default_factory=dict)
    how_sure: tuple[str, ...] = ()
    next_time: tuple[str, ...] = ()
    flags: tuple[str, ...] = ()
    example_prices: bool = False
    sure: tuple[Said, ...] = ()
    flagged: tuple[Said, ...] = ()


@dataclass(frozen=True)
class SettingRecord:
    """A setting of a step for readers: a quantity or words, "" when it was left open, and what it does."""

    name: str
    value: Quantity | str
    help: str = ""


@dataclass(frozen=True)
class StepRecord:
    """A step that took part, for reproducibility; `explained` says its settings to readers, `title` is its name for them."""

    name: str
    stage: str
    version: int
    plugin: str
    summary: str
    settings: Mapping[str, str] = field(default_factory=dict)
    explained: tuple[SettingRecord, ...] = ()
    title: str = ""


@dataclass(frozen=True)
class SharedFile:
    """A file of shared settings that the manifest includes; path relative to the survey folder."""

    path: str
    sha256: str


@dataclass(frozen=True)
class SettingOrigin:
    """Where a setting came from. `over` names the included files whose own value it replaced."""

    setting: str
    path: str
    over: tuple[str, ...] = ()


@dataclass(frozen=True)
class SurveyInfo:
    """What was asked for.

    shared   files of shared settings, nearest first; origins: for each setting that one of them has, whose value holds
    """

    manifest: str
    date: str = ""
    inspected: tuple[str, ...] = ()
    units: str = "metric"
    language: str = "en"
    notes: str = ""
    shared: tuple[SharedFile, ...] = ()
    origins: tuple[SettingOrigin, ...] = ()


@dataclass(frozen=True)
class RunInfo:
    """What made the document. No clock, no host: equal inputs give equal bytes."""

    heatbrief: str
    steps: tuple[StepRecord, ...] = ()


@dataclass(frozen=True)
class ResultsDocument:
    """Everything the site may say about one property.

    texts  language -> short text of this document in English -> the same in that language, as plugins give it
    """

    format: int
    property: PropertyInfo
    survey: SurveyInfo
    conditions: Mapping[str, Quantity | str]
    thermograms: tuple[ThermogramRecord, ...]
    findings: tuple[Finding, ...]
    estimates: tuple[Estimate, ...]
    plan: tuple[PlanItem, ...]
    cautions: tuple[Caution, ...]
    not_analysed: tuple[NotAnalysed, ...]
    sources: tuple[SourceRecord, ...]
    run: RunInfo
    completeness: tuple[CompletenessRow, ...] = ()
    brief: Brief | None = None
    parts: tuple[Part, ...] = ()
    floors: tuple[FloorRecord, ...] = ()
    in_order: tuple[InOrder, ...] = ()
    texts: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
