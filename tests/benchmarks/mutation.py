"""Do the tests notice faults: `python tests/benchmarks/mutation.py [--json] [--sample N] [--files PART ...]`.

Each of a stated random sample of small changes (mutants) of the sources named in AREAS is made in a copy of the tree,
and the tests that run the changed line are run, the most specific and quickest first, then others that run the file,
until a budget of their recorded seconds is spent. A mutant is killed when a test fails, when what it changes cannot be
imported any more, or when the tests take far longer than before. Mutants are run in random order until `--minutes` are
over; those not run do not count. The operators are Cosmic Ray's; which of them, and what is left out, stands in
mutation_points.py. `killed_share` is of the sample; `killed_share_weighted` has each file count by the number of its
mutants. What each test runs is kept in a temporary folder until sources or tests change.
"""

from __future__ import annotations

import argparse
import difflib
import fcntl
import functools
import hashlib
import json
import os
import random
import re
import signal
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_name] = "1"

from mutation_points import Mutant, lines_that_read, mutants_of, statement_lines  # noqa: E402
from mutation_runs import (  # noqa: E402
    CRASHED,
    PLACES,
    UNSEEN,
    Chosen,
    Job,
    copy_tree,
    in_forks,
    measure,
    preload,
    replace_source,
    run_pytest,
)

