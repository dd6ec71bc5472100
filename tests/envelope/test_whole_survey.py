"""The facts of this plugin from a manifest to the results: units, completeness, estimates."""

from __future__ import annotations

import json

from heatbrief.testing import Imager, Scene, render, write
from heatbrief.testing.parts import Layers

SURVEY = """
format: 1
property: {name: A test, invented: true}
inspect: [envelope]
conditions:
  {inside_air: 21 degC, outside_air: 1 degC, humidity: 40 %, wind: 1 m/s, sun: none, hours_without_sun: 24 h,
   hours_steady: 48 h}
camera: {field_of_view: [56 deg, 42 deg], noise: 50 mK, accuracy: 2 K, band: [8 um, 14 um]}
settings:
  envelope.leak_flow: {flow_at_50: 2000 ft^3/min, volume: 450 m3}
  envelope.duct_delivery: {supply_area: 50 m2, return_area: 19 m2, resistance: 1.06 m2*K/W, flow: 1700 m3/h,
                           supply_air: 50 degC, room_air: 21 degC, around: 5 degC}
  envelope.condensation: {limit_set: din-4108-2}
  envelope.transmittance: {convection: churchill-chu}
thermograms:
  - file: ir/wall.tiff
    shows: outside wall, from inside
    scale: {kelvin_per_count: 0.01}
    emissivity: 0.94 +- 0.02
    distance: 2 m
    taken: 2026-01-14T06:00
    facts: {second view: same place, instrument: calibrated 2025, faces: north}
    regions:
      - {name: north wall, shows: wall, facts: {expected_r: 3.5 m2*K/W, same material: "yes", construction: light}}
      - {name: the board, shows: air reference, box: [8, 8, 16, 16]}
"""


def test_a_survey_with_every_new_fact(survey, heatbrief, tmp_path):
    board = Layers(name="board", near_c=21.0, far_c=21.0, box=(4.0, 4.0, 24.0, 24.0))
    wall = Layers(name="wall", near_c=21.0, far_c=1.0, resistance=0.7)
    scene = Scene(
        "wall",
        base_c=21.0,
        emissivity=0.94,
        reflected_c=21.0,
        air_c=21.0,
        imager=Imager(accuracy_k=2.0),
        parts=(wall, board),
    )
    made = tmp_path / "wall.tiff"
    write(render(scene), tmp_path, "wall")
    folder = survey(SURVEY, {"ir/wall.tiff": made})
    outcome = heatbrief("run", folder, "--out", tmp_path / "out")
    assert outcome.code == 0, outcome.err
    results = json.loads(next((tmp_path / "out").rglob("results.json")).read_text("utf-8"))
    (finding,) = [one for one in results["findings"] if one["check"] == "envelope.transmittance"]
    u = finding["measured"]["transmittance"]
    assert finding["verdict"] == "defect" and u["low"] <= 1 / 0.7 <= u["high"]
    kinds = {one["kind"] for one in results["estimates"]}
    assert {"air-flow", "duct-delivery", "heat-flow"} <= kinds
    rows = {one["item"]: one for one in results["completeness"]}
    assert len(rows) == 27
    assert rows["compass orientation of the photographed faces"]["given"]
    assert rows["instrument, its specification and calibration"]["given"]
    assert not rows["client and address of the property"]["given"]
