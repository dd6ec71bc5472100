"""Small helpers that test modules import; fixtures are in conftest.py."""

from __future__ import annotations

import ast
import importlib.util
import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest
from heatbrief.testing import run_step

ROOT = Path(__file__).resolve().parents[1]


def results_of(out: Path, slug: str) -> dict[str, Any]:
    """The results document of a property as plain data."""
    return json.loads((out / slug / "results.json").read_text("utf-8"))


def tree_state(folder: Path) -> dict[str, bytes]:
    """Every file below a folder with its bytes."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()
    }


def call(folder: Path, environment: dict[str, str], *words: object) -> subprocess.CompletedProcess[str]:
    """`python -m words...` in a folder."""
    command = [sys.executable, "-m", *map(str, words)]
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)


def install_beside(project: Path, target: Path) -> dict[str, str]:
    """Install a plugin project into a folder of its own; returns the environment in which heatbrief finds it."""
    build_here = importlib.util.find_spec("hatchling") is not None
    words = ["pip", "install", "--quiet", "--no-deps", "--target", target]
    words += ["--no-build-isolation", "--no-index"] if build_here else []
    done = call(project, dict(os.environ), *words, project)
    if done.returncode and not build_here:
        pytest.skip(f"hatchling is not installed here and pip could not fetch it: {done.stderr[-300:]}")
    assert done.returncode == 0, done.stderr
    path = os.pathsep.join(filter(None, [str(target), os.environ.get("PYTHONPATH")]))
    return {**os.environ, "PYTHONPATH": path, "PYTHONDONTWRITEBYTECODE": "1"}


def run_held(step: Any, subject: Any, settings: Any, context: Any) -> Any:
    """`run_step` with settings that are made already; its output is held to the contract."""
    given = step.settings() if settings is None else settings
    return run_step(step, subject, context, **{one.name: getattr(given, one.name) for one in fields(given)})


PUBLIC = {
    "heatbrief.api",
    "heatbrief.detect",
    "heatbrief.model",
    "heatbrief.physics",
    "heatbrief.errors",
    "heatbrief.testing",
}
"""What a plugin project may import of heatbrief."""


def private_imports(project: Path) -> list[str]:
    """Imports of heatbrief in a project that are not public."""
    found = []
    for path in sorted(project.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            module = getattr(node, "module", None) if isinstance(node, ast.ImportFrom) else None
            if module and module.startswith("heatbrief.") and ".".join(module.split(".")[:2]) not in PUBLIC:
                found.append(f"{path.name}: {module}")
    return found


FORBIDDEN = re.compile(
    r"\b(safe|safely|passed|code[- ]compliant|compliant|will fail|fire will|catch fire|certif(y|ied) as)\b",
    re.IGNORECASE,
)
"""What no text of a plugin says (domains dossier 1.5): never "safe", "passed", "code-compliant", "will fail", "fire will"."""


def plugin_texts(folder: Path) -> Iterator[tuple[str, str]]:
    """Every string of the plugin that could reach a reader: literals of its modules without docstrings, and its YAML,
    each with its place.
    """
    for path in sorted(folder.glob("*.py")):
        tree = ast.parse(path.read_text("utf-8"))
        docs = {
            id(node.body[0].value)
            for node in ast.walk(tree)
            if isinstance(node, (ast.Module, ast.FunctionDef, ast.ClassDef)) and ast.get_docstring(node, False)
        }
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs:
                yield f"{path.name}:{node.lineno}", node.value
    for path in sorted(folder.glob("*.yaml")):
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1):
            yield f"{path.name}:{number}", line
