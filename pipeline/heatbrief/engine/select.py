"""Which steps run on which pictures: what the manifest lists, or good defaults for the domains it names."""

from __future__ import annotations

import functools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from heatbrief.api.step import Publisher, Step
from heatbrief.manifest.schema import Manifest, StepEntry, ThermogramEntry
from heatbrief.model.text import matches
from heatbrief.registry import Registry

DEFAULT_PUBLISHER = "heatbrief.site"
DEFAULT_CALIBRATION = ("heatbrief.radiance",)


@dataclass(frozen=True)
class Chosen:
    """A step with its settings. `on` is the manifest's filter, None when the step came by default."""

    step: Step
    settings: Any
    on: tuple[tuple[str, str], ...] | None = None

    @property
    def named(self) -> bool:
        """True when the manifest itself says which pictures this step looks at."""
        return bool(self.on)


@dataclass(frozen=True)
class Stages:
    """The steps of a survey by stage."""

    ingest: tuple[Chosen, ...]
    calibrate: tuple[Chosen, ...]
    detect: tuple[Chosen, ...]
    estimate: tuple[Chosen, ...]
    publish: tuple[tuple[Publisher, Any], ...]


def choose_stages(manifest: Manifest, registry: Registry) -> Stages:
    """The manifest's stages where it writes them out, else the defaults."""
    listed, given = manifest.stages, manifest.settings
    return Stages(
        ingest=_listed(listed.ingest, registry, given, registry.of_stage("ingest")),
        calibrate=_listed(
            listed.calibrate,
            registry,
            given,
            [registry.steps[name] for name in DEFAULT_CALIBRATION if name in registry.steps],
        ),
        detect=_listed(
            listed.detect,
            registry,
            given,
            [step for step in registry.of_stage("detect") if step.domain in manifest.inspect],
        ),
        estimate=_listed(
            listed.estimate,
            registry,
            given,
            [step for step in registry.of_stage("estimate") if step.domain in ("", *manifest.inspect)],
        ),
        publish=_publishers(listed.publish, registry, given),
    )


def _listed(
    entries: tuple[StepEntry, ...] | None, registry: Registry, given: Mapping[str, Any], defaults: Iterable[Step]
) -> tuple[Chosen, ...]:
    if entries is None:
        return tuple(
            Chosen(step, given.get(step.name) or step.settings()) for step in defaults if step.status != "retiring"
        )
    return tuple(
        Chosen(registry.steps[entry.use], entry.settings, tuple(sorted(entry.on.items()))) for entry in entries
    )


def _publishers(
    entries: tuple[StepEntry, ...] | None, registry: Registry, given: Mapping[str, Any]
) -> tuple[tuple[Publisher, Any], ...]:
    if entries is None:
        default = registry.publishers.get(DEFAULT_PUBLISHER)
        return () if default is None else ((default, given.get(default.name) or default.settings()),)
    return tuple((registry.publishers[entry.use], entry.settings) for entry in entries)


def reader_for(file: str, stages: Stages) -> Chosen | None:
    """The first reader of the survey that takes files with this ending."""
    return next((chosen for chosen in stages.ingest if file.lower().endswith(chosen.step.suffixes)), None)


def applies(chosen: Chosen, entry: ThermogramEntry) -> bool:
    """True when a detect step looks at this picture."""
    if chosen.on:
        return all(_filter(name, wanted, entry) for name, wanted in chosen.on)
    if entry.domain and chosen.step.domain and chosen.step.domain != entry.domain:
        return False
    texts = (entry.shows, *(region.shows for region in entry.regions))
    return not chosen.step.shows or any(_matches(tuple(chosen.step.shows), text) for text in texts)


def _filter(name: str, wanted: str, entry: ThermogramEntry) -> bool:
    if name == "shows":
        return any(_matches((wanted,), text) for text in (entry.shows, *(region.shows for region in entry.regions)))
    return bool({"thermogram": entry.id, "room": entry.room, "domain": entry.domain}.get(name) == wanted)


_matches = functools.lru_cache(maxsize=4096)(matches)
"""Pictures share what they show."""
