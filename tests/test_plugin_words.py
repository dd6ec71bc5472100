"""What the texts of our plugins never say, and that every key which an offer refers to exists."""

from __future__ import annotations

import importlib
import re
from collections.abc import Iterator

import pytest
from heatbrief.detect import gate_sources
from heatbrief.physics.sources import load_sources as physics_sources
from heatbrief.registry import Registry, build_registry, load_registry
from support import FORBIDDEN, ROOT, plugin_texts

PLUGINS = ("electrical", "envelope", "plumbing", "vehicle")
OPENING = re.compile(
    r"\b(cap|lift|jack|open|opens|opened|opening|remove|removes|unscrew|take off|cover|covers|unplug|loosen|tighten|"
    r"reach|touch|pull)\b",
    re.IGNORECASE,
)
REFUSAL = re.compile(
    r"\b(not|never|no|nobody|leave|keep|closed|outside|without|licensed|hazard|neither|means? keep away|means stop|"
    r"in a workshop)\b",
    re.IGNORECASE,
)


@pytest.fixture(scope="module", params=PLUGINS)
def plugin(request) -> str:
    return request.param


@pytest.fixture(scope="module")
def offers(plugin) -> Registry:
    """What one plugin offers by itself."""
    return build_registry([(plugin, "here", lambda: importlib.import_module(f"heatbrief_{plugin}"))])


def test_forbidden_words_never_appear(plugin):
    texts = list(plugin_texts(ROOT / "plugins" / f"heatbrief_{plugin}"))
    assert [f"{where}: {text}" for where, text in texts if FORBIDDEN.search(text)] == [] and len(texts) > 200


def test_the_pattern_would_catch_them():
    said = ("this is safe", "It passed.", "code-compliant", "it will fail", "fire will")
    assert all(FORBIDDEN.search(one) for one in said) and not FORBIDDEN.search("safety first")


def test_nothing_is_refused(plugin, offers):
    assert offers.refused == () and offers.steps and set(offers.domains) == {plugin}
    assert all(step.status in ("trial", "stable") and step.summary for step in offers.steps.values())


def test_every_key_exists(plugin, offers):
    installed = load_registry().sources
    known = {**installed, **offers.sources}
    keys = {*known, *physics_sources(), *(one.key for one in gate_sources())}
    for step in offers.steps.values():
        assert set(step.sources) <= keys and set(step.cautions) <= set(offers.cautions), step.name
    for caution in offers.cautions.values():
        assert caution.defer, f"{caution.key} defers to nobody"
        for one in caution.figures:
            assert one.mark in ("seen", "memory", "computed", "common practice"), caution.key
            assert one.mark == known[one.source].mark, caution.key
    for action in offers.actions.values():
        assert set(action.cautions) <= set(offers.cautions) and set(action.after) <= set(offers.actions), action.key
    assert set(offers.domains[plugin].cautions) <= set(offers.cautions)


def test_keys_in_the_code_exist(plugin, offers):
    """Actions and cautions that a check names as literals."""
    for file in (ROOT / "plugins" / f"heatbrief_{plugin}").glob("*.py"):
        for key in re.findall(rf'"({plugin}\.[a-z]+(?:-[a-z]+)+)"', file.read_text(encoding="utf-8")):
            assert key in offers.actions or key in offers.cautions, f"{file.name}: {key}"


def told_to_owners(offers: Registry) -> Iterator[tuple[str, str]]:
    """(key, sentence) of what owners are asked to do, and of every caution."""
    texts = [(one.key, f"{one.title}. {one.does}") for one in offers.actions.values() if one.who == "owner"]
    texts += [(one.key, point) for one in offers.cautions.values() for point in one.points]
    for key, text in texts:
        yield from ((key, one) for one in re.split(r"(?<=[.;])\s", text))


@pytest.mark.parametrize("plugin", ["electrical", "vehicle"], indirect=True)
def test_owners_are_never_told_to_open_or_touch(offers):
    sentences = list(told_to_owners(offers))
    assert sentences
    assert [one for one in sentences if OPENING.search(one[1]) and not REFUSAL.search(one[1])] == []
