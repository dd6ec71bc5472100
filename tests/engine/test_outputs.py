"""What is written is whole, once at a time, and the same bytes whoever computes it."""

from __future__ import annotations

import errno
import json
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest
import yaml
from benchmarks import faults
from heatbrief.store.folders import Folders
from support import ROOT, tree_state

SLUG = faults.SLUG


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """A survey and what one run in a process of its own published."""
    folder = tmp_path_factory.mktemp("whole")
    faults.write_survey(folder / "survey", 2.0)
    assert run(folder / "survey", folder / "out").returncode == 0
    return folder / "survey", tree_state(folder / "out" / SLUG)


def run(survey: Path, out: Path, *options: str, **variables: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "heatbrief", "run", str(survey), "--out", str(out), *options]
    return subprocess.run(command, capture_output=True, text=True, check=False, env={**os.environ, **variables})


@pytest.mark.parametrize(
    ("options", "variables"),
    [
        (("--jobs", "1"), {"PYTHONHASHSEED": "1", "TZ": "Pacific/Chatham", "LC_ALL": "C"}),
        (
            ("--jobs", "3"),
            {"PYTHONHASHSEED": "77", "TZ": "America/Phoenix", "LC_ALL": "tr_TR.UTF-8", "LANG": "tr_TR.UTF-8"},
        ),
        ((), {"PYTHONHASHSEED": "0", "LC_ALL": "de_DE.UTF-8", "PYTHONUTF8": "0", "OMP_NUM_THREADS": "1"}),
    ],
)
def test_workers_locales_and_time_zones_change_no_byte(whole, tmp_path, options, variables):
    survey, published = whole
    done = run(survey, tmp_path, *options, **variables)
    assert done.returncode == 0, done.stderr
    assert tree_state(tmp_path / SLUG) == published


def test_the_order_in_which_results_come_about_changes_no_byte(whole, tmp_path):
    survey, published = whole
    text = (survey / "survey.yaml").read_text("utf-8")
    rows = [row for row in text.splitlines(keepends=True) if "file:" in row]
    other = tmp_path / "survey"
    faults.write_survey(other, 2.0)
    (other / "survey.yaml").write_text(text.replace("".join(rows[1:]), ""), "utf-8")
    assert run(other, tmp_path / "out").returncode == 0
    (other / "survey.yaml").write_text(text, "utf-8")
    assert run(other, tmp_path / "out").returncode == 0
    assert tree_state(tmp_path / "out" / SLUG) == published


LOCALES = {"tr_TR.UTF-8": "tr_TR", "de_DE.UTF-8": "de_DE"}
SET = (
    "import locale, sys; print(locale.setlocale(locale.LC_ALL, '')); from heatbrief.cli import main; main(sys.argv[1:])"
)


@pytest.mark.parametrize("name", LOCALES)
def test_a_process_that_lives_by_another_locale_changes_no_byte(whole, tmp_path, name):
    """Turkish letters (i without and with a dot) and German numbers (decimal comma), switched on for real."""
    made = [shutil.which("localedef"), "-i", LOCALES[name], "-f", "UTF-8", str(tmp_path / name)]
    if made[0] is None or subprocess.run(made, capture_output=True, check=False).returncode > 1:
        pytest.skip("no localedef, or no sources of locales, on this machine")
    survey, published = whole
    words = [sys.executable, "-c", SET, "run", str(survey), "--out", str(tmp_path / "out"), "--jobs", "2"]
    own = {**os.environ, "LOCPATH": str(tmp_path), "LC_ALL": name, "LANG": name}
    done = subprocess.run(words, capture_output=True, text=True, check=False, env=own)
    if "Error" in done.stderr and "unsupported locale" in done.stderr:
        pytest.skip("the locale that was made cannot be used here")
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith(name)
    assert tree_state(tmp_path / "out" / SLUG) == published


