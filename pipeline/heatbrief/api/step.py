"""What a plugin offers: steps, publishers, domains. Plain frozen objects; the engine calls their functions."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from heatbrief.api.deprecation import warn_deprecated
from heatbrief.model.estimate import Estimate
from heatbrief.model.finding import Finding

Stage = Literal["ingest", "calibrate", "detect", "estimate"]
Scope = Literal["thermogram", "sequence", "survey"]
Maturity = Literal["trial", "stable", "retiring"]

STAGES: tuple[str, ...] = ("ingest", "calibrate", "detect", "estimate", "publish")


@dataclass(frozen=True)
class NoSettings:
    """A step without settings."""


@dataclass(frozen=True)
class FactSpec:
    """A fact about a region or thermogram that a step reads from `facts:`.

    unit     unit it is converted to, or None for words
    choices  allowed words, empty for free text
    """

    name: str
    help: str
    unit: str | None = None
    choices: tuple[str, ...] = ()
    example: str = ""


@dataclass(frozen=True)
class StepOutput:
    """What a detect or estimate step returns, instead of print or logging.

    notes     what it could not do, and why; listed as not analysed
    in_order  what it measured and found as it should be, where that is worth saying; listed with the findings
    """

    findings: tuple[Finding, ...] = ()
    estimates: tuple[Estimate, ...] = ()
    notes: tuple[str, ...] = ()
    in_order: tuple[str, ...] = ()


@dataclass(frozen=True)
class Step:
    """One step of a stage.

    name      "<plugin>.<what>", used in manifests, kept for ever
    version   raised whenever results for equal input change; part of the cache key
    run       module-level function, so that it can go to another process. By stage:
                ingest     (path: Path, settings, context) -> Sequence[Picture]
                calibrate  (picture: Picture, settings, context) -> Thermogram
                detect     (subject, settings, context) -> StepOutput; the subject is a Thermogram, or for scope
                           "sequence" and "survey" a tuple of Thermograms
                estimate   (findings: tuple[Finding, ...], settings, context) -> StepOutput
    settings  frozen dataclass whose fields are declared with `heatbrief.model.settings.setting`
    domain    the inspection it belongs to; "" for steps that serve all
    shows     words; a detect step runs on pictures or regions whose `shows` holds one of them (empty: on all of its domain)
    reads     parts of the Context it uses; nothing else is given to it and nothing else makes its result stale.
              "conditions" or single ones as "conditions.wind", "camera", "regions", "facts", "view", "prices"
    suffixes  ingest only: file name endings it can read
    title     what it is called where people read of it, such as "missing insulation"; its name where there is none
    """

    name: str
    stage: Stage
    version: int
    run: Callable[..., Any]
    settings: type = NoSettings
    summary: str = ""
    domain: str = ""
    scope: Scope = "thermogram"
    shows: tuple[str, ...] = ()
    facts: tuple[FactSpec, ...] = ()
    reads: tuple[str, ...] = ("conditions", "camera", "regions", "facts", "view")
    unscaled: bool = False
    suffixes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    status: Maturity = "trial"
    api: int | None = None
    title: str = ""

    def __post_init__(self) -> None:
        if self.api is not None:
            warn_deprecated("Step.api", 3)


@dataclass(frozen=True)
class Publisher:
    """A way to publish results: receives results documents and an empty folder, nothing else.

    run  (results: ResultsDocument, objects: Path, out: Path, settings) -> None
    """

    name: str
    version: int
    run: Callable[..., None]
    settings: type = NoSettings
    summary: str = ""
    status: Maturity = "trial"
    api: int | None = None

    def __post_init__(self) -> None:
        if self.api is not None:
            warn_deprecated("Publisher.api", 3)


@dataclass(frozen=True)
class Shot:
    """A picture to take on a walk, for the shot list of `heatbrief new --for`.

    shows  word by which checks choose the picture; what: how to take it; facts: names of facts to note at it
    """

    key: str
    shows: str
    what: str
    facts: tuple[str, ...] = ()


@dataclass(frozen=True)
class Domain:
    """A kind of inspection: envelope, electrical, plumbing, vehicle, or a third party's.

    cautions  keys of cautions that stand on every page of the domain
    shots     pictures to take, in the order of the walk
    """

    key: str
    title: str
    summary: str
    cautions: tuple[str, ...] = ()
    shots: tuple[Shot, ...] = ()


Steps = Sequence[Step]
