"""Page data, names and templates: nothing a survey says becomes markup."""

from __future__ import annotations

import json

import jinja2
import jinja2.nodes as nodes
import pytest
from heatbrief.site.page import clean, data_line, safe_name, safe_names
from heatbrief_site import theme_dir
from hypothesis import given
from hypothesis import strategies as st


@given(
    st.recursive(
        st.text() | st.booleans() | st.integers(-(10**6), 10**6) | st.floats(allow_nan=False, allow_infinity=False),
        lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    )
)
def test_page_data_reach_mkdocs_as_one_line(value):
    line = data_line({"value": value})
    assert line.endswith(b"\n") and line.count(b"\n") == 1
    assert json.loads(line) == clean({"value": value})


@pytest.mark.parametrize(
    ("text", "left"),
    [("\x7f", ""), ("\ud83d", ""), ("\u2028x", "x"), ("\u202eevil", "evil"), ("\x85", ""), ("a\r\nb", "a\r\nb")]
    + [(text, text) for text in ("---\n", "😀", "1e-05", "2026-07-14", "yes", "\t", "{{ 1 }}")],
)
def test_awkward_text_survives_or_goes(text, left):
    assert json.loads(data_line({"v": text})) == {"v": left}


@given(st.lists(st.text(), max_size=20))
def test_names_are_safe_and_distinct(keys):
    names = safe_names(keys)
    assert set(names) == set(keys)
    assert len(set(names.values())) == len(names)
    for name in names.values():
        assert 0 < len(name) <= 40 and name == name.lower()
        assert set(name) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
        assert name not in {"con", "nul", "aux", "prn", "index", "com1"}


def test_names_keep_what_they_can():
    assert safe_name("Küche — Wand 3") == "kuche-wand-3"
    assert safe_names(["A", "a", "ä"]) == {"A": "a", "a": "a-2", "ä": "a-3"}


def templates() -> list[tuple[str, str]]:
    with theme_dir() as theme:
        return [(path.name, path.read_text("utf-8")) for path in sorted(theme.glob("*.html"))]


def unescaped_outputs(source: str) -> list[int]:
    """Lines with an expression printed outside `{% autoescape true %}`; a block or macro body starts outside again."""
    found = []

    def walk(node: nodes.Node, on: bool) -> None:
        if isinstance(node, nodes.ScopedEvalContextModifier):
            on = any(
                one.key == "autoescape" and isinstance(one.value, nodes.Const) and one.value.value is True
                for one in node.options
            )
        elif isinstance(node, (nodes.Block, nodes.Macro)):
            on = False
        elif isinstance(node, nodes.Output) and not on:
            found.extend(part.lineno for part in node.nodes if not isinstance(part, nodes.TemplateData))
        for child in node.iter_child_nodes():
            walk(child, on)

    walk(jinja2.Environment().parse(source), False)
    return found


@pytest.mark.parametrize(("name", "source"), templates(), ids=lambda value: value if value.endswith(".html") else "")
def test_every_expression_is_escaped(name, source):
    assert unescaped_outputs(source) == []
    allowed = {
        "main.html": ["page.content|safe"],
        "base.html": ["config.extra.inline_css|safe"],
        "portfolio.html": ["config.extra.inline_js|safe"],
    }.get(name, [])
    rest = source
    for one in allowed:
        rest = rest.replace(one, "")
    assert "|safe" not in rest.replace(" ", "") and "Markup" not in rest


def test_the_escape_lint_sees_what_it_should():
    assert unescaped_outputs("{{ a }}") == [1]
    assert unescaped_outputs("{% autoescape true %}{% block b %}{{ a }}{% endblock %}{% endautoescape %}") == [1]
    assert unescaped_outputs("{% autoescape false %}{{ a }}{% endautoescape %}") == [1]
    assert unescaped_outputs("{% block b %}{% autoescape true %}{{ a }}{% endautoescape %}{% endblock %}") == []
