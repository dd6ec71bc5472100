"""Measurement options from the manifest's text through the calibrate step, against worked examples."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.calibrate.regions import region_statistics
from heatbrief.calibrate.statistics import statistics
from heatbrief.errors import UserError
from heatbrief.model.region import Region
from heatbrief.model.thermogram import Picture
from heatbrief.physics.measurement import Settings, apparent_temperature
from heatbrief.physics.planck import IdealBand, TabulatedBand

ZERO = 273.15
SHAPE = (24, 32)


def flat(celsius: float) -> Picture:
    return Picture(np.full(SHAPE, celsius + ZERO), True)


def calibrate(settings: str) -> str:
    return f"stages: {{calibrate: [{{use: heatbrief.radiance, with: {{{settings}}}}}]}}"


def test_window_example(surveyed):
    """T_o 70, eps 0.92, T_r = T_rw 22, tau_a 0.98, T_a 22, window 0.85/0.10 at 25 degC reads 60.3564 in 8-14 um
    [computed]."""
    facts = "    emissivity: 0.92\n    reflected: 22 degC"
    head = "conditions: {inside_air: 22 degC}\ncamera: {band: [8 um, 14 um]}\n"
    path = "transmittance: 0.98"
    window = "window_transmittance: 0.85, window_reflectance: 0.10, window_temperature: 25 degC"
    found, _ = surveyed(flat(60.3564), facts, head + calibrate(f"{path}, {window}"))
    np.testing.assert_allclose(found.values - ZERO, 70.0, atol=0.003)
    without, _ = surveyed(flat(60.3564), facts, head + calibrate(path))
    np.testing.assert_allclose(without.values - ZERO, 63.933, atol=0.003)
    wide, _ = surveyed(flat(60.4322), facts, head.replace("8 um", "7.5 um") + calibrate(f"{path}, {window}"))
    np.testing.assert_allclose(wide.values - ZERO, 70.0, atol=0.005)
    assert statistics(found)["mean"].half_width > statistics(without)["mean"].half_width


@pytest.mark.parametrize(
    ("true", "set_to", "at", "error"),
    [(0.90, 0.95, 50, -1.41), (0.85, 0.95, 100, -6.70), (0.95, 1.00, 30, -0.48), (0.60, 0.95, 200, -50.45)],
)
def test_wrong_emissivity_set_in_the_camera_is_undone(surveyed, true, set_to, at, error):
    """Indicated minus true for a wrong setting among 20 degC [computed, 8-14 um, printed to 0.01 K]."""
    applied = f"{{emissivity: {set_to}, reflected: 20 degC, transmittance: 1}}"
    text = f"    emissivity: {true}\n    reflected: 20 degC\n    applied: {applied}"
    found, _ = surveyed(flat(at + error), text, "conditions: {inside_air: 20 degC}\ncamera: {band: [8 um, 14 um]}")
    np.testing.assert_allclose(found.values - ZERO, at, atol=0.012 * max(1.0, set_to / true))


def test_wrong_reflected_temperature_set_in_the_camera_is_undone(surveyed):
    """T_o 50, eps 0.80, T_r 20: set to -20 degC it reads 6.143 K too much [computed]."""
    text = "    emissivity: 0.80\n    reflected: 20 degC\n    applied: {emissivity: 0.80, reflected: -20 degC}"
    found, _ = surveyed(flat(56.143), text, "conditions: {inside_air: 20 degC}\ncamera: {band: [8 um, 14 um]}")
    np.testing.assert_allclose(found.values - ZERO, 50.0, atol=0.003)


RESPONSE = ((7.0, 0.0), (8.0, 0.8), (9.5, 1.0), (12.0, 0.9), (14.0, 0.3), (15.0, 0.0))


def test_tabulated_response(surveyed):
    """Made with the integrated response, given back by the step; the band of the same width errs by tenths of a
    kelvin."""
    table = TabulatedBand(*map(tuple, zip(*RESPONSE, strict=True)))
    truth = Settings(0.6, 20 + ZERO, 0.97, 25 + ZERO)
    reading = float(apparent_temperature(table, 100 + ZERO, truth)) - ZERO
    facts = "    emissivity: 0.6\n    reflected: 20 degC"
    head = f"conditions: {{inside_air: 25 degC}}\n{calibrate('transmittance: 0.97')}\ncamera: "
    found, _ = surveyed(flat(reading), facts, head + f"{{response: {[list(pair) for pair in RESPONSE]}}}")
    np.testing.assert_allclose(found.values - ZERO, 100.0, atol=0.01)
    assert "measured response" in found.facts["settings"]["band"]
    band, _ = surveyed(flat(reading), facts, head + "{band: [8 um, 14 um]}")
    assert abs(float(band.values[0, 0]) - ZERO - 100.0) > 0.05


def test_a_box_response_is_the_ideal_band(surveyed):
    """E2 of the forward examples, 7.5-14 um column: 60 degC reads 57.6281 [computed]."""
    box = "{response: [[7.499, 0], [7.5, 1], [14, 1], [14.001, 0]]}"
    head = f"conditions: {{inside_air: 20 degC}}\n{calibrate('transmittance: 0.98')}\ncamera: {box}"
    found, _ = surveyed(flat(57.6281), "    emissivity: 0.95\n    reflected: 20 degC", head)
    np.testing.assert_allclose(found.values - ZERO, 60.0, atol=0.005)


@pytest.mark.parametrize(
    "wrong", ["[[8, 1]]", "[[8, 1], [7, 1]]", "[[8, 0], [14, 0]]", "[[8, 1], [60, 1]]", "[[0.1, 1], [9, 1]]"]
)
def test_impossible_responses(surveyed, wrong):
    with pytest.raises(UserError) as caught:
        surveyed(flat(20), "    emissivity: 0.9", f"camera: {{response: {wrong}}}")
    assert [problem.code for problem in caught.value.problems] == ["spectral-response"]


def test_modelled_sky(surveyed):
    """Clear sky in 8-14 um at 20 degC and 50 %: apparent -34.2 degC (Idso 1981 [memory; values computed]), 0.5 K for
    rounding."""
    facts = "    shows: flat roof\n    emissivity: 0.90"
    head = "conditions: {outside_air: 20 degC, outside_humidity: 50 %, sky: clear}\n" + calibrate("reflected: sky")
    found, _ = surveyed(flat(5.0), facts, head)
    sky = found.facts["settings"]["reflected"]
    assert sky.value == pytest.approx(-34.2, abs=0.5) and sky.half_width > 10.0
    # A roof among a colder sky is warmer than it looks.
    assert found.values[0, 0] - ZERO > 7.0 and any("modelled" in note for note in found.facts["notes"])


def test_roof_under_a_measured_sky(surveyed):
    """T_o 5, sky -30: eps 0.90 reads 2.098 at eps 1 [computed, 8-14 um]."""
    found, _ = surveyed(
        flat(2.098), "    emissivity: 0.90\n    reflected: -30 degC", "conditions: {outside_air: 5 degC}"
    )
    np.testing.assert_allclose(found.values - ZERO, 5.0, atol=0.003)


@pytest.mark.parametrize(("tilt", "flagged"), [(0, False), (45, False), (60, False), (61, True), (75, True)])
def test_slanting_views_beyond_60_degrees_are_flagged(surveyed, tilt, flagged):
    """Fresnel: a smooth n = 1.5 surface emits 5 % less at 60 degrees, 22 % less at 75 [computed]."""
    found, _ = surveyed(flat(20), f"    emissivity: 0.9\n    tilt: {tilt} deg", "conditions: {inside_air: 20 degC}")
    assert any("degrees off square" in note for note in found.facts["notes"]) == flagged


def test_emissivity_below_0_6_gives_no_temperature(surveyed):
    """ "Only above about 0.6" is a rule of the trade (common practice, no source)."""
    text = (
        "    emissivity: 0.95\n    reflected: 20 degC\n    regions:\n"
        "      - {name: busbar, box: [2, 2, 12, 12], emissivity: 0.10}\n"
        "      - {name: board, box: [18, 2, 12, 12], emissivity: 0.62}\n"
        "      - {name: tape, box: [5, 5, 2, 2], material: electrical tape}"
    )
    found, context = surveyed(flat(40.0), text, "conditions: {inside_air: 20 degC}")
    records = {region.name: region_statistics(found, region) for region in context.regions}
    assert "mean" in records["board"][0] and "mean" in records["tape"][0]
    # The strip of tape on the busbar can be read; bare metal alone cannot.
    bare = Region("bare", found.id, "box", ((8, 8), (13, 13)))
    statistics_, notes = region_statistics(found, bare)
    assert "mean" not in statistics_ and any("too low" in note for note in notes)
    assert any("no temperature is given" in note for note in found.facts["notes"])
    allowed, _ = surveyed(flat(40.0), text, "conditions: {inside_air: 20 degC}\n" + calibrate("least_emissivity: 0.05"))
    assert all(allowed.absolute)


def test_counts_through_tables_equal_the_equation_whatever_is_set(surveyed):
    """Window, path, undo and response together: tables of counts against the same temperatures pixel by pixel."""
    counts = np.random.default_rng(5).integers(29000, 36000, SHAPE).astype(np.uint16)
    text = (
        "    emissivity: 0.85\n    reflected: 15 degC\n    distance: 4 m\n"
        "    applied: {emissivity: 0.95, reflected: 20 degC}\n"
        "    regions: [{name: tape, box: [3, 3, 9, 9], material: electrical tape}]"
    )
    settings = "bad_pixels: false, stripes: false, window_transmittance: 0.8, window_reflectance: 0.1"
    head = "conditions: {inside_air: 21 degC, humidity: 40 %}\ncamera: {band: [7.5 um, 13 um]}\n" + calibrate(settings)
    table, _ = surveyed(Picture(counts, False, (0.01, 0.0)), text, head)
    direct, _ = surveyed(Picture(counts * 0.01, True), text, head)
    np.testing.assert_allclose(table.values, direct.values, atol=2e-4)
    wide, _ = surveyed(
        Picture(counts.astype(np.int32) * 700 - 9_000_000, False, (0.01 / 700, 9_000_000 * 0.01 / 700)), text, head
    )
    np.testing.assert_allclose(wide.values, direct.values, atol=1e-3)


def test_the_band_of_the_step_wins(surveyed):
    """E1, 7.5-14 um column: 58.2855 [computed]."""
    head = "conditions: {inside_air: 20 degC}\ncamera: {band: [8 um, 14 um]}\n" + calibrate("band: [7.5 um, 14 um]")
    found, _ = surveyed(flat(58.2855), "    emissivity: 0.95\n    reflected: 20 degC", head)
    np.testing.assert_allclose(found.values - ZERO, 60.0, atol=0.003)
    assert float(
        apparent_temperature(IdealBand(7.5, 14.0), 60 + ZERO, Settings(0.95, 20 + ZERO))
    ) - ZERO == pytest.approx(58.2855, abs=1e-4)
