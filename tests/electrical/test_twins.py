"""Like parts at like load: the hot one, the class with its probability, and when there is none."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.model import Quantity
from heatbrief.physics.electrical import class_codes, class_table
from heatbrief_electrical import classes
from heatbrief_electrical.twins import STEP


def only(output):
    assert len(output.findings) == 1, [one.title for one in output.findings]
    return output.findings[0]


def pair(panel, rise, load=32.0, rated=40.0, other=10.0, other_load=None, **more):
    made = panel(**more).part("upper pole", other, load if other_load is None else other_load, rated, "poles")
    return made.part("lower pole", other + rise, load, rated, "poles")


def test_the_hot_twin_is_found_with_its_class(panel):
    finding = only(pair(panel, 9.0).run(STEP))
    assert (finding.region, finding.verdict, finding.urgency) == ("lower pole", "defect", "plan")
    assert finding.measured["contrast"].low < 9.0 < finding.measured["contrast"].high
    first = finding.classes[0]
    assert first["class"] == "probable deficiency" and first["table"] == class_table("neta-similar").name
    assert "probable deficiency" in finding.summary and first["table"] in finding.summary
    assert finding.actions[-1] == "electrical.restore-connection"


def test_a_difference_that_is_major_at_full_load_is_one_step_more_urgent(panel):
    """12.4 K at 55 %: 32.3 to 41.0 K at full load [computed: K1, domains dossier 1.5]."""
    finding = only(pair(panel, 12.4, load=22.0).run(STEP))
    full = finding.measured["difference at full load"]
    assert full.low < 32.5 and full.high > 40.8 and finding.urgency == "soon"


def test_a_loaded_warm_pair_is_normal(panel):
    finding = only(pair(panel, 0.2, other=14.0).run(STEP))
    assert finding.verdict == "normal" and finding.urgency == "none" and finding.actions == () and finding.classes == ()
    assert "Loaded and warm is normal" in finding.summary


@pytest.mark.parametrize(("load", "rated"), [(None, None), (32.0, None), (10.0, 40.0)])
def test_without_a_load_of_40_percent_only_the_pattern_is_given(panel, load, rated):
    """Load unknown or below 40 %: no class (domains dossier E11, project decision)."""
    finding = only(pair(panel, 18.0, load=load, rated=rated).run(STEP))
    assert (
        finding.classes == ()
        and "no severity is given" in finding.summary
        and "difference at full load" not in finding.measured
    )
    assert finding.verdict == ("inconclusive" if load == 10.0 else "suspect") and finding.next_time
    assert "electrical.record-load" in finding.actions and "electrical.repeat-at-load" not in finding.actions


def test_alike_at_unknown_load_says_nothing(panel):
    output = pair(panel, 0.2, load=None, rated=None).run(STEP)
    assert output.findings == () and "load is not known" in output.notes[0]


@pytest.mark.parametrize(("share", "stage"), [(0.39, None), (0.41, "low load"), (0.49, "low load"), (0.51, "")])
def test_low_load_is_flagged_between_40_and_50_percent(panel, share, stage):
    finding = only(pair(panel, 9.0, load=40 * share).run(STEP))
    if stage is None:
        assert finding.classes == ()
    else:
        assert {row.get("note", "") for row in finding.classes} == {stage} and (
            "low (40 to 50 %)" in finding.summary
        ) == bool(stage)


@pytest.mark.parametrize(
    ("value", "low", "high"), [(18.0, 15.0, 21.0), (14.0, 12.0, 17.0), (3.5, 2.0, 5.0), (15.0, 14.0, 16.0)]
)
@pytest.mark.parametrize("table", ["neta-similar", "mil-std-2194", "inspection-body"])
def test_probabilities_agree_with_a_monte_carlo(value, low, high, table):
    """Each side of the bounds is half of a normal distribution; 400 000 draws, so about 0.002 of chance."""
    random = np.random.default_rng(7)
    drawn = random.standard_normal(400_000)
    samples = value + np.where(drawn < 0, drawn * (value - low), drawn * (high - value)) / 1.959964
    codes = class_codes(samples, table)
    for code, share in classes.probabilities(Quantity(value, "K", low, high), table).items():
        assert share == pytest.approx(float(np.mean(codes == code)), abs=0.004)


def test_18_k_within_3_is_not_simply_major(panel):
    """The difference carries an emissivity error of 1.5 K in 18: the class keeps its doubt, and other classes stay in
    the table.
    """
    finding = only(pair(panel, 18.0, other=1.0, unsure=1.7).run(STEP))
    rows = [
        row
        for row in finding.classes
        if row["compares"].startswith("mean") and "full load" not in row["compares"] and "air" not in row["compares"]
    ]
    assert {row["class"] for row in rows} == {"major discrepancy", "probable deficiency"}
    assert all("above 99" not in row["probability"] for row in rows) and rows[0]["class"] == "major discrepancy"


@pytest.mark.parametrize(("standard", "urgency"), [(1.0, "plan"), (2.0, "now")])
def test_the_urgency_follows_a_severe_class_that_is_reached_with_some_probability(standard, urgency):
    """14 K: above 15 K with 16 % for a standard uncertainty of 1 K and with 31 % for 2 K (normal distribution)."""
    assert classes.classed(Quantity.normal(14.0, "K", standard), "neta-similar", "test").urgency == urgency


VECTORS = [(0.9, 0), (1.0, 1), (3.0, 1), (3.5, 1), (4.0, 2), (15.0, 2), (15.1, 4), (16.0, 4)]


@pytest.mark.parametrize(("value", "code"), VECTORS)
def test_binning_of_the_similar_column(value, code):
    """NETA table 100.18 with the project's edges in its gaps (domains dossier E1 vectors [seen: S1])."""
    found = classes.classed(Quantity.exact(value, "K"), "neta-similar", "test")
    labels = {band.code: band.label for band in class_table("neta-similar").bands} | {0: "not classed"}
    assert found.likely == labels[code] and found.severe == code


