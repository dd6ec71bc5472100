"""What the vehicle checks share: the facts they read, regions with their readings, and small helpers."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
from heatbrief.api import Context, FactSpec
from heatbrief.detect import Reading, facts_for, matches, own_regions, read_region, search_mask
from heatbrief.detect.regions import fact_of
from heatbrief.model import Gate, Quantity, Region, Rival, Thermogram

DOMAIN = "vehicle"
READS = ("conditions", "camera", "regions", "facts", "view")
SINCE_START = FactSpec("since_start", "time since the engine was started from cold", unit="s", example="90 s")
SHIELDED = FactSpec("shielded", "whether a heat shield or wrap covers the part", choices=("yes", "no"), example="no")
BANK = FactSpec("bank", "which bank of a V or flat engine the runner belongs to", example="left")
SINCE_STOP = FactSpec("since_stop", "time since the vehicle stopped after the drive", unit="s", example="60 s")
SURFACE_FACTS = facts_for(("reflection", "material change"))


@dataclass(frozen=True)
class Part:
    """A declared region with what it reads, in the picture it is in."""

    subject: Thermogram
    region: Region
    reading: Reading

    @property
    def kelvin(self) -> float:
        """Its mean [K]."""
        return self.reading.values["mean"]


def parts_of(subject: Thermogram, context: Context, shows: Sequence[str], notes: list[str]) -> tuple[Part, ...]:
    """Declared regions of a picture that show one of these and hold a value, in the order of the survey."""
    found = []
    for region in own_regions(context, subject):
        if region.shape == "whole" or not matches(shows, region.shows):
            continue
        reading = read_region(subject, search_mask(subject, region, context), region.name)
        if reading is None:
            notes.append(f"{subject.id}, {region.name}: no pixel with a value in the region.")
        else:
            found.append(Part(subject, region, reading))
    return tuple(found)


def by_group(parts: Sequence[Part]) -> Mapping[str, tuple[Part, ...]]:
    """Parts by the group their owner gave, those without one together under ""; groups in alphabetical order."""
    groups: dict[str, list[Part]] = {}
    for part in parts:
        groups.setdefault(part.region.group, []).append(part)
    return {name: tuple(groups[name]) for name in sorted(groups)}


def of_picture(context: Context, picture: Thermogram) -> Context:
    """The context of one picture of a sequence or survey."""
    return replace(
        context,
        view=context.views.get(picture.id, context.view),
        conditions=context.conditions_of.get(picture.id, context.conditions),
        facts=context.facts_of.get(picture.id, context.facts),
    )


def in_order(pictures: Sequence[Thermogram]) -> tuple[Thermogram, ...]:
    """Pictures by the moment they were taken; those without one first, by name."""

    def moment(one: Thermogram) -> float:
        try:
            return datetime.fromisoformat(one.taken).timestamp()
        except ValueError:
            return -math.inf

    return tuple(sorted(pictures, key=lambda one: (moment(one), one.id)))


def amount(name: str, region: Region | None, context: Context) -> Quantity | None:
    """A fact with a unit, else None."""
    value = fact_of(name, region, context)
    return value if isinstance(value, Quantity) else None


def seconds(name: str, region: Region | None, context: Context) -> float | None:
    """A fact about time [s], else None."""
    value = amount(name, region, context)
    return None if value is None else value.value


def word(name: str, region: Region | None, context: Context) -> str:
    """A fact in words, lower case; "" when it is not given."""
    value = fact_of(name, region, context)
    return "" if value is None else str(value).strip().casefold()


def yes(name: str, region: Region | None, context: Context) -> bool:
    """True when a fact says yes."""
    return word(name, region, context) in ("yes", "true")


def known(**quantities: Quantity | None) -> dict[str, Quantity]:
    """Those that are known, with underscores in their names as spaces."""
    return {name.replace("_", " "): one for name, one in quantities.items() if one is not None}


def at_least(
    name: str, given: float | None, least: float, unit: str, remedy: str, source: str = "", most: float = math.inf
) -> Gate:
    """A gate of the plugin's own: a number that has to lie from `least` to `most`; unknown when it is not given."""
    limits = f"{least:g} {unit} or more" if most == math.inf else f"{least:g} to {most:g} {unit}"
    held = None if given is None else least <= given <= most
    told = "nothing" if given is None else f"{given:.4g} {unit}"
    return Gate(name, held, f"asked: {limits}; given: {told}", source, "" if held else remedy)


def open_rival(explanation: str, evidence: str, missing: str, left: bool = False) -> Rival:
    """A rival explanation that a picture cannot test; `left`: it is known to be possible."""
    return Rival(explanation, "not ruled out" if left else "not testable", evidence, missing)


def beyond(value: Quantity, limit: float, sign: int = 1) -> Quantity:
    """How far a temperature or difference lies above (sign 1) or below (-1) a limit, "K", never less than zero."""
    low, high = sorted((sign * (value.low - limit), sign * (value.high - limit)))
    best = max(sign * (value.value - limit), 0.0)
    return Quantity(best, "K", min(max(low, 0.0), best), max(high, best, 0.0), value.coverage, "beyond the usual range")


def profile(values: np.ndarray, axis: int) -> np.ndarray:
    """Median of each line along an axis without NaN; lines without any value are left out."""
    kept = values[:, np.isfinite(values).any(axis=0)] if axis == 0 else values[np.isfinite(values).any(axis=1)]
    result: np.ndarray = np.nanmedian(kept, axis=axis)
    return result
