"""Measurement uncertainty: GUM propagation, Monte Carlo, which of the two may be reported, and rounding of results.

Sources: `gum`, `jcgm-101`, `welch-satterthwaite`. u is a standard uncertainty, U = k u an expanded one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from heatbrief.arrays import FloatArray

RECTANGLE_DIVISOR = math.sqrt(3.0)
TRIANGLE_DIVISOR = math.sqrt(6.0)
U_SHAPE_DIVISOR = math.sqrt(2.0)
COVERAGE = 0.95
Shape = Literal["normal", "rectangle", "triangle", "u-shape", "t"]


@dataclass(frozen=True)
class Input:
    """One input of a measurement: best estimate, standard uncertainty, distribution, degrees of freedom.

    `shared` inputs are the same for every pixel of a picture (emissivity, reflected temperature, calibration offset);
    the others are drawn anew for each pixel (noise) and fall with the number of pixels averaged.
    """

    value: float
    u: float
    shape: Shape = "normal"
    dof: float = math.inf
    shared: bool = True

    def __post_init__(self) -> None:
        if not (math.isfinite(self.value) and math.isfinite(self.u) and self.u >= 0.0 and self.dof > 0.0):
            raise ValueError("an input needs a finite value, a standard uncertainty not below 0 and dof above 0")
        if self.shape == "t" and not self.dof > 2.0:
            raise ValueError("a t-distributed input needs more than 2 degrees of freedom")

    def draw(self, rng: np.random.Generator, count: int) -> FloatArray:
        """Random values with this mean and standard uncertainty, shape (count,)."""
        if self.shape == "normal":
            unit = rng.standard_normal(count)
        elif self.shape == "rectangle":
            unit = rng.uniform(-RECTANGLE_DIVISOR, RECTANGLE_DIVISOR, count)
        elif self.shape == "triangle":
            unit = rng.triangular(-TRIANGLE_DIVISOR, 0.0, TRIANGLE_DIVISOR, count)
        elif self.shape == "u-shape":
            unit = U_SHAPE_DIVISOR * np.sin(rng.uniform(-math.pi, math.pi, count))
        elif math.isinf(self.dof):
            unit = rng.standard_normal(count)
        else:
            unit = rng.standard_t(self.dof, count) * math.sqrt((self.dof - 2.0) / self.dof)
        return self.value + self.u * unit


def standard_from_half_width(half_width: float, shape: Shape = "rectangle") -> float:
    """Standard uncertainty of a bound +/- half_width; a normal bound is read as k = 2.

    In the unit of the half-width. Raises ValueError for "t", which has no half-width, and for an unknown shape.
    """
    divisor = {"rectangle": RECTANGLE_DIVISOR, "triangle": TRIANGLE_DIVISOR, "u-shape": U_SHAPE_DIVISOR, "normal": 2.0}
    if shape not in divisor:
        raise ValueError(f"a bound is {', '.join(divisor)}; got {shape!r}")
    return half_width / divisor[shape]


def instrument_accuracy(t: ArrayLike, kelvin: float = 2.0, fraction: float = 0.02) -> FloatArray:
    """Half-width in K of the usual statement "2 K or 2 % of the reading in degC, whichever is larger"; t in K. Source: instrument-accuracy."""
    return np.maximum(kelvin, fraction * np.abs(np.asarray(t, dtype=np.float64) - 273.15))


def averaged_noise(sigma: ArrayLike, count: float, floor: float = 0.0) -> FloatArray:
    """Noise of the mean of `count` independent readings; fixed pattern `floor` does not fall with averaging.

    In the unit and shape of sigma. Raises ValueError for fewer than one reading.
    """
    if count < 1:
        raise ValueError(f"a mean needs at least one reading, got {count}")
    return np.hypot(np.asarray(sigma, dtype=np.float64) / math.sqrt(count), floor)


def student_factor(dof: float, coverage: float = COVERAGE) -> float:
    """Two-sided factor of Student's t; normal for infinite degrees of freedom."""
    if not 0.0 < coverage < 1.0 or not dof > 0.0:
        raise ValueError("coverage lies between 0 and 1, and degrees of freedom above 0")
    from scipy.special import ndtri, stdtrit

    p = 0.5 * (1.0 + coverage)
    return float(ndtri(p)) if math.isinf(dof) else float(stdtrit(dof, p))


