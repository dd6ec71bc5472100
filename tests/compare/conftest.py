"""Tests of `heatbrief.compare`: two surveys of invented repairs, run once, at seeds that the scores do not use."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

START, PAIRS = 900, 24


@pytest.fixture(scope="session")
def repair():
    """tests/benchmarks/repair.py, loaded by its path."""
    folder = Path(__file__).parents[1] / "benchmarks"
    sys.path.insert(0, str(folder))
    try:
        spec = importlib.util.spec_from_file_location("repair_benchmark", folder / "repair.py")
        module = importlib.util.module_from_spec(spec)
        sys.modules[spec.name] = module
        spec.loader.exec_module(module)
        yield module
    finally:
        sys.path.remove(str(folder))


@pytest.fixture(scope="session")
def surveys(repair, tmp_path_factory):
    """Folders of both surveys' results, and what is true of the pairs."""
    home = tmp_path_factory.mktemp("repair")
    pairs = repair.pairs_of(PAIRS, START)
    before, after = (repair.surveyed(pairs, when, home, 1) for when in (False, True))
    return SimpleNamespace(before=before, after=after, pairs={pair.name: pair for pair in pairs})


@pytest.fixture(scope="session")
def compared(surveys):
    """The comparison of both."""
    from heatbrief.compare import compare, read_survey

    return compare(read_survey(surveys.before), read_survey(surveys.after))
