"""Repairs of known effect, surveyed before and after under changed weather and load, and the decisions of `heatbrief.compare`.

    python tests/benchmarks/repair.py [--json] [--pairs 280] [--jobs 2]

`pairs`              places whose defect the earlier survey found (defect or suspect); those it did not find are `not_found` and not counted
`decisions_correct`  share of the pairs for which the outcome is the true one; a later survey that was spoiled (conditions not given, too little
                     difference or load, no scale, picture missing) has "not comparable" as its true outcome
`wrong_repaired`     pairs called repaired that are not: the error that would hurt

The pictures go through manifest, calibration, checks and results as anybody's do.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from collections import Counter
from pathlib import Path
from typing import Any

import yaml

sys.path.insert(0, str(Path(__file__).resolve().parent))

from repair_scenes import TRADES, RepairPair

CAMERA = {"field_of_view": ["56 deg", "42 deg"], "noise": "50 mK", "accuracy": "2 K", "band": ["8 um", "14 um"]}


def pairs_of(count: int, start: int = 0) -> list[RepairPair]:
    """The first `count` pairs, the trades in turn."""
    return [TRADES[number % len(TRADES)](start + number // len(TRADES)) for number in range(count)]


def survey_folder(pairs: list[RepairPair], after: bool, folder: Path) -> Path:
    """Pictures and manifest of one of the two surveys."""
    from heatbrief.testing import render
    from heatbrief.testing.rendering import write_counts

    folder.mkdir(parents=True)
    entries = []
    for pair in pairs:
        side = pair.after if after else pair.before
        if side.scene is None:
            continue
        write_counts(render(side.scene).counts, folder / f"{pair.name}.tiff")
        entries.append(side.entry)
    manifest = {
        "format": 1,
        "property": {"name": "Invented repairs", "invented": True},
        "inspect": sorted({pair.domain for pair in pairs}),
        "date": "2026-07-14" if after else "2026-01-12",
        "camera": CAMERA,
        "thermograms": entries,
    }
    (folder / "survey.yaml").write_text(yaml.safe_dump(manifest, sort_keys=False), "utf-8")
    return folder / "survey.yaml"


def surveyed(pairs: list[RepairPair], after: bool, home: Path, jobs: int) -> Path:
    """The folder of the published results of one of the two surveys."""
    from heatbrief.engine.plan import make_plan
    from heatbrief.engine.run import run
    from heatbrief.manifest.load import load_manifest
    from heatbrief.registry import load_registry

    when = "after" if after else "before"
    manifest = load_manifest(survey_folder(pairs, after, home / when), load_registry())
    plan = make_plan(manifest, load_registry(), home / f"out-{when}")
    run(plan, jobs, lambda *_: None, None)
    return plan.folders.published


def score(count: int, jobs: int = 2, start: int = 0) -> dict[str, Any]:
    """Decisions against the truth."""
    from heatbrief.compare import compare, read_survey

    pairs = pairs_of(count, start)
    with tempfile.TemporaryDirectory(prefix="heatbrief-repair-") as folder:
        home = Path(folder)
        before, after = (read_survey(surveyed(pairs, one, home, jobs)) for one in (False, True))
        comparison = compare(before, after)
        found = {}
        for row in comparison.findings:
            if row.verdict_before in ("defect", "suspect"):
                found.setdefault((row.picture_before, row.check), []).append(row)
    outcomes, missed, wrong = Counter(), Counter(), []
    for pair in pairs:
        rows = [row for check in pair.checks for row in found.get((pair.name, check), []) if row.region == pair.region]
        if not rows:
            missed[pair.domain] += 1
            continue
        row = max(rows, key=lambda one: abs(one.before.value) if one.before is not None else 0.0)
        outcomes[pair.domain, pair.truth, row.outcome] += 1
        if row.outcome != pair.truth:
            wrong.append(
                {
                    "pair": pair.name,
                    "truth": pair.truth,
                    "spoiled": pair.spoiled,
                    "outcome": row.outcome,
                    "row": row.row,
                    "left": None
                    if row.left is None
                    else [round(one, 3) for one in (row.left.low, row.left.value, row.left.high)],
                }
            )
    return _summary(outcomes, missed, wrong)


def _summary(
    outcomes: Counter[tuple[str, str, str]], missed: Counter[str], wrong: list[dict[str, Any]]
) -> dict[str, Any]:
    total = sum(outcomes.values())

    def correct(chosen: list[tuple[tuple[str, str, str], int]]) -> float:
        return round(
            sum(n for (_, truth, outcome), n in chosen if truth == outcome) / max(sum(n for _, n in chosen), 1), 4
        )

    return {
        "pairs": total,
        "decisions_correct": correct(list(outcomes.items())),
        "not_found": sum(missed.values()),
        "wrong_repaired": sum(n for (_, truth, outcome), n in outcomes.items() if outcome == "repaired" != truth),
        "by_domain": {
            domain: {"pairs": sum(n for _, n in own), "correct": correct(own)}
            for domain in sorted({key[0] for key in outcomes})
            for own in [[item for item in outcomes.items() if item[0][0] == domain]]
        },
        "by_truth": {
            truth: {"pairs": sum(n for _, n in own), "correct": correct(own)}
            for truth in sorted({key[1] for key in outcomes})
            for own in [[item for item in outcomes.items() if item[0][1] == truth]]
        },
        "wrong": wrong,
    }


def main() -> None:
    """Print the scores; with --json the last line is one JSON object."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--pairs", type=int, default=280)
    parser.add_argument("--start", type=int, default=0, help="first seed")
    parser.add_argument("--jobs", type=int, default=2)
    given = parser.parse_args()
    found = score(given.pairs, given.jobs, given.start)
    for one in found.pop("wrong"):
        print(one)
    for name in ("by_domain", "by_truth"):
        for key, row in found[name].items():
            print(f"{key:<16} {row['pairs']:>4} pairs, {row['correct']:.1%} correct")
    if given.json:
        print(json.dumps(found))


if __name__ == "__main__":
    main()
