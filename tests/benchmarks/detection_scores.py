"""Running the pipeline over benchmark scenes, and matching what it says with what is true."""

from __future__ import annotations

import sys
from dataclasses import dataclass

import numpy as np
from detection_scenes import Trial, trial
from heatbrief.detect.judge import share_above, step_of, step_of_gate
from heatbrief.model import Finding, Region
from heatbrief.registry import load_registry
from heatbrief.testing import Rendered, as_thermogram, render, run_step
from heatbrief.testing.truth import TruthRecord
from scipy.ndimage import uniform_filter

CLAIMS = ("defect", "suspect")
COLD_SPOT = "envelope.condensation"
COVERED, FILLED, WITHIN = 0.3, 0.2, 0.5
"""A finding with an outline of its own is about a defect when it covers 30 % of it and is filled by it to 20 %; a finding
about a declared region when half of the region lies within the defect, or when the defect is what warms that region."""


@dataclass(frozen=True)
class Planted:
    """A planted defect: contrast over the noise of one pixel, pixels, the best verdict a finding about it got, and its overlap."""

    cnr: float
    pixels: float
    verdict: str
    overlap: float
    by_area: bool


@dataclass(frozen=True)
class Said:
    """One finding. `step`: logit-free start of its probability; `counts`: gates and rivals by the keys of ODDS."""

    check: str
    verdict: str
    probability: float
    right: bool
    start: float
    counts: tuple[tuple[str, int], ...]
    row: str
    at: str


@dataclass(frozen=True)
class Outcome:
    """What came of one picture."""

    seed: int
    name: str
    domain: str
    clean: bool
    traps: tuple[str, ...]
    size: tuple[int, int]
    noise: float
    planted: tuple[Planted, ...]
    said: tuple[Said, ...]


def outcome(seed: int) -> Outcome:
    """Render, calibrate, run every picture check of the domain, and match."""
    one = trial(seed)
    rendered = render(one.scene)
    subject = as_thermogram(rendered, one.context)
    with _Watched() as watched:
        findings = [finding for step in checks(one.domain) for finding in run_step(step, subject, one.context).findings]
    shape = subject.shape
    truths = [(record, record.mask(*shape)) for record in rendered.truth.defects]
    masks = [mask_of(finding, one, shape) for finding in findings]
    about = [
        [
            (finding, mask)
            for finding, mask in zip(findings, masks, strict=True)
            if same(finding, mask, truth, one.kin.get(record.name, ()))
        ]
        for record, truth in truths
    ]
    cold = [finding for finding in findings if finding.check == COLD_SPOT and too_cold(rendered, one, finding)]
    right = {id(finding) for finding in cold} | {id(finding) for pairs in about for finding, _ in pairs}
    said = tuple(_said(finding, id(finding) in right, watched) for finding in findings)
    planted = tuple(
        _planted(record, truth, pairs, subject.noise()) for (record, truth), pairs in zip(truths, about, strict=True)
    )
    return Outcome(
        seed,
        one.family,
        one.domain,
        one.clean,
        one.traps,
        (one.scene.width, one.scene.height),
        subject.noise(),
        planted,
        said,
    )


def checks(domain: str):
    """The domain's registered checks that look at one picture."""
    found = [
        step for step in load_registry().of_stage("detect") if step.domain == domain and step.scope == "thermogram"
    ]
    if not found:
        raise LookupError(f"no checks of the domain {domain!r} are installed: pip install -e . in this environment")
    return found


def mask_of(finding: Finding, one: Trial, shape: tuple[int, int]) -> np.ndarray:
    """Pixels a finding is about: its outline, else its region, else the whole picture."""
    if finding.outline is not None and len(finding.outline.polygon) >= 3:
        return Region("", "", "polygon", finding.outline.polygon).mask(*shape)
    for region in one.context.regions:
        if region.name == finding.region:
            return region.mask(*shape)
    return np.ones(shape, bool)


def same(finding: Finding, mask: np.ndarray, truth: np.ndarray, kin: tuple[str, ...] = ()) -> bool:
    """Whether a finding is about a planted defect; `kin` are the regions that the defect warms besides its own."""
    if finding.check == COLD_SPOT:
        return False
    if finding.region in kin:
        return True
    both = float((mask & truth).sum())
    if by_area(finding):
        return both >= COVERED * truth.sum() > 0 and both >= FILLED * mask.sum()
    return both >= WITHIN * mask.sum() > 0


def too_cold(rendered: Rendered, one: Trial, finding: Finding) -> bool:
    """Truth of a claim about condensation: the surface really is somewhere as cold as the limit that the finding names."""
    shape = rendered.kelvin.shape
    inside = mask_of(finding, one, shape)
    for region in one.context.regions:
        if region.name != finding.region and region.shape in ("box", "polygon"):
            inside &= ~region.mask(*shape)
    limit = finding.measured.get("limit temperature")
    coldest = uniform_filter(rendered.kelvin, 3, mode="nearest")[inside].min()
    return limit is not None and float(coldest) - 273.15 <= limit.value


def by_area(finding: Finding) -> bool:
    """Whether the check found the outline by itself, instead of reading a declared region."""
    return "contrast to noise" in finding.measured


def _planted(record: TruthRecord, truth: np.ndarray, about: list[tuple[Finding, np.ndarray]], noise: float) -> Planted:
    order = ("defect", "suspect", "inconclusive", "normal")
    best = min(about, key=lambda pair: order.index(pair[0].verdict), default=None)
    verdict = best[0].verdict if best else "missed"
    overlap = float((best[1] & truth).sum() / (best[1] | truth).sum()) if best else 0.0
    return Planted(
        abs(record.contrast_k) / noise, record.pixels, verdict, overlap, best is not None and by_area(best[0])
    )


def _said(finding: Finding, right: bool, watched: _Watched) -> Said:
    start, counts, row = watched.of(finding)
    x, y = (
        np.mean(finding.outline.polygon, axis=0)
        if finding.outline is not None and finding.outline.polygon
        else (-1, -1)
    )
    return Said(
        finding.check,
        finding.verdict,
        finding.probability,
        right,
        start,
        counts,
        row,
        f"{x:.0f},{y:.0f} {finding.title}",
    )


class _Watched:
    """Notes what the stated rule was given, so that its odds can be fitted; changes nothing."""

    def __enter__(self) -> _Watched:
        self.module, self.calls = sys.modules["heatbrief.detect.conclude"], []
        self.judge = self.module.judge

        def judge(contrast, criterion, gates=(), rivals=(), *, strong=(), **more):
            found = self.judge(contrast, criterion, gates, rivals, strong=strong, **more)
            scaled = contrast is not None and contrast.unit == criterion.unit
            start = share_above(contrast, criterion.contrast) if scaled else 0.5
            self.calls.append((gates, rivals, found, start, frozenset(strong)))
            return found

        self.module.judge = judge
        return self

    def __exit__(self, *_: object) -> None:
        self.module.judge = self.judge

    def of(self, finding: Finding) -> tuple[float, tuple[tuple[str, int], ...], str]:
        """(start, counts by key of ODDS, row of the rule) of a finding."""
        for gates, rivals, found, start, strong in self.calls:
            if gates is finding.gates and rivals is finding.rivals and found.probability == finding.probability:
                keys = [step_of_gate(gate) for gate in gates if not gate.passed]
                keys += [step_of(one, one.explanation in strong) for one in rivals]
                return start, tuple(sorted((key, keys.count(key)) for key in set(keys))), found.row
        raise LookupError(f"{finding.id} was not given by the stated rule")
