"""What several verbs share: loading surveys, options, the words of a summary."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from heatbrief.cli import tell
from heatbrief.errors import Problem, UserError
from heatbrief.manifest.discover import check_unique_properties, find_surveys
from heatbrief.manifest.load import load_manifest
from heatbrief.manifest.schema import Manifest
from heatbrief.registry import Registry, load_registry


def registry() -> Registry:
    """All installed plugins; what was refused is said once on standard error."""
    loaded = load_registry()
    for problem in loaded.refused:
        tell(problem, "warning")
    return loaded


def load_all(surveys: Sequence[Path], plugins: Registry, *, pictures_required: bool = True) -> list[Manifest]:
    """Every manifest, or all problems of all of them in one UserError."""
    problems: list[Problem] = []
    manifests: list[Manifest] = []
    for path in find_surveys(surveys):
        try:
            manifests.append(load_manifest(path, plugins, pictures_required=pictures_required))
        except UserError as error:
            problems.extend(error.problems)
    if problems:
        raise UserError(problems)
    check_unique_properties(manifests)
    return manifests


def count(number: int, noun: str) -> str:
    """ "1 picture", "2 pictures"."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
