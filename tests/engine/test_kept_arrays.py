"""Exact values are kept for checks that look at several pictures, and only for those."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import tifffile
from heatbrief.engine.plan import make_plan
from heatbrief.engine.run import RunReport, run
from heatbrief.manifest.load import load_manifest
from heatbrief.registry import load_registry

HEAD = "format: 1\nproperty: Trial house\nthermograms:\n"
ROW = "  - {{file: p{number}.tiff, shows: wall, scale: {{kelvin_per_count: 0.01}}{more}}}\n"
TAIL = "stages:\n  detect: [{check}]\n"


@pytest.fixture(scope="module")
def registry():
    return load_registry()


def survey(folder: Path, in_sequence: int, check: str = "heatbrief.steadiness") -> None:
    rows = "".join(
        ROW.format(
            number=number,
            more=f", sequence: night, taken: '2026-01-05T22:{number:02}:00+01:00'" if number < in_sequence else "",
        )
        for number in range(4)
    )
    (folder / "survey.yaml").write_text(HEAD + rows + TAIL.format(check=check), "utf-8")


def go(folder: Path, registry, out: str = "out") -> RunReport:
    return run(make_plan(load_manifest(folder / "survey.yaml", registry), registry, folder / out), 1)


def kept(folder: Path, out: str = "out") -> int:
    return len(list((folder / out / ".heatbrief/trial-house/objects").glob("*.npy")))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for number in range(4):
        counts = np.random.default_rng(number).normal(29300 + 5 * number, 4, (60, 80)).astype(np.uint16)
        tifffile.imwrite(tmp_path / f"p{number}.tiff", counts)
    return tmp_path


def test_nothing_is_kept_for_single_pictures(folder: Path, registry) -> None:
    survey(folder, 0)
    assert go(folder, registry).failures == ()
    assert kept(folder) == 0
    assert not go(folder, registry).plan.stale


def test_a_check_that_comes_later_has_what_it_needs(folder: Path, registry) -> None:
    survey(folder, 0)
    go(folder, registry)
    survey(folder, 3)
    later = go(folder, registry)
    assert later.failures == () and kept(folder) == 3
    fresh = go(folder, registry, "fresh")
    assert kept(folder, "fresh") == 3
    names = ("results.json", "findings.csv", "plan.csv")
    assert all(
        (folder / "out/trial-house" / name).read_bytes() == (folder / "fresh/trial-house" / name).read_bytes()
        for name in names
    )
    assert later.results == fresh.results
    again = go(folder, registry)
    assert not again.plan.stale and again.computed == 0


def test_what_nobody_needs_any_more_is_dropped(folder: Path, registry) -> None:
    survey(folder, 3)
    go(folder, registry)
    assert kept(folder) == 3
    survey(folder, 0)
    go(folder, registry)
    assert kept(folder) == 0


def test_the_plan_says_why(folder: Path, registry) -> None:
    """A check over unchanged pictures needs their values again, of these pictures and no others."""
    survey(folder, 3, "envelope.insulation")
    go(folder, registry)
    assert kept(folder) == 0
    survey(folder, 3)
    plan = make_plan(load_manifest(folder / "survey.yaml", registry), registry, folder / "out")
    reasons = [one.of("calibrate")[-1].reasons for one in plan.thermograms]
    assert reasons == [("arrays",)] * 3 + [()]
    assert "not kept" in plan.thermograms[0].of("calibrate")[-1].why()
    later, fresh = run(plan, 1), go(folder, registry, "fresh")
    assert later.failures == () and later.results == fresh.results
