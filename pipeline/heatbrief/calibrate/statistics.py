"""Statistics and budgets of parts of a thermogram; what averages out is kept apart from what does not."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from heatbrief.calibrate.draws import Share, common_spread, reported_bounds
from heatbrief.calibrate.saturation import saturation_method
from heatbrief.calibrate.small_targets import Loss, loss_of
from heatbrief.model.once import ends_of, inside_of, mask_key, mean_of, once
from heatbrief.model.quantity import NORMAL_95, Quantity
from heatbrief.model.results import BudgetLine
from heatbrief.model.thermogram import ErrorSource, Thermogram
from heatbrief.physics.robust import quantiles_of

ZERO_CELSIUS_K = 273.15
CENTRE = 10
_MEDIAN_FACTOR = math.sqrt(math.pi / 2.0)
_P95_FACTOR = 2.11
"""Standard deviation of a sample median and 95th percentile of normal noise, times sqrt(n)/sigma."""


@dataclass(frozen=True)
class Part:
    """Error sources of a part: signed standard effects [K] by identity of the error, and the noise of one pixel [K].

    sources  each source with its effect on the part, for one pixel where it is independent from pixel to pixel
    shares   the zones in the part
    """

    shared: Mapping[str, float]
    noise: float
    sources: Mapping[str, tuple[ErrorSource, float]]
    shares: tuple[Share, ...] = ()

    @property
    def correlated(self) -> float:
        """Standard uncertainty [K] of what all pixels share."""
        return math.sqrt(sum(effect**2 for effect in self.shared.values()))


def statistics(thermogram: Thermogram, mask: np.ndarray | None = None) -> dict[str, Quantity]:
    """min, max, mean, median, p95 of the pixels of `mask` (bool; None: the whole picture, and its centre).

    Bounds are those of the first-order budget where it is good enough, else drawn through the measurement equation;
    those of a mask reach further away from its surroundings, by what blur takes if the target ends where the mask ends.
    Unit "degC" for temperatures, "count" for unscaled pictures. Zones that allow comparison only are left out;
    empty when nothing remains.
    """
    chosen = _usable(thermogram, mask)
    loss = None if mask is None else _loss(thermogram, chosen)
    found = _of_pixels(thermogram, chosen, loss, _numbers(thermogram, chosen)) if chosen.any() else {}
    if mask is None and (middle := chosen & _centre(thermogram.shape)).any():
        mean = {"mean": mean_of(thermogram.values, middle)}
        found["centre"] = _of_pixels(thermogram, middle, None, mean)["mean"]
    return found


def budget(thermogram: Thermogram, mask: np.ndarray | None = None) -> tuple[BudgetLine, ...]:
    """The error sources of the mean over `mask`, largest effect first; empty for unscaled pictures."""
    chosen = _usable(thermogram, mask)
    count = int(np.count_nonzero(chosen))
    if thermogram.scale == "unscaled" or not count:
        return ()
    sources = contributions(thermogram, chosen).sources
    often = Counter(source.name for source, _ in sources.values())
    lines = [
        BudgetLine(
            source.name if often[source.name] == 1 else _told_apart(source),
            source.standard,
            source.unit,
            abs(effect) if source.shared else abs(effect) / math.sqrt(count),
            bool(source.shared),
        )
        for source, effect in sources.values()
    ]
    if mask is not None and (loss := _loss(thermogram, chosen)) is not None:
        mean = mean_of(thermogram.values, chosen)
        # Between nothing and the whole shortfall, all alike: a rectangle of that width, read from its end.
        effect = abs(loss.shortfall(mean, peak=False)) / math.sqrt(3.0)
        lines.append(BudgetLine("size of source", loss.mean, "1", effect, True))
    return tuple(sorted(lines, key=lambda line: (-line.effect, line.name)))


def _told_apart(source: ErrorSource) -> str:
    """The name with what the error belongs to, such as "emissivity (brick)", for one of several alike."""
    owner = source.shared.partition(":")[2]
    return f"{source.name} ({owner})" if owner else source.name


def contributions(thermogram: Thermogram, mask: np.ndarray) -> Part:
    """Effects on the mean of the pixels of `mask`, zones weighted by their number of pixels."""
    shared: dict[str, float] = {}
    sources: dict[str, tuple[ErrorSource, float]] = {}
    variance, shares = 0.0, []
    for zone, weight, temperature in _zones_in(thermogram, mask):
        shares.append(_share(thermogram, zone, weight, temperature))
        for source in thermogram.errors[zone]:
            effect = float(source.effect(temperature))
            before = sources[key][1] if (key := source.shared or source.name) in sources else 0.0
            if not source.shared:
                variance += weight * effect**2
                sources[key] = (source, math.sqrt(before**2 + weight * effect**2))
            else:
                shared[source.shared] = shared.get(source.shared, 0.0) + weight * effect
                sources[key] = (source, before + weight * effect)
    return Part(shared, math.sqrt(variance), sources, tuple(shares))


def _share(thermogram: Thermogram, zone: int, weight: float, temperature: float) -> Share:
    equation = thermogram.equations[zone] if zone < len(thermogram.equations) else None
    return tuple(thermogram.errors[zone]), equation, weight, temperature


def _loss(thermogram: Thermogram, chosen: np.ndarray) -> Loss | None:
    """What blur may take from a part; nothing for one without surroundings and for unscaled pictures."""
    if thermogram.scale == "unscaled" or not chosen.any() or not thermogram.errors:
        return None
    return loss_of(thermogram.values, chosen)


def _zones_in(thermogram: Thermogram, mask: np.ndarray) -> list[tuple[int, float, float]]:
    """(zone, share of the pixels, mean temperature [K]) of the zones present."""
    if thermogram.zones is None or not thermogram.errors:
        return [(0, 1.0, mean_of(thermogram.values, mask))] if thermogram.errors else []
    values, inside = thermogram.values[mask], thermogram.zones[mask]
    return [
        (int(zone), float(np.mean(inside == zone)), float(values[inside == zone].mean(dtype=np.float64)))
        for zone in np.unique(inside)
    ]


def _usable(thermogram: Thermogram, mask: np.ndarray | None) -> np.ndarray:
    """Valid pixels of the mask without those of zones that allow comparison only."""
    chosen = thermogram.valid if mask is None else np.asarray(mask, bool) & thermogram.valid
    return chosen if all(thermogram.absolute) else chosen & ~thermogram.withheld


def _centre(shape: tuple[int, int]) -> np.ndarray:
    mask = np.zeros(shape, bool)
    (top, left) = (max(0, (side - CENTRE) // 2) for side in shape)
    mask[top : top + CENTRE, left : left + CENTRE] = True
    return mask


def _numbers(thermogram: Thermogram, chosen: np.ndarray) -> dict[str, float]:
    """Numbers of the pixels of a mask with at least one; worked out once where several regions hold the same pixels."""

    def found() -> dict[str, float]:
        values = inside_of(thermogram.values, chosen)
        median, p95 = quantiles_of(values, (0.5, 0.95))
        lowest, highest = ends_of(thermogram.values, chosen)
        return {"min": lowest, "max": highest, "mean": mean_of(thermogram.values, chosen), "median": median, "p95": p95}

    return once(thermogram.values, ("numbers", mask_key(chosen)), found)


def _of_pixels(
    thermogram: Thermogram, chosen: np.ndarray, loss: Loss | None, numbers: Mapping[str, float]
) -> dict[str, Quantity]:
    """Numbers of at least one pixel with their bounds."""
    if thermogram.scale == "unscaled":
        return {
            name: Quantity.exact(number, "count", saturation_method(thermogram, name, chosen) or "as recorded")
            for name, number in numbers.items()
        }
    part, count = contributions(thermogram, chosen), int(np.count_nonzero(chosen))
    found = {}
    for name, number in numbers.items():
        here = part if name == "mean" else _at(thermogram, chosen, number)
        low, high, method = _half_widths(part.noise, here, name, count)
        if loss is not None:
            beyond = loss.shortfall(number, peak=name in ("min", "max"))
            low, high = math.hypot(low, min(beyond, 0.0)), math.hypot(high, max(beyond, 0.0))
        celsius = number - ZERO_CELSIUS_K
        bound = saturation_method(thermogram, name, chosen)
        found[name] = Quantity(
            celsius, "degC", celsius - low, celsius + high, 0.95, f"{bound}; {method}" if bound else method
        )
    return found


def _half_widths(noise: float, here: Part, name: str, count: int) -> tuple[float, float, str]:
    """95 % half-widths [K] down and up, and how they came about.

    Of many noisy pixels the highest is too high and the lowest too low, so the bounds of extremes are lopsided.
    """
    if name in ("min", "max"):
        low, high, method = reported_bounds(here.correlated, *_common(here))
        # The noise of any single pixel can be behind an extreme: bound the largest of `count` draws at 97.5 %.
        inward, outward = noise * _largest_of(count), NORMAL_95 * noise
        down, up = (inward, outward) if name == "max" else (outward, inward)
        return math.hypot(low, down), math.hypot(high, up), method
    factor = {"mean": 1.0, "median": _MEDIAN_FACTOR, "p95": _P95_FACTOR}[name]
    rest = min(noise * factor / math.sqrt(count), noise)
    low, high = (math.hypot(half, NORMAL_95 * rest) for half in _common(here))
    return reported_bounds(math.hypot(here.correlated, rest), low, high)


def _common(part: Part) -> tuple[float, float]:
    return common_spread(part.shares) if part.shares else (0.0, 0.0)


def _at(thermogram: Thermogram, chosen: np.ndarray, number: float) -> Part:
    """Effects at one temperature, in the zone of the pixel nearest to it."""
    if not thermogram.errors:
        return Part({}, 0.0, {})
    zone = 0
    if thermogram.zones is not None:
        zone = int(thermogram.zones[chosen][np.argmin(np.abs(thermogram.values[chosen] - number))])
    effects: dict[str, float] = {}
    for source in thermogram.errors[zone]:
        if source.shared:
            effects[source.shared] = effects.get(source.shared, 0.0) + float(source.effect(number))
    return Part(effects, 0.0, {}, (_share(thermogram, zone, 1.0, number),))


def _largest_of(count: int) -> float:
    return NormalDist().inv_cdf(0.975 ** (1.0 / count))
