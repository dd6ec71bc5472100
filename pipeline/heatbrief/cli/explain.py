"""`heatbrief explain CODE`."""

from __future__ import annotations

import difflib
import inspect
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import Any

import click

from heatbrief.api import Step
from heatbrief.api.hook_pages import hook_pages, page_text
from heatbrief.cli.common import registry
from heatbrief.codes import load_codes
from heatbrief.errors import UserError
from heatbrief.model.caution import STANDING_LINE, Caution
from heatbrief.model.results import SourceRecord
from heatbrief.registry import Registry


@click.command("explain")
@click.argument("code")
def command(code: str) -> None:
    """Explain a message code, domain, check, fact, caution, action, source, rival or hook in full."""
    known = _known(registry())
    if code not in known:
        near = difflib.get_close_matches(code, known, 3, 0.5)
        raise UserError.single(
            "unknown-code",
            code,
            "nothing is known by this name",
            f"Did you mean {' or '.join(near)}?"
            if near
            else "`heatbrief plugins` lists checks; messages show their code in brackets.",
        )
    click.echo(known[code]())


def _known(plugins: Registry) -> Mapping[str, Callable[[], str]]:
    groups: tuple[tuple[Mapping[str, Any], Callable[[Any], str]], ...] = (
        (load_codes(), lambda one: f"{one.title}\n\nWhy: {one.cause}\nWhat to do: {one.remedy}"),
        (plugins.sources, lambda one: f"{one.text}\nMark: {one.mark}" + (f"\n{one.url}" if one.url else "")),
        (plugins.domains, lambda one: f"{one.title}\n{one.summary}\nCautions: {', '.join(one.cautions) or 'none'}"),
        (
            plugins.actions,
            lambda one: f"{one.title}\n{one.does}\nWho: {one.who}\nAfter: {', '.join(one.after) or 'nothing'}",
        ),
        (plugins.cautions, _caution),
        (hook_pages(), page_text),
        (
            plugins.rivals,
            lambda one: f"{one.name}: {one.explanation}\nWeighed in: {', '.join(one.checks) or 'checks that name it'}",
        ),
        (plugins.page_parts, lambda one: f"{one.name}: {one.summary}"),
        (plugins.publishers, lambda one: f"{one.name}: {one.summary}"),
        (plugins.steps, partial(_step, plugins.sources)),
    )
    return {name: partial(tell, one) for group, tell in groups for name, one in group.items()}


def _caution(one: Caution) -> str:
    figures = [f"- {figure.text} ({figure.source}; {figure.mark})" for figure in one.figures]
    return "\n".join(
        [
            one.title,
            one.applies,
            "",
            *(f"- {point}" for point in one.points),
            *figures,
            f"Takes precedence: {'; '.join(one.defer)}" if one.defer else "",
            STANDING_LINE,
        ]
    )


def _step(sources: Mapping[str, SourceRecord], step: Step) -> str:
    from heatbrief.model.settings import setting_fields, spec_of

    lines = [
        f"{step.name}, version {step.version}, {step.status}",
        step.summary,
        f"Stage: {step.stage}; looks at {'all findings' if step.stage == 'estimate' else f'one {step.scope} at a time'}.",
        f"Written in: {_place(step.run)}",
    ]
    if step.shows:
        lines.append(f"Runs on pictures or regions that show: {', '.join(step.shows)}")
    lines += [
        f"Setting {one.name}{_unit(spec_of(one).unit)}: {spec_of(one).help} ({_default(one.default)})"
        for one in setting_fields(step.settings)
    ]
    lines += [f"Fact {fact.name}{_unit(fact.unit)}: {fact.help}" for fact in step.facts]
    lines += [
        f"Source {key}: {sources[key].text} ({sources[key].mark})" if key in sources else f"Source {key}"
        for key in step.sources
    ]
    return "\n".join(lines)


def _place(function: Callable[..., Any]) -> str:
    """The file and the function of a step, the file from here when it lies below."""
    written = inspect.unwrap(function)
    try:
        file = Path(inspect.getfile(written))
    except TypeError:  # made by a library: only its name is known
        return getattr(written, "__qualname__", type(written).__qualname__)
    here = Path.cwd()
    shown = file.relative_to(here) if file.is_relative_to(here) else file
    return f"{shown}, function {getattr(written, '__qualname__', '')}"


def _default(value: Any) -> str:
    if value in (None, "", ()):
        return "left open"
    return f"default {', '.join(map(str, value)) if isinstance(value, tuple) else value}"


def _unit(unit: str | None) -> str:
    return f" [{unit}]" if unit else ""