def welch_satterthwaite(contributions: Sequence[float], dofs: Sequence[float]) -> float:
    """Effective degrees of freedom of a combined standard uncertainty; infinite when nothing limits it.

    contributions and dofs go together one by one (GUM G.4.1); ValueError when their counts differ.
    """
    u = math.sqrt(sum(one**2 for one in contributions))
    below = sum(one**4 / dof for one, dof in zip(contributions, dofs, strict=True) if not math.isinf(dof))
    return u**4 / below if below > 0.0 else math.inf


@dataclass(frozen=True)
class Combined:
    """First-order result: standard uncertainty, its parts (always >= 0, by input), effective degrees of freedom."""

    u: float
    contributions: Mapping[str, float]
    dof: float

    def expanded(self, coverage: float = COVERAGE) -> float:
        """U = t u for the coverage asked, with the degrees of freedom cut to an integer as GUM G.4.1 advises."""
        return student_factor(self.dof if math.isinf(self.dof) else max(1.0, math.floor(self.dof)), coverage) * self.u

    def shares(self) -> dict[str, float]:
        """Part of the variance due to each input, largest first."""
        total = self.u**2 or 1.0
        return {name: part**2 / total for name, part in sorted(self.contributions.items(), key=lambda item: -item[1])}


def combine(
    sensitivities: Mapping[str, float],
    inputs: Mapping[str, Input],
    *,
    pixels: int = 1,
    correlations: Mapping[tuple[str, str], float] | None = None,
) -> Combined:
    """First-order propagation for one value or the mean of `pixels` pixels.

    Shared inputs count in full however many pixels are averaged, the others are divided by sqrt(pixels).
    `correlations` holds coefficients -1..1 of pairs of inputs. KeyError for an input without a sensitivity.
    """
    if pixels < 1:
        raise ValueError(f"a mean needs at least one pixel, got {pixels}")
    signed = {
        name: sensitivities[name] * one.u / (1.0 if one.shared else math.sqrt(pixels)) for name, one in inputs.items()
    }
    variance = sum(part**2 for part in signed.values())
    for (a, b), r in (correlations or {}).items():
        if not -1.0 <= r <= 1.0:
            raise ValueError(f"the correlation of {a} and {b} must be -1 to 1, got {r}")
        variance += 2.0 * r * signed[a] * signed[b]
    parts = {name: abs(part) for name, part in signed.items()}
    dof = welch_satterthwaite(list(parts.values()), [inputs[name].dof for name in parts])
    return Combined(math.sqrt(max(variance, 0.0)), parts, dof)


def picture_uncertainty(sensitivities: Mapping[str, ArrayLike], u: Mapping[str, ArrayLike]) -> FloatArray:
    """Standard uncertainty of every pixel, root sum of squares of sensitivity times u; arrays broadcast."""
    result: FloatArray = np.sqrt(
        sum(np.square(np.asarray(sensitivities[name]) * np.asarray(one)) for name, one in u.items())
    )
    return result


def difference_uncertainty(
    first: Mapping[str, float],
    second: Mapping[str, float],
    inputs: Mapping[str, Input],
    pixels: tuple[int, int] = (1, 1),
) -> Combined:
    """Uncertainty of (first - second) in one picture: shared inputs cancel as far as sensitivities agree."""
    parts = {}
    for name, one in inputs.items():
        if one.shared:
            parts[name] = abs(first[name] - second[name]) * one.u
        else:
            parts[name] = math.hypot(first[name] / math.sqrt(pixels[0]), second[name] / math.sqrt(pixels[1])) * one.u
    dof = welch_satterthwaite(list(parts.values()), [inputs[name].dof for name in parts])
    return Combined(math.sqrt(sum(part**2 for part in parts.values())), parts, dof)


@dataclass(frozen=True)
class MonteCarlo:
    """Monte Carlo result: mean, standard deviation, symmetric-probability interval, and draws without a solution."""

    mean: float
    u: float
    low: float
    high: float
    coverage: float
    draws: int
    unsolved: int


def monte_carlo(
    model: Callable[..., ArrayLike],
    inputs: Mapping[str, Input],
    *,
    draws: int = 200_000,
    seed: int = 1,
    coverage: float = COVERAGE,
) -> MonteCarlo:
    """Propagate distributions through `model(**arrays)`, which gets arrays of shape (draws,) and returns one.

    NaN results (no solution) are counted and left out; all is NaN when more than half are. Same seed, same result.
    Raises ValueError for fewer draws than `least_draws` of the coverage.
    """
    least = least_draws(coverage)
    if draws < least:
        raise ValueError(f"a coverage of {coverage:g} needs at least {least} draws, got {draws}")
    rng = np.random.default_rng(seed)
    arrays = {name: inputs[name].draw(rng, draws) for name in sorted(inputs)}
    result = np.asarray(model(**arrays), dtype=np.float64)
    good = result[np.isfinite(result)]
    missing = draws - good.size
    if missing > draws / 2:
        return MonteCarlo(math.nan, math.nan, math.nan, math.nan, coverage, draws, missing)
    low, high = np.quantile(good, [0.5 * (1.0 - coverage), 0.5 * (1.0 + coverage)])
    return MonteCarlo(float(good.mean()), float(good.std(ddof=1)), float(low), float(high), coverage, draws, missing)


