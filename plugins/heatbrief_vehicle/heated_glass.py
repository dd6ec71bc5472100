"""Heated glass: lines of the grid that stay cold while the others warm."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from heatbrief.api import Context, FactSpec, Step, StepOutput, setting
from heatbrief.detect import Case, Criterion, conclude, number, own_regions, search_mask
from heatbrief.detect.regions import matches
from heatbrief.model import Finding, Quantity, Region, Rival, Thermogram

from heatbrief_vehicle.parts import DOMAIN, READS, SURFACE_FACTS, amount, at_least, known, open_rival

NAME = "vehicle.heated_glass"
SHOWS = ("heated rear window", "heated window", "heated windscreen", "heated glass")
HEATED = FactSpec("heated_for", "how long the heating of the glass had been on", unit="min", example="3 min")
LINES = FactSpec("grid_lines", "number of lines in the grid", unit="1", example="12")
CAUTIONS = ("vehicle.running-engine", "vehicle.patterns")
SOURCES = ("glass-practice",)
UNEVEN = "a line that is missing there by design, such as around an aerial or a wiper"
WEAK = 0.4
"""A line below this share of the usual excess carries little or no current (own choice)."""


@dataclass(frozen=True)
class Settings:
    """What counts as a line."""

    least: float = setting(
        1.5, unit="K", positive=True, help="least warmth of a line over the glass between lines", example="1.5 K"
    )


@dataclass(frozen=True)
class Grid:
    """Lines of a grid: place along the axis [px], warmth over the glass between [K], whether cold; spacing [px].

    scatter   standard deviation of one line's warmth among the warm ones [K]
    """

    places: np.ndarray
    excess: np.ndarray
    cold: np.ndarray
    spacing: float
    scatter: float


def grid_of(values: np.ndarray, least: float) -> Grid | None:
    """Lines along the longer axis of a picture (height, width) in kelvin with NaN outside; None with fewer than
    four lines.

    Warm lines are peaks of the profile across; where they stand regularly, a gap of two spacings or more holds cold
    ones.
    """
    from scipy.ndimage import median_filter
    from scipy.signal import find_peaks

    across = np.nanmedian(values, axis=1) if values.shape[1] >= values.shape[0] else np.nanmedian(values, axis=0)
    if across.size < 12 or not np.isfinite(across).all():
        return None
    first, _ = find_peaks(across, prominence=least)
    if first.size < 4:
        return None
    spacing = float(np.median(np.diff(first)))
    over = across - median_filter(across, size=int(2 * round(spacing) + 1), mode="nearest")
    places = filled(first, spacing)
    near = [over[max(round(float(place)) - 1, 0) : round(float(place)) + 2].max() for place in places]
    excess = np.asarray(near, float)
    usual = float(np.median(excess[np.isin(places, first)]))
    cold = excess < WEAK * usual
    warm = excess[~cold]
    return Grid(places, excess, cold, spacing, float(np.std(warm)))


def filled(peaks: np.ndarray, spacing: float) -> np.ndarray:
    """Peaks with the places of lines that are missing between them, evenly spread over each gap."""
    places: list[float] = [float(peaks[0])]
    for start, end in pairwise(peaks):
        steps = max(round(float(end - start) / spacing), 1)
        places.extend(np.linspace(start, end, steps + 1)[1:].tolist())
    return np.asarray(places)


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """One finding for each cold line, or one for a grid without any."""
    findings: list[Finding] = []
    notes: list[str] = []
    for region in own_regions(context, subject):
        if not matches(SHOWS, region.shows):
            continue
        inside = search_mask(subject, region, context, SHOWS)
        rows, columns = np.nonzero(inside)
        if rows.size < 100:
            notes.append(f"{subject.id}, {region.name}: too few pixels with a value in the region.")
            continue
        box = np.where(inside, subject.values, np.nan)[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]
        grid = grid_of(box[~np.isnan(box).all(axis=1)].astype(float), settings.least)
        if grid is None:
            notes.append(
                f"{subject.id}, {region.name}: fewer than four warm lines seen; the heating may have been off."
            )
            continue
        listed = np.flatnonzero(grid.cold)
        findings.extend(_line(subject, region, grid, int(place), settings, context) for place in listed)
        if not listed.size:
            findings.append(_line(subject, region, grid, int(np.argmin(grid.excess)), settings, context))
        wanted = amount("grid_lines", region, context)
        if wanted is not None and round(wanted.value) > grid.places.size:
            missing = round(wanted.value) - grid.places.size
            notes.append(
                f"{subject.id}, {region.name}: {missing} lines at the rim are not seen; they may be cold or hidden."
            )
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def _line(subject: Thermogram, region: Region, grid: Grid, place: int, settings: Settings, context: Context) -> Finding:
    cold = bool(grid.cold[place])
    usual = float(np.median(grid.excess[~grid.cold]))
    short = usual - float(grid.excess[place])
    half = 1.96 * float(np.hypot(grid.scatter, subject.noise()))
    which = f"line {place + 1} of {grid.places.size}"
    ran = amount("heated_for", region, context)
    case = Case(NAME, DOMAIN, subject, context, region, purpose="vehicle", tag=f"line-{place + 1}")
    words = (
        f"The {which}, counted from the top or left, is {number(short, 'K')} less warm than the others: consistent "
        "with "
        "a broken wire, or one whose end came loose."
        if cold
        else f"All {grid.places.size} lines seen are warm; the weakest is {number(short, 'K')} below the usual warmth."
    )
    limit = max((1.0 - WEAK) * usual, settings.least / 2)
    return conclude(
        case,
        title=f"{region.name}: {which + ' cold' if cold else 'lines warm'}",
        summary=words,
        criterion=Criterion(limit, because=f"a line with less than {WEAK:.0%} of the usual warmth", sources=SOURCES),
        contrast=Quantity(short, "K", short - half, short + half, 0.95, "usual warmth of a line minus its own"),
        gates=(
            at_least(
                "heating on", None if ran is None else ran.value, 2, "min", "Heat it for 3 min first.", SOURCES[0]
            ),
            "emissivity",
        ),
        rivals=("reflection", by_design),
        strong=("reflection",),
        severity="comfort",
        actions=("vehicle.check-glass",),
        cautions=CAUTIONS,
        sources=SOURCES,
        measured=known(warmth_of_the_others=Quantity.normal(usual, "K", grid.scatter, "median of the warm lines")),
        shares=f"{subject.id}:{region.name}:{place}",
    )


def by_design(case: Case) -> Rival | None:
    """Grids leave places out."""
    return open_rival(UNEVEN, "the grid's plan is not seen in a thermal picture", "an ordinary photo of the grid")


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=SHOWS,
    facts=(HEATED, LINES, *SURFACE_FACTS),
    summary="Lines of heated glass that stay cold while the others warm.",
    reads=READS,
    cautions=CAUTIONS,
    sources=SOURCES,
    title="heated glass",
)
