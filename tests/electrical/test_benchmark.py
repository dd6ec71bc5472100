"""A few scenes of the electrical benchmark, so that it keeps running and its own counting can fail."""

from __future__ import annotations

import importlib.util
from dataclasses import replace
from pathlib import Path

import pytest


@pytest.fixture(scope="module")
def benchmark():
    path = Path(__file__).resolve().parents[1] / "benchmarks" / "electrical.py"
    spec = importlib.util.spec_from_file_location("electrical_benchmark", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_most_scenes_come_out_right(benchmark):
    assert sum(benchmark.ranking(seed) for seed in range(100, 112)) >= 11
    assert sum(benchmark.pattern(seed) for seed in range(100, 112)) >= 11


def test_probabilities_hold(benchmark):
    assert benchmark.gap([benchmark.classed(seed) for seed in range(100, 140)]) <= 0.15


def test_a_wrong_order_is_noticed(benchmark):
    from heatbrief_electrical.panel_rows import TABLE

    rows = tuple({"table": TABLE, "circuit": one} for one in ("1. weak", "2. strong"))
    from heatbrief.model import Finding

    plain = Finding("x", "electrical", "electrical.circuits", "p", "", "", "", "normal", "none", 0.5, classes=rows)
    assert not benchmark.ordered(plain, {"weak": 10.0, "strong": 30.0})
    assert benchmark.ordered(replace(plain, classes=rows[::-1][:0]), {}) and benchmark.ordered(
        plain, {"weak": 30.0, "strong": 28.0}
    )


def test_a_wrong_probability_is_noticed(benchmark):
    assert benchmark.gap([([0.0, 1.0, 0.0, 0.0], 2)] * 40) == pytest.approx(1.0)
