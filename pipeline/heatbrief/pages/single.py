"""One template of this package within the theme's frame, with its style in the page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from heatbrief_site import resource, theme_dir

from heatbrief.site.page import clean
from heatbrief.site.render import extras
from heatbrief.site.words import Words


def single_page(
    template: str,
    title: str,
    name: str,
    foot: str,
    data: Mapping[str, Any],
    invented: bool = False,
    language: str = "en",
) -> str:
    """The text of a page. Every value in `data` is escaped by the template.

    template  file name in this package; name: of the property, or what stands in its place
    language  of the fixed sentences
    """
    from jinja2 import ChoiceLoader, Environment, FileSystemLoader, PackageLoader

    extra = extras(Words(language), foot, invented, inline_css=resource("theme/css/site.css").read_text("utf-8"))
    page = {"meta": {"title": clean(title), "data": clean(dict(data)), "section": ""}, "url": "index.html"}
    with theme_dir() as theme:
        loader = ChoiceLoader([PackageLoader("heatbrief.pages", ""), FileSystemLoader(theme)])
        environment = Environment(loader=loader, autoescape=True)
        return environment.get_template(template).render(
            config={"extra": extra, "site_name": clean(name)}, page=page, nav=None, base_url="."
        )
