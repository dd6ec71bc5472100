"""Files that settings name: their digests for keys, and their texts for the step that is called."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any

from heatbrief.api.context import Context
from heatbrief.errors import StepError
from heatbrief.store.keys import digest_of

MOST_BYTES = 64_000_000
MISSING = "missing"


def named_files(settings: Any) -> tuple[Path, ...]:
    """The paths among the settings of a step, as written in the manifest."""
    if not is_dataclass(settings):
        return ()
    return tuple(value for one in fields(settings) if isinstance(value := getattr(settings, one.name), Path))


def digest_parts(settings: Any, folder: Path, digests: Mapping[Path, str]) -> dict[str, str]:
    """The part "files" of a key: names and contents of the files that the settings name; empty without any."""
    found = {one.as_posix(): digests.get(folder / one, MISSING) for one in named_files(settings)}
    return {"files": digest_of(found)} if found else {}


def with_files(context: Context, settings: Any, folder: Path) -> Context:
    """The context with the texts of those files. Raises StepError for one that is missing, too large or no text."""
    texts = {one.as_posix(): _text(folder / one, one.as_posix()) for one in named_files(settings)}
    return replace(context, files=texts) if texts else context


def _text(path: Path, name: str) -> str:
    remedy = f"Correct the path {name}, or put the file there; it is looked for below the folder of the manifest."
    try:
        with path.open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        raise StepError(
            "named-file", f"the file {name} cannot be read: {getattr(error, 'strerror', None) or error}.", remedy
        ) from error
    if len(data) > MOST_BYTES:
        raise StepError(
            "named-file", f"the file {name} is larger than {MOST_BYTES // 10**6} MB.", "Name a smaller file."
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")  # older weather files write names of places so; their numbers are plain
