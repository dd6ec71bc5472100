"""Odd pictures and odd facts must not stop a survey."""

from __future__ import annotations

import pickle
from dataclasses import replace

import numpy as np
import pytest
from heatbrief.detect import RIVALS, Case, Criterion, conclude, find_areas, gate_kinds, rule_for
from heatbrief.model import Quantity, Region
from hypothesis import given, settings
from hypothesis import strategies as st


def usable_gates(purpose):
    """Gates that some practice asks for with this purpose."""
    names = []
    for name in gate_kinds():
        try:
            rule_for(name, purpose)
        except ValueError:
            continue
        names.append(name)
    return tuple(names)


@settings(max_examples=80, deadline=None)
@given(
    height=st.integers(1, 40),
    width=st.integers(1, 40),
    seed=st.integers(0, 999),
    masked=st.floats(0, 1),
    spread=st.sampled_from((0.0, 0.05, 30.0)),
    kind=st.sampled_from(("plane", "smooth", "constant")),
    scaled=st.booleans(),
    hot=st.booleans(),
    x=st.floats(-50, 90),
    y=st.floats(-50, 90),
)
def test_any_picture_gives_findings_or_nothing(make, height, width, seed, masked, spread, kind, scaled, hot, x, y):
    random = np.random.default_rng(seed)
    values = 293.15 + spread * random.standard_normal((height, width))
    if hot:
        values[height // 3 : height // 3 + 6, width // 3 : width // 3 + 6] += 25.0
    values[random.random((height, width)) < masked * 0.9] = random.choice([np.nan, np.inf, -np.inf])
    thermogram = make.thermogram(np.where(np.isfinite(values), values, np.nan), noise=0.0)
    if not scaled:
        thermogram = replace(thermogram, scale="unscaled", errors=(), emissivity=(), absolute=())
    region = Region(
        "odd \u202e../name", "north-wall", "box", ((x, y), (x + 30, y + 20)), facts={"load": "much", "rated": True}
    )
    context = make.context(region, facts={"touched": "perhaps", "u_value": 0.0})
    for inside in (None, region.mask(height, width)):
        for area in find_areas(thermogram, inside, kind=kind, most=3):
            assert np.isfinite(
                [area.contrast.value, area.peak.value, area.elongation, area.fill, area.edge_distance]
            ).all()
            assert area.bits.sum() == area.pixels == area.outline.pixels >= 9
            assert len(area.outline.polygon) >= 3
            for chosen in (None, region):
                case = Case(
                    "plug.check", "envelope", thermogram, context, region=chosen, area=area, purpose="insulation"
                )
                finding = conclude(
                    case,
                    title="t",
                    summary="s",
                    criterion=Criterion(1.0),
                    gates=usable_gates("insulation"),
                    rivals=RIVALS,
                )
                assert (
                    finding.id.isascii()
                    and "/" not in finding.id
                    and finding.verdict in ("suspect", "inconclusive", "normal", "defect")
                )
    case = Case("plug.check", "envelope", thermogram, context, region=region, purpose="electrical")
    assert (
        conclude(case, title="t", summary="s", criterion=Criterion(1.0), gates=("load", "spot"), rivals=RIVALS).verdict
        == "inconclusive"
    )


def test_zones_and_their_errors_are_those_of_the_pixels(make):
    values, _ = make.scene((60, 80), [(40, 20, 60, 40, 2.0)])
    plain = make.thermogram(values)
    zones = np.zeros((60, 80), np.uint8)
    zones[15:45, 35:65] = 1
    dull = replace(
        plain, zones=zones, errors=(plain.errors[0], plain.errors[0]), emissivity=(0.95, 0.2), absolute=(True, False)
    )
    (area,) = find_areas(dull)
    assert area.mean is None and area.surroundings is None and area.contrast.unit == "K"
    case = Case("plug.check", "envelope", dull, make.context(), area=area)
    assert case.emissivity == 0.2
    finding = conclude(case, title="t", summary="s", criterion=Criterion(1.0), rivals=("reflection",))
    assert "mean temperature" not in finding.measured and finding.verdict == "suspect"


def test_many_spots_are_cut_to_the_strongest(make):
    patches = [(x, y, x + 5, y + 5, 1.0 + 0.01 * x) for x in range(10, 310, 20) for y in range(10, 230, 20)]
    picture = make.picture((240, 320), patches)
    assert len(find_areas(picture, most=500)) == len(patches)
    strongest = find_areas(picture, most=12)
    assert len(strongest) == 12 and [area.ordinal for area in strongest] == list(range(1, 13))
    assert min(area.contrast.value for area in strongest) > 3.0


def test_areas_and_cases_travel_to_other_processes(make):
    picture = make.picture((60, 80), [(30, 20, 45, 35, 1.0)])
    (area,) = find_areas(picture)
    case = Case("plug.check", "envelope", picture, make.context(), area=area)
    assert case.mask.sum() == area.pixels
    again = pickle.loads(pickle.dumps(case))
    assert again.id == case.id and again.area.contrast == area.contrast


@pytest.mark.parametrize("contrast", [Quantity.exact(3.0, "K"), Quantity.exact(-3.0, "K")])
def test_exact_contrasts_are_judged(make, contrast):
    case = Case("plug.check", "envelope", make.picture((60, 80)), make.context())
    assert conclude(case, title="t", summary="s", criterion=Criterion(1.0), contrast=contrast).verdict == "defect"