@pytest.mark.parametrize(
    ("value", "code"), [(0.9, 0), (1.0, 1), (10.5, 1), (11, 2), (20.5, 2), (21, 3), (40, 3), (40.1, 4)]
)
def test_binning_of_the_ambient_column(value, code):
    """NETA table 100.18, ambient column (domains dossier E1 vectors [seen: S1])."""
    assert classes.classed(Quantity.exact(float(value), "K"), "neta-ambient", "test").severe == code


@pytest.mark.parametrize(
    ("table", "label"),
    [
        ("neta-similar", "major discrepancy"),
        ("mil-std-2194", "failure unlikely"),
        ("inspection-body", "second of four"),
    ],
)
def test_the_same_reading_falls_in_different_classes(panel, table, label):
    """18 K: major by NETA, next routine period by MIL-STD, second band of the inspection body (domains dossier E2)."""
    finding = only(pair(panel, 18.0).run(STEP, table=table))
    assert finding.classes[0]["class"] == label and finding.classes[0]["table"] in finding.summary


def test_unequal_loads_are_corrected(panel):
    """Twice the current at the same joint: 4 K becomes 12.1 to 16 K (n 1.6 to 2.0); what is left is nothing [computed:
    K1].
    """
    made = pair(panel, 4 * 2**1.8 - 4.0, load=30.0, other=4.0, other_load=15.0)
    made.regions[0] = made.regions[0].__class__(
        **{**made.regions[0].__dict__, "facts": {"load": Quantity.exact(15.0, "A"), "rated": Quantity.exact(30.0, "A")}}
    )
    output = made.run(STEP, facts={"air_around": Quantity.exact(30.0, "degC")})
    assert all(one.verdict != "defect" for one in output.findings)
    left = only(output).measured["contrast"]
    assert left.low < 0 < left.high and left.value == pytest.approx(0.0, abs=0.3)


def test_an_unequal_load_that_does_not_explain_it_stays(panel):
    made = pair(panel, 40.0, load=30.0, other=4.0, other_load=25.0)
    finding = only(made.run(STEP))
    assert finding.verdict == "defect" and "allowed for" in finding.summary
    rival = next(one for one in finding.rivals if one.explanation == "an ordinary rise at a higher load")
    assert rival.status == "ruled out" and "1.20 times" in rival.evidence


