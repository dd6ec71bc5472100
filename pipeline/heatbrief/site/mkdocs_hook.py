"""What MkDocs calls while it builds: pages come from standard input as JSON instead of from files.

First line: what all templates see. Second: the pages. Then the data of each page, in the order in which they are built.
For each page that is begun its address goes to standard output; the one before it has been written by then.
"""

from __future__ import annotations

import inspect
import json
import sys
from typing import Any

from jinja2 import Environment, Undefined
from markupsafe import Markup, escape
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import BuildError
from mkdocs.structure.files import File, Files, InclusionLevel
from mkdocs.structure.pages import Page
from mkdocs.structure.toc import TableOfContents

_FIRST = ("base.html", "parts.html", "thermogram.html", "viewer.html")
"""Templates of the pages of pictures, which nearly every run draws anew."""
_heads: dict[str, dict[str, Any]] = {}


def _line() -> Any:
    line = sys.stdin.buffer.readline()
    if not line.endswith(b"\n"):
        raise BuildError("the pages ended too early")
    return json.loads(line)


class _Drawn(Page):
    """A page that is all data and template: there is no Markdown to convert."""

    def read_source(self, config: MkDocsConfig) -> None:
        self.markdown, self.meta = "", {}

    def render(self, config: MkDocsConfig, files: Files) -> None:
        self.content, self.toc = "", TableOfContents([])
        self.present_anchor_ids = set()


class _Plain(Environment):
    """Templates see plain data: what stands in a mapping is taken from there, without asking for an attribute first."""

    def getattr(self, obj: Any, attribute: str) -> Any:
        """The entry or attribute of that name."""
        if type(obj) is dict and attribute in obj:
            return obj[attribute]
        return super().getattr(obj, attribute)


class _Misspelt(Undefined):
    """A name that a page does not have may be asked for, not shown: a misspelt one would leave a hole nobody sees."""

    holes = False
    """Whether holes are right: while a page without data, which stays as it was, is run through."""

    def __str__(self) -> str:
        if self.holes:
            return ""
        raise BuildError(f"{_place()}: {self._undefined_message}")


def _place() -> str:
    """The innermost template at work, and its line."""
    frame = inspect.currentframe()
    while frame is not None:
        template = frame.f_globals.get("__jinja_template__")
        if template is not None:
            return f"{template.name}, line {template.get_corresponding_lineno(frame.f_lineno)}"
        frame = frame.f_back
    return "a template"


def named(text: str) -> Markup:
    """A sentence, escaped; a name that stands between backquotes in it, as it is written in a manifest, is set as code."""
    pieces = str(text).split("`")
    if len(pieces) == 1 or len(pieces) % 2 == 0:
        return escape(text)
    return Markup().join(Markup("<code>{}</code>").format(one) if at % 2 else one for at, one in enumerate(pieces))


def ours(env: Environment) -> Environment:
    """Have templates look in data first, refuse to show what is not there, and know our filters."""
    env.__class__ = _Plain
    env.undefined = _Misspelt
    env.filters["named"] = named
    return env


def on_config(config: MkDocsConfig) -> MkDocsConfig:
    """Read some templates while the pages are still being thought out, then take in what all of them see."""
    env = ours(config.theme.get_env())
    for name in _FIRST:
        env.get_template(name)
    config.theme.get_env = lambda: env  # type: ignore[method-assign]  # MkDocs asks for them when it knows all pages
    config.extra.update(_line())
    return config


def on_files(files: Files, *, config: MkDocsConfig) -> Files:
    """Take in which pages there are."""
    for head in _line():
        level = InclusionLevel.INCLUDED if head["nav"] else InclusionLevel.NOT_IN_NAV
        file = File.generated(config, head["source"], content="", inclusion=level)
        file.page = _Drawn(head["nav"] or head["title"], file, config)
        files.append(file)
        _heads[head["source"]] = head
    return files


def on_page_markdown(markdown: str, *, page: Page, config: MkDocsConfig, files: Files) -> str:
    """Say by which template a page is drawn."""
    head = _heads[page.file.src_uri]
    page.meta = {name: head[name] for name in ("template", "title", "section") if head["drawn"]} | {"data": {}}
    return markdown


def on_page_context(context: Any, *, page: Page, config: MkDocsConfig, nav: Any) -> Any:
    """Take in the data of the page that is built now."""
    _Misspelt.holes = not _heads[page.file.src_uri]["drawn"]
    if not _Misspelt.holes:
        sys.stdout.write(f"{page.file.src_uri}\n")
        sys.stdout.flush()
        page.meta["data"] = _line()
    return context


def on_post_page(output: str, *, page: Page, config: MkDocsConfig) -> str:
    """A page that stays as it was is not written; it is only there for the navigation."""
    page.meta = {}  # its data are no longer needed
    return output if _heads[page.file.src_uri]["drawn"] else ""
