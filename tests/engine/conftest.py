"""Tests of `heatbrief.engine`: what is run, kept and told, also when checks misbehave; the demonstration as a whole."""

from __future__ import annotations

import heatbrief.builtin
import heatbrief_envelope
import numpy as np
import pytest
import tifffile
from engine import faulty_steps
from heatbrief.engine.plan import make_plan
from heatbrief.engine.run import run
from heatbrief.manifest.load import load_manifest
from heatbrief.registry import build_registry

MANIFEST = """\
format: 1
property: Trial house
thermograms:
{pictures}
stages:
  detect: [{steps}]
"""


@pytest.fixture
def trial(tmp_path):
    """Run the named misbehaving checks on one picture a.tiff, or on several p0.tiff, ...; returns the report."""

    def go(*names, scaled=True, jobs=1, pictures=1, before_run=lambda folder: None, executor=None):
        plugin = faulty_steps.offer(**{name: getattr(faulty_steps, name) for name in names})
        registry = build_registry(
            [
                ("builtin", "heatbrief", lambda: heatbrief.builtin),
                ("envelope", "heatbrief", lambda: heatbrief_envelope),
                ("trial", "trial 1.0", lambda: plugin),
            ]
        )
        scale = ", scale: {kelvin_per_count: 0.01}" if scaled else ""
        files = ["a.tiff"] if pictures == 1 else [f"p{number}.tiff" for number in range(pictures)]
        for file in files:
            tifffile.imwrite(tmp_path / file, np.random.default_rng(1).normal(29300, 4, (60, 80)).astype(np.uint16))
        rows = "\n".join(f"  - {{file: {file}, shows: wall{scale}}}" for file in files)
        (tmp_path / "survey.yaml").write_text(
            MANIFEST.format(steps=", ".join(f"trial.{name}" for name in names), pictures=rows)
        )
        manifest = load_manifest(tmp_path / "survey.yaml", registry)
        plan = make_plan(manifest, registry, tmp_path / "out")
        before_run(tmp_path)
        return run(plan, jobs, executor=executor)

    return go
