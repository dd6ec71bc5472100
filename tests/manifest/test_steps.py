"""Steps of stages and shared settings: what is found, and what is said of what is not."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from heatbrief.api import Step
from heatbrief.manifest.steps import offers

from .fake_registry import REGISTRY, run
from .test_load import load, with_pictures
from .test_price_book import codes as coded


def codes(folder, more, registry=REGISTRY):
    return [(code, message) for code, _, message in coded(folder, more, registry)]


def test_a_stage_has_its_own_steps():
    assert list(offers(REGISTRY, "detect")) == ["envelope.insulation"] and list(offers(REGISTRY, "ingest")) == [
        "heatbrief.tiff"
    ]
    assert list(offers(REGISTRY, "publish")) == ["heatbrief.site"] and offers(REGISTRY, "calibrate") == {}


@pytest.mark.parametrize(
    ("more", "code", "word"),
    [
        ("stages: {detect: [heatbrief.tiff]}", "wrong-stage", "belongs to the stage ingest, not detect"),
        ("stages: {detect: [heatbrief.site]}", "wrong-stage", "belongs to the stage publish"),
        ("stages: {detect: [envelope.roof]}", "unknown-step", "'envelope.roof' is not a step"),
        ("stages: {detect: [pool.leak]}", "unknown-plugin", "'pool' is not installed"),
        ("stages: {detect: [{use: envelope.insulation, on: {rom: x}}]}", "unknown-key", "'rom'"),
        ("stages: {detect: [{use: envelope.insulation, on: {domain: pool}}]}", "unknown-domain", "'pool'"),
        ("stages: {detect: [{use: envelope.insulation, on: {thermogram: z}}]}", "unknown-thermogram", "'z'"),
        ("stages: {detect: [{use: envelope.insulation, with: {passes: 0}}]}", "out-of-range", "passes"),
        (
            "stages: {detect: [{use: envelope.insulation, with: {table: strict, passes: 6}}]}",
            "bad-settings",
            "at most 5",
        ),
        ("settings: {envelope.roof: {a: 1}}", "unknown-step", "'envelope.roof'"),
        ("settings: {envelope.insulation: 3}", "wrong-type", "must be a mapping"),
        ("settings: {envelope.insulation: {passes: 0}}", "out-of-range", "passes"),
    ],
)
def test_what_does_not_fit_is_told(tmp_path, more, code, word):
    found = codes(tmp_path, more)
    assert [one[0] for one in found] == [code] and word in found[0][1]


@pytest.mark.parametrize(
    "on", ["{}", "{room: x}", "{domain: envelope}", "{domain: ~}", "{thermogram: a}", "{thermogram: ~, shows: y}", "~"]
)
def test_what_pictures_can_be_chosen_by(tmp_path, on):
    text = f"stages: {{detect: [{{use: envelope.insulation, on: {on}}}]}}\n"
    assert load(tmp_path, with_pictures("[a.tiff]", text)).stages.detect[0].settings.passes == 1


def test_settings_are_the_steps_own_else_the_shared_ones_else_the_usual(tmp_path):
    text = """
settings: {envelope.insulation: {passes: 4}, heatbrief.site: {}, heatbrief.tiff: ~}
stages:
  detect: [envelope.insulation, {use: envelope.insulation, with: {words: a}}, {use: envelope.insulation, with: ~}]
  ingest: [heatbrief.tiff]
"""
    found = load(tmp_path, with_pictures("[a.tiff]", text))
    assert [one.settings.passes for one in found.stages.detect] == [4, 1, 4]
    assert [one.settings.words for one in found.stages.detect] == [(), ("a",), ()]
    assert set(found.settings) == {"envelope.insulation", "heatbrief.site"}
    assert found.stages.ingest[0].settings is not None and found.stages.publish is None


@pytest.mark.parametrize("error", [TypeError, NameError, AttributeError, KeyError, ValueError])
def test_settings_that_a_plugin_declares_wrongly_are_its_fault(tmp_path, error, monkeypatch):
    class Settings:
        """Never made."""

    def broken(self, node, cls, name, lenient=False):
        if cls is Settings:
            raise error("odd")
        return kept(self, node, cls, name, lenient)

    from heatbrief.manifest.bind import Binder

    kept = Binder.bind
    monkeypatch.setattr(Binder, "bind", broken)
    step = Step("pool.leak", "detect", 1, run, Settings)
    registry = SimpleNamespace(steps={"pool.leak": step}, publishers={}, domains={})
    found = codes(tmp_path, "stages: {detect: [pool.leak]}", registry)
    assert [one[0] for one in found] == ["plugin-settings"] and "pool.leak" in found[0][1] and "odd" in found[0][1]
