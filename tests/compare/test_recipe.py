"""The recipe for a job of continuous integration in DEVELOPERS.md does what it says."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from support import ROOT, tree_state

RECIPE = (ROOT / "DEVELOPERS.md").read_text("utf-8").split("<!-- recipe -->\n```sh\n")[1].split("```")[0]


@pytest.fixture
def job(tmp_path):
    """Run the recipe where the surveys lie; heatbrief is there already."""
    lines = [line for line in RECIPE.split("\n") if not line.startswith("pip install")]
    assert len(lines) == RECIPE.count("\n")

    def run() -> subprocess.CompletedProcess[str]:
        path = os.pathsep.join([str(Path(sys.executable).parent), os.environ.get("PATH", "")])
        return subprocess.run(
            ["sh", "-c", "\n".join(lines)],
            cwd=tmp_path,
            env={**os.environ, "PATH": path},
            capture_output=True,
            text=True,
            check=False,
        )

    return run


def test_first_run_fails_on_urgency_the_second_reuses_and_compares(job, repair, tmp_path):
    pair = next(one for one in repair.pairs_of(40) if one.domain == "electrical")
    repair.survey_folder([pair], False, tmp_path / "surveys" / "house")
    first = job()
    assert first.returncode == 1, first.stderr
    assert not list(tmp_path.glob("published/*/compare"))
    before = tree_state(tmp_path / "published")
    second = job()
    assert second.returncode == 1 and "all results reused" in second.stdout and "1 unchanged" in second.stdout
    after = tree_state(tmp_path / "published")
    assert {
        name
        for name in after
        if before.get(name) != after[name] and not {"compare", "since", "site", ".heatbrief"} & set(name.split("/"))
    } == set()
    assert any(name.endswith("site/changes.html") for name in after)
    third = job()
    assert third.returncode == 1
    again = tree_state(tmp_path / "published")
    assert {name for name in again if after.get(name) != again[name] and ".heatbrief" not in name} == set()
    assert any(name.endswith("compare/index.html") for name in after)


def test_a_manifest_that_must_be_corrected_stops_it(job, tmp_path):
    (tmp_path / "surveys" / "house").mkdir(parents=True)
    (tmp_path / "surveys" / "house" / "survey.yaml").write_text("format: 1\nnothing: here\n", "utf-8")
    done = job()
    assert done.returncode == 2 and not (tmp_path / "published").exists()
