"""The `heatbrief` command: one file per verb. The only place that prints and exits.

Verbs are imported when they are called, so that `heatbrief --help` stays quick.
"""

from __future__ import annotations

import difflib
import gc
import importlib
import os
import sys
from collections.abc import Mapping
from dataclasses import replace

import click

from heatbrief import __version__
from heatbrief.errors import ExitCode, Problem, UserError

for _library in (
    "OPENBLAS",
    "OMP",
    "MKL",
):  # before numpy is loaded: workers share the cores, and threads only get in their way
    os.environ.setdefault(f"{_library}_NUM_THREADS", "1")

VERBS: Mapping[str, str] = {
    "new": "write a manifest from a folder of pictures, ready to edit",
    "check": "look at manifests, inputs and survey conditions; write nothing",
    "plan": "say what a run would do, and why each part is stale",
    "run": "analyse surveys and publish their sites",
    "publish": "write the site again from stored results alone",
    "compare": "say what became of each finding, from two surveys of one property",
    "plugins": "list checks, readers, calculators and their state, or start a plugin project",
    "schema": "print the JSON Schema of the manifest for editors",
    "explain": "explain a message code, check, caution or source in full",
}


class _Verbs(click.Group):
    """Imports a verb's module when it is used."""

    def list_commands(self, context: click.Context) -> list[str]:
        return list(VERBS)

    def get_command(self, context: click.Context, name: str) -> click.Command | None:
        if name not in VERBS:
            near = difflib.get_close_matches(name, VERBS, 1)
            context.fail(
                f"no such command: {name!r}"
                + (f"; did you mean {near[0]!r}?" if near else f". There are: {', '.join(VERBS)}")
            )
        command: click.Command = importlib.import_module(f"heatbrief.cli.{name}").command
        return command

    def format_commands(self, context: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(VERBS.items()))


@click.group(cls=_Verbs, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="heatbrief")
@click.option("--debug", is_flag=True, help="Show tracebacks of failures.")
@click.pass_context
def heatbrief(context: click.Context, debug: bool) -> None:
    """From a folder of thermal pictures to a repair brief: what is wrong, how sure, how bad, what to do first."""
    context.obj = {"debug": debug}


def main(arguments: list[str] | None = None) -> None:
    """Entry point. Turns problems into messages and exit codes."""
    arguments = sys.argv[1:] if arguments is None else arguments
    gc.set_threshold(1_000_000, 20, 100)  # many small lasting objects: searching them for cycles takes a third of a run
    try:
        code = heatbrief.main(arguments, prog_name="heatbrief", standalone_mode=False)
        sys.exit(int(code) if isinstance(code, int) else ExitCode.DONE)
    except UserError as error:
        for problem in error.problems:
            tell(problem)
        count = len(error.problems)
        click.echo(
            f"{count} problem{'s' if count != 1 else ''}. `heatbrief explain {error.problems[0].code}` says more.",
            err=True,
        )
        _reraise_for_debug(arguments)
        sys.exit(ExitCode.USER_ERROR)
    except click.ClickException as error:
        _tell_usage(error)
        sys.exit(ExitCode.USER_ERROR)
    except click.Abort:
        click.echo("stopped; what was done so far is remembered and will not be computed again", err=True)
        sys.exit(130)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(ExitCode.DONE)
    except Exception as error:
        if "--debug" in arguments:
            raise
        remedy = "This is a fault of heatbrief or of a plugin. Run again with `heatbrief --debug ...` and report what it prints."
        tell(Problem("", "internal", f"{type(error).__name__}: {error}", remedy))
        sys.exit(70)


def tell(problem: Problem, kind: str = "error") -> None:
    """A problem on standard error: with its remedy below it on a terminal, all in one line elsewhere."""
    from heatbrief.manifest.nodes import printable  # what stands in a file must not steer the terminal

    if not sys.stderr.isatty() and problem.remedy and not problem.message.endswith((".", "?", "!", ":")):
        problem = replace(problem, message=problem.message + ".")
    where, message, remedy = (
        "\n".join(printable(line) for line in text.split("\n"))
        for text in (problem.where, problem.message, problem.remedy)
    )
    problem = Problem(where, problem.code, message, remedy)
    text = str(problem).replace("error[", f"{kind}[", 1)
    click.echo(text if sys.stderr.isatty() else " ".join(text.split()), err=True)


def _tell_usage(error: click.ClickException) -> None:
    """A command line that cannot be understood: as click says it on a terminal, in one line with a code elsewhere."""
    if sys.stderr.isatty():
        error.show()
        return
    context = getattr(error, "ctx", None)
    path = context.command_path if context is not None else "heatbrief"
    tell(Problem(path, "usage", error.format_message(), f"`{path} --help` shows what it takes."))


def _reraise_for_debug(arguments: list[str]) -> None:
    if "--debug" in arguments:
        raise
