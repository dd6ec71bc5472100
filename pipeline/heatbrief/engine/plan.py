"""What a run would do and why. The dry run and the run itself use this one function."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from heatbrief.api.context import TOGETHER, Camera, Context, View
from heatbrief.api.offers import RivalTest
from heatbrief.api.step import Step
from heatbrief.engine.context import camera_of, survey_context, thermogram_context
from heatbrief.engine.frames import field_of, frames_of
from heatbrief.engine.jobs import FloorPlan, GroupPlan, Job, Plan, ThermogramPlan
from heatbrief.engine.named_files import digest_parts, named_files
from heatbrief.engine.select import Chosen, Stages, applies, choose_stages, reader_for
from heatbrief.manifest.names import slug
from heatbrief.manifest.schema import Manifest, ThermogramEntry
from heatbrief.readers.sidecar import sidecar_path
from heatbrief.registry import Registry
from heatbrief.store.cache import CachedJob
from heatbrief.store.folders import Folders
from heatbrief.store.keys import Key, Same, digest_of, same_digest

CORE_VERSION = 4
"""Raised whenever `heatbrief.detect` changes what checks give for equal input, so that remembered findings are made again."""

RECORD_VERSION = 7
"""Raised whenever the record of a thermogram changes for equal input."""

VISIBLE_VERSION = 3
"""Raised whenever the copy of a visible picture changes for equal input."""

FLOOR_VERSION = 1
"""Raised whenever the copy of a drawing of the property changes for equal input."""


def make_plan(manifest: Manifest, registry: Registry, out: Path, store: str = "") -> Plan:
    """The plan of one property against what `out` already holds. Reads files, writes nothing.

    store  path or fsspec address where workers keep objects, when they do not share `out`
    """
    folders = Folders(out, slug(manifest.property.name), store)
    cache = folders.cache
    stages = choose_stages(manifest, registry)
    remembered = cache.jobs()
    digests = cache.digests([*_inputs(manifest), *_named(manifest, stages)])
    published = folders.objects.names()
    frames = frames_of(manifest, stages, digests)
    camera = replace(camera_of(manifest.camera), flat_field=field_of(manifest, frames))
    shared = _Shared(camera, tuple(registry.rivals.values()))
    thermograms = tuple(
        _thermogram(manifest, entry, stages, remembered, digests, published, shared) for entry in manifest.thermograms
    )
    context = shared.within(survey_context(manifest))
    context = replace(
        context,
        conditions_of={plan.entry.id: plan.context.conditions for plan in thermograms},
        facts_of={plan.entry.id: plan.context.facts for plan in thermograms},
    )
    groups = tuple(_groups(thermograms, stages, context, remembered))
    thermograms = _with_arrays(thermograms, groups, remembered)
    found = digest_of(
        [job.key.digest for plan in thermograms for job in plan.of("detect")]
        + [group.job.key.digest for group in groups]
    )
    estimates = tuple(
        _job(
            "estimate",
            "survey",
            chosen,
            remembered,
            context,
            {"upstream": found, **digest_parts(chosen.settings, manifest.folder, digests)},
            number,
        )
        for number, chosen in numbered(stages.estimate)
    )
    floors = tuple(_floors(manifest, remembered, digests, published))
    return Plan(
        manifest, folders, stages, registry, context, thermograms, groups, estimates, remembered, cache, frames, floors
    )


def numbered(steps: Iterable[Chosen]) -> Iterable[tuple[int, Chosen]]:
    """Each step with how often its name came before, so that a step may be used twice and others keep their addresses."""
    seen: dict[str, int] = {}
    for chosen in steps:
        number = seen.get(chosen.step.name, 0)
        seen[chosen.step.name] = number + 1
        yield number, chosen


def _inputs(manifest: Manifest) -> Iterable[Path]:
    for entry in manifest.thermograms:
        path = manifest.folder / entry.file
        yield path
        yield sidecar_path(path)
        if entry.visible:
            yield manifest.folder / entry.visible
    for file in manifest.camera.flat_field:
        yield manifest.folder / file
    for floor in manifest.floors:
        yield manifest.folder / floor.picture


def _named(manifest: Manifest, stages: Stages) -> Iterable[Path]:
    return (manifest.folder / file for chosen in stages.estimate for file in named_files(chosen.settings))


def _thermogram(
    manifest: Manifest,
    entry: ThermogramEntry,
    stages: Stages,
    remembered: Mapping[str, CachedJob],
    digests: Mapping[Path, str],
    published: frozenset[str],
    shared: _Shared,
) -> ThermogramPlan:
    path = manifest.folder / entry.file
    context = shared.within(thermogram_context(manifest, entry))
    content = {"input": digests.get(path, "missing"), "sidecar": digests.get(sidecar_path(path), "")}
    jobs: list[Job] = []
    reader = reader_for(entry.file, stages)
    if reader is not None:
        jobs.append(_job("ingest", entry.id, reader, remembered, context, content))
    upstream = jobs[-1].key.digest if jobs else digest_of(content)
    for number, chosen in numbered(stages.calibrate):
        jobs.append(_job("calibrate", entry.id, chosen, remembered, context, {"upstream": upstream}, number))
        upstream = jobs[-1].key.digest
    about = digest_of([entry.shows, entry.room, entry.taken, entry.file, entry.notes])
    facts = {
        "upstream": upstream,
        "regions": same_digest(context.regions),
        "conditions": same_digest(context.conditions),
        "view": same_digest(context.view),
        "about": about,
        "step": f"record@{RECORD_VERSION}",
    }
    jobs.append(_plain_job("record", entry.id, facts, remembered, published))
    if entry.visible:
        seen = {"input": digests.get(manifest.folder / entry.visible, "missing"), "step": f"visible@{VISIBLE_VERSION}"}
        jobs.append(_plain_job("visible", entry.id, seen, remembered, published))
    for number, chosen in numbered(stages.detect):
        if chosen.step.scope == "thermogram" and applies(chosen, entry):
            jobs.append(_job("detect", entry.id, chosen, remembered, context, {"upstream": upstream}, number))
    return ThermogramPlan(entry, path, content["input"], context, tuple(jobs))


@dataclass(frozen=True)
class _Shared:
    """What all contexts of a survey have in common besides what its manifest states for them."""

    camera: Camera
    rivals: tuple[RivalTest, ...]

    def within(self, context: Context) -> Context:
        """The context with it."""
        return replace(context, camera=self.camera, rivals=self.rivals)


def _floors(
    manifest: Manifest, remembered: Mapping[str, CachedJob], digests: Mapping[Path, str], published: frozenset[str]
) -> Iterable[FloorPlan]:
    for number, entry in enumerate(manifest.floors, 1):
        path = manifest.folder / entry.picture
        parts = {
            "input": digests.get(path, "missing"),
            "places": digest_of(entry.places),
            "step": f"floor@{FLOOR_VERSION}",
        }
        yield FloorPlan(_plain_job("floor", f"floor {number}", parts, remembered, published), entry, path)


def _groups(
    thermograms: tuple[ThermogramPlan, ...],
    stages: Stages,
    context: Context,
    remembered: Mapping[str, CachedJob],
) -> Iterable[GroupPlan]:
    for number, chosen in numbered(stages.detect):
        if chosen.step.scope == "thermogram":
            continue
        for name, members in _members(thermograms, chosen).items():
            last = {
                plan.entry.id: plan.of("ingest", "calibrate")[-1].key.digest
                for plan in members
                if plan.of("ingest", "calibrate")
            }
            ids = tuple(plan.entry.id for plan in members)
            own = replace(
                members[0].context,
                view=View(),
                views={one: context.views[one] for one in ids},
                conditions_of={plan.entry.id: plan.context.conditions for plan in members},
                facts_of={plan.entry.id: plan.context.facts for plan in members},
                regions=tuple(region for region in context.regions if region.thermogram in ids),
            )
            job = _job(
                "detect",
                name,
                chosen,
                remembered,
                own,
                {"upstream": digest_of(last), "members": digest_of(ids)},
                number,
            )
            yield GroupPlan(job, ids, own)


def _with_arrays(
    thermograms: tuple[ThermogramPlan, ...], groups: tuple[GroupPlan, ...], remembered: Mapping[str, CachedJob]
) -> tuple[ThermogramPlan, ...]:
    """The same, pictures that a stale group looks at calibrated again where their exact values were not kept."""
    wanted = {member for group in groups if group.job.stale for member in group.members}
    found = []
    for plan in thermograms:
        last = plan.of("ingest", "calibrate")[-1:] if plan.entry.id in wanted else ()
        if last and not last[0].stale and '"thermogram":' not in remembered[last[0].address].output:
            again = replace(last[0], reasons=("arrays",))
            plan = replace(plan, jobs=tuple(again if job is last[0] else job for job in plan.jobs))
        found.append(plan)
    return tuple(found)


def _members(thermograms: tuple[ThermogramPlan, ...], chosen: Chosen) -> dict[str, list[ThermogramPlan]]:
    """Groups of pictures a check looks at together; a sequence needs at least two."""
    fitting = [plan for plan in thermograms if applies(chosen, plan.entry)]
    if chosen.step.scope == "survey":
        return {"survey": fitting} if fitting else {}
    names = sorted({plan.entry.sequence for plan in fitting if plan.entry.sequence})
    groups = {f"sequence {name}": [plan for plan in thermograms if plan.entry.sequence == name] for name in names}
    return {name: members for name, members in groups.items() if len(members) > 1}


def _job(
    stage: str,
    subject: str,
    chosen: Chosen,
    remembered: Mapping[str, CachedJob],
    context: Context,
    given: Mapping[str, str],
    number: int = 0,
) -> Job:
    step = chosen.step
    core = f"+{CORE_VERSION}" if stage == "detect" else ""
    parts: dict[str, Any] = {
        "step": f"{step.name}@{step.version}{core}",
        "settings": same_digest(chosen.settings),
        **given,
    }
    if stage == "detect" and (weighed := _weighed(step, context.rivals)):
        parts["rivals"] = weighed
    parts.update(_seen(Same(context), tuple(step.reads)))
    address = f"{subject}/{stage}/{step.name}" + (f"#{number + 1}" if number else "")
    return _reasoned(address, stage, subject, step.name, Key(parts), remembered, chosen)


def _weighed(step: Step, rivals: tuple[RivalTest, ...]) -> str:
    """The offered rivals that a check may weigh, with their versions."""
    mine = step.name.partition(".")[0] + "."
    asked = (one for one in rivals if one.name.startswith(mine) or one.weighed_in(step.name, step.domain))
    return ", ".join(sorted(f"{one.name}@{one.version}" for one in asked))


@functools.lru_cache(maxsize=64)
def _seen(same: Same, reads: tuple[str, ...]) -> Mapping[str, str]:
    """Digest of each part of a context that a step reads, or of those facts in it that it reads.

    The steps of a picture come one after the other, and most of them read the same.
    """
    context: Context = same.it
    some, found = None, {}
    for part, whole in _parts_of(reads):
        given = context
        if not whole:
            given = some = context.only(reads) if some is None else some
        found[part] = _together(tuple(same_digest(getattr(given, one)) for one in TOGETHER.get(part, (part,))))
    return found


@functools.lru_cache(maxsize=1024)
def _parts_of(reads: tuple[str, ...]) -> tuple[tuple[str, bool], ...]:
    """The parts of a context that are read, and whether all of each is."""
    return tuple((part, part in reads) for part in sorted({read.partition(".")[0] for read in reads}))


@functools.lru_cache(maxsize=4096)
def _together(digests: tuple[str, ...]) -> str:
    """One digest for several; steps and pictures have most of them in common."""
    return digest_of(digests)


_OBJECT = re.compile(r'"object":"([^"]+)"')


def _plain_job(
    stage: str, subject: str, parts: Mapping[str, str], remembered: Mapping[str, CachedJob], published: frozenset[str]
) -> Job:
    """A job of the engine's own; stale also when an object it published is gone."""
    job = _reasoned(f"{subject}/{stage}", stage, subject, stage, Key(parts), remembered)
    if not job.stale and not set(_OBJECT.findall(remembered[job.address].output)) <= published:
        return replace(job, reasons=("objects",))
    return job


def _reasoned(
    address: str,
    stage: str,
    subject: str,
    step: str,
    key: Key,
    remembered: Mapping[str, CachedJob],
    chosen: Chosen | None = None,
) -> Job:
    """The job with the reasons to do it again, if there are any."""
    old = remembered.get(address)
    return Job(address, stage, subject, step, key, key.reasons(old.parts if old else None), chosen)
