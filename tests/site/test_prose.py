"""Units in sentences of checks are set; what the owner wrote is not touched."""

from __future__ import annotations

import dataclasses

import pytest
from heatbrief.site.prose import own_words, typeset


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("An area of 0.34 m2 reads 9.5 K warmer", "An area of 0.34 m² reads 9.5 K warmer"),
        ("between 46 degC and 115 degF.", "between 46 °C and 115 °F."),
        ("9.9 W/m2/K (7.7 to 10.6)", "9.9 W/(m²·K) (7.7 to 10.6)"),
        ("3 m2*K/W of jacket", "3 m²·K/W of jacket"),
        ("1.2 m3/a, band 8 to 14 um, 4 +- 1 K", "1.2 m³/a, band 8 to 14 µm, 4 ± 1 K"),
        ("room m2 is not a unit, nor is m2x or 5 m2x", "room m2 is not a unit, nor is m2x or 5 m2x"),
        ("", ""),
    ],
)
def test_units_are_set(given, shown):
    assert typeset(given) == shown


def test_the_owners_words_stay(built, site_of):
    panel, *others = built.results.thermograms
    region = dataclasses.replace(panel.regions[0], name="box 3 m2 at 20 degC")
    results = dataclasses.replace(built.results, thermograms=(dataclasses.replace(panel, regions=(region,)), *others))
    words = own_words(results)
    assert typeset("box 3 m2 at 20 degC is 3 m2 large", words) == "box 3 m2 at 20 degC is 3 m² large"
    assert own_words(built.results) is None
    site = dataclasses.replace(site_of(built), results=results)
    assert site.prose("4 m2") == "4 m²"
