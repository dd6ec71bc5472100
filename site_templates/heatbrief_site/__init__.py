"""Theme, fixed sentences and colour map of the published site. Data only."""

from __future__ import annotations

from contextlib import AbstractContextManager
from importlib.resources import as_file, files
from importlib.resources.abc import Traversable
from pathlib import Path


def theme_dir() -> AbstractContextManager[Path]:
    """The folder of the complete MkDocs theme, installed or editable: `with theme_dir() as path: ...`."""
    return as_file(files(__name__) / "theme")


def languages() -> tuple[str, ...]:
    """Codes of the languages that have a file of sentences; a new file in `messages/` is a new language."""
    names = [file.name for file in resource("messages").iterdir()]
    return tuple(sorted(name.removesuffix(".yaml") for name in names if name.endswith(".yaml")))


def resource(name: str) -> Traversable:
    """One file of this package, such as "messages/en.yaml"."""
    return files(__name__).joinpath(*name.split("/"))