def test_bare_metal_is_inconclusive_and_says_what_to_do(panel):
    finding = only(pair(panel, 9.0, emissivity=0.1).run(STEP))
    assert (
        finding.verdict == "inconclusive"
        and "Bare metal" in finding.summary
        and any("tape" in one for one in finding.next_time)
    )


def test_small_differences_are_possible_only(panel):
    finding = only(pair(panel, 2.0).run(STEP))
    assert (
        finding.verdict == "suspect"
        and finding.urgency == "watch"
        and finding.classes[0]["class"] == "possible deficiency"
    )


def test_heat_of_a_warmer_neighbour_is_not_ruled_out(panel):
    made = panel().part("first", 6.0, 15, 20, "pair").part("second", 12.0, 15, 20, "pair").part("main", 30.0, 100, 200)
    finding = only(made.run(STEP))
    assert finding.region == "second" and finding.verdict == "suspect"
    assert [one.status for one in finding.rivals if "warmer part beside" in one.explanation] == ["not ruled out"]


def test_a_cold_fuse_among_warm_ones(panel):
    made = (
        panel("fuse")
        .part("phase one", 12.0, 30, 60, "fuses")
        .part("phase two", 0.3, None, None, "fuses")
        .part("phase three", 12.4, 30, 60, "fuses")
    )
    output = made.run(STEP)
    finding = next(one for one in output.findings if one.verdict != "normal")
    assert [one.verdict for one in output.findings if one is not finding] == ["normal"]
    assert finding.region == "phase two" and "open or carries no load" in finding.summary and finding.classes == ()


def test_hostile_regions_do_not_break_the_run(panel):
    made = pair(panel, 9.0)
    made.values[:40] = np.nan
    made.part("nothing", 1.0, -5.0, 0.0, "poles")
    output = made.run(STEP)
    assert any("no pixel" in note for note in output.notes)


def test_wind_and_sun_are_asked_for_outside_only(panel):
    inside = only(pair(panel, 9.0).run(STEP))
    outside = only(pair(panel, 9.0, shows="connector", look="connectors outside").run(STEP))
    assert not any(gate.name == "wind" for gate in inside.gates) and any(
        gate.name == "wind" and gate.passed is None for gate in outside.gates
    )
    assert outside.verdict == "suspect"


def test_a_loaded_part_beside_an_idle_twin_is_no_alarm(panel):
    made = panel().part("upper pole", 0.2, 0.0, 40, "poles").part("lower pole", 14.0, 32, 40, "poles")
    output = made.run(STEP)
    assert output.findings == () and "not compared" in output.notes[0]


def test_an_idle_part_does_not_make_two_loaded_ones_look_warm(panel):
    made = (
        panel()
        .part("one", 14.0, 32, 40, "three")
        .part("two", 14.2, 32, 40, "three")
        .part("idle", 0.2, 0.0, 40, "three")
    )
    assert only(made.run(STEP)).verdict == "normal"


def test_classes_of_bare_metal_carry_a_warning(panel):
    """E13: bright lugs under-report by a class or more, so each row says so, and the summary says what to do."""
    finding = only(pair(panel, 9.0, emissivity=0.1).run(STEP))
    assert all("bare metal" in row["note"] for row in finding.classes)
    assert all(word in finding.summary for word in ("paint", "tape", "licensed electrician", "made dead", "recess"))


def test_the_limit_rule_stands_beside_the_twin_rule(panel):
    """A pole 30 K over the air at 80 %: 40 degC of insulation margin allow 26.8 K (n 1.8), so the limit rule
    raises the urgency.
    """
    made = (
        panel()
        .part("upper pole", 22.0, 32.0, 40, "poles")
        .part("lower pole", 34.0, 32.0, 40, "poles", insulation="PVC")
    )
    finding = only(made.run(STEP, facts={"air_around": Quantity.exact(30.0, "degC")}))
    assert finding.urgency == "now" and finding.measured["margin at this load"].value == pytest.approx(
        40 * 0.8**1.8 - 34, abs=0.2
    )
    assert any(row["table"].startswith("limit: PVC") for row in finding.classes)
    plain = only(pair(panel, 12.0, other=22.0).run(STEP))
    assert plain.urgency != "now" and "margin at this load" not in plain.measured
