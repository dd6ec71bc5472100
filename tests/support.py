"""Small helpers that test modules import; fixtures are in conftest.py."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]


def results_of(out: Path, slug: str) -> dict[str, Any]:
    """The results document of a property as plain data."""
    return json.loads((out / slug / "results.json").read_text("utf-8"))


def tree_state(folder: Path) -> dict[str, bytes]:
    """Every file below a folder with its bytes."""
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}
