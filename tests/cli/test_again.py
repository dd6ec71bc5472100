"""A run without anything to do is said again only while nothing that it rests on has changed."""

from __future__ import annotations

import importlib
import os
import subprocess
import sys
from pathlib import Path

import pytest
from benchmarks import faults
from heatbrief.cli import again, main, options, running
from heatbrief.model.finding import URGENCIES
from support import tree_state


def touched(path: Path, change) -> None:
    """Change a file so that its size and its time of change stay as they were."""
    before = path.stat()
    change(path)
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert (path.stat().st_size, path.stat().st_mtime_ns) == (before.st_size, before.st_mtime_ns)


def flipped(path: Path) -> None:
    data = path.read_bytes()
    path.write_bytes(data[:-1] + bytes([data[-1] ^ 1]))


def a_picture(survey: Path) -> Path:
    return next(path for path in sorted(survey.rglob("*")) if path.suffix in (".tiff", ".tif", ".png", ".npy"))


CHANGES = {
    "a picture, with its size and time kept": lambda survey, out: touched(a_picture(survey), flipped),
    "a picture is gone": lambda survey, out: a_picture(survey).unlink(),
    "a file beside a picture": lambda survey, out: a_picture(survey).with_suffix(".yaml").write_text("scale: none\n"),
    "the manifest": lambda survey, out: (survey / "survey.yaml").open("a").write("# a word\n"),
    "a page is gone": lambda survey, out: (out / "house" / "site" / "method.html").unlink(),
    "a page, with its size and time kept": lambda survey, out: touched(out / "house/site/words.html", flipped),
    "a picture of the site is gone": lambda survey, out: next((out / "house/site/pictures").glob("*.png")).unlink(),
    "an object is gone": lambda survey, out: next((out / "house" / "objects").iterdir()).unlink(),
    "the results are gone": lambda survey, out: (out / "house" / "results.json").unlink(),
    "a table is gone": lambda survey, out: (out / "house" / "plan.csv").unlink(),
    "something is added": lambda survey, out: (out / "house" / "site" / "new.html").write_text("new"),
    "code of a plugin": lambda survey, out: (survey.parent / "code" / "heatbrief_again_code.py").write_text("1\n"),
    "a file that code read": lambda survey, out: (survey.parent / "code" / "read.yaml").write_text("a: 2\n"),
    "what was remembered": lambda survey, out: (out / ".heatbrief" / again.FILE).write_text('{"asked": 1}'),
}


def a_survey(folder: Path) -> Path:
    faults.write_survey(folder, 2.0, 3)
    lines = (folder / "survey.yaml").read_text("utf-8").splitlines()
    named = ["property: House" if line.startswith("property: ") else line for line in lines]
    (folder / "survey.yaml").write_text("\n".join(named) + "\n", "utf-8")
    return folder


@pytest.fixture
def settled(monkeypatch):
    """Whatever was changed counts as changed long ago."""
    monkeypatch.setattr(again, "SETTLED_NS", -(10**18))


@pytest.fixture
def at_rest(heatbrief, tmp_path, settled):
    """A survey whose last run had nothing to do."""
    survey, out = a_survey(tmp_path / "survey"), tmp_path / "out"
    heatbrief("run", survey, "--out", out)
    return survey, out, heatbrief("run", survey, "--out", out)


@pytest.fixture(scope="module")
def published(tmp_path_factory):
    """A survey that was published by a process that loaded a module and read a file beside it."""
    folder = tmp_path_factory.mktemp("published")
    survey, out, code = a_survey(folder / "survey"), folder / "out", folder / "code"
    code.mkdir()
    (code / "heatbrief_again_code.py").write_text("0\n")
    (code / "read.yaml").write_text("a: 1\n")
    with pytest.MonkeyPatch.context() as patched:
        patched.syspath_prepend(str(code))
        importlib.import_module("heatbrief_again_code")
        with pytest.raises(SystemExit):
            main(["run", str(survey), "--out", str(out)])
        (code / "read.yaml").read_bytes()
        yield survey, out
        sys.modules.pop("heatbrief_again_code")


@pytest.fixture
def long_way(monkeypatch):
    """How often a run was worked out."""
    asked, whole = [], running.run_all
    monkeypatch.setattr(running, "run_all", lambda *given: asked.append(given) or whole(*given))
    return asked


def test_the_same_words_without_the_work(heatbrief, at_rest, long_way):
    survey, out, said = at_rest
    before = tree_state(out)
    assert "nothing to compute, all results reused" in said.out
    assert heatbrief("run", survey, "--out", out) == said
    assert heatbrief("run", survey, "--out", out, "--jobs", 1) == said
    assert long_way == [] and tree_state(out) == before


@pytest.mark.parametrize("what", CHANGES)
def test_a_change_is_noticed(published, settled, what):
    survey, out = published
    asked, said = again.Asked((survey,), out, None), again.Said("words", 0, ("house",))
    again.remember(asked, said, [a_picture(survey), a_picture(survey).with_suffix(".yaml")])
    assert again.last_words(asked) == said
    CHANGES[what](survey, out)
    assert again.last_words(asked) is None


@pytest.mark.parametrize("change", [lambda page: page.unlink(), lambda page: page.write_text("no page")])
def test_a_page_that_was_changed_is_written_again(heatbrief, at_rest, change):
    survey, out, said = at_rest
    before = tree_state(out / "house" / "site")
    change(out / "house" / "site" / "method.html")
    assert heatbrief("run", survey, "--out", out) == said
    assert tree_state(out / "house" / "site") == before


def test_other_wishes_go_the_long_way(heatbrief, at_rest, long_way, tmp_path, monkeypatch):
    survey, out, said = at_rest
    for words in (
        ("--since", out),
        ("--log", tmp_path / "log"),
        ("--summary", tmp_path / "summary"),
        ("--fail-on", "now"),
        ("--out", tmp_path / "elsewhere"),
    ):
        heatbrief("run", survey, "--out", out, *words)
    assert len(long_way) == 5
    monkeypatch.setenv("HEATBRIEF_STEP_SECONDS", "17")
    assert heatbrief("run", survey, "--out", out).out == said.out
    assert len(long_way) == 6


def test_a_level_that_is_reached_keeps_its_code(heatbrief, at_rest, long_way):
    survey, out, _ = at_rest
    first = heatbrief("run", survey, "--out", out, "--fail-on", "watch")
    assert heatbrief("run", survey, "--out", out, "--fail-on", "watch") == first
    assert len(long_way) == 1


def test_a_run_at_work_is_waited_for_by_nobody(heatbrief, at_rest):
    survey, out, _ = at_rest
    with again.Folders(out, "house").lock:
        done = heatbrief("run", survey, "--out", out)
    assert done.code == 2 and "run-at-work" in done.err


def test_what_was_changed_just_now_is_looked_at_again(heatbrief, at_rest, long_way, monkeypatch):
    survey, out, _ = at_rest
    (out / ".heatbrief" / again.FILE).unlink()
    monkeypatch.setattr(again, "SETTLED_NS", 2_000_000_000)
    a_picture(survey).touch()
    for _ in range(2):
        heatbrief("run", survey, "--out", out)
    assert len(long_way) == 2 and not (out / ".heatbrief" / again.FILE).exists()


def test_levels_are_those_of_the_model():
    assert URGENCIES[:-1] == options.LEVELS


def test_the_command_line_reads_in_nothing_heavy():
    code = "import sys, heatbrief.cli.run; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert not {"numpy", "yaml", "pluggy", "heatbrief.model"} & set(done.stdout.split())
