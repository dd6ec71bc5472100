"""Exit codes and lines for other programs: one line for each problem, with a code that `explain` knows."""

from __future__ import annotations

import importlib
import json
import re

import pytest
from benchmarks import faults
from heatbrief.errors import ExitCode

LINE = re.compile(r"(error|warning|not analysed|not compared)\[([a-z0-9-]+)\]: \S")


def codes_of(heatbrief, err: str) -> list[str]:
    """Codes of the lines on standard error; every other line is progress or the closing word."""
    found = []
    for line in err.splitlines():
        match = LINE.match(line)
        if match:
            found.append(match[2])
        else:
            assert re.fullmatch(
                r".+: \d+ of \d+ jobs? done|\d+ problems?\. `heatbrief explain .+` says more\.", line
            ), line
    for code in found:
        assert heatbrief("explain", code).code == 0, code
    return found


@pytest.fixture
def house(tmp_path):
    faults.write_survey(tmp_path / "survey", 2.0, 3)
    return tmp_path / "survey"


def test_done_is_zero(heatbrief, house, tmp_path):
    done = heatbrief("run", house, "--out", tmp_path / "out")
    assert (done.code, codes_of(heatbrief, done.err)) == (ExitCode.DONE, [])


def test_a_finding_at_the_level_is_one_and_the_site_is_there(heatbrief, house, tmp_path):
    text = (house / "survey.yaml").read_text("utf-8")
    told = "inspect: [envelope]\ndefaults: {material: painted plaster}\nthermograms:\n"
    text = text.replace("wind: 1 m/s", "wind: 1 m/s, sky: overcast, sun: none, hours_steady: 12 h")
    (house / "survey.yaml").write_text(text.replace("thermograms:\n", told), "utf-8")
    found = {}
    for level in ("now", "watch"):
        found[level] = heatbrief("run", house, "--out", tmp_path / "out", "--fail-on", level)
    results = json.loads((tmp_path / "out" / faults.SLUG / "results.json").read_text("utf-8"))
    urgencies = {one["urgency"] for one in results["findings"]}
    assert "now" not in urgencies and urgencies & {"soon", "plan", "watch"}
    assert (found["now"].code, found["watch"].code) == (ExitCode.DONE, ExitCode.FINDING_REACHED_LEVEL)
    assert (tmp_path / "out" / faults.SLUG / "site" / "index.html").is_file()


def test_a_mistake_is_two_and_writes_nothing(heatbrief, house, tmp_path):
    text = (house / "survey.yaml").read_text("utf-8")
    (house / "survey.yaml").write_text(text + "nonsense: 1\nmore: [1\n", "utf-8")
    for verb in ("run", "check", "plan"):
        done = heatbrief(verb, house)
        assert done.code == ExitCode.USER_ERROR and codes_of(heatbrief, done.err)
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    "words", [("rnu",), ("run",), ("run", "a", "--jobs", "0"), ("run", "a", "--fail-on", "never"), ("explain",)]
)
def test_words_that_are_not_understood_are_two_in_one_line(heatbrief, words):
    done = heatbrief(*words)
    assert (done.code, codes_of(heatbrief, done.err)) == (ExitCode.USER_ERROR, ["usage"])


def test_a_failed_input_is_three_and_wins_over_the_level(heatbrief, house, tmp_path):
    (house / "ir" / "1.tiff").write_bytes(b"II*\0")
    (house / "ir" / "2.tiff").unlink()
    done = heatbrief("run", house, "--out", tmp_path / "out", "--fail-on", "watch")
    assert done.code == ExitCode.PARTLY_FAILED
    codes = codes_of(heatbrief, done.err)
    assert len(codes) == 2 and "picture-missing" in codes
    assert (tmp_path / "out" / faults.SLUG / "site" / "index.html").is_file()
    checked = heatbrief("check", house)
    assert checked.code == ExitCode.PARTLY_FAILED and len(codes_of(heatbrief, checked.err)) == 2


def test_a_fault_of_ours_is_seventy_and_no_traceback(heatbrief, house, monkeypatch):
    monkeypatch.setattr(importlib.import_module("heatbrief.cli.check"), "make_plan", lambda *_: 1 // 0)
    done = heatbrief("check", house)
    assert done.code == 70 and "Traceback" not in done.err
    assert codes_of(heatbrief, done.err) == ["internal"]


def test_what_stands_in_a_name_does_not_steer_the_terminal(heatbrief):
    for word in ("x\x1b]0;title\x07", "x\x1b[2J", "x\udcff", "x\u202e"):
        for words in (("run", word), ("explain", word), ("publish", word), ("compare", word, word)):
            done = heatbrief(*words)
            assert done.code == ExitCode.USER_ERROR and word not in done.err
            assert not set(done.err) & set("\x1b\x07\udcff\u202e")
