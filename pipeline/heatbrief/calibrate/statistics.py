"""Statistics, differences and budgets of parts of a thermogram; what averages out is kept apart from what does not."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from heatbrief.errors import StepError
from heatbrief.model.quantity import NORMAL_95, Quantity
from heatbrief.model.results import BudgetLine
from heatbrief.model.thermogram import ErrorSource, Thermogram

ZERO_CELSIUS_K = 273.15
CENTRE = 10
_MEDIAN_FACTOR = math.sqrt(math.pi / 2.0)
_P95_FACTOR = 2.11
"""Standard deviation of a sample median and 95th percentile of normal noise, times sqrt(n)/sigma."""


@dataclass(frozen=True)
class Part:
    """Error sources of a part: signed standard effects [K] by identity of the error, and the noise of one pixel [K]."""

    shared: Mapping[str, float]
    noise: float
    sources: Mapping[str, tuple[ErrorSource, float]]

    @property
    def correlated(self) -> float:
        """Standard uncertainty [K] of what all pixels share."""
        return math.sqrt(sum(effect**2 for effect in self.shared.values()))


def statistics(thermogram: Thermogram, mask: np.ndarray | None = None) -> dict[str, Quantity]:
    """min, max, mean, median, p95 of the pixels of `mask` (bool; None: the whole picture, and its centre).

    Unit "degC" for temperatures, "count" for unscaled pictures. Zones that allow comparison only are left out;
    empty when nothing remains.
    """
    chosen = _usable(thermogram, mask)
    found = _of_pixels(thermogram, chosen)
    if mask is None:
        middle = _of_pixels(thermogram, chosen & _centre(thermogram.shape))
        if "mean" in middle:
            found["centre"] = middle["mean"]
    return found


def difference(thermogram: Thermogram, mask_a: np.ndarray, mask_b: np.ndarray) -> Quantity:
    """Mean of a minus mean of b, in K ("count" when unscaled); shared errors cancel as far as sensitivities agree.

    StepError "empty-region" without pixels, "comparison-only" across zones one of which gives no absolute temperature.
    """
    parts = [np.asarray(mask, bool) & thermogram.valid for mask in (mask_a, mask_b)]
    if not all(part.any() for part in parts):
        raise StepError("empty-region", "a region holds no pixel with a value", "Draw it inside the picture.")
    means = [float(thermogram.values[part].mean(dtype=np.float64)) for part in parts]
    if thermogram.scale == "unscaled":
        return Quantity.exact(means[0] - means[1], "count", "difference of means as recorded")
    _refuse_mixed(thermogram, parts)
    first, second = (contributions(thermogram, part) for part in parts)
    counts = [int(np.count_nonzero(part)) for part in parts]
    variance = first.noise**2 / counts[0] + second.noise**2 / counts[1]
    for key in {*first.shared, *second.shared}:
        variance += (first.shared.get(key, 0.0) - second.shared.get(key, 0.0)) ** 2
    return Quantity.normal(means[0] - means[1], "K", math.sqrt(variance), "difference of means in one picture")


def budget(thermogram: Thermogram, mask: np.ndarray | None = None) -> tuple[BudgetLine, ...]:
    """The error sources of the mean over `mask`, largest effect first; empty for unscaled pictures."""
    chosen = _usable(thermogram, mask)
    count = int(np.count_nonzero(chosen))
    if thermogram.scale == "unscaled" or not count:
        return ()
    part = contributions(thermogram, chosen)
    lines = [
        BudgetLine(
            source.name,
            source.standard,
            source.unit,
            abs(effect) if source.shared else part.noise / math.sqrt(count),
            bool(source.shared),
        )
        for source, effect in part.sources.values()
    ]
    return tuple(sorted(lines, key=lambda line: (-line.effect, line.name)))


def contributions(thermogram: Thermogram, mask: np.ndarray) -> Part:
    """Effects on the mean of the pixels of `mask`, zones weighted by their number of pixels."""
    shared: dict[str, float] = {}
    sources: dict[str, tuple[ErrorSource, float]] = {}
    variance = 0.0
    for zone, weight, temperature in _zones_in(thermogram, mask):
        for source in thermogram.errors[zone]:
            effect = float(source.effect(temperature))
            if not source.shared:
                variance += weight * effect**2
            else:
                shared[source.shared] = shared.get(source.shared, 0.0) + weight * effect
            before = sources[key][1] if (key := source.shared or source.name) in sources else 0.0
            sources[key] = (source, before + weight * effect)
    return Part(shared, math.sqrt(variance), sources)


def _zones_in(thermogram: Thermogram, mask: np.ndarray) -> list[tuple[int, float, float]]:
    """(zone, share of the pixels, mean temperature [K]) of the zones present."""
    values = thermogram.values[mask]
    if thermogram.zones is None or not thermogram.errors:
        return [(0, 1.0, float(values.mean(dtype=np.float64)))] if thermogram.errors else []
    inside = thermogram.zones[mask]
    return [
        (int(zone), float(np.mean(inside == zone)), float(values[inside == zone].mean(dtype=np.float64)))
        for zone in np.unique(inside)
    ]


def _usable(thermogram: Thermogram, mask: np.ndarray | None) -> np.ndarray:
    """Valid pixels of the mask without those of zones that allow comparison only."""
    chosen = thermogram.valid if mask is None else np.asarray(mask, bool) & thermogram.valid
    if thermogram.scale == "unscaled" or all(thermogram.absolute):
        return chosen
    if thermogram.zones is None:
        return np.zeros_like(chosen)
    return chosen & np.asarray(thermogram.absolute, bool)[thermogram.zones]


def _centre(shape: tuple[int, int]) -> np.ndarray:
    mask = np.zeros(shape, bool)
    (top, left) = (max(0, (side - CENTRE) // 2) for side in shape)
    mask[top : top + CENTRE, left : left + CENTRE] = True
    return mask


def _refuse_mixed(thermogram: Thermogram, parts: list[np.ndarray]) -> None:
    if all(thermogram.absolute):
        return
    zones = {zone for part in parts for zone, _, _ in _zones_in(thermogram, part)}
    if len(zones) > 1 and not all(thermogram.absolute[zone] for zone in zones):
        raise StepError(
            "comparison-only",
            "one of the surfaces has too low an emissivity to be compared with another kind of surface",
            "Compare like with like, or put tape or paint of known emissivity on the spot.",
        )


def _of_pixels(thermogram: Thermogram, chosen: np.ndarray) -> dict[str, Quantity]:
    values = np.asarray(thermogram.values[chosen], np.float64)
    if not values.size:
        return {}
    numbers = {
        "min": values.min(),
        "max": values.max(),
        "mean": values.mean(),
        "median": np.median(values),
        "p95": np.percentile(values, 95),
    }
    if thermogram.scale == "unscaled":
        return {name: Quantity.exact(float(number), "count", "as recorded") for name, number in numbers.items()}
    part = contributions(thermogram, chosen)
    return {name: _bounded(thermogram, part, name, float(number), values, chosen) for name, number in numbers.items()}


def _bounded(
    thermogram: Thermogram, part: Part, name: str, number: float, values: np.ndarray, chosen: np.ndarray
) -> Quantity:
    """95 % bounds. Of many noisy pixels the highest is too high and the lowest too low, so bounds are lopsided."""
    count = values.size
    common = part.correlated if name == "mean" else _at(thermogram, values, chosen, number).correlated
    celsius = number - ZERO_CELSIUS_K
    if name in ("min", "max"):
        # The noise of any single pixel can be behind an extreme: bound the largest of `count` draws at 97.5 %.
        reach = part.noise * _largest_of(count)
        outward, inward = math.hypot(NORMAL_95 * common, NORMAL_95 * part.noise), math.hypot(NORMAL_95 * common, reach)
        low, high = (inward, outward) if name == "max" else (outward, inward)
        return Quantity(celsius, "degC", celsius - low, celsius + high, 0.95, _method(thermogram, name, number))
    factor = {"mean": 1.0, "median": _MEDIAN_FACTOR, "p95": _P95_FACTOR}[name]
    noise = min(part.noise * factor / math.sqrt(count), part.noise)
    return Quantity.normal(celsius, "degC", math.hypot(common, noise), "first-order budget (GUM)")


def _at(thermogram: Thermogram, values: np.ndarray, chosen: np.ndarray, number: float) -> Part:
    """Effects at one temperature, in the zone of the pixel nearest to it."""
    if not thermogram.errors:
        return Part({}, 0.0, {})
    zone = 0 if thermogram.zones is None else int(thermogram.zones[chosen][np.argmin(np.abs(values - number))])
    effects = {source.shared: float(source.effect(number)) for source in thermogram.errors[zone] if source.shared}
    return Part(effects, 0.0, {})


def _largest_of(count: int) -> float:
    from scipy.special import ndtri

    return float(ndtri(0.975 ** (1.0 / count)))


def _method(thermogram: Thermogram, name: str, number: float) -> str:
    beyond = thermogram.saturated_high if name == "max" else thermogram.saturated_low
    ends = np.nanmax(thermogram.values) if name == "max" else np.nanmin(thermogram.values)
    if beyond and number == float(ends):
        return "the recording saturates here: the true value lies beyond it"
    return "first-order budget (GUM)"
