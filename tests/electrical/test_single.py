"""Parts without a twin, outlets, steel beside a conductor, and fuses with one hot end."""

from __future__ import annotations

import pytest
from heatbrief.model import Quantity
from heatbrief_electrical.single import STEP
from heatbrief_electrical.twins import STEP as TWINS

AIR = {"air_around": Quantity.exact(30.0, "degC")}


def alone(panel, rise, load=60, rated=100, shows="lug", facts=None, settings=None, **more):
    made = panel(shows=shows).part("main lug", rise, load, rated, **more)
    return made.run(STEP, facts={**AIR, **(facts or {})}, **(settings or {}))


@pytest.mark.parametrize(
    ("rise", "label"),
    [(6.0, "possible deficiency"), (15.0, "probable deficiency"), (30.0, "monitor"), (46.0, "major discrepancy")],
)
def test_the_ambient_rule(panel, rise, label):
    """E1 ambient column [seen: S1], with "no comparison part"."""
    (finding,) = alone(panel, rise).findings
    assert finding.classes[0]["class"] == label and "NETA table 100.18, above ambient air" in finding.summary
    assert "No comparison part" in finding.summary and finding.verdict != "defect", (
        "without a twin warmth alone proves nothing"
    )


def test_a_small_rise_of_a_loaded_part_is_normal(panel):
    (finding,) = alone(panel, 6.0).findings
    assert finding.verdict == "normal" and finding.actions == ()


def test_the_table_can_be_chosen_and_asks_for_its_load(panel):
    """The European table is stated for 75 % load [seen: S5]: at 60 % there is no class."""
    assert alone(panel, 30.0, settings={"table": "european-ambient"}).findings[0].classes == ()
    (finding,) = alone(panel, 30.0, load=80, settings={"table": "european-ambient"}).findings
    assert finding.classes[0]["class"] == "check" and "European practice" in finding.summary


def test_the_limit_rule(panel):
    """100 A terminal of 50 K at 60 A: 18.0 to 22.1 K allowed (E10)."""
    held = {**AIR, "load held": Quantity.exact(60.0, "min")}
    made = (
        panel(shows="lug").part("main lug", 30.0, 60, 100, termination="bolted bare").part("spare", 2.0, 60, 100, "two")
    )
    finding = next(one for one in made.run(STEP, facts=held).findings if one.region == "main lug")
    assert finding.verdict == "defect" and "above what its load allows" in finding.title and finding.urgency == "now"
    assert (
        finding.measured["margin at this load"].value == pytest.approx(19.94 - 30, abs=0.2)
        and finding.measured["margin at full load"].value < 0
    )
    (calm,) = alone(panel, 12.0, termination="bolted bare").findings
    assert calm.verdict == "normal" and "would allow" in calm.summary


@pytest.mark.parametrize("load", [None, 20])
def test_without_load_only_the_pattern(panel, load):
    (finding,) = alone(panel, 25.0, load=load, rated=None if load is None else 100).findings
    assert (
        finding.classes == ()
        and "no severity is given" in finding.summary
        and "electrical.record-load" in finding.actions
    )
    assert alone(panel, 5.0, load=load, rated=None if load is None else 100).findings == ()


def test_a_warm_outlet(panel):
    """E16 [seen: S21, S21a]: 1965 to 1973; nobody is told to open it."""
    (finding,) = alone(panel, 9.0, None, None, "outlet cover", **{"year wired": Quantity.exact(1968.0, "1")}).findings
    assert "aluminium branch wiring" in finding.summary and "leave it in place" in finding.summary
    assert finding.actions == ("electrical.check-outlet",) and finding.cautions[1] == "electrical.aluminium-wiring"
    (newer,) = alone(panel, 9.0, None, None, "outlet cover", **{"year wired": Quantity.exact(1999.0, "1")}).findings
    assert "aluminium" not in newer.summary


def test_warm_steel_beside_a_conductor(panel):
    (finding,) = alone(panel, 20.0, None, None, "steel bracket").findings
    assert "current induced in steel" in finding.summary


def test_parts_with_twins_are_left_to_the_twins(panel):
    made = panel().part("a", 20.0, 16, 20, "pair").part("b", 20.0, 16, 20, "pair")
    assert made.run(STEP, facts=AIR).findings == ()


def test_the_ten_degree_rule_for_insulation_at_its_rating(panel):
    """PVC 70 degC [memory]: at 75 degC a factor of 0.707 (E8); 50 degC is well below, so nothing is said."""
    facts = {"insulation": "PVC"}
    (hot,) = alone(panel, 45.0, 90, 100, "cable", **facts).findings
    assert hot.measured["insulation life over that at rating"].value == pytest.approx(0.70, abs=0.03)
    (cool,) = alone(panel, 20.0, 90, 100, "cable", **facts).findings
    assert "insulation life over that at rating" not in cool.measured


def test_a_fuse_with_one_hot_end(panel):
    """E16 [CP]: one end hot = clip."""
    made = (
        panel("fuse")
        .part("first", 10.0, 30, 60, "fuses")
        .part("second", 12.0, 30, 60, "fuses")
        .part("third", 10.2, 30, 60, "fuses")
    )
    made.values[24:36, 40:50] += 9.0
    finding = next(one for one in made.run(TWINS, facts=AIR).findings if one.region == "second")
    assert (
        "left end" in finding.summary
        and "clip at that end" in finding.summary
        and finding.measured["one end over the other"].value > 5
    )