ROOT = Path(__file__).resolve().parents[2]
SEED, SAMPLE, BUDGET, MINUTES, GOAL = 13, 20, 5.0, 30.0, 0.85
CORE, RULES = "pipeline/heatbrief", ("judge", "gates", "rivals*", "case", "conclude")
AREAS = {
    "money": (f"{CORE}/estimate/*.py", f"{CORE}/physics/economics.py", f"{CORE}/model/costs.py"),
    "physics": (f"{CORE}/physics/*.py",),
    "class and verdict rules": (
        *(f"{CORE}/detect/{name}.py" for name in RULES),
        *(f"{CORE}/compare/{name}.py" for name in ("rule", "kinds", "amounts")),
        *(f"plugins/heatbrief_electrical/{name}.py" for name in ("classes", "limits", "rivals")),
        "plugins/heatbrief_envelope/limit_sets.py",
        "plugins/heatbrief_plumbing/freezing.py",
        *(f"plugins/heatbrief_vehicle/{name}.py" for name in ("few", "thermostat")),
    ),
    "manifest": (f"{CORE}/manifest/*.py",),
}
TESTS = (
    *("physics", "manifest", "estimate", "detect", "compare"),
    *("electrical", "envelope", "plumbing", "vehicle"),
    *("test_published.py", "test_codes.py", "cli/test_bad_input.py", "engine/test_money.py", "engine/test_preview.py"),
    *("pages/test_shots.py", "calibrate/test_geometry.py", "readers/test_colour_bar.py"),
)
"""What is run, below tests/: not the browser, the site and whole surveys, which are slow and look at other things."""
SLOW = ("test_pairs.py", "test_recipe.py", "test_page_and_command.py")
"""Tests of those folders that run whole surveys before the first of them."""
FILE_SECONDS, TEST_SECONDS = 0.05, 0.004
"""What one more test file and one more test cost besides the tests themselves."""


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", action="store_true", help="one line of JSON")
    parser.add_argument("--sample", type=int, default=SAMPLE, help=f"mutants of each file ({SAMPLE})")
    parser.add_argument("--seed", type=int, default=SEED, help=f"which ones ({SEED})")
    parser.add_argument("--files", nargs="+", default=[""], help="only files with one of these in their path")
    parser.add_argument("--budget", type=float, default=BUDGET, help=f"seconds of tests for one mutant ({BUDGET:g})")
    parser.add_argument("--minutes", type=float, default=MINUTES, help=f"stop after this long ({MINUTES:g})")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1, help="processes at once")
    parser.add_argument("--survivors", type=Path, help="write every mutant that no test noticed to this file")
    options = parser.parse_args()
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))  # so that what is under way is ended too
    home = Path(tempfile.gettempdir()) / f"heatbrief-mutation-{hashlib.sha256(bytes(ROOT)).hexdigest()[:12]}"
    home.mkdir(exist_ok=True)
    with (home / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        report = benchmark(options, home)
    print(json.dumps(report) if options.json else json.dumps(report, indent=1))
    return 0 if report["killed_share"] >= GOAL else 1


def benchmark(options: argparse.Namespace, home: Path) -> dict:
    """Everything, as the report that is printed."""
    start = time.monotonic()
    tree = copy_tree(ROOT, home)
    sys.path[:1] = [str(tree / place) for place in PLACES]  # not this folder, whose coverage.py is no library
    files = [path.relative_to(tree).as_posix() for name in TESTS for path in _test_files(tree / "tests" / name)]
    measured = measure(tree, home, files, options.jobs)
    lost = sorted(set(files) - set(measured))
    preload({name for one in measured.values() for name in one["modules"]})
    tests = Tests({name: test for one in measured.values() for name, test in one["tests"].items()})
    lost += [name for one in measured.values() for name in one["left_out"]]
    trials, totals = [], {}
    for path in (one for area in AREAS for one in area_files(tree, area) if any(part in one for part in options.files)):
        found, totals[path] = mutants_of(tree, path, options.sample, options.seed)
        trials += tests.trials(tree, path, found, options.budget)
    for trial in run_trials(tree, trials, options.jobs):
        if not options.json:
            mutant = trial.mutant
            place = f"{mutant.path}:{mutant.line} {mutant.operator} #{mutant.occurrence}"
            print(f"{trial.outcome:9} {trial.seconds:5.1f} s  {place}", flush=True)
        if time.monotonic() - start > 60 * options.minutes:
            break
    trials = [one for one in trials if one.outcome]
    if options.survivors:
        options.survivors.write_text("\n".join(_shown(tree, one) for one in trials if one.outcome == "survived"))
    report = summary(trials, totals, tree)
    return {**report, "tests_left_out": len(lost), "seconds": round(time.monotonic() - start)}


def _test_files(place: Path) -> list[Path]:
    found = sorted(place.glob("test_*.py")) if place.is_dir() else [place]
    return [path for path in found if path.name not in SLOW]


def area_files(tree: Path, area: str) -> list[str]:
    """Files of an area that no area before it has."""
    names = list(AREAS)
    before = {one for other in names[: names.index(area)] for one in area_files(tree, other)}
    found = {path.relative_to(tree).as_posix() for pattern in AREAS[area] for path in tree.glob(pattern)}
    return sorted(found - before)


@dataclass
class Trial:
    """A mutant, the tests to run for it with the seconds they should take, and the outcome."""

    mutant: Mutant
    tests: tuple[str, ...]
    expected: float
    outcome: str = ""
    seconds: float = 0.0


class Tests:
    """Tests with the lines they run: which to run for which line, and in what order."""

    def __init__(self, tests: dict[str, dict]):
        self.tests = tests
        self.by_file: dict[str, list[str]] = defaultdict(list)
        for name, test in tests.items():
            for path in test["lines"]:
                self.by_file[path].append(name)
        self.rank = {name: (len(test["lines"]), test["seconds"], name) for name, test in tests.items()}

    def trials(self, tree: Path, path: str, mutants: list[Mutant], budget: float) -> list[Trial]:
        """A trial for each mutant of a file."""
        text = (tree / path).read_text("utf-8")
        statements, users = statement_lines(text), self._users(tree, path)
        found = []
        for one in mutants:
            lines, at_import = statements[one.line]
            read_at = lines_that_read(text, lines) if at_import else lines
            found.append(Trial(one, *self._choose(path, read_at, users if at_import else [], budget)))
        return found

    def _choose(self, path: str, lines: frozenset[int], users: list[str], budget: float):
        own = self.by_file[path]
        near = [name for name in own if not lines.isdisjoint(self.tests[name]["lines"][path])]
        chosen: dict[str, float] = {}
        files: set[str] = set()
        for group in (near, users, own):
            for name in sorted(group, key=self.rank.__getitem__):
                file = name.partition("::")[0]
                cost = self.tests[name]["seconds"] + TEST_SECONDS + (0 if file in files else FILE_SECONDS)
                if name not in chosen and (not chosen or sum(chosen.values()) + cost <= budget):
                    chosen[name] = cost
                    files.add(file)
        return tuple(chosen), sum(chosen.values())

    def _users(self, tree: Path, path: str) -> list[str]:
        """Tests in files that import the module by name; else of the modules that do."""
        stem, folder = Path(path).stem, Path(path).parent.name
        words = re.compile(rf"{folder}\.{stem} import|from [\w.]*\b{folder} import [^\n]*\b{stem}\b")
        naming = {file for file in {name.partition("::")[0] for name in self.tests} if words.search(_text(tree / file))}
        found = {name for name in self.tests if name.partition("::")[0] in naming}
        if found:
            return sorted(found)
        inside = f"from .{stem} import"
        for other in self.by_file:
            text = _text(tree / other)
            if words.search(text) or (inside in text and Path(other).parent == Path(path).parent):
                found.update(self.by_file[other])
        return sorted(found)


@functools.cache
def _text(path: Path) -> str:
    return path.read_text("utf-8")


def run_trials(tree: Path, trials: list[Trial], at_once: int) -> Iterator[Trial]:
    """Run the trials in random order, each in a process of its own, and each file once unchanged, which must pass."""
    checks: dict[str, Trial] = {}
    for trial in trials:
        if trial.tests:
            source = (tree / trial.mutant.path).read_text("utf-8")
            unchanged = Mutant(trial.mutant.path, "none", 0, trial.mutant.line, source)
            checks.setdefault(trial.mutant.path, Trial(unchanged, trial.tests, trial.expected))
        else:
            trial.outcome = "survived"  # nothing runs it
    queue = [*checks.values(), *(trial for trial in trials if trial.tests)]
    random.Random(SEED).shuffle(queue)
    for trial in _outcomes(tree, queue, at_once):
        if trial.mutant.operator != "none":
            yield trial
        elif trial.outcome != "survived":
            raise SystemExit(
                f"{trial.mutant.path}: without any change {trial.outcome}, by {', '.join(trial.tests[:3])}"
            )


def _outcomes(tree: Path, trials: list[Trial], at_once: int) -> Iterator[Trial]:
    jobs = {id(job): (job, trial) for trial in trials for job in [Job(_work(tree, trial), 10 + 4 * trial.expected)]}
    for done in in_forks((job for job, _ in jobs.values()), at_once):
        _, trial = jobs[id(done)]
        if done.code in (CRASHED, UNSEEN):
            raise SystemExit(f"{trial.mutant.path}:{trial.mutant.line}: the changed source was not tested")
        trial.outcome = "late" if done.code is None else "survived" if done.code == 0 else "killed"
        trial.seconds = done.seconds
        yield trial


def _work(tree: Path, trial: Trial):
    def work() -> int:
        sys.dont_write_bytecode = True
        seen = replace_source(tree / trial.mutant.path, trial.mutant.source)
        files = dict.fromkeys(name.partition("::")[0] for name in trial.tests)
        failed = next((code for file in files if (code := run_pytest(tree, [file], Chosen(trial.tests)))), 0)
        return failed if seen else UNSEEN

    return work


def summary(trials: list[Trial], totals: dict[str, int], tree: Path) -> dict:
    """Shares over all, by area and by file."""
    killed, counted = defaultdict(int), defaultdict(int)
    for trial in trials:
        counted[trial.mutant.path] += 1
        killed[trial.mutant.path] += trial.outcome != "survived"
    areas = {area: [path for path in area_files(tree, area) if counted[path]] for area in AREAS}
    weight = sum(totals[path] for path in counted if counted[path])
    return {
        "mutants": len(trials),
        "killed": sum(killed.values()),
        "late": sum(trial.outcome == "late" for trial in trials),
        "killed_share": _share(sum(killed.values()), len(trials)),
        "killed_share_weighted": _share(
            sum(totals[path] * killed[path] / counted[path] for path in counted if counted[path]), weight
        ),
        "mutants_possible": sum(totals.values()),
        "areas": {
            area: {
                "files": len(paths),
                "mutants": sum(counted[path] for path in paths),
                "killed_share": _share(sum(killed[path] for path in paths), sum(counted[path] for path in paths)),
            }
            for area, paths in areas.items()
            if paths
        },
        "lowest": sorted(({path: _share(killed[path], counted[path])} for path in counted if counted[path]),
                         key=lambda one: next(iter(one.values())))[:5],
    }  # fmt: skip


def _share(part: float, whole: int) -> float:
    return round(part / whole, 4) if whole else 0.0


def _shown(tree: Path, trial: Trial) -> str:
    mutant = trial.mutant
    old, new = (text.splitlines() for text in ((tree / mutant.path).read_text("utf-8"), mutant.source))
    lines = [line for line in list(difflib.unified_diff(old, new, n=0, lineterm=""))[2:] if line[:2] != "@@"]
    head = f"{mutant.path}:{mutant.line} {mutant.operator} #{mutant.occurrence} ({len(trial.tests)} tests)"
    return "\n".join([head, *lines, ""])


if __name__ == "__main__":
    sys.exit(main())
