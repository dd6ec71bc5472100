"""What practices ask a report to contain (EN 13187 and others, dossier 5.2), given or missing."""

from __future__ import annotations

from dataclasses import replace

import pytest
from heatbrief.estimate.completeness import completeness_of, report_items
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import (
    FORMAT,
    CompletenessRow,
    PropertyInfo,
    ResultsDocument,
    RunInfo,
    SurveyInfo,
    ThermogramRecord,
)
from heatbrief.store.codec import to_json, to_model

SIMPLIFIED = 11
"""Items 1 to 6, 11, the first half of 18, 19, 21 and 22 (read); date and signature are in item 3."""


def document(**more):
    picture = ThermogramRecord("a", "a.tiff", "", 1, 1, "analysed")
    bare = ResultsDocument(
        FORMAT,
        PropertyInfo("p", "p"),
        SurveyInfo("survey.yaml", inspected=("envelope",)),
        {},
        (picture,),
        (),
        (),
        (),
        (),
        (),
        (),
        RunInfo("1"),
    )
    return replace(bare, **more)


def rows(stated=(), **more):
    return {one.item: one for one in completeness_of(document(**more), frozenset(stated))}


def test_all_27_items_in_order_with_a_practice_each():
    found = completeness_of(document(), frozenset())
    assert len(found) == 27 and len({one.item for one in found}) == 27
    assert all(one.asked_by and (one.where or not one.given) for one in found)
    assert sum("EN 13187, simplified test" in one.asked_by for one in found) == SIMPLIFIED


def test_marks_of_the_practices_are_known():
    table = report_items()
    for entry in table["items"]:
        assert set(entry["asked_by"]) <= set(table["practices"])
        assert set(entry["asked_by"].values()) <= {"seen", "memory", "common practice"}
        assert entry["state"] or "report" in entry["given_by"]


def test_an_empty_survey_lacks_all_but_what_the_report_itself_has():
    given = {item for item, one in rows().items() if one.given}
    assert given == {entry["item"] for entry in report_items()["items"] if "report" in entry["given_by"]}
    assert len(given) == 5


@pytest.mark.parametrize(
    ("item", "more", "stated"),
    [
        ("wind", {"conditions": {"wind": Quantity.exact(1.0, "m/s")}}, ()),
        ("compass orientation of the photographed faces", {}, ("faces",)),
        ("instrument, its specification and calibration", {}, ("camera", "instrument")),
        (
            "date and hour of each picture",
            {"thermograms": (ThermogramRecord("a", "", "", 1, 1, "analysed", taken="2026"),)},
            (),
        ),
        ("client and address of the property", {"property": PropertyInfo("p", "p", "street", "client")}, ()),
    ],
)
def test_a_fact_fills_its_row_and_says_where_it_stands(item, more, stated):
    before, after = rows()[item], rows(stated, **more)[item]
    assert not before.given and "`" in before.where
    assert after.given and after.where != before.where


def test_half_of_a_pair_is_not_enough():
    assert not rows(property=PropertyInfo("p", "p", "street"))["client and address of the property"].given
    assert not rows(("instrument",))["instrument, its specification and calibration"].given


def test_pictures_without_a_scale_have_no_emissivity_to_state():
    with_it = ThermogramRecord("a", "", "", 1, 1, "analysed", settings={"emissivity": Quantity.exact(0.9, "1")})
    other = ThermogramRecord("b", "", "", 1, 1, "unscaled")
    assert rows(thermograms=(with_it, other))["surface materials and assumed emissivity"].given


def test_other_inspections_have_no_list():
    assert completeness_of(document(survey=SurveyInfo("survey.yaml", inspected=("vehicle",))), frozenset()) == ()


def test_results_keep_it_and_older_ones_have_none():
    full = document(completeness=(CompletenessRow("wind", ("EN 13187",), True, "here"),))
    import json

    plain = json.loads(to_json(full))
    assert to_model(plain, ResultsDocument) == full
    del plain["completeness"]
    assert to_model(plain, ResultsDocument).completeness == ()
