"""Bounds through formulas, and texts of plugins from their files."""

from __future__ import annotations

import math
import sys
from pathlib import Path

import pytest
from heatbrief.api import load_actions, load_cautions, load_sources, propagated
from heatbrief.model import Quantity
from hypothesis import given
from hypothesis import strategies as st

numbers = st.floats(-50.0, 50.0)
positive = st.floats(0.1, 50.0)


@given(a=numbers, b=numbers, u=positive, v=positive)
def test_a_sum_adds_bounds_in_quadrature(a, b, u, v):
    """GUM 5.1.2 for a linear model: exact."""
    got = propagated(
        lambda a, b: a - 2 * b, "K", "", a=Quantity(a, "K", a - u, a + u), b=Quantity(b, "K", b - v, b + v)
    )
    half = math.hypot(u, 2 * v)
    assert got.value == pytest.approx(a - 2 * b, abs=1e-9)
    assert got.high - got.value == pytest.approx(half, rel=1e-6) and got.value - got.low == pytest.approx(
        half, rel=1e-6
    )


def test_one_skewed_input_keeps_its_interval():
    got = propagated(lambda x: 1.0 / x, "1", "", x=Quantity(2.0, "1", 1.0, 4.0))
    assert (got.low, got.value, got.high) == pytest.approx((0.25, 0.5, 1.0))


def test_plain_numbers_are_exact_and_impossible_values_give_none():
    assert propagated(lambda x: x, "1", "", x=3.0) == Quantity(3.0, "1", 3.0, 3.0, 1.0, "")
    assert propagated(lambda x: 1.0 / x, "1", "", x=0.0) is None
    half = propagated(lambda x: math.sqrt(x), "1", "", x=Quantity(1.0, "1", -1.0, 4.0))
    assert half.value == 1.0 and half.low == 1.0 and half.high == 2.0


# --- texts --------------------------------------------------------------------------------

PACKAGE = "texts_of_a_plugin"


@pytest.fixture
def package(tmp_path, monkeypatch):
    """A package on the path whose data files a test writes."""
    folder = tmp_path / PACKAGE
    folder.mkdir()
    (folder / "__init__.py").write_text("", encoding="utf-8")
    monkeypatch.syspath_prepend(str(tmp_path))
    monkeypatch.delitem(sys.modules, PACKAGE, raising=False)
    for load in (load_actions, load_cautions, load_sources):
        load.cache_clear()
    yield folder
    for load in (load_actions, load_cautions, load_sources):
        load.cache_clear()
    sys.modules.pop(PACKAGE, None)


def test_every_kind_of_text_is_read(package: Path):
    (package / "actions.yaml").write_text(
        'one.fix: {title: Fix, who: owner, does: "Do it\\n  now.", '
        "cautions: [one.hot], after: [one.look], priced_by: area}\n",
        encoding="utf-8",
    )
    (package / "cautions.yaml").write_text(
        "one.hot: {title: Hot, applies: here, points: [Keep off.], figures: [{text: 60 degC, source: book, mark: "
        "seen}]}\n",
        encoding="utf-8",
    )
    (package / "sources.yaml").write_text("book: {text: A book, mark: memory}\n", encoding="utf-8")
    (action,) = load_actions(PACKAGE)
    assert (action.key, action.does, action.after, action.kind) == ("one.fix", "Do it now.", ("one.look",), "repair")
    (caution,) = load_cautions(PACKAGE)
    assert caution.figures[0].source == "book" and caution.points == ("Keep off.",)
    assert load_sources(PACKAGE)[0].mark == "memory"


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("one.fix: {title: Fix, who: owner}", "missing: does"),
        ("one.fix: {title: Fix, who: owner, does: x, hue: 2}", "unknown: hue"),
        ("one.fix: {title: Fix, who: wizard, does: x}", "wizard"),
        ("one.fix: {title: 3, who: owner, does: x}", "must be str"),
        ("one.fix: {title: Fix, who: owner, does: x, after: one.look}", "must be a list"),
        ("one.fix: {title: Fix, who: owner, does: x, after: [2]}", "must be str"),
        ("one.fix: yes", "mapping"),
        ("- one", "mapping"),
        ("a: [", "not valid YAML"),
        ("one.fix: {key: two, title: F, who: owner, does: x}", "stands before"),
    ],
)
def test_faults_name_the_file_and_the_entry(package: Path, text, word):
    (package / "actions.yaml").write_text(text + "\n", encoding="utf-8")
    with pytest.raises(ValueError, match=word) as caught:
        load_actions(PACKAGE)
    assert f"{PACKAGE}/actions.yaml" in str(caught.value)
