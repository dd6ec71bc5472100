"""Runners by cylinder: one cold, two cold, three only, shields, clean engines."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from heatbrief.model import Quantity
from heatbrief_vehicle.exhaust import STEP
from heatbrief_vehicle.runners import needed_emissivity


def odd(output):
    return [one.region for one in output.findings if one.verdict != "normal"]


VECTORS = [
    ((310, 305, 302, 190), ["cylinder 4 runner"], -115),
    ((300, 305, 302, 345), ["cylinder 4 runner"], 43),
    ((320, 318, 325, 322, 250), ["cylinder 5 runner"], -71),
    ((255, 262, 258, 260, 251, 257, 259, 180), ["cylinder 8 runner"], -78),
]


@pytest.mark.parametrize(("celsius", "names", "apart"), VECTORS)
def test_one_odd_runner(ask, row, celsius, names, apart):
    """Domains dossier V4 [computed: K3, K4]: difference of the extreme from the median of the others."""
    output = ask(STEP, *row(celsius))
    assert odd(output) == names
    finding = next(one for one in output.findings if one.region == names[0])
    assert finding.verdict == "defect" and finding.measured["contrast"].value == pytest.approx(apart, abs=0.5)
    assert ("cooler" if apart < 0 else "hotter") in finding.title


def test_two_cold_runners_do_not_hide_each_other(ask, row):
    """410 402 398 405 300 295: Dixon and Grubbs miss both (masking) [computed: K4]; against the four others it is
    about 103 and 108 K."""
    output = ask(STEP, *row((410, 402, 398, 405, 300, 295)))
    assert odd(output) == ["cylinder 5 runner", "cylinder 6 runner"]
    assert [one.measured["contrast"].value for one in output.findings] == pytest.approx([-103.5, -108.5], abs=0.5)
    assert all(one.verdict == "defect" and "1 other runner stands out too" in one.summary for one in output.findings)


@pytest.mark.parametrize("celsius", [(310, 305, 302, 296), (300, 301, 299, 300, 302, 298), (210, 205, 212, 208)])
def test_a_clean_engine_is_normal(ask, row, celsius):
    (finding,) = ask(STEP, *row(celsius)).findings
    assert finding.verdict == "normal" and finding.urgency == "none" and finding.actions == ()


def test_clean_engines_of_normal_scatter_seldom_alarm(ask, row):
    """Spread of 8 K between good runners is ordinary: none of 40 engines may be called defect."""
    random = np.random.default_rng(11)
    verdicts = [
        one.verdict for _ in range(40) for one in ask(STEP, *row(tuple(300 + 8 * random.standard_normal(4)))).findings
    ]
    assert "defect" not in verdicts


def test_three_runners_give_low_confidence(ask, row):
    """280 276 205: Dixon .947 < .970 and Grubbs 1.153 < 1.154 do not reject (n = 3 has no power) [computed: K3];
    the floor alone flags it."""
    (finding,) = ask(STEP, *row((280, 276, 205))).findings
    assert finding.region == "cylinder 3 runner" and finding.verdict == "suspect"
    assert any(
        gate.name == "number of runners" and gate.passed is None and "low confidence" in gate.reason
        for gate in finding.gates
    )


def test_two_runners_are_not_judged(ask, row):
    output = ask(STEP, *row((280, 205)))
    assert output.findings == () and "needs three or more" in output.notes[0]


def test_half_of_them_apart_means_no_majority(ask, row):
    (finding,) = ask(STEP, *row((400, 402, 300, 298))).findings
    assert finding.verdict == "inconclusive" and "cannot be said which" in finding.summary


def test_a_shielded_runner_is_left_out(ask, row):
    output = ask(STEP, *row((310, 305, 302, 308, 150), shielded=(5,)))
    assert odd(output) == [] and any("behind a shield" in note for note in output.notes)


@pytest.mark.parametrize(("apart", "verdict"), [(22.0, "normal"), (28.9, "suspect"), (31.0, "defect")])
def test_near_the_floor(ask, row, apart, verdict):
    output = ask(STEP, *row((300, 301, 299.5, 300.5, 300, 300 - apart)))
    assert [one.verdict for one in output.findings if one.region == "cylinder 6 runner"] == [verdict]


@pytest.mark.parametrize(
    ("facts", "passed"),
    [
        ({"since_start": Quantity.exact(90, "s")}, True),
        ({"since_start": Quantity.exact(900, "s")}, None),
        ({"since_start": None}, None),
    ],
)
def test_the_time_since_the_start_is_asked(ask, row, facts, passed):
    (finding,) = ask(STEP, *row((310, 305, 302, 190)), facts=facts).findings
    gate = next(one for one in finding.gates if one.name == "time since a cold start")
    assert gate.passed is passed and (finding.verdict == "defect") == bool(passed)


def test_the_cause_is_never_named(ask, row):
    for celsius in ((310, 305, 302, 190), (300, 305, 302, 345)):
        (finding,) = ask(STEP, *row(celsius)).findings
        assert (
            "Consistent with" in finding.summary
            and "cannot name a cause" in finding.summary
            and "most complete combustion" in finding.summary
        )


@pytest.mark.parametrize(("cold", "status"), [(150, "ruled out"), (240, "not testable")])
def test_a_bright_coat_cannot_make_a_hot_runner_read_so_cold(row, ask, cold, status):
    """The emissivity at which 305 degC reads like `cold` (grey body, Stefan-Boltzmann): 0.19 and 0.50; bright metal
    lies below 0.3."""
    (finding,) = ask(STEP, *row((310, 305, 302, cold))).findings
    rival = next(one for one in finding.rivals if "coating, rust" in one.explanation)
    assert rival.status == status
    needed = needed_emissivity(SimpleNamespace(values={"mean": cold + 273.15}), 305 + 273.15, 45 + 273.15, 0.85)
    sigma = 5.670374e-8
    assert (
        0.85 * sigma * ((cold + 273.15) ** 4 - 318.15**4) == pytest.approx(needed * sigma * (578.15**4 - 318.15**4))
        and f"{needed:.2f}" in rival.evidence
    )


def test_an_end_cylinder_a_little_cooler_is_not_yet_a_defect(ask, row):
    (finding,) = ask(STEP, *row((300, 301, 299, 300, 260))).findings
    end = next(one for one in finding.rivals if "end cylinder" in one.explanation)
    assert end.status == "not ruled out"
    (middle,) = ask(STEP, *row((300, 301, 260, 300, 299))).findings
    assert middle.probability > finding.probability
