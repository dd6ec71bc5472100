"""How well defects are found: `python tests/benchmarks/detection.py [--json] [--markdown] [--scenes N] [--jobs N] [--fit]`.

Every scene (`detection_scenes.py`) is rendered to counts as a camera would record them, calibrated by the calibrate step and
given with a truthful context to every registered check of its domain that looks at one picture. Findings with the verdict
"defect" or "suspect" are scored against what was planted (`detection_scores.py`). What the figures mean (`detection_figures.py`):

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

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

from detection_figures import totals  # noqa: E402
from detection_scores import Outcome, checks, outcome  # noqa: E402
from detection_tables import markdown, plain, tables  # noqa: E402

FIRST, TRAINING = 1_000_000, 5_000_000
SCENES = 900


def run(scenes: int, jobs: int, first: int) -> list[Outcome]:
    """Outcomes of that many scenes, in the order of their seeds; the same for any number of jobs."""
    for domain in ("envelope", "electrical", "plumbing", "vehicle"):
        checks(domain)
    seeds = range(first, first + scenes)
    if jobs <= 1:
        return [outcome(seed) for seed in seeds]
    with multiprocessing.Pool(jobs) as pool:
        return pool.map(outcome, seeds, chunksize=4)


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
