"""What the two static tools hold: strict types, documented public parts; and no sentence that falls out of a message."""

from __future__ import annotations

import ast
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGES = ("pipeline", "plugins", "site_templates")
MOST_IGNORED = 9


def sources() -> list[Path]:
    return sorted(path for name in PACKAGES for path in (ROOT / name).rglob("*.py"))


def run(*command: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False)


@pytest.fixture(scope="module")
def cache(tmp_path_factory) -> str:
    """A folder for what mypy remembers between the two runs."""
    return str(tmp_path_factory.mktemp("types"))


def test_types_are_strict(cache):
    """`[tool.mypy]` in pyproject.toml names the files and switches everything on."""
    pytest.importorskip("mypy")
    done = run("mypy", "--cache-dir", cache)
    assert done.returncode == 0, done.stdout + done.stderr


def test_lint_and_docstrings(tmp_path):
    """`[tool.ruff]` in pyproject.toml; among its rules that public modules, classes, functions and methods are documented."""
    pytest.importorskip("ruff")
    done = run("ruff", "check", "--cache-dir", str(tmp_path / "cache"), *PACKAGES, "tests")
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_type_checker_would_see_a_fault(tmp_path, cache):
    """The settings are in force: a call without types and one with a wrong type are refused, also through the public names."""
    pytest.importorskip("mypy")
    fault = tmp_path / "fault.py"
    fault.write_text("from heatbrief.model import Quantity\n\n\ndef f(x):\n    return Quantity('one', 2)\n", "utf-8")
    done = run(
        "mypy", "--cache-dir", str(tmp_path / "cache"), "--config-file", str(ROOT / "pyproject.toml"), str(fault)
    )
    assert done.returncode == 1 and "[no-untyped-def]" in done.stdout


def test_few_types_are_waved_through_and_each_says_why():
    waved = [
        (path, line.strip())
        for path in sources()
        for line in path.read_text("utf-8").splitlines()
        if "# type: ignore" in line
    ]
    assert len(waved) <= MOST_IGNORED
    for path, line in waved:
        after = line.partition("# type: ignore")[2]
        assert after.startswith("[") and after.partition("]")[2].strip().startswith("# "), f"{path}: {line}"


def unreachable(body: list[ast.stmt]) -> list[ast.stmt]:
    return [
        later for one, later in pairwise(body) if isinstance(one, ast.Return | ast.Raise | ast.Continue | ast.Break)
    ]


@pytest.mark.parametrize("name", PACKAGES)
def test_nothing_stands_behind_a_return(name):
    """The second half of a message on a line of its own, without brackets around both, would be lost in silence."""
    seen = 0
    for path in sorted((ROOT / name).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            for part in ("body", "orelse", "finalbody"):
                body = getattr(node, part, None)
                seen += isinstance(body, list)
                lost = unreachable(body) if isinstance(body, list) else []
                assert not lost, f"{path}:{lost[0].lineno}: {ast.unparse(lost[0])}"
    assert seen
