"""A whole check in a few lines: ids, outline, measured quantities, gates, rivals, next time."""

from __future__ import annotations

import pickle
from dataclasses import replace

import pytest
from heatbrief.detect import (
    Case,
    Criterion,
    chosen_regions,
    conclude,
    find_areas,
    groups_of,
    number,
    read_region,
    said,
    search_mask,
    slug,
    twins,
)
from heatbrief.model import Gate, Quantity, Region

CALM = {"inside_air": 21, "outside_air": 1, "hours_steady": 30, "wind": 1, "sun": "none", "hours_without_sun": 14}


def inspect(thermogram, context, gates=("difference", "steady", "wind", "sun", "spot"), **more):
    """The pattern plugin authors follow."""
    findings = []
    for region in chosen_regions(context, ("wall",), thermogram):
        for area in find_areas(thermogram, search_mask(thermogram, region, context), "cold"):
            case = Case(
                "envelope.insulation", "envelope", thermogram, context, region=region, area=area, purpose="insulation"
            )
            findings.append(
                conclude(
                    case,
                    title="Colder patch",
                    summary="A patch of the wall is colder than the rest.",
                    criterion=Criterion(0.4, sources=("own",)),
                    gates=gates,
                    rivals=("lens shading", "wet film", "thermal lag", "object edge"),
                    actions=("envelope.look",),
                    cautions=("envelope.ladder",),
                    **more,
                )
            )
    return findings


@pytest.fixture
def wall(make):
    return make.picture((120, 160), [(60, 40, 90, 70, -1.0), (20, 80, 40, 100, -0.6)])


def test_a_check_from_picture_to_findings(make, wall):
    context = make.context(
        view=make.View(thermogram="north-wall", shows="outer wall, from inside", room="bedroom"), humidity=0.3, **CALM
    )
    first, second = inspect(wall, context)
    assert (first.id, second.id) == ("envelope-insulation-north-wall-1", "envelope-insulation-north-wall-2")
    assert (
        first.room == "bedroom"
        and first.region == "whole picture"
        and first.outline.pixels == pytest.approx(900, rel=0.05)
    )
    assert set(first.measured) == {
        "contrast",
        "peak contrast",
        "contrast to noise",
        "mean temperature",
        "surrounding temperature",
    }
    assert first.measured["contrast"].low <= -1.0 <= first.measured["contrast"].high
    assert [gate.passed for gate in first.gates] == [True] * 5
    assert first.verdict == "suspect"  # drying could make it: the wet film is strong and not ruled out
    assert any("wet" in rival.explanation and rival.status == "not ruled out" for rival in first.rivals)
    assert first.sources[0] == "own" and "gate-uk-practice" in first.sources
    assert pickle.loads(pickle.dumps(first)) == first


def test_strength_of_rivals_and_verdict_defect(make, wall):
    context = make.context(view=make.View(shows="wall"), humidity=0.3, **CALM)
    findings = inspect(wall, context, strong=())
    assert [finding.verdict for finding in findings] == ["defect", "defect"] and findings[0].urgency == "plan"


def test_failed_and_open_gates_say_what_to_do_next_time(make, wall):
    context = make.context(view=make.View(shows="wall"), inside_air=21, outside_air=15, humidity=0.9)
    finding = inspect(wall, context)[0]
    assert finding.verdict == "inconclusive" and finding.urgency == "watch"
    assert any("10 K" in line for line in finding.next_time)
    assert any("hours_steady" in line for line in finding.next_time)
    assert len(set(finding.next_time)) == len(finding.next_time)


def test_normal_findings_carry_no_actions(make, wall):
    region = Region("wall by the door", "north-wall", "box", ((0, 0), (50, 30)), shows="wall")
    context = make.context(region, **CALM)
    case = Case("envelope.insulation", "envelope", wall, context, region=region, tag="wall")
    finding = conclude(
        case,
        title="t",
        summary="s",
        criterion=Criterion(2.0),
        contrast=Quantity.normal(0.2, "K", 0.1),
        actions=("envelope.look",),
    )
    assert finding.verdict == "normal" and finding.actions == () and finding.urgency == "none"
    assert finding.id == "envelope-insulation-north-wall-wall-by-the-door-wall" and finding.outline.polygon[0] == (
        -0.5,
        -0.5,
    )


def test_unscaled_pictures_give_patterns_only(make, wall):
    counts = replace(wall, scale="unscaled", errors=(), emissivity=(), absolute=())
    context = make.context(view=make.View(shows="wall"), humidity=0.3, **CALM)
    finding = inspect(counts, context, strong=())[0]
    assert finding.verdict == "suspect" and "temperature scale" in [gate.name for gate in finding.gates]
    assert all(quantity.unit not in ("K", "degC", "count") for quantity in finding.measured.values())
    assert any("kelvin per count" in line for line in finding.next_time)


def test_glass_is_not_searched(make, wall):
    pane = Region("pane", "north-wall", "box", ((55, 35), (95, 75)), shows="window")
    context = make.context(pane, view=make.View(shows="wall"), **CALM)
    assert [finding.outline.pixels < 600 for finding in inspect(wall, context)] == [True]


def test_twins_of_a_group(make):
    parts = [
        Region(
            f"breaker {n}", "north-wall", "box", ((10 + 30 * n, 40), (30 + 30 * n, 70)), shows="breaker", group="row"
        )
        for n in range(4)
    ]
    panel = make.picture((120, 160), [(70, 40, 90, 70, 6.0)], tilt=0.0, blur=0)
    context = make.context(*parts, view=make.View(shows="panel"))
    (members,) = groups_of(context, panel).values()
    found = twins([read_region(panel, region) for region in members])
    worst = max(found, key=lambda one: one.difference.value)
    assert worst.name == "breaker 2" and worst.difference.value == pytest.approx(6.0, abs=0.02)
    case = Case(
        "electrical.circuits",
        "electrical",
        panel,
        context,
        region=members[2],
        reading=worst.reading,
        purpose="electrical",
    )
    finding = conclude(
        case,
        title="t",
        summary="s",
        criterion=Criterion(1.0),
        contrast=worst.difference,
        gates=("load", "spot"),
        severity="safety",
        rivals=("load",),
    )
    assert finding.verdict == "suspect" and finding.urgency == "soon" and "highest temperature" in finding.measured
    ready = Gate(
        "cover closed", False, "asked: open; given: closed", remedy="Have it opened by a licensed electrician."
    )
    assert (
        conclude(
            case, title="t", summary="s", criterion=Criterion(1.0), contrast=worst.difference, gates=(ready,)
        ).verdict
        == "inconclusive"
    )


@pytest.mark.parametrize(("name", "expected"), [("North Bedroom / ceiling", "north-bedroom-ceiling"), ("a__b", "a-b")])
def test_slugs(name, expected):
    assert slug(name) == expected


def test_slugs_of_other_scripts_do_not_collide():
    names = ["кухня", "ванная", "été", "ete", "台所", "!!!", ""]
    slugs = [slug(name) for name in names]
    assert len(set(slugs)) == len(names) and all(one.isascii() and one for one in slugs)


@pytest.mark.parametrize(
    ("quantity", "text"),
    [
        (Quantity.exact(10, "K"), "10 K"),
        (Quantity.between(11.8, 13.04, "K", 12.4), "12.4 K (11.8 to 13 K)"),
        (Quantity.exact(0.4, "1"), "40 %"),
    ],
)
def test_numbers_in_sentences(quantity, text):
    assert said(quantity) == text
    assert number(0.152, "K") == "0.15 K" and number(-0.0, "K") == "0 K"
