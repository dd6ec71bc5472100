"""Equal titles are told apart by what differs, and no two things on a site are called alike."""

from __future__ import annotations

import dataclasses

import pytest
from heatbrief.site.context import Site
from heatbrief.site.titles import record_hints, told_apart


@pytest.mark.parametrize(
    ("named", "expected"),
    [
        ([("a", "Leak", ["", "hall"]), ("b", "Leak", ["", "attic"])], ["Leak (hall)", "Leak (attic)"]),
        ([("a", "Leak", ["x"]), ("b", "Draught", ["x"])], ["Leak", "Draught"]),
        ([("a", "Leak", ["x", "l"]), ("b", "leak", ["x", "r"])], ["Leak (l)", "leak (r)"]),
        ([("a", "L", ["x"]), ("b", "L", ["x"])], ["L (1)", "L (2)"]),
        (
            [("a", "L", ["x", "u"]), ("b", "L", ["y", "u"]), ("c", "L", ["y", "v"])],
            ["L (x, u)", "L (y, u)", "L (y, v)"],
        ),
    ],
)
def test_the_first_hint_that_differs_is_added(named, expected):
    assert list(told_apart(named).values()) == expected


def test_the_time_of_day_tells_pictures_of_one_view_apart(built):
    record = dataclasses.replace(built.results.thermograms[0], taken="2026-07-14T16:20-07:00")
    assert record_hints(record)[1] == "16:20"


def test_no_two_are_called_alike(built, site_of):
    findings = tuple(dataclasses.replace(one, title="The same") for one in built.results.findings)
    site = site_of(built)
    site = Site(dataclasses.replace(site.results, findings=findings), site.pictures, site.words, "metric")
    assert len(set(site.titles.values())) == len(findings)
