"""Whether a picture's temperatures can be true: a wrong scale is the likeliest mistake of a manifest, and nothing else shows it."""

from __future__ import annotations

import numpy as np

from heatbrief.errors import Problem
from heatbrief.model.results import ThermogramRecord
from heatbrief.model.thermogram import Picture

ZERO_CELSIUS_K = 273.15
COLDEST, HOTTEST = -80.0, 700.0
"""Half of a picture's pixels lie above and half below its median; outside these [degC] no picture of a house, a car or
a sky has it (our choice: a clear sky reads down to about -70 degC, hot parts of engines up to about 700 degC)."""
LEAST_SPAN_K = 0.02
"""A whole picture within less than this is finer than the noise of the best cameras in use (our choice)."""
MOST_LOOKED_AT = 100_000
CODE = "scale-implausible"


def of_picture(picture: Picture, source: str) -> Problem | None:
    """What is wrong with the temperatures that a picture's scale gives; None when nothing is, or without a scale."""
    if not picture.kelvin and picture.scale is None:
        return None
    step = 1 + int((picture.values.size / MOST_LOOKED_AT) ** 0.5)
    values = picture.values[::step, ::step].astype(np.float64)
    if not picture.kelvin and picture.scale is not None:
        values = values * picture.scale[0] + picture.scale[1]
    values = values[np.isfinite(values)]
    if not values.size:
        return None
    low, middle, high = (float(one) for one in np.percentile(values, (0, 50, 100)) - ZERO_CELSIUS_K)
    return _said(source, low, middle, high)


def of_record(record: ThermogramRecord) -> Problem | None:
    """The same for a picture that was analysed, from its statistics."""
    found = [record.statistics.get(name) for name in ("min", "median", "max")]
    if record.status != "analysed" or any(one is None or one.unit != "degC" for one in found):
        return None
    low, middle, high = (one.value for one in found if one is not None)
    return _said(record.source, low, middle, high)


def _said(source: str, low: float, middle: float, high: float) -> Problem | None:
    if COLDEST <= middle <= HOTTEST:
        if high - low >= LEAST_SPAN_K:
            return None
        message = f"by its scale the whole picture lies within {high - low:.2g} K, less than the noise of any camera."
        remedy = (
            "Look whether `kelvin_per_count` is too small: 16-bit pictures often have 0.01 to 0.1 K for each count."
        )
    else:
        message = (
            f"by its scale half of the picture is {'colder' if middle < COLDEST else 'hotter'} than {middle:.0f} degC "
            f"({middle + ZERO_CELSIUS_K:.0f} K), which nothing in a survey is."
        )
        remedy = (
            "Correct `scale:`. Is `kelvin_per_count` ten times too small or too large? Does count 0 mean another "
            "temperature than 0 K? Then state it, such as `zero_at: -100 degC`. Are the numbers temperatures already? "
            "Then write `values: degC`. When only this picture differs from `defaults:`, give it a `scale:` of its own."
        )
    return Problem(source, CODE, message, remedy)
