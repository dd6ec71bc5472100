"""Whatever stands in a file, the loader returns a manifest or raises UserError with places."""

from __future__ import annotations

import re
import sys

import pytest
import yaml
from heatbrief.errors import UserError
from heatbrief.manifest.load import load_manifest
from heatbrief.manifest.nodes import Problems
from heatbrief.manifest.reader import parse_yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from .fake_registry import REGISTRY

KEYS = st.sampled_from(
    [
        "format",
        "property",
        "name",
        "inspect",
        "conditions",
        "inside_air",
        "humidity",
        "thermograms",
        "file",
        "id",
        "page",
        "size",
        "scale",
        "kelvin_per_count",
        "values",
        "zero_at",
        "regions",
        "thermogram",
        "outline",
        "box",
        "line",
        "point",
        "facts",
        "load",
        "service",
        "stages",
        "detect",
        "publish",
        "use",
        "on",
        "with",
        "smallest",
        "table",
        "words",
        "cost",
        "prices",
        "currency",
        "camera",
        "field_of_view",
        "band",
        "defaults",
        "material",
        "taken",
        "visible",
        "notes",
        "date",
        "include",
        "units",
    ]
) | st.text(max_size=6)
VALUES = (
    st.sampled_from(
        [
            "1",
            1,
            "24 degC",
            "24",
            "45 %",
            "a.tiff",
            "../a",
            "*",
            "[",
            "USD",
            "0.2 EUR/kWh",
            "envelope",
            "envelope.insulation",
            "heatbrief.site",
            "clear",
            "plaster",
            "2026-07-14",
            "degC",
            "a",
            "",
            None,
            True,
            "no",
            ".nan",
            float("inf"),
            -1,
            0.5,
            "con",
            "strict",
            "12 A",
            "x" * 3000,
        ]
    )
    | st.text(max_size=8)
    | st.integers()
    | st.floats()
)
TREES = st.recursive(
    VALUES, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=6), max_leaves=25
)
SECTIONS = st.fixed_dictionaries(
    {"format": st.just(1), "property": TREES, "thermograms": st.lists(TREES, max_size=3)},
    optional={
        "regions": TREES,
        "stages": st.dictionaries(st.sampled_from(["ingest", "detect", "publish", "estimate"]), TREES),
        "prices": TREES,
        "camera": TREES,
        "defaults": TREES,
        "conditions": TREES,
        "include": VALUES,
        "currency": VALUES,
    },
)
PLACE = re.compile(r"survey\.yaml:\d+:\d+$")


def check(path):
    try:
        load_manifest(path, REGISTRY)
    except UserError as error:
        assert error.problems
        for problem in error.problems:
            assert PLACE.search(problem.where) and problem.code and problem.message
            assert all(one.isprintable() for one in problem.message + problem.remedy)


@settings(
    max_examples=250, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(st.one_of(TREES, SECTIONS))
def test_random_trees(tmp_path, tree):
    path = tmp_path / "survey.yaml"
    path.write_text(yaml.safe_dump(tree, allow_unicode=True), encoding="utf-8")
    check(path)


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(max_size=60) | st.text(alphabet="ab:-[]{}&*!|>'\"%@`# \n\t,?<", max_size=60))
def test_random_text(tmp_path, text):
    path = tmp_path / "survey.yaml"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    check(path)


@given(st.binary(max_size=60))
@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_random_bytes(tmp_path, data):
    path = tmp_path / "survey.yaml"
    path.write_bytes(data)
    check(path)


@pytest.mark.parametrize(
    "text",
    [
        "[" * 100_000,
        "{a: " * 100_000,
        "- " * 100_000,
        "? " * 50_000,
        "a: &a\n" * 1000,
        "'" * 9999,
        "!" * 9999,
        "&a " * 999,
    ],
)
def test_deep_and_odd_text_neither_crashes_nor_hangs(tmp_path, text):
    path = tmp_path / "survey.yaml"
    path.write_text(text)
    with pytest.raises(UserError):
        load_manifest(path, REGISTRY)


@pytest.mark.parametrize("links", [55, sys.getrecursionlimit()])
def test_nesting_by_anchors_does_not_exhaust_the_stack(tmp_path, links):
    lines = ["k0: &a0 [x]"] + [f"k{n}: &a{n} [*a{n - 1}]" for n in range(1, links)]
    path = tmp_path / "survey.yaml"
    path.write_text("\n".join(lines))
    with pytest.raises(UserError) as caught:
        load_manifest(path, REGISTRY)
    assert caught.value.problems[0].code == "yaml-alias"


def test_positions_agree_with_the_pure_python_reader(tmp_path):
    """The C parser's positions are those of PyYAML's own parser, also after wide characters."""
    text = "a: {ü: [雪, 𝄞x, 'q'], b: 1}\nlist:\n  - x: |\n      block\n    y: \"z\"\n"
    ours = parse_yaml(text, "f", Problems())
    theirs = yaml.compose(text, Loader=yaml.SafeLoader)

    def places(node):
        if hasattr(node, "entries"):
            return [
                (node.line, node.column),
                *[one for key, value in node.entries.values() for one in (*places(key), *places(value))],
            ]
        if hasattr(node, "items"):
            return [(node.line, node.column), *[one for item in node.items for one in places(item)]]
        return [(node.line, node.column)]

    def expected(node):
        own = [(node.start_mark.line + 1, node.start_mark.column + 1)]
        if isinstance(node, yaml.MappingNode):
            return own + [one for key, value in node.value for one in (*expected(key), *expected(value))]
        if isinstance(node, yaml.SequenceNode):
            return own + [one for item in node.value for one in expected(item)]
        return own

    assert places(ours) == expected(theirs)


HEAD = "format: 1\nproperty: X\n"
LARGE = {
    "one picture": HEAD + "thermograms:\n" + "- a\n" * 300_000,
    "pages": HEAD + "thermograms:\n" + "".join(f"- {{file: a, page: {n % 9}}}\n" for n in range(15_000)),
    "unknown units": HEAD + "thermograms: [a]\nprices:\n" + "".join(f" p{n}: 1 USD/u{n}\n" for n in range(60_000)),
    "unknown regions": HEAD
    + "thermograms:\n"
    + "".join(f"- t{n}\n" for n in range(9_000))
    + "regions:\n"
    + "".join(f"- {{name: r, thermogram: x{n}}}\n" for n in range(9_000)),
    "long texts": HEAD + "thermograms: [" + "a" * 2_000_000 + "]\n" + "b" * 2_000_000 + ": 1\n",
    "values": "a: [" + "1," * 1_200_000 + "]",
}


@pytest.mark.parametrize("name", LARGE)
def test_large_and_wrong_files_are_refused(tmp_path, name):
    path = tmp_path / "survey.yaml"
    path.write_text(LARGE[name])
    with pytest.raises(UserError) as caught:
        load_manifest(path, REGISTRY)
    assert len(str(caught.value)) < 1_000_000
