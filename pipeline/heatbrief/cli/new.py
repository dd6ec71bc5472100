"""`heatbrief new FOLDER`."""

from __future__ import annotations

from pathlib import Path

import click

from heatbrief.errors import UserError
from heatbrief.manifest.discover import MANIFEST_NAME
from heatbrief.manifest.template import new_manifest
from heatbrief.store.files import write_atomic


@click.command("new")
@click.argument("folder", type=click.Path(path_type=Path))
def command(folder: Path) -> None:
    """Write FOLDER/survey.yaml from the pictures in it, with questions where something must be filled in."""
    if not folder.is_dir():
        raise UserError.single("folder-missing", folder, "is not a folder", "Name the folder that holds your pictures.")
    path = folder / MANIFEST_NAME
    if path.exists():
        raise UserError.single("manifest-exists", path, "is already there and stays as it is", "Edit it, or move it away first.")
    write_atomic(path, new_manifest(folder).encode("utf-8"))
    click.echo(f"Wrote {path}.\nAnswer its questions (lines that start with #), then: heatbrief check {folder}")
