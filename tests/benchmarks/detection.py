"""How well defects are found: `python tests/benchmarks/detection.py [--json] [--markdown] [--scenes N] [--jobs N] [--fit]`.

Every scene (`detection_scenes.py`) is rendered to counts as a camera would record them, calibrated by the calibrate step and
given with a truthful context to every registered check of its domain that looks at one picture. Findings with the verdict
"defect" or "suspect" are scored against what was planted (`detection_scores.py`).

- Contrast-to-noise: the true contrast (mean surface temperature with the defect minus without it, over its pixels) over the noise
  sigma of one pixel of the calibrated picture. Since the checks' criteria are in kelvin (0.5 K and more), a contrast-to-noise near 3 occurs
  only in noisy pictures: the noise of these scenes goes from 0.02 to 1.5 K. Defects below a check's criterion are not planted.
- Recall: planted defects of at least 9 pixels about which a finding says "defect" or "suspect". recall_cnr3 is that of
  contrast-to-noise 3 to 4, the tables show the rest.
- Precision: of the findings saying so in pictures with a defect, those about a defect (or, for condensation, whose claim is true).
  precision_cnr3 is that of pictures whose defects all have a contrast-to-noise from 3 to 4. "All pictures" counts clean ones too.
- Clean pictures hold only what imitates defects: reflections, shade, sun, lens shading, framing, normal load, gradients.
- Reliability: stated probability against how often findings (all verdicts but "normal") were right, in bins of 10 %;
  reliability_max_gap is the largest gap among bins of 30 findings or more.

Seeds of the benchmark start at FIRST; `--fit` uses others (TRAINING) and prints the odds for `heatbrief/detect/judge.py`.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
from collections.abc import Callable, Iterable, Sequence

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

import numpy as np  # noqa: E402
from detection_scores import CLAIMS, Outcome, Planted, Said, checks, outcome  # noqa: E402

FIRST, TRAINING = 1_000_000, 5_000_000
SCENES, LEAST_PIXELS, LEAST_IN_BIN = 900, 9, 30
CNR_BINS = ((0.0, 2.0), (2.0, 3.0), (3.0, 4.0), (4.0, 6.0), (6.0, 12.0), (12.0, float("inf")))
PIXEL_BINS = ((9, 16), (16, 36), (36, 100), (100, 400), (400, float("inf")))
AT_3 = (3.0, 4.0)
Table = tuple[str, list[str], list[list[str]]]


def run(scenes: int, jobs: int, first: int) -> list[Outcome]:
    """Outcomes of that many scenes, in the order of their seeds; the same for any number of jobs."""
    for domain in ("envelope", "electrical", "plumbing", "vehicle"):
        checks(domain)
    seeds = range(first, first + scenes)
    if jobs <= 1:
        return [outcome(seed) for seed in seeds]
    with multiprocessing.Pool(jobs) as pool:
        return pool.map(outcome, seeds, chunksize=4)


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


# --- tables -------------------------------------------------------------------------------


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


def main() -> None:
    """Print the tables and, with --json, one last line for machines."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--json", action="store_true", help="end with one line of JSON")
    parser.add_argument("--markdown", action="store_true", help="tables in Markdown, as in DEVELOPERS.md")
    parser.add_argument("--scenes", type=int, default=SCENES, help="how many scenes")
    parser.add_argument("--jobs", type=int, default=min(2, os.cpu_count() or 1), help="how many processes")
    parser.add_argument("--fit", action="store_true", help="fit the odds of the rule on the training scenes instead")
    given = parser.parse_args()
    outcomes = run(given.scenes, given.jobs, TRAINING if given.fit else FIRST)
    if given.fit:
        from detection_fit import report

        print(report(outcomes))
        return
    form = markdown if given.markdown else plain
    print("\n".join(form(table) for table in tables(outcomes)))
    figures = totals(outcomes)
    print(
        json.dumps(figures)
        if given.json
        else "\n".join(f"{'- ' if given.markdown else ''}{name}: {value}" for name, value in figures.items())
    )


if __name__ == "__main__":
    main()
