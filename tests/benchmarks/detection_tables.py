"""Tables of the detection benchmark, for a terminal and for DEVELOPERS.md."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from detection_figures import AT_3, LEAST_IN_BIN, claims, planted, precision, recall, reliability, within
from detection_scores import CLAIMS, Outcome

CNR_BINS = ((0.0, 2.0), (2.0, 3.0), (3.0, 4.0), (4.0, 6.0), (6.0, 12.0), (12.0, float("inf")))
PIXEL_BINS = ((9, 16), (16, 36), (36, 100), (100, 400), (400, float("inf")))
Table = tuple[str, list[str], list[list[str]]]


def tables(outcomes: list[Outcome]) -> list[Table]:
    """Title, head and rows of every table."""
    return [
        _by_cnr(outcomes),
        _by_pixels(outcomes),
        _by_domain(outcomes),
        _clean(outcomes),
        _overlap(outcomes),
        _reliability(outcomes),
    ]


def _share(value: float) -> str:
    return "" if np.isnan(value) else f"{value:.3f}"


def _range(low: float, high: float) -> str:
    return f"{low:g} and more" if np.isinf(high) else f"{low:g} to {high:g}"


def _by_cnr(outcomes: list[Outcome]) -> Table:
    rows = []
    for cnr in CNR_BINS:
        wanted, made = planted(outcomes, cnr), claims(within(outcomes, cnr))
        verdicts = [one.verdict for one in wanted]
        rows.append(
            [
                _range(*cnr),
                str(len(wanted)),
                _share(recall(wanted)),
                str(verdicts.count("defect")),
                str(verdicts.count("suspect")),
                str(len(made)),
                _share(precision(made)),
            ]
        )
    return (
        "Found and right, by contrast-to-noise",
        ["contrast-to-noise", "planted", "recall", "as defect", "as suspect", "claims", "precision"],
        rows,
    )


def _by_pixels(outcomes: list[Outcome]) -> Table:
    rows = []
    for pixels in PIXEL_BINS:
        wanted = [planted(outcomes, cnr, pixels) for cnr in ((2.0, 3.0), AT_3, (4.0, float("inf")))]
        rows.append([_range(*pixels), *(f"{_share(recall(one))} of {len(one)}" for one in wanted)])
    return "Recall, by pixels and contrast-to-noise", ["pixels", "2 to 3", "3 to 4", "4 and more"], rows


def _by_domain(outcomes: list[Outcome]) -> Table:
    rows = []
    for domain in ("envelope", "electrical", "plumbing", "vehicle"):
        own = [one for one in outcomes if one.domain == domain]
        rows.append(
            [
                domain,
                str(len(own)),
                _share(recall(planted(own, (AT_3[0], float("inf"))))),
                _share(precision(claims(within(own, (AT_3[0], float("inf")))))),
                _share(precision(claims(own))),
            ]
        )
    return (
        "By domain, contrast-to-noise 3 and more",
        ["domain", "pictures", "recall", "precision", "precision, clean pictures too"],
        rows,
    )


def _clean(outcomes: list[Outcome]) -> Table:
    clean, rows = [one for one in outcomes if one.clean], []
    kinds: list[tuple[str, Callable[[Outcome], bool]]] = [
        ("all", lambda one: True),
        ("nothing of these", lambda one: not one.traps),
    ]
    kinds += [
        (trap, lambda one, trap=trap: trap in one.traps)
        for trap in sorted({trap for one in clean for trap in one.traps})
    ]
    for name, chosen in kinds:
        own = [one for one in clean if chosen(one)]
        false = [one.verdict for one in claims(own) if not one.right]
        rows.append(
            [
                name,
                str(len(own)),
                str(false.count("defect")),
                str(false.count("suspect")),
                _share(len(false) / len(own)) if own else "",
            ]
        )
    return (
        "False alarms in clean pictures, by what they hold",
        ["they hold", "pictures", "false defects", "false suspects", "false claims per picture"],
        rows,
    )


def _overlap(outcomes: list[Outcome]) -> Table:
    rows = []
    for cnr in CNR_BINS:
        own = [one.overlap for one in planted(outcomes, cnr) if one.by_area and one.verdict in CLAIMS]
        rows.append(
            [
                _range(*cnr),
                str(len(own)),
                *(_share(float(np.percentile(own, share))) if own else "" for share in (10, 50, 90)),
            ]
        )
    return (
        "Overlap of outlines with the truth (intersection over union)",
        ["contrast-to-noise", "outlines", "lowest tenth", "median", "highest tenth"],
        rows,
    )


def _reliability(outcomes: list[Outcome]) -> Table:
    rows = [
        [
            f"{low} to {low + 10} %",
            str(count),
            f"{100 * stated:.1f} %",
            f"{100 * seen:.1f} %",
            "" if count < LEAST_IN_BIN else f"{100 * abs(stated - seen):.1f}",
        ]
        for low, count, stated, seen in reliability(outcomes)
    ]
    return (
        "Stated probability against what was true",
        ["stated", "findings", "mean stated", "true", f"gap in points ({LEAST_IN_BIN} findings or more)"],
        rows,
    )


def plain(table: Table) -> str:
    """A table for a terminal."""
    title, head, rows = table
    widths = [max(len(row[place]) for row in (head, *rows)) for place in range(len(head))]
    return "\n".join(
        [
            title,
            *(
                "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
                for row in (head, *rows)
            ),
            "",
        ]
    )


def markdown(table: Table) -> str:
    """A table for a document."""
    title, head, rows = table
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join([f"**{title}**", "", *("| " + " | ".join(row) + " |" for row in lines), ""])
