"""Arguments and options that several verbs share. Nothing heavy is imported here."""

from __future__ import annotations

from pathlib import Path

import click

surveys_argument = click.argument("surveys", nargs=-1, required=True, type=click.Path(path_type=Path))
out_option = click.option(
    "--out",
    "out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("published"),
    show_default=True,
    help="Folder for results and sites.",
)
since_option = click.option(
    "--since",
    "since",
    type=click.Path(path_type=Path, file_okay=True),
    default=None,
    metavar="DIR",
    help="Say what changed since an earlier report: a results.json, its folder, or a folder of such folders.",
)

LEVELS = ("now", "soon", "plan", "watch")
"""Urgencies that ask for something, as `heatbrief.model.finding` has them: the model takes long to be read in."""
