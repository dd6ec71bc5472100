"""How far a run is, on standard error."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from heatbrief.cli.common import count

if TYPE_CHECKING:
    from rich.progress import Progress as Bar


class Progress:
    """A progress bar on a terminal, a line every tenth elsewhere."""

    def __init__(self, name: str) -> None:
        self.name, self.last = name, -1
        self.bar: Bar | None = None

    def __enter__(self) -> Progress:
        return self

    def __call__(self, done: int, total: int, what: str) -> None:
        """Say that so many jobs of so many are done, and what was done last."""
        if sys.stderr.isatty():
            self._on_terminal(done, total, what)
        elif total and done * 10 // total > self.last:
            self.last = done * 10 // total
            click.echo(f"{self.name}: {done} of {count(total, 'job')} done", err=True)

    def _on_terminal(self, done: int, total: int, what: str) -> None:
        from rich.console import Console
        from rich.markup import escape
        from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

        if self.bar is None:
            self.bar = Progress(
                TextColumn(escape(self.name)),
                BarColumn(),
                TextColumn("{task.completed} of {task.total} jobs"),
                TimeRemainingColumn(),
                TextColumn("{task.fields[what]}"),
                console=Console(stderr=True),
                transient=True,
            )
            self.bar.start()
            self.task = self.bar.add_task("", total=total, what="")
        self.bar.update(self.task, completed=done, what=escape(what))

    def __exit__(self, *error: object) -> None:
        if self.bar is not None:
            self.bar.stop()
