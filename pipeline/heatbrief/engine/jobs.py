"""What a plan is made of: jobs with everything they depend on, pictures, groups, and the reasons to work again."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from heatbrief import __version__
from heatbrief.api.context import Context
from heatbrief.engine.frames import Frame
from heatbrief.engine.select import Chosen, Stages
from heatbrief.manifest.schema import FloorEntry, Manifest, ThermogramEntry
from heatbrief.registry import Registry
from heatbrief.store.cache import Cache, CachedJob
from heatbrief.store.folders import Folders
from heatbrief.store.keys import Key, digest_of

DOCUMENT_VERSION = 1
"""Raised whenever a results document holds more or other things for equal outputs of the jobs."""

REASONS = {
    "new": "never computed here",
    "input": "the picture changed",
    "sidecar": "the file beside the picture that states its scale changed",
    "step": "the step has a new version",
    "settings": "settings of the step changed",
    "conditions": "conditions changed",
    "camera": "camera data changed",
    "view": "facts about the picture changed",
    "regions": "regions changed",
    "facts": "facts of the picture changed",
    "prices": "prices changed",
    "bill": "the bill changed",
    "files": "a file that the settings name changed",
    "property": "the property's name changed",
    "upstream": "it uses a result that is computed again",
    "rivals": "rival explanations that plugins offer changed",
    "members": "the pictures it looks at changed",
    "about": "texts about the picture changed",
    "places": "places on the drawing changed",
    "objects": "a published picture is missing",
    "arrays": "another check needs its exact values, which were not kept",
}


@dataclass(frozen=True)
class Job:
    """One piece of work with everything it depends on. No reasons: the remembered outcome is used.

    subject  thermogram id, name of a sequence, or "survey"
    """

    address: str
    stage: str
    subject: str
    step: str
    key: Key
    reasons: tuple[str, ...] = ()
    chosen: Chosen | None = None

    @property
    def stale(self) -> bool:
        """True when it must be computed."""
        return bool(self.reasons)

    def why(self) -> str:
        """The reasons in words."""
        return "; ".join(REASONS.get(reason, f"{reason} changed") for reason in self.reasons)


@dataclass(frozen=True)
class ThermogramPlan:
    """The jobs of one picture, in order: ingest, calibrate..., record, visible, detect..."""

    entry: ThermogramEntry
    path: Path
    sha256: str
    context: Context
    jobs: tuple[Job, ...]

    def of(self, *stages: str) -> tuple[Job, ...]:
        """The jobs of some stages."""
        return tuple(job for job in self.jobs if job.stage in stages)


@dataclass(frozen=True)
class GroupPlan:
    """A check that looks at several pictures together."""

    job: Job
    members: tuple[str, ...]
    context: Context


@dataclass(frozen=True)
class FloorPlan:
    """A drawing of the property."""

    job: Job
    entry: FloorEntry
    path: Path


@dataclass(frozen=True)
class Plan:
    """Everything one property needs, and what is remembered of it."""

    manifest: Manifest
    folders: Folders
    stages: Stages
    registry: Registry
    context: Context
    thermograms: tuple[ThermogramPlan, ...]
    groups: tuple[GroupPlan, ...]
    estimates: tuple[Job, ...]
    remembered: Mapping[str, CachedJob]
    cache: Cache = field(compare=False)
    frames: tuple[Frame, ...] = ()
    floors: tuple[FloorPlan, ...] = ()

    @functools.cached_property
    def jobs(self) -> tuple[Job, ...]:
        """All jobs in the order of the stages."""
        return (
            *(job for plan in self.thermograms for job in plan.jobs),
            *(group.job for group in self.groups),
            *self.estimates,
            *(floor.job for floor in self.floors),
        )

    @functools.cached_property
    def stale(self) -> tuple[Job, ...]:
        """The jobs that must be computed."""
        return tuple(job for job in self.jobs if job.stale)

    @functools.cached_property
    def digest(self) -> str:
        """One digest over everything the results depend on."""
        manifest = self.manifest
        return digest_of(
            {
                "jobs": {job.address: job.key.digest for job in self.jobs},
                "release": f"{__version__}+{DOCUMENT_VERSION}",
                "property": manifest.property,
                "survey": [
                    manifest.inspect,
                    manifest.units,
                    manifest.language,
                    manifest.date,
                    manifest.notes,
                    manifest.path.name,
                    manifest.shared,
                    manifest.origins,
                ],
                "money": [
                    manifest.prices,
                    manifest.currency,
                    manifest.emissions,
                    manifest.costs,
                    sorted(manifest.stated_costs),
                    manifest.bill,
                ],
                "conditions": manifest.conditions,
                "floors": [entry.name for entry in manifest.floors],
                "thermograms": [[entry.id, entry.shows, entry.room, entry.domain] for entry in manifest.thermograms],
                "parts": [f"{one.name}@{one.version}" for one in self.registry.page_parts.values()],
                "texts": [self.registry.domains, self.registry.actions, self.registry.cautions, self.registry.sources],
                "translations": [self.registry.texts, [getattr(one, "language", "") for _, one in self.stages.publish]],
            }
        )
