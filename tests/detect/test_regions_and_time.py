"""Words that choose regions, comparisons of regions, and sequences."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from heatbrief.api import Context, View
from heatbrief.detect import (
    area_growth,
    chosen_regions,
    difference,
    excluded_mask,
    fit_field,
    matches,
    read_region,
    search_mask,
    seconds_of,
    twins,
)
from heatbrief.errors import StepError
from heatbrief.model import ErrorSource, Region
from hypothesis import given
from hypothesis import strategies as st


@pytest.mark.parametrize(
    ("words", "text", "expected"),
    [
        (("ceiling",), "Ceiling under the attic, from inside", True),
        (("ceiling",), "ceilings", True),
        (("ceilings",), "the ceiling", True),
        (("breaker",), "circuit-breakers", True),
        (("glass",), "glas", False),
        (("box",), "two boxes", True),
        (("battery",), "batteries", True),
        (("window frame",), "old window frames", True),
        (("window frame",), "frame of a window", False),
        (("pipe",), "pipeline", False),
        (("bus",), "bu", False),
        (("gas",), "ga", False),
        ((), "anything", True),
        (("wall",), "", False),
        (("",), "wall", True),
        (("été",), "ÉTÉ", True),
    ],
)
def test_words_match_whole_in_any_case_singular_or_plural(words, text, expected):
    assert matches(words, text) is expected


@given(text=st.text(max_size=60), word=st.from_regex(r"[a-z]{2,8}[a-rt-z]", fullmatch=True))
def test_a_word_always_matches_a_text_that_holds_it(text, word):
    assert matches((word,), f"{text} {word.upper()}s, {text}")
    assert matches((word,), f"{text} {word}")


def test_regions_win_over_the_picture_and_glass_is_left_out(make):
    picture = make.picture((60, 80))
    near, pane = (
        Region(name, "north-wall", "box", ((x, 10), (x + 20, 40)), shows=shows)
        for name, x, shows in (("near", 5, "Wall"), ("pane", 40, "window glass"))
    )
    elsewhere = Region("other", "another", "box", ((0, 0), (5, 5)), shows="wall")
    both = Context(regions=(near, pane, elsewhere), view=View(shows="north wall"))
    assert [region.name for region in chosen_regions(both, ("wall",), picture)] == ["near"]
    assert [region.shape for region in chosen_regions(replace(both, regions=(pane,)), ("wall",), picture)] == ["whole"]
    assert chosen_regions(replace(both, regions=(pane,)), ("roof",), picture) == ()
    whole = chosen_regions(replace(both, regions=(pane,)), ("wall",), picture)[0]
    assert search_mask(picture, whole, both).sum() == 60 * 80 - pane.mask(60, 80).sum()
    assert excluded_mask(both, picture, unless=("window",)).sum() == 0
    assert search_mask(picture, pane, both).sum() == pane.mask(60, 80).sum()


def test_readings_and_differences_hold_the_truth(make):
    held = {"mean": 0, "peak": 0, "low": 0}
    for seed in range(60):
        values, _ = make.scene((60, 80), [(40, 0, 80, 60, 1.5)], seed=seed, blur=0, tilt=0.0)
        picture = make.thermogram(values)
        left, right = (
            read_region(picture, Region(name, "north-wall", "box", ((x, 10), (x + 20, 40))))
            for name, x in (("left", 5), ("right", 50))
        )
        for of in held:
            step = difference(right, left, of)
            held[of] += step.low <= 1.5 <= step.high
        assert right.mean.low <= 21.5 <= right.mean.high and right.peak.value > right.mean.value > right.low.value
    assert held["mean"] >= 52 and min(held.values()) >= 50


def test_shared_errors_cancel_between_regions_and_between_pictures(make):
    one = make.picture((60, 80))
    other = replace(one, id="south", errors=((one.errors[0][0], replace(one.errors[0][1], shared="other camera")),))
    region = Region("r", "north-wall", "box", ((5, 5), (40, 40)))
    same, apart = (difference(read_region(one, region), read_region(second, region)) for second in (one, other))
    assert same.half_width < 0.01
    assert apart.half_width == pytest.approx(1.96 * np.sqrt(2), rel=1e-2)
    steep = ErrorSource("emissivity", "eps", 1.0, "1", (290.0, 300.0), (0.0, 10.0))
    assert float(steep.effect(295.0)) == 5.0
    counts = replace(one, scale="unscaled", errors=())
    assert read_region(counts, region).mean.unit == "count" and read_region(counts, region).mean.half_width > 0
    with pytest.raises(ValueError, match="unscaled"):
        difference(read_region(one, region), read_region(counts, region))
    assert read_region(one, np.zeros((60, 80), bool)) is None


def test_twins_compare_with_the_median_of_the_others(make):
    values = np.full((60, 80), 300.0)
    for index, level in enumerate((0.0, 1.0, 5.0, 1.4)):
        values[10:50, 20 * index : 20 * index + 16] += level
    picture = make.thermogram(values)
    readings = [
        read_region(picture, Region(f"part {i}", "north-wall", "box", ((20 * i, 10), (20 * i + 16, 50))))
        for i in range(4)
    ]
    found = twins(readings)
    assert [round(one.difference.value, 2) for one in found] == [-1.4, -0.4, 4.0, 0.4]
    assert found[2].others == ("part 0", "part 1", "part 3") and found[2].against == ("part 1",)
    assert [one.against for one in twins(readings[:3])][2] == ("part 0", "part 1")
    assert twins(readings[:1]) == ()


def frames(make, sizes, kelvin=-1.0, **more):
    made = []
    for index, size in enumerate(sizes):
        values, _ = make.scene(
            (60, 80),
            [(40 - size, 30 - size // 2, 40 + size, 30 + size - size // 2, kelvin)] if size else [],
            seed=index,
            **more,
        )
        made.append(
            replace(
                make.thermogram(values + 0.3 * index),
                id=f"frame-{index}",
                taken=f"2026-07-14T06:{5 * index:02d}:00-07:00",
            )
        )
    return made


def test_a_wet_spot_grows_and_a_shadow_does_not(make):
    wet = area_growth(frames(make, [0, 4, 6, 8, 10, 12, 14]))
    assert wet.grows and wet.rate.low > 0 and wet.pixels[0] == 0
    assert wet.mask.sum() == wet.pixels[-1] == pytest.approx(28 * 14, rel=0.1)
    assert wet.contrast[-1] == pytest.approx(-1.0, abs=0.05) and wet.outlived > 0.6
    shadow = area_growth(frames(make, [8] * 7))
    assert not shadow.grows and not shadow.mask.any() and shadow.rate is None
    steady = area_growth(frames(make, [0, *[9] * 7]))
    assert not steady.grows or steady.rate.low <= 0
    with pytest.raises(StepError, match="three"):
        area_growth(frames(make, [0, 4]))


@pytest.mark.parametrize(
    ("times", "code"),
    [
        (("2026-01-01T00:00", ""), "no-time"),
        (("2026-01-01T00:00", "2026-01-01T00:01Z"), "mixed-times"),
        (("2026-01-01T00:01", "2026-01-01T00:00"), "times-out-of-order"),
        (("2026-01-01T00:01", "2026-01-01T00:01"), "times-out-of-order"),
    ],
)
def test_times_that_cannot_be_used_are_refused(make, times, code):
    with pytest.raises(StepError) as caught:
        seconds_of([replace(make.picture((60, 80)), taken=moment) for moment in times])
    assert caught.value.code == code and caught.value.remedy


@pytest.mark.parametrize("kind", ["plane", "smooth", "constant"])
def test_expected_fields_recover_what_they_describe(make, kind):
    values, (truth,) = make.scene((120, 160), [(20, 20, 70, 60, 3.0)], tilt=0.0 if kind == "constant" else 2.0)
    clean, _ = make.scene((120, 160), noise=0.0, tilt=0.0 if kind == "constant" else 2.0)
    found = fit_field(values.astype(np.float32), np.ones((120, 160), bool), kind, noise=make.noise).expected
    assert np.abs(found - clean).max() < 0.05
    empty = fit_field(values.astype(np.float32), np.zeros((120, 160), bool), kind).expected
    assert np.isnan(empty).all()
    with pytest.raises(ValueError, match="plane"):
        fit_field(values, truth, "bumpy")
