"""The comparison that lies beside results: read back, and told from one of other results."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

from heatbrief.errors import UserError
from heatbrief.model.comparison import FORMAT, Comparison
from heatbrief.model.results import ResultsDocument
from heatbrief.store.codec import to_model
from heatbrief.store.results import results_text

FOLDER = "compare"
"""Name of the comparison's folder below a property's."""
FILE = "comparison.json"


def results_digest(results: ResultsDocument) -> str:
    """SHA-256 of a document as it is stored."""
    return hashlib.sha256(results_text(results).encode("utf-8")).hexdigest()


def read_comparison(published: Path, results: ResultsDocument) -> Comparison | None:
    """The comparison with an earlier survey in the folder of a property; None without one, or when it is of other results.

    Raises UserError "comparison-damaged" for a file that is none.
    """
    file = published / FOLDER / FILE
    try:
        raw = json.loads(file.read_text("utf-8"))
    except FileNotFoundError:
        return None
    except (OSError, ValueError) as error:
        raise _damaged(file, str(error)) from error
    side = raw.get("after") if isinstance(raw, dict) else None
    if not isinstance(side, dict):
        raise _damaged(file, "it is no comparison")
    if side.get("results") != results_digest(results) or raw.get("format") != FORMAT:
        return None
    try:
        return to_model(raw, Comparison)
    except ValueError as error:
        raise _damaged(file, str(error)[:300]) from error


def _damaged(file: Path, said: str) -> UserError:
    return UserError.single(
        "comparison-damaged",
        file,
        f"cannot be used: {said}",
        "Run `heatbrief compare` again, or remove this folder.",
    )
