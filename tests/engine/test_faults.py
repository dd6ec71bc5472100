"""A step that misbehaves costs its own result, never the picture's other results or the run."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
import tifffile
from engine import faulty_steps

import heatbrief.builtin
import heatbrief_envelope
from heatbrief.engine.execute import run_tasks
from heatbrief.engine.plan import make_plan
from heatbrief.engine.run import _Run, run
from heatbrief.manifest.load import load_manifest
from heatbrief.registry import build_registry

MANIFEST = """\
format: 1
property: Trial house
thermograms:
  - {{file: a.tiff, shows: wall{scale}}}
stages:
  detect: [{steps}]
"""


@pytest.fixture
def trial(tmp_path):
    """Run the named misbehaving checks on one picture; returns the report."""
    def go(*names, scaled=True, jobs=1):
        plugin = faulty_steps.offer(**{name: getattr(faulty_steps, name) for name in names})
        registry = build_registry([("builtin", "heatbrief", lambda: heatbrief.builtin), ("envelope", "heatbrief", lambda: heatbrief_envelope),
                                   ("trial", "trial 1.0", lambda: plugin)])
        tifffile.imwrite(tmp_path / "a.tiff", np.random.default_rng(1).normal(29300, 4, (60, 80)).astype(np.uint16))
        scale = ", scale: {kelvin_per_count: 0.01}" if scaled else ""
        (tmp_path / "survey.yaml").write_text(MANIFEST.format(steps=", ".join(f"trial.{name}" for name in names), scale=scale))
        manifest = load_manifest(tmp_path / "survey.yaml", registry)
        return run(make_plan(manifest, registry, tmp_path / "out"), jobs)
    return go


@pytest.mark.parametrize(("name", "code", "words"), [
    ("raises", "step-failed", "trial.raises failed: RuntimeError: the roof fell in"),
    ("says_no", "no-values", "nothing to see here."),
    ("nonsense", "step-failed", "returned dict"),
    ("writes", "step-failed", "read-only"),
])
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
    assert '"unit": "K"' not in json.dumps([finding.measured["contrast"].to_json() for finding in report.results.findings])


def test_equal_ids_of_two_steps_are_kept_apart(trial):
    report = trial("warm", "degrees")
    assert sorted(finding.id for finding in report.results.findings) == ["a", "a-2"]


def test_a_dead_worker_costs_its_picture_only(trial):
    plan = trial("warm").plan
    dying = replace(plan.thermograms[0].jobs[-1].chosen.step, run=faulty_steps.dies)
    jobs = tuple(replace(job, reasons=("new",), chosen=replace(job.chosen, step=dying) if job.stage == "detect" else job.chosen)
                 for job in plan.thermograms[0].jobs)
    work = _Run(plan, 2, lambda *_: None, None)
    sound = work._picture_task(replace(plan.thermograms[0], jobs=tuple(replace(job, reasons=("new",)) for job in plan.thermograms[0].jobs)))
    deadly = work._picture_task(replace(plan.thermograms[0], jobs=jobs))
    outcomes = dict(run_tasks([sound, deadly, sound, sound], 2))
    assert sorted(outcomes) == [0, 1, 2, 3]
    assert [failure.entry.code for failure in outcomes[1].failures] == ["worker-died"]
    assert all(outcomes[number].outputs and not outcomes[number].failures for number in (0, 2, 3))
