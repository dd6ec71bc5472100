"""What is compared for which check, and from where on it says something."""

from __future__ import annotations

import pytest
from heatbrief.compare.kinds import LOADS, kind_of


@pytest.mark.parametrize(
    ("check", "drive", "least", "spread"),
    [
        ("envelope.insulation", "air difference", 5.0, 0.06),
        ("electrical.circuits", "load", 0.4, 0.05),
        ("plumbing.damp_surface", "drying", 3.0, 0.1),
        ("plumbing.wet_ground", "drying", 3.0, 0.1),
        ("vehicle.brakes", "working temperature", 10.0, 0.06),
        ("plumbing.pipe", "", 0.0, 0.15),
        ("envelope.roof_moisture", "", 0.0, 0.15),
        ("pool.patches", "", 0.0, 0.15),
    ],
)
def test_each_check_is_made_comparable_by_what_drives_it(check, drive, least, spread):
    """5 K: EN 13187 (from memory); 40 % of the load: summaries of NFPA 70B (seen); the rest is this project's choice."""
    kind = kind_of(check)
    assert (kind.drive, kind.least, kind.spread) == (drive, least, spread)


def test_rises_grow_with_load_by_the_published_exponents():
    """1.6 to 2.0, usually 1.8 (`load-exponent`, seen); power also takes 1.0 to 2.0 (this project's choice)."""
    exponents = dict(LOADS)
    assert exponents["load"] == exponents["load share"] == (1.6, 1.8, 2.0)
    low, usual, high = exponents["power"]
    assert (low, high) == (1.0, 2.0) and low < usual < high
