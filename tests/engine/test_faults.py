"""A step that misbehaves costs its own result, never the picture's other results or the run."""

from __future__ import annotations

import json
from dataclasses import asdict, replace

import pytest
from engine import faulty_steps
from heatbrief.engine.execute import run_tasks
from heatbrief.engine.run import _Run


@pytest.mark.parametrize(
    ("name", "code", "words"),
    [
        ("raises", "step-failed", "trial.raises failed: RuntimeError: the roof fell in"),
        ("says_no", "no-values", "nothing to see here."),
        ("nonsense", "step-failed", "returned dict"),
        ("writes", "step-failed", "read-only"),
    ],
)
def test_the_fault_is_listed_with_the_steps_name_and_others_go_on(trial, name, code, words):
    report = trial(name, "warm")
    assert [finding.check for finding in report.results.findings] == ["envelope.warm"]
    failed = [one for one in report.results.not_analysed if one.failed]
    assert [(one.code, one.step) for one in failed] == [(code, f"trial.{name}")]
    assert words in failed[0].message
    assert report.results.thermograms[0].status == "analysed"


def test_a_failure_is_tried_again_next_time_and_the_rest_is_reused(trial):
    trial("raises", "warm")
    again = trial("raises", "warm")
    assert {job.step for job in again.plan.stale} == {"trial.raises"}
    assert "RuntimeError" in next(failure.trace for failure in again.failures)


def test_a_temperature_for_an_unscaled_picture_is_refused(trial):
    report = trial("degrees", "warm", scaled=False)
    assert [finding.id for finding in report.results.findings] == ["a"]
    assert "temperature-without-scale" in {one.code for one in report.results.not_analysed}
    assert '"unit": "K"' not in json.dumps(
        [asdict(finding.measured["contrast"]) for finding in report.results.findings]
    )


def test_equal_ids_of_two_steps_are_kept_apart(trial):
    report = trial("warm", "degrees")
    assert sorted(finding.id for finding in report.results.findings) == ["a", "a-2"]


def test_a_dead_worker_costs_its_picture_only(trial):
    plan = trial("warm").plan
    dying = replace(plan.thermograms[0].jobs[-1].chosen.step, run=faulty_steps.dies)
    jobs = tuple(
        replace(job, reasons=("new",), chosen=replace(job.chosen, step=dying) if job.stage == "detect" else job.chosen)
        for job in plan.thermograms[0].jobs
    )
    work = _Run(plan, 2, lambda *_: None, None)
    sound = work._picture_task(
        replace(plan.thermograms[0], jobs=tuple(replace(job, reasons=("new",)) for job in plan.thermograms[0].jobs))
    )
    deadly = work._picture_task(replace(plan.thermograms[0], jobs=jobs))
    outcomes = dict(run_tasks([sound, deadly, sound, sound], 2))
    assert sorted(outcomes) == [0, 1, 2, 3]
    assert [failure.entry.code for failure in outcomes[1].failures] == ["worker-died"]
    assert all(outcomes[number].outputs and not outcomes[number].failures for number in (0, 2, 3))


@pytest.mark.parametrize("change", [lambda file: file.unlink(), lambda file: file.write_bytes(file.read_bytes())])
def test_an_input_that_is_removed_or_written_in_mid_run_is_listed_and_not_remembered(trial, change):
    report = trial("warm", pictures=3, before_run=lambda folder: change(folder / "p1.tiff"))
    failed = [one for one in report.results.not_analysed if one.failed]
    assert [(one.source, one.code) for one in failed] == [("p1.tiff", "picture-changed")]
    assert len(report.results.findings) == 2
    assert not any(address.startswith("p1/") for address in report.plan.cache.jobs())
