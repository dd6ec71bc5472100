"""Findings that share an input move together in a sum: GUM (JCGM 100:2008) 5.2.2, correlated inputs add straight."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from heatbrief.api import Context
from heatbrief.estimate.terms import drawn, total, yearly
from heatbrief.estimate.whole import whole_brief
from heatbrief.model import Action, Conditions, Finding, Quantity
from heatbrief.model.costs import MoneyFacts
from heatbrief_electrical import waste
from heatbrief_plumbing import evaporation

exact, between = Quantity.exact, Quantity.between


def finding(key: str, check: str, **measured: Quantity) -> Finding:
    domain = check.partition(".")[0]
    named = {name.replace("_", " "): one for name, one in measured.items()}
    actions = (f"{domain}.fix",)
    return Finding(key, domain, check, key, "part", key, "s", "defect", "soon", 0.95, measured=named, actions=actions)


def warm(key: str, doubt: float = 0.0) -> Finding:
    """A face of 0.2 m2 at 70 degC in air of 30 degC, 25 K beyond its twin."""
    return finding(
        key,
        "electrical.twins",
        face_area=between(0.2 * (1 - doubt), 0.2 * (1 + doubt), "m2", 0.2) if doubt else exact(0.2, "m2"),
        mean_temperature=exact(70.0, "degC"),
        air_temperature=exact(30.0, "degC"),
        contrast=exact(25.0, "K"),
    )


def damp(key: str) -> Finding:
    return finding(
        key,
        "plumbing.damp_surface",
        area=exact(0.3, "m2"),
        mean_temperature=exact(19.0, "degC"),
        contrast=exact(-2.0, "K"),
    )


ROOM = Context(
    conditions=Conditions(inside_air=exact(22.0, "degC"), humidity=exact(0.45, "1")),
    prices={"water": exact(2.0, "USD/m3"), "electricity": between(0.12, 0.20, "USD/kWh")},
)
MONEY = MoneyFacts(ROOM.prices)


def wasted(*findings: Finding):
    return waste.run(findings, waste.Settings(hours=1500.0), ROOM).estimates


def evaporated(*findings: Finding):
    return evaporation.run(findings, evaporation.Settings(), ROOM).estimates


@pytest.mark.parametrize(("make", "run", "name"), [(warm, wasted, "yearly_energy"), (damp, evaporated, "yearly_water")])
def test_terms_say_what_the_estimate_says(make, run, name):
    """Best value exactly; bounds within the second order that a product of skewed inputs leaves."""
    (one,) = run(make("a"))
    stated, found = one.quantities[name], total(one.terms).quantity(one.quantities[name].unit)
    assert found.value == pytest.approx(stated.value, rel=1e-6)
    assert found.low == pytest.approx(stated.low, rel=0.25, abs=0.05 * stated.value)
    assert found.high == pytest.approx(stated.high, rel=0.15)


@pytest.mark.parametrize(("make", "run"), [(warm, wasted), (damp, evaporated)])
def test_two_alike_findings_with_only_shared_doubts_add_straight(make, run):
    """Independent inputs would add in quadrature, to 0.71 of this."""
    one, other = (estimate.terms for estimate in run(make("a"), make("b")))
    alone = total(one).quantity("x").half_width
    assert alone > 0.0
    assert total((*one, *other)).quantity("x").half_width == pytest.approx(2.0 * alone, rel=1e-3)
    first, second = (sum(drawn(term).values for term in terms) for terms in (one, other))
    assert np.corrcoef(first, second)[0, 1] == pytest.approx(1.0, abs=1e-6)


def test_doubts_of_their_own_stay_apart():
    """With areas known to 30 % the two are correlated, and not wholly."""
    first, second = (sum(drawn(term).values for term in one.terms) for one in wasted(warm("a", 0.3), warm("b", 0.3)))
    assert 0.05 < np.corrcoef(first, second)[0, 1] < 0.8


def test_price_and_shared_inputs_widen_the_total_of_the_plan():
    """The half-width of the plan's saving is that of the sum of its lines when every doubt is shared."""
    findings = [warm("a"), warm("b"), warm("c")]
    actions = {"electrical.fix": Action("electrical.fix", "Fix", "licensed electrician", "does", priced_by="piece")}
    whole = whole_brief(findings, wasted(*findings), actions, MONEY)
    saving = next(one for one in whole.estimates if one.kind == "total").quantities["yearly_saving"]
    single = total(yearly(wasted(findings[0])[0].terms, MONEY).money).quantity("USD/a")
    assert saving.half_width == pytest.approx(3.0 * single.half_width, rel=1e-3)
    assert saving.half_width > 1.5 * math.sqrt(3.0) * single.half_width
    drivers = next(one for one in whole.estimates if one.kind == "drivers").quantities
    assert {"price of electricity", "convection", "emissivity"} == set(drivers)


def test_no_terms_without_hours():
    (one,) = waste.run((warm("a"),), waste.Settings(), ROOM).estimates
    assert one.terms == () and wasted(replace(warm("a"), verdict="normal")) == ()
