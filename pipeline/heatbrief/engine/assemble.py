"""Job outputs as one results document."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from heatbrief import __version__
from heatbrief.api.step import StepOutput
from heatbrief.engine.frames import missing_frames
from heatbrief.engine.jobs import Job, Plan, ThermogramPlan
from heatbrief.engine.named_files import with_files
from heatbrief.engine.page_parts import with_parts
from heatbrief.engine.plausible import of_record
from heatbrief.engine.translate import translated
from heatbrief.engine.work import given
from heatbrief.errors import StepError
from heatbrief.estimate.climate import NAME as SEASON
from heatbrief.estimate.completeness import completeness_of
from heatbrief.estimate.season_air import KIND, yearly_air
from heatbrief.estimate.whole import whole_brief
from heatbrief.manifest.bind import field_key
from heatbrief.model.action import PlanItem
from heatbrief.model.caution import Caution
from heatbrief.model.costs import MoneyFacts
from heatbrief.model.estimate import Estimate
from heatbrief.model.finding import URGENCIES, VERDICTS, Finding
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import (
    FORMAT,
    FloorRecord,
    InOrder,
    NotAnalysed,
    PropertyInfo,
    ResultsDocument,
    RunInfo,
    SettingRecord,
    SourceRecord,
    StepRecord,
    SurveyInfo,
    ThermogramRecord,
)
from heatbrief.model.settings import setting_fields, spec_of
from heatbrief.store.codec import to_model
from heatbrief.store.keys import plain

Outputs = Mapping[str, str]
"""JSON text of each job's output by the job's address."""


def assemble(
    plan: Plan, outputs: Outputs, failures: Sequence[NotAnalysed], findings: tuple[Finding, ...]
) -> ResultsDocument:
    """The results of one property. Everything that is missing from `outputs` is listed in `failures`.

    findings  those of the outputs, see `findings_of`
    """
    manifest = plan.manifest
    records = tuple(_record(thermogram, outputs) for thermogram in plan.thermograms)
    made = [replace(one, step=job.step) for job in plan.estimates for one in step_output(outputs, job).estimates]
    estimates = tuple(_unique([*made, *_air(plan, findings, made)]))
    listed = {*failures, *missing_frames(plan.frames), *_left_out(plan, outputs, records), *_notes(plan, outputs)}
    whole = whole_brief(
        findings,
        estimates,
        plan.registry.actions,
        _money(plan),
        sorted(listed, key=lambda one: one.source),
        manifest.path.name,
    )
    estimates, work = whole.estimates, whole.plan
    not_analysed = sorted(
        {*listed, *whole.flagged}, key=lambda one: (not one.failed, one.source, one.step, one.code, one.message)
    )
    document = ResultsDocument(
        format=FORMAT,
        property=PropertyInfo(
            manifest.property.name,
            plan.folders.slug,
            manifest.property.address,
            manifest.property.client,
            manifest.property.surveyor,
            manifest.property.invented,
        ),
        survey=SurveyInfo(
            manifest.path.name,
            manifest.date,
            manifest.inspect,
            manifest.units,
            manifest.language,
            manifest.notes,
            manifest.shared,
            manifest.origins,
        ),
        conditions=given(manifest.conditions),
        thermograms=records,
        findings=findings,
        estimates=estimates,
        plan=work,
        cautions=_cautions(plan, findings, work),
        not_analysed=tuple(not_analysed),
        sources=_sources(plan, findings, estimates),
        run=RunInfo(__version__, _steps(plan)),
        brief=whole.brief,
        floors=tuple(_floors(plan, outputs)),
        in_order=tuple(_in_order(plan, outputs)),
    )
    document = replace(document, completeness=completeness_of(document, _stated(plan)))
    document = with_parts(document, plan.registry)
    return replace(document, texts=translated(document, plan.registry.texts, _languages(plan)))


def _languages(plan: Plan) -> set[str]:
    """The languages in which the document will be shown."""
    return {plan.manifest.language, *(getattr(settings, "language", "") for _, settings in plan.stages.publish)}


def _air(plan: Plan, findings: Sequence[Finding], estimates: Sequence[Estimate]) -> tuple[Estimate, ...]:
    """Leaks over a year, which need both the flow of one calculator and the season of another."""
    chosen = next((job.chosen for job in plan.estimates if job.step == SEASON and job.chosen is not None), None)
    if chosen is None or not any(one.kind == KIND for one in estimates):
        return ()
    try:
        context = with_files(plan.context, chosen.settings, plan.manifest.folder)
    except StepError:
        return ()  # the season calculator itself has been listed as failed
    air = yearly_air(findings, estimates, chosen.settings, context)
    return tuple(replace(one, step=SEASON) for one in air)


def _money(plan: Plan) -> MoneyFacts:
    """Prices, costs and the bill of the survey."""
    manifest = plan.manifest
    return MoneyFacts(
        manifest.prices, manifest.currency, manifest.emissions, manifest.costs, manifest.bill, manifest.stated_costs
    )


def _stated(plan: Plan) -> frozenset[str]:
    """Names of facts given for any picture or region, and of parts of the manifest that the results do not repeat."""
    entries = plan.manifest.thermograms
    facts = {name for entry in entries for name in entry.facts}
    facts |= {name for entry in entries for region in entry.regions for name in region.facts}
    facts |= {name for region in plan.manifest.regions for name in region.facts}
    return frozenset(facts | ({"camera"} if plan.manifest.camera != type(plan.manifest.camera)() else set()))


def findings_of(plan: Plan, outputs: Outputs) -> tuple[Finding, ...]:
    """All findings, most urgent first."""
    jobs = [
        *(job for thermogram in plan.thermograms for job in thermogram.of("detect")),
        *(group.job for group in plan.groups),
    ]
    giving = (job for job in jobs if '"findings":[]' not in outputs.get(job.address, ""))  # most have none; see _notes
    found = _unique(finding for job in giving for finding in step_output(outputs, job).findings)
    return tuple(
        sorted(
            found, key=lambda one: (URGENCIES.index(one.urgency), VERDICTS.index(one.verdict), -one.probability, one.id)
        )
    )


def step_output(outputs: Outputs, job: Job) -> StepOutput:
    """What a step gave; empty when it was skipped or failed."""
    data = json.loads(outputs.get(job.address, "{}"))
    return StepOutput() if "findings" not in data else to_model(data, StepOutput)


def _unique(items: Iterable[Any]) -> list[Any]:
    """Items with ids made unique in their order, so that two steps cannot overwrite each other."""
    seen: dict[str, int] = {}
    result = []
    for item in items:
        seen[item.id] = seen.get(item.id, 0) + 1
        result.append(item if seen[item.id] == 1 else replace(item, id=f"{item.id}-{seen[item.id]}"))
    return result


def _record(plan: ThermogramPlan, outputs: Outputs) -> ThermogramRecord:
    text = next((outputs[job.address] for job in plan.of("record") if job.address in outputs), None)
    if text is None:
        sha256 = "" if plan.sha256 == "missing" else plan.sha256
        return ThermogramRecord(
            plan.entry.id, plan.entry.file, sha256, 0, 0, "unreadable", plan.entry.shows, plan.entry.room
        )
    record: ThermogramRecord = to_model(json.loads(text), ThermogramRecord)
    copies = [json.loads(outputs[job.address]) for job in plan.of("visible") if job.address in outputs]
    if not copies:
        return record
    return replace(
        record, visible=copies[0]["object"], visible_matrix=_from_copy(record.visible_matrix, copies[0]["larger"])
    )


def record_lines(plan: Plan, outputs: Outputs) -> dict[str, str]:
    """The lines of results.json of the pictures whose records stand in the document as their jobs left them, by id."""
    return {
        thermogram.entry.id: outputs[job.address].rstrip("\n")
        for thermogram in plan.thermograms
        if not thermogram.of("visible")
        for job in thermogram.of("record")
        if job.address in outputs
    }


def _floors(plan: Plan, outputs: Outputs) -> Iterable[FloorRecord]:
    """The drawings that could be read."""
    for one in plan.floors:
        if one.job.address in outputs:
            data = json.loads(outputs[one.job.address])
            places = {name: (float(x), float(y)) for name, (x, y) in data["places"].items()}
            yield FloorRecord(one.entry.name, data["object"], data["width"], data["height"], places)


def _from_copy(matrix: tuple[float, ...], larger: Sequence[float]) -> tuple[float, ...]:
    """The mapping of the visible picture as given, for pixels of the smaller copy that is published."""
    if not matrix:
        return ()
    (across, down), rows = larger, [matrix[start : start + 3] for start in (0, 3, 6)]
    return tuple(
        number
        for x, y, one in rows
        for number in (x * across, y * down, one + x * (across - 1) / 2 + y * (down - 1) / 2)
    )


def _left_out(plan: Plan, outputs: Outputs, records: Sequence[ThermogramRecord]) -> Iterable[NotAnalysed]:
    """Pictures without a scale or with one that cannot be right, and pictures that no check looks at."""
    grouped = {member for group in plan.groups for member in group.members}
    for thermogram, record in zip(plan.thermograms, records, strict=True):
        entry = thermogram.entry
        if not thermogram.of("detect") and entry.id not in grouped and plan.stages.detect:
            yield NotAnalysed(
                entry.file,
                "no-check",
                "no check of the inspected domains looks at what this picture shows.",
                "Say what it shows in `shows:` (heatbrief plugins lists the words), or name a check under stages: detect.",
            )
        skipped = [job.step for job in thermogram.of("detect") if '"skipped"' in outputs.get(job.address, "")[:20]]
        if record.status == "unscaled":
            without = f" These checks need temperatures and did not run: {', '.join(skipped)}." if skipped else ""
            yield NotAnalysed(
                entry.file,
                "unscaled",
                f"nothing says what its numbers mean, so no temperature is given.{without}",
                "State `scale:` in the manifest if you know what they mean.",
            )
        strange = of_record(record)
        if strange is not None:
            yield NotAnalysed(entry.file, strange.code, strange.message, strange.remedy)


def _in_order(plan: Plan, outputs: Outputs) -> Iterable[InOrder]:
    """What steps measured and found as it should be."""
    for job in _checks(plan):
        if '"in_order":[]' not in outputs.get(job.address, ""):  # nearly all; see _notes
            for text in step_output(outputs, job).in_order:
                yield InOrder(job.subject, job.step, text)


def _checks(plan: Plan) -> list[Job]:
    detect = [job for thermogram in plan.thermograms for job in thermogram.of("detect")]
    return [*detect, *(group.job for group in plan.groups), *plan.estimates]


def _notes(plan: Plan, outputs: Outputs) -> Iterable[NotAnalysed]:
    """What steps had to say about what they could not do."""
    jobs = _checks(plan)
    sources = {thermogram.entry.id: thermogram.entry.file for thermogram in plan.thermograms}
    for job in jobs:
        if outputs.get(job.address, "").endswith('"notes":[]}\n'):
            continue  # nearly all (keys are sorted); the whole output need not be read again for that
        for note in step_output(outputs, job).notes:
            yield NotAnalysed(sources.get(job.subject, job.subject), "step-note", note, "", job.step)


def _cautions(plan: Plan, findings: Sequence[Finding], work: Sequence[PlanItem]) -> tuple[Caution, ...]:
    """Full texts of all cautions that anything in the document refers to."""
    domains = {*plan.manifest.inspect, *(finding.domain for finding in findings)}
    keys = {key for finding in findings for key in finding.cautions} | {key for item in work for key in item.cautions}
    keys |= {key for name in domains if name in plan.registry.domains for key in plan.registry.domains[name].cautions}
    keys |= {key for job in plan.jobs if job.chosen for key in job.chosen.step.cautions}
    return tuple(plan.registry.cautions[key] for key in sorted(keys) if key in plan.registry.cautions)


def _sources(plan: Plan, findings: Sequence[Finding], estimates: Sequence[Estimate]) -> tuple[SourceRecord, ...]:
    keys = {key for finding in findings for key in finding.sources} | {key for one in estimates for key in one.sources}
    keys |= {gate.source for finding in findings for gate in finding.gates if gate.source}
    keys |= {key for job in plan.jobs if job.chosen for key in job.chosen.step.sources}
    unknown = {key: SourceRecord(key, key, "not described by its plugin") for key in keys}
    return tuple(plan.registry.sources.get(key, unknown[key]) for key in sorted(keys))


def _steps(plan: Plan) -> tuple[StepRecord, ...]:
    """The steps that took part, once for each setting."""
    found = {}
    for chosen in {id(job.chosen): job.chosen for job in plan.jobs}.values():
        if chosen is not None:
            step = chosen.step
            settings = {name: _shown(value) for name, value in plain(chosen.settings).items()}
            record = StepRecord(
                step.name,
                step.stage,
                step.version,
                plan.registry.owners.get(step.name, ""),
                step.summary,
                settings,
                tuple(_explained(chosen.settings)),
                step.title,
            )
            found[step.stage, step.name, tuple(sorted(settings.items()))] = record
    return tuple(found[key] for key in sorted(found))


def _explained(settings: Any) -> Iterable[SettingRecord]:
    """The settings of a step as a reader would write them."""
    for one in setting_fields(type(settings)):
        spec = spec_of(one)
        yield SettingRecord(field_key(one.name), _in_words(getattr(settings, one.name), spec.unit), spec.help)


def _in_words(value: Any, unit: str | None) -> Quantity | str:
    if isinstance(value, Quantity):
        return value
    if value is None or isinstance(value, bool):
        return "" if value is None else "yes" if value else "no"
    if isinstance(value, (int, float)):
        return f"{value:g}" if unit is None or not math.isfinite(value) else Quantity.exact(float(value), unit or "1")
    if isinstance(value, Mapping):
        return "; ".join(f"{name}: {_plain_words(item)}" for name, item in value.items())
    if isinstance(value, (tuple, list)):
        return ", ".join(_plain_words(item) for item in value)
    return str(value)


def _plain_words(value: Any) -> str:
    found = _in_words(value, None)
    return found if isinstance(found, str) else f"{found.value:g} {found.unit}"


def _shown(value: Any) -> str:
    return value if isinstance(value, str) else json.dumps(value, sort_keys=True, ensure_ascii=False)
