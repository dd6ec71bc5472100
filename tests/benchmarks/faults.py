"""Kill runs at random moments and look at what they leave: `python tests/benchmarks/faults.py [--json] [--kills N]`.

A small survey is run again and again into one folder, each time with other facts than the time before, and killed with
SIGKILL at a random moment: in every second case with all its helpers at once, in the others alone, so that helpers are
left behind. Then must hold: every results.json and table there is whole, every picture object is what its name says,
the site is the one of before or the new one, whole. And the next run gives the same bytes as one that was never killed.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import random
import signal
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import tifffile

KILLS, SEED, PICTURES = 200, 20260714, 4
SLUG = "trial-house"
MANIFEST = """\
format: 1
property: Trial house
conditions: {{inside_air: 22 degC, outside_air: 2 degC, wind: 1 m/s}}
camera: {{noise: 50 mK, accuracy: 2 K, band: [8 um, 14 um]}}
thermograms:
"""
PICTURE = (
    "  - {{file: ir/{number}.tiff, shows: 'outside wall, from inside', room: room {number}, distance: {distance} m, "
    "scale: {{kelvin_per_count: 0.01}}, regions: [{{name: wall, shows: wall}}]}}\n"
)
Tree = dict[str, str]


def write_survey(folder: Path, distance: float, pictures: int = PICTURES) -> None:
    """A survey of small pictures of walls with a cold patch."""
    (folder / "ir").mkdir(parents=True, exist_ok=True)
    for number in range(pictures):
        values = np.random.default_rng(number).normal(29400.0, 5.0, (60, 80))
        values[20:40, 20:44] -= 180.0 + 20.0 * number
        tifffile.imwrite(folder / f"ir/{number}.tiff", values.astype(np.uint16))
    rows = [PICTURE.format(number=number, distance=distance) for number in range(pictures)]
    (folder / "survey.yaml").write_text(MANIFEST.format() + "".join(rows), "utf-8")


def start(survey: Path, out: Path) -> int:
    """`heatbrief run` in a process of its own with a group of its own; returns its number."""
    from heatbrief.cli import main

    sys.stdout.flush()
    number = os.fork()
    if number:
        return number
    try:
        os.setsid()
        null = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null, 1)
        os.dup2(null, 2)
        main(["run", str(survey), "--out", str(out), "--jobs", "2"])
    except SystemExit as leaving:
        os._exit(int(leaving.code or 0))
    os._exit(99)


def finish(survey: Path, out: Path) -> int:
    """Run to the end; the exit code."""
    return os.waitstatus_to_exitcode(os.waitpid(start(survey, out), 0)[1])


def tree(folder: Path) -> Tree:
    """Published files with digests, without what a killed run may leave beside them under names of its own."""
    found = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if not any(mark in name for mark in (".part", ".tmp-", ".old-")):
            try:
                found[name] = hashlib.sha256(path.read_bytes()).hexdigest()
            except (IsADirectoryError, FileNotFoundError):
                continue
    return found


def half_written(published: Path, wholes: list[Tree]) -> list[str]:
    """What is there and is not whole."""
    wrong = []
    now = tree(published)
    wrong += [
        name
        for name in ("results.json", "findings.csv", "plan.csv")
        if name in now and now[name] not in {whole[name] for whole in wholes}
    ]
    if "results.json" in now:
        json.loads((published / "results.json").read_text("utf-8"))
    objects = {name.removeprefix("objects/"): digest for name, digest in now.items() if name.startswith("objects/")}
    wrong += [name for name, digest in objects.items() if not name.startswith(digest)]
    site = _site(now)
    if site and site not in [_site(whole) for whole in wholes]:
        wrong.append("site")
    return wrong


def _site(found: Tree) -> Tree:
    return {name: digest for name, digest in found.items() if name.startswith("site/")}


@dataclass
class Score:
    """Kills that hit a run at work, next runs that gave the right bytes, kills that left something half-written."""

    kills: int = 0
    recovered: int = 0
    half_written: int = 0


def measure(kills: int, say: bool = False) -> Score:
    chance, score = random.Random(SEED), Score()
    with tempfile.TemporaryDirectory(prefix="heatbrief-faults-") as name:
        folder = Path(name)
        surveys = [folder / "one", folder / "two"]
        wholes, seconds = [], 0.0
        for survey, distance in zip(surveys, (2.0, 3.0), strict=True):
            write_survey(survey, distance)
            begun = time.monotonic()
            code = finish(survey, folder / f"whole-{survey.name}")
            seconds = time.monotonic() - begun
            if code:
                raise SystemExit(f"the survey itself does not run: exit code {code}")
            wholes.append(tree(folder / f"whole-{survey.name}" / SLUG))
        out = folder / "out"
        turn = 0
        while score.kills < kills:
            survey, whole = surveys[turn % 2], wholes[turn % 2]
            number = start(survey, out)
            time.sleep(chance.uniform(0.0, seconds * 1.05))
            (os.kill if turn % 4 < 2 else os.killpg)(number, signal.SIGKILL)
            turn += 1
            if os.waitstatus_to_exitcode(os.waitpid(number, 0)[1]) != -signal.SIGKILL:
                continue  # it was done before
            score.kills += 1
            wrong = half_written(out / SLUG, wholes)
            score.half_written += bool(wrong)
            code = finish(survey, out)
            now = tree(out / SLUG)
            score.recovered += code == 0 and now == whole
            if wrong or code or now != whole:
                differ = sorted(name for name in {*now, *whole} if now.get(name) != whole.get(name))
                print(
                    f"kill {score.kills}: half-written {wrong}, next run {code}, differs {differ[:5]}", file=sys.stderr
                )
            elif say and score.kills % 20 == 0:
                print(f"{score.kills} kills", file=sys.stderr)
    return score


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", action="store_true", help="only the last line, as JSON")
    parser.add_argument("--kills", type=int, default=KILLS)
    given = parser.parse_args()
    score = measure(max(1, given.kills), not given.json)
    if not given.json:
        print(
            f"{score.kills} runs killed at random moments; {score.recovered} next runs gave the same bytes; "
            f"{score.half_written} left something half-written"
        )
    print(json.dumps(vars(score)))


if __name__ == "__main__":
    main()