def test_the_order_of_keys_changes_no_byte(whole, tmp_path):
    """Top-level keys and the keys of each entry, backwards."""
    survey, published = whole
    faults.write_survey(tmp_path / "survey", 2.0)

    def backwards(value: object) -> object:
        if isinstance(value, dict):
            return {key: backwards(one) for key, one in reversed(value.items())}
        return [backwards(one) for one in value] if isinstance(value, list) else value

    tree = yaml.safe_load((survey / "survey.yaml").read_text("utf-8"))
    (tmp_path / "survey" / "survey.yaml").write_text(yaml.safe_dump(backwards(tree), sort_keys=False), "utf-8")
    assert run(tmp_path / "survey", tmp_path / "out").returncode == 0
    assert tree_state(tmp_path / "out" / SLUG) == published


def test_the_order_of_pictures_changes_no_result(whole, tmp_path):
    survey, published = whole
    faults.write_survey(tmp_path / "survey", 2.0)
    tree = yaml.safe_load((survey / "survey.yaml").read_text("utf-8"))
    tree["thermograms"].reverse()
    (tmp_path / "survey" / "survey.yaml").write_text(yaml.safe_dump(tree, sort_keys=False), "utf-8")
    assert run(tmp_path / "survey", tmp_path / "out").returncode == 0
    one, other = (json.loads(state["results.json"]) for state in (published, tree_state(tmp_path / "out" / SLUG)))
    assert one["thermograms"] == list(reversed(other["thermograms"])) and len(one["thermograms"]) == 4
    for name in ("findings", "estimates", "plan", "property", "conditions"):
        assert sorted(one[name], key=str) == sorted(other[name], key=str), name


@pytest.mark.parametrize("hours", [-24, 24], ids=["back", "ahead"])
def test_a_clock_that_jumps_hides_no_change(whole, tmp_path, hours):
    """Files with times in the past and in the future, and a change that keeps size and time: all of it is noticed."""
    _, published = whole
    faults.write_survey(tmp_path / "survey", 2.0)
    pictures = sorted((tmp_path / "survey" / "ir").iterdir())
    moment = time.time() + 3600 * hours
    for path in pictures:
        os.utime(path, (moment, moment))
    assert run(tmp_path / "survey", tmp_path / "out").returncode == 0
    assert tree_state(tmp_path / "out" / SLUG) == published
    before = pictures[0].read_bytes()
    pictures[0].write_bytes(pictures[1].read_bytes())
    assert len(before) == pictures[0].stat().st_size
    os.utime(pictures[0], (moment, moment))
    assert "nothing to compute" not in run(tmp_path / "survey", tmp_path / "out").stdout
    pictures[0].write_bytes(before)
    os.utime(pictures[0], (moment, moment))
    assert run(tmp_path / "survey", tmp_path / "out").returncode == 0
    assert tree_state(tmp_path / "out" / SLUG) == published
    assert "nothing to compute" in run(tmp_path / "survey", tmp_path / "out").stdout


def test_a_killed_run_is_taken_up_and_nothing_half_written_is_seen():
    score = faults.measure(5)
    assert vars(score) == {"kills": 5, "recovered": 5, "half_written": 0}


def test_two_runs_on_one_output_exclude_each_other(whole, tmp_path):
    survey, _ = whole
    with Folders(tmp_path, SLUG).lock:
        done = run(survey, tmp_path)
        assert (done.returncode, "error[run-at-work]" in done.stderr) == (2, True)
        assert f"process {os.getpid()}" in done.stderr
    assert list(tmp_path.iterdir()) == []
    assert run(survey, tmp_path).returncode == 0