def least_draws(coverage: float = COVERAGE) -> int:
    """Fewest draws for a coverage interval: the larger of 100/(1 - coverage) and 10000 (JCGM 101 7.9.4)."""
    return max(math.ceil(round(100.0 / (1.0 - coverage), 9)), 10_000)


def numerical_tolerance(u: float, digits: int = 1) -> float:
    """Half a unit in the last of `digits` significant digits of u (JCGM 101 7.9.2), taken before rounding."""
    if digits not in (1, 2):
        raise ValueError(f"u is given to 1 or 2 digits, got {digits}")
    if not u > 0.0 or not math.isfinite(u):
        raise ValueError(f"u must be above 0 and finite, got {u}")
    return 0.5 * float(Decimal(1).scaleb(Decimal(str(float(u))).adjusted() - digits + 1))


@dataclass(frozen=True)
class Validation:
    """Whether the first-order interval may be reported: distance of its ends from Monte Carlo's, against `delta`."""

    d_low: float
    d_high: float
    delta: float

    @property
    def valid(self) -> bool:
        """True when both ends lie within `delta` of those of Monte Carlo (JCGM 101 clause 8)."""
        return self.d_low <= self.delta and self.d_high <= self.delta


def validate_first_order(
    value: float, u: float, reference: MonteCarlo, *, digits: int = 1, factor: float | None = None
) -> Validation:
    """The test of JCGM 101 clause 8: first-order interval value +/- factor u against the Monte Carlo interval.

    factor None takes the normal one of the reference's coverage; digits 1 or 2 of u decide how near is near enough.
    Raises ValueError for u that is not above 0.
    """
    k = student_factor(math.inf, reference.coverage) if factor is None else factor
    return Validation(
        abs(value - k * u - reference.low), abs(value + k * u - reference.high), numerical_tolerance(u, digits)
    )


def _rounded_exponent(u: float, digits: int) -> int:
    """Power of ten of the last of `digits` significant digits of u after rounding (9.96 to two digits is 10)."""
    number = Decimal(str(float(u)))
    exponent = number.adjusted() - digits + 1
    rounded = number.quantize(Decimal(1).scaleb(exponent), ROUND_HALF_UP)
    return rounded.adjusted() - digits + 1


def round_uncertainty(u: float, digits: int = 2) -> Decimal:
    """u to significant digits, half up, as Decimal with its trailing zeros: 0.0996 gives 0.10 and 9.96 gives 10.

    Raises ValueError unless u is finite and not below 0.
    """
    if not math.isfinite(u) or u < 0.0:
        raise ValueError(f"an uncertainty must be finite and not below 0, got {u}")
    number = Decimal(str(float(u)))
    return number if number == 0 else _quantise(number, _rounded_exponent(float(u), digits))


def _quantise(number: Decimal, exponent: int) -> Decimal:
    rounded = number.quantize(Decimal(1).scaleb(exponent), ROUND_HALF_UP)
    rounded = rounded.quantize(Decimal(1)) if exponent > 0 else rounded
    return abs(rounded) if rounded == 0 else rounded


def round_pair(value: float, u: float, digits: int = 2) -> tuple[Decimal, Decimal]:
    """Value and uncertainty to the same decimal place, the uncertainty to two digits (GUM 7.2.6)."""
    rounded = round_uncertainty(u, digits)
    if rounded == 0:
        return Decimal(str(float(value))), rounded
    return _quantise(Decimal(str(float(value))), _rounded_exponent(float(u), digits)), rounded


def rounded_text(number: float, digits: int = 2) -> str:
    """The rounded uncertainty as text."""
    return format(round_uncertainty(number, digits), "f")


def pair_text(value: float, u: float, digits: int = 2) -> str:
    """Value and uncertainty as text, for example "60.4 ± 2.6"."""
    rounded, spread = round_pair(value, u, digits)
    return f"{rounded:f} ± {spread:f}"
