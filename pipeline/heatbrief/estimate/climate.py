"""How cold and how hot a usual year is for this house: degree days as given, from hourly weather, or from a bill."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from heatbrief.api import Context
from heatbrief.errors import StepError
from heatbrief.estimate.change_point import ChangePoint, Kind, fit_change_point
from heatbrief.estimate.season_settings import DEFAULT_BASE, Settings
from heatbrief.estimate.weather import Weather, cooling_deficit, cooling_degrees, heating_degrees, read_weather
from heatbrief.model.costs import Bill
from heatbrief.model.estimate import Assumption, Factor
from heatbrief.model.quantity import Quantity

NAME = "heatbrief.season"
LEFT_OUT = "Sun on the surfaces is left out, and so is the moisture that cooling takes from the air."
SEASONS: tuple[Kind, ...] = ("heating", "cooling")


@dataclass(frozen=True)
class Climate:
    """Degree days [K*d] of each season as named inputs, where they came from, and what is missing.

    cooling_hours    hours of cooling [h]
    cooling_deficit  by how much [K*d] those hours are cooler outside than inside; a hot attic works against it
    """

    degree_days: dict[str, Factor] = field(default_factory=dict)
    cooling_hours: Factor | None = None
    cooling_deficit: Factor | None = None
    assumptions: tuple[Assumption, ...] = ()
    missing: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def climate_of(settings: Settings, fuels: dict[str, str], context: Context) -> Climate:
    """The climate by what is given: degree days, else the weather file, else a bill whose periods have temperatures.

    fuels  what heats and what cools, for the bill to look at. Raises StepError for a weather file that cannot be used.
    """
    weather = _weather(settings, context)
    days: dict[str, Factor] = {}
    rows: list[Assumption] = []
    missing: list[str] = []
    bases: dict[str, Quantity] = {}
    notes = list(weather.notes) if weather else []
    for season in SEASONS:
        given = getattr(settings, f"{season}_degree_days")
        if given is not None:
            days[season] = Factor(f"{season} degree days", given)
            rows += _rows(
                season, given, "given in the survey", getattr(settings, f"{season}_base"), "given in the survey"
            )
            continue
        bill = context.bill.get(fuels[season])
        fitted = _fitted(bill, season)
        if isinstance(fitted, str):
            notes.append(f"The balance temperature of {season} was not fitted to the bill: {fitted}.")
            fitted = None
        base, origin = _base(settings, season, fitted)
        bases[season] = base
        if weather is not None:
            found = _counted(weather, season, base, getattr(settings, f"{season}_inside"), settings.year_spread)
            days[season] = Factor(f"{season} degree days", found)
            rows += _rows(
                season, found, f"counted from {settings.weather.as_posix() if settings.weather else ''}", base, origin
            )
        elif bill is not None and fitted is not None:
            found = _from_periods(bill, season, base, settings.year_spread)
            days[season] = Factor(f"{season} degree days", found)
            rows += _rows(season, found, "counted from the temperatures of the bill", base, origin)
        else:
            missing.append(f"set `{season}_degree_days` or `weather` of {NAME} for the {season} season")
    hours, base = settings.cooling_hours, bases.get("cooling", DEFAULT_BASE)
    if hours is None and weather is not None:
        hours = _hours(weather, base, settings.year_spread)
    counted = weather is not None and settings.cooling_degree_days is None
    return Climate(
        days,
        None if hours is None else Factor("hours of cooling", hours),
        _deficit(weather, base, settings) if weather is not None and counted else None,
        tuple(rows),
        tuple(missing),
        (*notes, LEFT_OUT),
    )


def _weather(settings: Settings, context: Context) -> Weather | None:
    if settings.weather is None:
        return None
    name = settings.weather.as_posix()
    if name not in context.files:
        raise StepError(
            "weather-file", f"the weather file {name} was not given to {NAME}.", "Run it through `heatbrief run`."
        )
    return read_weather(context.files[name], name)


def _base(settings: Settings, season: str, fitted: ChangePoint | None) -> tuple[Quantity, str]:
    """The balance temperature and where it came from: chosen, else fitted, else 65 degF."""
    chosen = getattr(settings, f"{season}_base")
    if chosen is not None:
        return chosen, "given in the survey"
    if fitted is not None:
        return fitted.balance, f"fitted to the bill (R2 {fitted.r_squared:.2f})"
    return DEFAULT_BASE, "65 degF, common practice; not given"


def _fitted(bill: Bill | None, season: Kind) -> ChangePoint | str | None:
    """The fit to a bill with temperatures; three parameters, and four where one bill both heats and cools."""
    if bill is None or not bill.temperatures:
        return None
    use = [one.value for one in bill.months]
    t = [one.value for one in bill.temperatures]
    single = fit_change_point(t, use, bill.period_days, season)
    both = fit_change_point(t, use, bill.period_days, "both")
    if isinstance(both, ChangePoint) and (isinstance(single, str) or both.r_squared > single.r_squared + 0.05):
        return both
    return single


def _counted(weather: Weather, season: str, base: Quantity, inside: Quantity | None, spread: float) -> Quantity:
    count = heating_degrees if season == "heating" else cooling_degrees
    room = None if inside is None else inside.value
    ends = [count(weather.celsius, end, room) for end in (base.low, base.value, base.high)]
    return _widened(ends, spread, "degree hours of the weather file / 24")


def _from_periods(bill: Bill, season: str, base: Quantity, spread: float) -> Quantity:
    t, days = np.array([one.value for one in bill.temperatures]), np.array(bill.period_days)
    sign = 1.0 if season == "cooling" else -1.0
    share = 365.0 / float(days.sum())
    ends = [
        float(np.sum(np.maximum(sign * (t - end), 0.0) * days)) * share for end in (base.low, base.value, base.high)
    ]
    return _widened(ends, spread, "mean temperatures of the bill's periods")


def _widened(ends: Sequence[float], spread: float, method: str) -> Quantity:
    """Bounds from the balance temperature and from the spread between years, in quadrature. Spread: common practice."""
    value = ends[1]
    low = value - float(np.hypot(value - min(ends), value * spread))
    high = value + float(np.hypot(max(ends) - value, value * spread))
    return (
        Quantity(value, "K*d", max(0.0, low), high, 0.95, method)
        if high > value
        else Quantity.exact(value, "K*d", method)
    )


def _deficit(weather: Weather, base: Quantity, settings: Settings) -> Factor | None:
    """What cool hours of the cooling season take off where the space beyond is hot; None where they do not outweigh."""
    room = None if settings.cooling_inside is None else settings.cooling_inside.value
    ends = [cooling_deficit(weather.celsius, end, room) for end in (base.low, base.value, base.high)]
    found = _widened(ends, settings.year_spread, "hours of cooling that are cooler outside than inside")
    return Factor("cool hours of the cooling season", found) if found.value > 0.0 else None


def _hours(weather: Weather, base: Quantity, spread: float) -> Quantity:
    ends = [float((weather.celsius > end).sum()) for end in (base.low, base.value, base.high)]
    found = _widened(ends, spread, "hours above the balance temperature")
    return Quantity(found.value, "h", found.low, found.high, found.coverage, found.method)


def _rows(season: str, days: Quantity, origin: str, base: Quantity | None, base_origin: str) -> list[Assumption]:
    rows = [Assumption(f"{season} degree days", f"{days.value:.5g} K*d", origin)]
    return rows if base is None else [*rows, Assumption(f"{season} base", f"{base.value:.4g} degC", base_origin)]