def test_log_and_summary_say_what_happened_line_by_line(whole, tmp_path):
    survey = tmp_path / "survey"
    faults.write_survey(survey, 2.0)
    (survey / "ir" / "1.tiff").write_bytes(b"II*\0")
    log, summary = tmp_path / "log" / "run.jsonl", tmp_path / "summary.md"
    done = run(survey, tmp_path / "out", "--log", str(log), "--summary", str(summary))
    assert done.returncode == 3
    lines = [json.loads(line) for line in log.read_text("utf-8").splitlines()]
    assert [line["event"] for line in lines] == ["start", "problem", "property", "end"]
    assert (lines[1]["code"], lines[1]["where"]) == (
        "picture-unreadable",
        "Trial house: ir/1.tiff",
    ) or "1.tiff" in lines[1]["where"]
    assert lines[2]["failed"] == 1 and lines[3]["code"] == 3
    problems = [line for line in done.stderr.splitlines() if "[" in line]
    assert len(problems) == 1 and problems[0].startswith(f"not analysed[{lines[1]['code']}]")
    text = summary.read_text("utf-8")
    assert "| Trial house | 4 |" in text and f"`{lines[1]['code']}`" in text


def test_a_refused_manifest_is_in_the_log_too(tmp_path):
    faults.write_survey(tmp_path / "survey", 2.0)
    with (tmp_path / "survey" / "survey.yaml").open("a") as stream:
        stream.write("nonsense: 1\n")
    log = tmp_path / "run.jsonl"
    assert run(tmp_path / "survey", tmp_path / "out", "--log", str(log)).returncode == 2
    lines = [json.loads(line) for line in log.read_text("utf-8").splitlines()]
    assert [(line["event"], line.get("code")) for line in lines] == [
        ("start", None),
        ("problem", "unknown-key"),
        ("stopped", None),
    ]


FULL = """
import errno, os, sys
from heatbrief.cli import main
def full(name, calls):
    real = getattr(os, name)
    def call(*arguments, **named):
        calls[0] -= 1
        if calls[0] < 0:
            raise OSError(int(sys.argv[1]), os.strerror(int(sys.argv[1])))
        return real(*arguments, **named)
    setattr(os, name, call)
full("replace", [int(sys.argv[2])])
main(sys.argv[3:])
"""


@pytest.mark.parametrize(("number", "calls"), [(errno.EROFS, 0), (errno.ENOSPC, 3), (errno.EDQUOT, 5)])
def test_a_disk_that_is_full_or_read_only_leaves_what_was_there(whole, tmp_path, number, calls):
    survey, published = whole
    out = tmp_path / "out"
    done = subprocess.run(
        [sys.executable, "-c", FULL, str(number), str(calls), "run", str(survey), "--out", str(out), "--jobs", "1"],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    )
    assert (done.returncode, "error[cannot-write]" in done.stderr) == (2, True), done.stderr
    left = tree_state(out)
    assert not [name for name in left if ".part" in name or ".tmp-" in name or name.endswith("lock")]
    for name, data in left.items():
        if not name.startswith(".heatbrief/"):
            assert published[name.removeprefix(f"{SLUG}/")] == data


def test_a_file_in_the_place_of_the_output_folder_is_said_in_one_line(whole, tmp_path):
    (tmp_path / "out").write_text("mine")
    done = run(whole[0], tmp_path / "out")
    assert done.returncode == 2 and "Traceback" not in done.stderr
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / ".heatbrief").write_text("mine")
    done = run(whole[0], tmp_path / "other")
    assert (done.returncode, "error[cannot-write]" in done.stderr) == (2, True)


SMALL = """
import resource, sys
from heatbrief.cli import main
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[1]), int(sys.argv[1])))
main(sys.argv[2:])
"""


@pytest.mark.parametrize("size", [0, 30000])
def test_a_file_that_cannot_grow_is_said_and_not_left(whole, tmp_path, size):
    survey, published = whole
    done = subprocess.run(
        [sys.executable, "-c", SMALL, str(size), "run", str(survey), "--out", str(tmp_path / "out"), "--jobs", "2"],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    )
    assert (done.returncode, "error[cannot-write]" in done.stderr) == (2, True), done.stderr
    for name, data in tree_state(tmp_path / "out").items():
        if not name.startswith(".heatbrief/"):
            assert published[name.removeprefix(f"{SLUG}/")] == data
