"""A pair of pictures proves a leak, one only suspects it, and what did not change is not one."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from heatbrief.detect.change import change_of
from heatbrief.model import Quantity, Region
from heatbrief.testing import run_step
from heatbrief.testing.parts import AirLeak, Patch
from heatbrief_envelope.air_leakage import STEPS

SINGLE, PAIR = STEPS
FOOT = (Region("wall foot", "wall", "box", ((10.0, 40.0), (150.0, 115.0)), shows="wall foot and floor"),)
CORNER = Patch(name="corner", rise_k=-1.5, box=(0.0, 96.0, 160.0, 6.0), soft_m=0.02)
FURNITURE = (
    CORNER,
    Patch(name="socket", rise_k=0.8, box=(120.0, 70.0, 8.0, 8.0)),
    Patch(name="leg", rise_k=-1.0, box=(30.0, 60.0, 5.0, 36.0)),
)


def leak(far):
    return AirLeak(
        name="leak", start_px=(70.0, 98.0), toward_px=(70.0, 60.0), air_c=far, strength=0.5, length_m=0.25, width_m=0.05
    )


def pair(room, near, far, *parts, pressure=-25.0, shift=0):
    still = room(near, far, *FURNITURE, name="wall", regions=FOOT, seed=3)
    moved = room(near, far, *FURNITURE, *parts, name="blown", regions=(replace(FOOT[0], thermogram="blown"),), seed=3)
    if shift:
        values = np.roll(still.subject.values, shift, axis=1)
        still = replace(still, subject=replace(still.subject, values=values))
    given = {
        "wall": replace(still.context.conditions, pressure_difference=Quantity.exact(0.0, "Pa")),
        "blown": replace(moved.context.conditions, pressure_difference=Quantity.exact(pressure, "Pa")),
    }
    context = replace(
        still.context,
        conditions_of=given,
        facts_of={"wall": {}, "blown": {}},
        regions=(*still.context.regions, *moved.context.regions),
        views={"wall": still.context.view, "blown": moved.context.view},
    )
    return (still.subject, moved.subject), context, moved.records


@pytest.mark.parametrize(("near", "far", "sign"), [(21.0, 1.0, -1), (24.0, 40.0, 1)])
def test_a_pair_proves_a_leak(room, near, far, sign):
    subjects, context, records = pair(room, near, far, leak(far))
    (finding,) = run_step(PAIR, subjects, context).findings
    assert finding.verdict == "defect"
    assert finding.measured["contrast"].value * sign > 0
    truth = records["leak"]
    assert abs(finding.measured["peak contrast"].value) > abs(truth.contrast_k)
    assert 0.15 < finding.measured["leak index"].value < 0.55
    assert finding.thermogram == "blown"
    x = [point[0] for point in finding.outline.polygon]
    assert min(x) < 70 < max(x)


def test_the_order_of_the_pictures_does_not_matter(room):
    subjects, context, _ = pair(room, 21.0, 1.0, leak(1.0))
    assert run_step(PAIR, subjects[::-1], context) == run_step(PAIR, subjects, context)


def test_a_corner_without_a_leak_is_no_finding(room):
    subjects, context, _ = pair(room, 21.0, 1.0)
    output = run_step(PAIR, subjects, context)
    assert output.findings == () and any("nothing changed" in note for note in output.notes)


def test_a_camera_that_moved_by_two_pixels_is_followed(room):
    subjects, context, _ = pair(room, 21.0, 1.0, shift=2)
    assert change_of(subjects[1], subjects[0]).shift == (-2, 0)
    output = run_step(PAIR, subjects, context)
    assert output.findings == () and any("moved by -2, 0" in note for note in output.notes)


def test_air_that_leaves_is_not_taken_for_air_that_enters(room):
    """At lower pressure inside air enters from beyond, so a change away from that air is no leak."""
    subjects, context, _ = pair(room, 21.0, 1.0, Patch(name="warmed", rise_k=3.0, ellipse=(72.0, 72.0, 12.0, 12.0)))
    assert run_step(PAIR, subjects, context).findings == ()


@pytest.mark.parametrize("pressure", [-6.0, None])
def test_without_enough_pressure_nothing_is_claimed(room, pressure):
    subjects, context, _ = pair(room, 21.0, 1.0, leak(1.0), pressure=pressure or -25.0)
    if pressure is None:
        given = {**context.conditions_of, "blown": replace(context.conditions_of["blown"], pressure_difference=None)}
        context = replace(context, conditions_of=given)
    output = run_step(PAIR, subjects, context)
    assert output.findings == () and output.notes


def test_one_picture_is_at_most_suspect_and_says_what_would_decide(room):
    seen = room(21.0, 1.0, CORNER, leak(1.0), regions=FOOT)
    findings = run_step(SINGLE, seen.subject, seen.context).findings
    assert findings and all(one.verdict in ("suspect", "inconclusive") for one in findings)
    assert any("fan" in text for text in findings[0].next_time)
    assert re.match(r"[\d.]+ K colder \(up to [\d.]+ K\) at wall foot, ", findings[0].summary)


def test_one_picture_of_a_pair_is_left_to_the_pair(room):
    seen = room(
        21.0,
        1.0,
        leak(1.0),
        regions=FOOT,
        view={"sequence": "skirting"},
        pressure_difference=Quantity.exact(-25.0, "Pa"),
    )
    assert run_step(SINGLE, seen.subject, seen.context).findings == ()
