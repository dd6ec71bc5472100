"""Figures of the detection benchmark: what was planted and claimed, and the shares of it that the definitions ask for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from detection_scores import CLAIMS, Outcome, Planted, Said

LEAST_PIXELS, LEAST_IN_BIN = 9, 30
AT_3 = (3.0, 4.0)


def planted(
    outcomes: Iterable[Outcome],
    cnr: tuple[float, float] = (0.0, float("inf")),
    pixels: tuple[float, float] = (LEAST_PIXELS, float("inf")),
) -> list[Planted]:
    """Planted defects in a range of contrast-to-noise and pixels, upper ends excluded."""
    return [
        one
        for found in outcomes
        for one in found.planted
        if cnr[0] <= one.cnr < cnr[1] and pixels[0] <= one.pixels < pixels[1]
    ]


def claims(outcomes: Iterable[Outcome]) -> list[Said]:
    """Findings that say "defect" or "suspect"."""
    return [one for found in outcomes for one in found.said if one.verdict in CLAIMS]


def recall(wanted: Sequence[Planted]) -> float:
    """Share of planted defects that were found; NaN for none."""
    return float(np.mean([one.verdict in CLAIMS for one in wanted])) if wanted else float("nan")


def precision(made: Sequence[Said]) -> float:
    """Share of claims that are right; NaN for none."""
    return float(np.mean([one.right for one in made])) if made else float("nan")


def within(outcomes: Iterable[Outcome], cnr: tuple[float, float]) -> list[Outcome]:
    """Pictures whose planted defects all lie in a range of contrast-to-noise and have pixels enough."""
    return [
        one
        for one in outcomes
        if one.planted and all(cnr[0] <= p.cnr < cnr[1] and p.pixels >= LEAST_PIXELS for p in one.planted)
    ]


def reliability(outcomes: Iterable[Outcome]) -> list[tuple[int, int, float, float]]:
    """(lower end of the bin in %, findings, mean stated probability, share that was right) of each bin that holds any."""
    said = [one for found in outcomes for one in found.said if one.verdict != "normal"]
    rows = []
    for low in range(0, 100, 10):
        members = [one for one in said if low <= 100 * one.probability < low + 10]
        if members:
            rows.append(
                (
                    low,
                    len(members),
                    float(np.mean([one.probability for one in members])),
                    float(np.mean([one.right for one in members])),
                )
            )
    return rows


def totals(outcomes: list[Outcome]) -> dict[str, float]:
    """The figures of the last line."""
    clean = [one for one in outcomes if one.clean]
    false = [one for one in claims(clean) if one.verdict == "defect" and not one.right]
    gaps = [abs(stated - seen) for _, count, stated, seen in reliability(outcomes) if count >= LEAST_IN_BIN]
    upward = (AT_3[0], float("inf"))
    figures = {
        "recall_cnr3": recall(planted(outcomes, AT_3)),
        "precision_cnr3": precision(claims(within(outcomes, AT_3))),
        "recall_cnr3_and_more": recall(planted(outcomes, upward)),
        "precision_cnr3_and_more": precision(claims(within(outcomes, upward))),
        "precision_all_pictures": precision(claims(outcomes)),
        "false_defects_per_100_clean": 100 * len(false) / max(len(clean), 1),
        "reliability_max_gap": max(gaps, default=float("nan")),
    }
    return {
        "scenes": len(outcomes),
        "clean_scenes": len(clean),
        **{name: round(value, 4) for name, value in figures.items()},
    }
