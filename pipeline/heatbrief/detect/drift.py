"""What a camera did over a sequence: the change that places of constant temperature show, or all places in common."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from heatbrief.api.context import Context
from heatbrief.api.step import FactSpec, NoSettings, Step, StepOutput
from heatbrief.detect.registration import Shift, aligned, shifts
from heatbrief.detect.sequence import seconds_of
from heatbrief.model.region import Region
from heatbrief.model.thermogram import Thermogram
from heatbrief.physics.robust import mad_sigma

CONSTANT = "constant"
"""Fact of a region: "yes" when its temperature did not change during the sequence."""


@dataclass(frozen=True)
class Drift:
    """Change since the first picture, float64 (n,), [K or counts].

    median    over the chosen pixels; spread: how much these pixels differ in it (robust standard deviation)
    standard  standard uncertainty of the median from noise and from pixels that changed by themselves
    declared  True when it was taken from regions declared constant; else from all pixels, and a change of the whole
              scene cannot be told from one of the camera
    """

    seconds: np.ndarray
    median: np.ndarray
    spread: np.ndarray
    standard: np.ndarray
    declared: bool
    unit: str

    @property
    def significant(self) -> bool:
        """True when some picture differs from the first by more than three standard uncertainties and noise."""
        return bool(np.any(np.abs(self.median) > np.maximum(3.0 * self.standard, 0.2 * self.spread)))

    def note(self) -> str:
        """The drift in one sentence."""
        at = int(np.argmax(np.abs(self.median)))
        where = "regions declared constant" if self.declared else "the picture as a whole"
        cause = (
            "the camera drifted"
            if self.declared
            else "camera or scene, which cannot be told apart without a constant place"
        )
        return (
            f"{where}: {self.median[at]:+.2g} {self.unit} after {self.seconds[at]:.0f} s "
            f"({self.median[-1]:+.2g} {self.unit} at the end): {cause}"
        )


def drift_of(thermograms: Sequence[Thermogram], regions: Sequence[Region] = ()) -> Drift:
    """The drift over a sequence, from regions of the first picture with the fact `constant: yes`, else from all pixels.

    Raises StepError for pictures without rising times or of different sizes. Align them first if the camera moved.
    """
    seconds, first = seconds_of(thermograms), thermograms[0]
    chosen = [one for one in regions if one.facts.get(CONSTANT) in ("yes", True) and one.thermogram in ("", first.id)]
    mask = np.zeros(first.shape, bool)
    for one in chosen:
        mask |= one.mask(*first.shape)
    declared = bool(mask.any())
    mask = mask if declared else np.ones(first.shape, bool)
    rows = [_change(one.values, first.values, mask) for one in thermograms]
    median, spread, standard = (np.array(column) for column in zip(*rows, strict=True))
    unit = "K" if all(one.scale == "temperature" for one in thermograms) else "counts"
    return Drift(seconds, median, spread, standard, declared, unit)


def steadiness_notes(thermograms: Sequence[Thermogram], regions: Sequence[Region] = ()) -> tuple[str, ...]:
    """How far the camera moved and drifted in a sequence, in words; empty when neither shows."""
    found = shifts([one.values for one in thermograms])
    notes = []
    if moved := _movement(thermograms, found):
        notes.append(moved)
    drift = drift_of(aligned(thermograms), regions)
    if drift.significant:
        notes.append(drift.note())
    return tuple(notes)


def _movement(thermograms: Sequence[Thermogram], found: Sequence[Shift]) -> str:
    lost = [one.id for one, shift in zip(thermograms, found, strict=True) if not shift.found]
    far = max(found, key=lambda one: one.length)
    parts = []
    if far.length >= 0.5:
        name = thermograms[found.index(far)].id
        parts.append(f"the camera moved: {name} lies {far.length:.1f} pixels from the first picture")
    if lost:
        parts.append(f"no shift brings {', '.join(lost[:5])} over the first picture")
    return "; ".join(parts)


def _change(now: np.ndarray, first: np.ndarray, mask: np.ndarray) -> tuple[float, float, float]:
    change = (np.asarray(now, np.float64) - first)[mask]
    change = change[np.isfinite(change)]
    if not change.size:
        return float("nan"), float("nan"), float("nan")
    spread = mad_sigma(change)
    # Neighbours change together where the scene does, so far fewer than all pixels are independent: one in 100.
    return float(np.median(change)), spread, 1.2533 * spread / np.sqrt(max(change.size / 100.0, 1.0))


def steadiness(subject: tuple[Thermogram, ...], settings: NoSettings, context: Context) -> StepOutput:
    """Notes on how far the camera moved and drifted during a sequence; no findings."""
    return StepOutput(notes=steadiness_notes(subject, context.regions))


STEP = Step(
    name="heatbrief.steadiness",
    stage="detect",
    version=1,
    run=steadiness,
    scope="sequence",
    facts=(
        FactSpec(CONSTANT, "whether the region kept its temperature during a sequence", None, ("yes", "no"), "yes"),
    ),
    reads=("regions",),
    unscaled=True,
    summary="Says how far the camera moved and drifted during a sequence.",
    title="how still the camera was",
)
