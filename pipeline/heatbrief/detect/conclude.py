"""From a case to a finding: gates, rivals, the rule, and what to do next time."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from heatbrief.detect.case import Case
from heatbrief.detect.gates import survey_gate
from heatbrief.detect.judge import Criterion, Severity, judge
from heatbrief.detect.measure import zone_allows_temperature
from heatbrief.detect.rivals import CaseT, argue
from heatbrief.model.finding import Finding, Gate, Outline, Rival, Urgency
from heatbrief.model.quantity import Quantity

SCALE_GATE = Gate(
    "temperature scale",
    None,
    "the picture has counts of unknown meaning, so only its pattern is judged",
    "",
    "Give `scale` for the picture (kelvin per count), or a file that holds temperatures.",
)


def conclude(
    case: CaseT,
    *,
    title: str,
    summary: str,
    criterion: Criterion,
    contrast: Quantity | None = None,
    gates: Iterable[str | Gate] = (),
    rivals: Iterable[str | Callable[[CaseT], Rival | None]] = (),
    strong: Iterable[str] | None = None,
    severity: Severity = "energy",
    at_most: Urgency = "now",
    actions: tuple[str, ...] = (),
    cautions: tuple[str, ...] = (),
    sources: tuple[str, ...] = (),
    measured: Mapping[str, Quantity] | None = None,
    classes: tuple[Mapping[str, str], ...] = (),
    shares: str = "",
    next_time: Iterable[str] = (),
) -> Finding:
    """The argued finding of a case.

    contrast   what the criterion judges; the area's contrast when not given. Its magnitude counts, whichever its sign
    gates      names of `heatbrief.detect.gates` or gates of one's own; rivals: names of `heatbrief.detect.rivals` or
               functions
    strong     which rivals could make the whole pattern; as registered when not given
    severity   what is at stake; at_most: highest urgency for this case
    measured   quantities of the check's own, which win over those of the area by name
    next_time  more things to do next time, after those from gates and rivals
    Unscaled pictures get a gate of their own and no temperatures. A finding that is normal carries no actions.
    """
    contrast = case.contrast if contrast is None else contrast
    asked = tuple(gate if isinstance(gate, Gate) else survey_gate(case, gate) for gate in gates)
    if case.unscaled:
        asked = (SCALE_GATE, *asked)
    argued, heavy = argue(case, rivals, strong)
    outcome = judge(contrast, criterion, asked, argued, severity=severity, strong=heavy, at_most=at_most)
    keys = (*sources, *criterion.sources, *(gate.source for gate in asked if gate.source))
    return Finding(
        id=case.id,
        domain=case.domain,
        check=case.check,
        thermogram=case.subject.id,
        region=case.region.name if case.region is not None else "",
        title=title,
        summary=summary,
        verdict=outcome.verdict,
        urgency=outcome.urgency,
        probability=outcome.probability,
        outline=_outline(case),
        measured=_measured(case, contrast, measured or {}),
        gates=asked,
        rivals=argued,
        classes=classes,
        actions=() if outcome.verdict == "normal" else actions,
        cautions=cautions,
        sources=tuple(dict.fromkeys(keys)),
        room=(case.region.room if case.region is not None else "") or case.view.room,
        shares=shares,
        next_time=what_next(asked, argued, next_time),
    )


def what_next(gates: Sequence[Gate], rivals: Sequence[Rival], more: Iterable[str] = ()) -> tuple[str, ...]:
    """What to do at the next survey: remedies of gates that did not pass, facts missing for rivals, then `more`; no
    repeats."""
    remedies = [gate.remedy for gate in gates if gate.passed is not True and gate.remedy]
    missing = [
        f"Worth having: {rival.missing}." for rival in rivals if rival.status == "not testable" and rival.missing
    ]
    return tuple(dict.fromkeys((*remedies, *missing, *more)))


def _outline(case: Case) -> Outline | None:
    if case.area is not None:
        return case.area.outline
    if case.region is None or case.region.shape == "whole":
        return None
    from heatbrief.detect.outline import outline_of

    x0, y0, x1, y1 = case.region.bounding_box(*case.subject.shape)
    bits = case.mask[y0:y1, x0:x1]
    return Outline(outline_of(bits, (x0, y0)), int(bits.sum())) if bits.any() else None


def _measured(case: Case, contrast: Quantity | None, own: Mapping[str, Quantity]) -> dict[str, Quantity]:
    """Quantities of the area or reading and the check's own; nothing in kelvin or degC for unscaled pictures."""
    found: dict[str, Quantity | None] = {"contrast": contrast}
    area, reading = case.area, case.reading
    if area is not None:
        noisy = abs(area.contrast_to_noise)
        found |= {
            "peak contrast": area.peak,
            "contrast to noise": Quantity.exact(round(noisy, 2), "1", "contrast over the scatter of one pixel"),
            "area": area.area,
            "mean temperature": area.mean,
            "surrounding temperature": area.surroundings,
        }
    elif reading is not None:
        found |= {"mean temperature": reading.mean, "highest temperature": reading.peak}
    found |= own
    kept = {name: value for name, value in found.items() if value is not None}
    if case.unscaled:
        kept = {name: value for name, value in kept.items() if value.unit not in ("K", "degC", "count")}
    elif not zone_allows_temperature(case.subject, case.mask):
        kept = {name: value for name, value in kept.items() if value.unit != "degC" or name in own}
    return kept
