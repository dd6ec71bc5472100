"""Steel through a wall is a bridge; studs are not; the temperature factor meets its published limits."""

from __future__ import annotations

import pytest
from heatbrief.model import Quantity
from heatbrief.testing import run_step
from heatbrief.testing.parts import Framing, MissingInsulation, ThermalBridge
from heatbrief_envelope.surfaces import Airs, temperature_factor
from heatbrief_envelope.thermal_bridge import STEP, Settings, _criterion

STUDS = {"spacing_m": 0.4, "width_m": 0.038, "first_px": 22.0, "soft_m": 0.012, "resistance": 2.0}


def lintel(near, far):
    return ThermalBridge(
        name="lintel",
        near_c=near,
        far_c=far,
        resistance=0.55,
        line=((40.0, 50.0), (150.0, 50.0)),
        width_m=0.05,
        soft_m=0.04,
    )


@pytest.mark.parametrize(("near", "far", "sign"), [(21.0, 1.0, -1), (24.0, 42.0, 1)])
def test_a_lintel_across_studs_is_found_and_the_studs_are_not(room, near, far, sign):
    seen = room(
        near, far, Framing(name="studs", near_c=near, far_c=far, **STUDS), lintel(near, far), width=200, height=150
    )
    (finding,) = run_step(STEP, seen.subject, seen.context).findings
    assert finding.verdict == "defect"
    assert finding.measured["contrast"].value * sign > 0
    middle = finding.outline.polygon
    assert min(x for x, _ in middle) < 60 and max(x for x, _ in middle) > 135
    assert all(35 <= y <= 65 for _, y in middle)
    length = finding.measured["length"]
    assert length.low <= 110 * seen.subject.pixel.width * 1.05 and length.high >= 110 * seen.subject.pixel.width * 0.95
    assert all(word in finding.summary for word in ("line", "Consistent with"))


def test_studs_alone_are_no_bridge(room):
    for far in (0.0, 42.0):
        seen = room(21.0, far, Framing(name="studs", near_c=21.0, far_c=far, **STUDS), width=200, height=150)
        assert run_step(STEP, seen.subject, seen.context).findings == ()


def test_a_compact_patch_is_left_to_the_insulation_check(room):
    seen = room(
        21.0,
        1.0,
        MissingInsulation(
            name="missing", near_c=21.0, far_c=1.0, resistance=0.5, outline=((60, 30), (96, 30), (96, 86), (60, 86))
        ),
    )
    assert run_step(STEP, seen.subject, seen.context).findings == ()


@pytest.mark.parametrize(
    ("clear", "member"), [(4.111, 1.778), (2.77, 1.25)], ids=["EX-2.1 Scottish 6.B", "EX-2.4 R-13 wall"]
)
def test_wood_in_published_walls_stays_under_the_criterion(clear, member):
    """Paths of EX-2.1 (4.111 and 1.778 m2K/W, read) and of EX-2.4 (15.73 and 7.11 h ft2 F/Btu, from memory): Rsi dT
    (1/Rw - 1/Rc)."""
    for drive in (10.0, 20.0, 40.0):
        airs = Airs(Quantity.exact(21.0, "degC"), Quantity.exact(21.0 - drive, "degC"), "the outside air")
        contrast = 0.13 * drive * (1 / member - 1 / clear)
        assert contrast < _criterion(Settings(), airs).contrast


def test_temperature_factor_against_the_published_example():
    """EX-4.7: surface 13.4, room 20.2, outside 1.5 degC gives 0.6364, below the limits 0.70 (DIN 4108-2) and 0.75
    (Irish Part L)."""
    airs = Airs(Quantity.exact(20.2, "degC"), Quantity.exact(1.5, "degC"), "the outside air")
    assert temperature_factor(Quantity.exact(13.4, "degC"), airs).value == pytest.approx(0.6364, abs=1e-4)


def test_classes_come_with_the_probability_and_only_when_heat_goes_out(room):
    cold = room(20.0, -5.0, lintel(20.0, -5.0), width=200, height=150)
    (finding,) = run_step(STEP, cold.subject, cold.context).findings
    tables = {row["table"] for row in finding.classes}
    assert tables == {"irish-part-l", "din-4108-2"}
    assert all(0.5 <= float(row["probability"]) <= 1.0 for row in finding.classes)
    warm = room(24.0, 44.0, lintel(24.0, 44.0), width=200, height=150)
    assert run_step(STEP, warm.subject, warm.context).findings[0].classes == ()


def test_bridge_factor_of_the_worked_example():
    """EX-3.9 (Asdrubali et al. 2012, from memory): 90 pixels at 18 and 10 at 16 in a 20 degC room give 1.1."""
    from heatbrief.physics.transmittance import bridge_incidence_factor
    from heatbrief_envelope.thermal_bridge import _incidence

    class Line:
        contrast = Quantity.exact(-0.2, "K")
        surroundings = Quantity.exact(18.0, "degC")
        mean = Quantity.exact(17.8, "degC")

    airs = Airs(Quantity.exact(20.0, "degC"), Quantity.exact(0.0, "degC"), "the outside air")
    assert _incidence(Line, airs)["bridge factor"].value == pytest.approx(1.1)
    assert bridge_incidence_factor([18.0] * 90 + [16.0] * 10, 18.0, 20.0) == pytest.approx(1.1)
