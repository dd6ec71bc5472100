"""From what stands on a command line to manifests."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from heatbrief.errors import Problem, UserError
from heatbrief.manifest.names import slug
from heatbrief.manifest.nodes import shown
from heatbrief.manifest.schema import Manifest

MANIFEST_NAME = "survey.yaml"
SUFFIXES = (".yaml", ".yml")


def find_surveys(paths: Sequence[Path]) -> list[Path]:
    """Manifests named by paths: a manifest, a folder that holds `survey.yaml`, or a folder of such folders (sorted).

    A manifest named twice counts once. Raises UserError naming every path that leads to none.
    """
    found: dict[Path, Path] = {}
    problems: list[Problem] = []
    for path in map(Path, paths):
        try:
            for manifest in _manifests_of(path):
                found.setdefault(manifest.resolve(), manifest)
        except UserError as error:
            problems.extend(error.problems)
    if problems:
        raise UserError(problems)
    if not found:
        raise UserError.single("no-survey", "", "no survey is named", f"Name a folder that holds {MANIFEST_NAME}.")
    return list(found.values())


def _manifests_of(path: Path) -> list[Path]:
    try:
        if path.is_dir():
            return _in_folder(path)
        if path.is_file():
            if path.suffix.lower() in SUFFIXES:
                return [path]
            raise UserError.single(
                "not-a-manifest",
                path,
                "this file is not a manifest",
                f"Name a {MANIFEST_NAME}, or the folder that holds it.",
            )
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise UserError.single(
            "cannot-read", path, f"this cannot be read: {reason}", "Check the name and the permissions."
        ) from error
    raise UserError.single("path-missing", path, "there is no such file or folder", "Check the path.")


def _in_folder(folder: Path) -> list[Path]:
    own = folder / MANIFEST_NAME
    if own.is_file():
        return [own]
    below = sorted(
        one / MANIFEST_NAME
        for one in folder.iterdir()
        if not one.name.startswith(".") and (one / MANIFEST_NAME).is_file()
    )
    if below:
        return below
    what = (
        "the folder is empty"
        if not any(folder.iterdir())
        else f"there is no {MANIFEST_NAME} in this folder or the folders in it"
    )
    raise UserError.single("no-survey", folder, what, f"Write one with `heatbrief new {folder}`.")


def check_unique_properties(manifests: Iterable[Manifest]) -> None:
    """Raise UserError when two properties would be published under one name."""
    first: dict[str, Manifest] = {}
    problems = []
    for manifest in manifests:
        known = first.setdefault(slug(manifest.property.name), manifest)
        if known is not manifest:
            problems.append(
                Problem(
                    str(manifest.path),
                    "two-properties",
                    f"two properties with one name: {shown(manifest.property.name)} here and "
                    f"{shown(known.property.name)} in {known.path} "
                    f"would both be published as '{slug(manifest.property.name)}'",
                    "Give one of them another name, or run them with different --out folders.",
                )
            )
    if problems:
        raise UserError(problems)
