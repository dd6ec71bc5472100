"""The JSON Schema agrees with the loader. Checked with the `jsonschema` package against the draft 2020-12 meta-schema."""

from __future__ import annotations

import json

import jsonschema
import pytest
import yaml
from heatbrief.errors import UserError
from heatbrief.manifest.jsonschema import json_schema
from heatbrief.manifest.load import load_manifest

from .fake_registry import REGISTRY

HEAD = "format: 1\nproperty: {name: X}\n"
GOOD = {
    "short": HEAD + "thermograms: [a.tiff]\n",
    "plain property": "format: 1\nproperty: X\nthermograms: [{file: a.tiff}]\ninspect: envelope\n",
    "conditions": HEAD
    + "thermograms: [a.tiff]\nconditions: {inside_air: 24 ± 1 degC, outside_air: 70 .. 75 degF, humidity: 35 %, sky: clear, wind: }\n",
    "camera": HEAD
    + "thermograms: [a.tiff]\ncamera: {field_of_view: [56 deg, 42 deg], noise: 50 mK, accuracy_percent: 0.02}\n",
    "picture": HEAD
    + "thermograms: [{file: a.tiff, size: [640, 480], scale: {kelvin_per_count: 0.01, zero_at: -100 degC}, emissivity: 0.9}]\n",
    "regions": HEAD
    + "thermograms: [{file: a.tiff, id: a, regions: [{name: r, box: [1, 2, 3, 4], facts: {load: 12 A, service: cooling}}]}]\n",
    "common regions": HEAD
    + "thermograms: [a.tiff]\nregions: [{name: r, thermogram: a, outline: [[0, 0], [1, 0], [1, 1.5]]}]\n",
    "stages": HEAD + "thermograms: [a.tiff]\nstages: {ingest: heatbrief.tiff, detect: [envelope.insulation, "
    "{use: envelope.insulation, on: {shows: x}, with: {smallest: 10 ft2, table: strict, cost: 12 USD/m2, passes: 2}}]}\n",
    "prices": HEAD + "thermograms: [a.tiff]\nprices: {electricity: 0.16 USD/kWh, visit: 90 USD, water: 3 /m3}\n",
    "empty": HEAD + "thermograms: [{file: a.tiff, room: , regions: }]\nstages: {calibrate: []}\nregions:\n",
}
BAD = {
    "format": "format: 2\nproperty: X\nthermograms: [a.tiff]\n",
    "no property": "format: 1\nthermograms: [a.tiff]\n",
    "no pictures": HEAD + "thermograms: []\n",
    "pictures left out": HEAD,
    "unknown key": HEAD + "thermograms: [a.tiff]\ncolour: red\n",
    "unknown domain": HEAD + "thermograms: [a.tiff]\ninspect: [roof]\n",
    "bare number": HEAD + "thermograms: [a.tiff]\nconditions: {inside_air: 24}\n",
    "bare text": HEAD + "thermograms: [a.tiff]\nconditions: {inside_air: '24'}\n",
    "bare range": HEAD + "thermograms: [a.tiff]\nconditions: {inside_air: 20 .. 24}\n",
    "humidity": HEAD + "thermograms: [a.tiff]\nconditions: {humidity: 35}\n",
    "humidity unit": HEAD + "thermograms: [a.tiff]\nconditions: {humidity: 35 m}\n",
    "sky": HEAD + "thermograms: [a.tiff]\nconditions: {sky: cloudless}\n",
    "list": HEAD + "thermograms: {file: a.tiff}\n",
    "no file": HEAD + "thermograms: [{shows: wall}]\n",
    "id": HEAD + "thermograms: [{file: a.tiff, id: A B}]\n",
    "page": HEAD + "thermograms: [{file: a.tiff, page: -1}]\n",
    "length": HEAD + "thermograms: [{file: a.tiff, size: [640]}]\n",
    "fact": HEAD + "thermograms: [{file: a.tiff, facts: {lode: 12 A}}]\n",
    "fact choice": HEAD + "thermograms: [{file: a.tiff, facts: {service: both}}]\n",
    "step": HEAD + "thermograms: [a.tiff]\nstages: {detect: [envelope.roof]}\n",
    "stage": HEAD + "thermograms: [a.tiff]\nstages: {detect: [heatbrief.tiff]}\n",
    "setting": HEAD + "thermograms: [a.tiff]\nstages: {detect: [{use: envelope.insulation, with: {smalest: 1 m2}}]}\n",
    "setting choice": HEAD
    + "thermograms: [a.tiff]\nstages: {detect: [{use: envelope.insulation, with: {table: loose}}]}\n",
    "setting limit": HEAD
    + "thermograms: [a.tiff]\nstages: {detect: [{use: envelope.insulation, with: {passes: 12}}]}\n",
    "on": HEAD + "thermograms: [a.tiff]\nstages: {detect: [{use: envelope.insulation, on: {rom: x}}]}\n",
    "price": HEAD + "thermograms: [a.tiff]\nprices: {electricity: 0.16}\n",
    "currency": HEAD + "thermograms: [a.tiff]\ncurrency: dollars\n",
}


class Core(yaml.SafeLoader):
    """YAML 1.2's core schema, as editors read it."""


Core.yaml_implicit_resolvers = {
    first: [(tag, rule) for tag, rule in rules if tag.rsplit(":", 1)[1] in ("int", "float", "null")]
    for first, rules in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


@pytest.fixture(scope="module")
def validator():
    schema = json_schema(REGISTRY)
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def loads(folder, text: str) -> bool:
    path = folder / "survey.yaml"
    path.write_text(text, encoding="utf-8")
    try:
        load_manifest(path, REGISTRY)
    except UserError:
        return False
    return True


@pytest.mark.parametrize("name", GOOD)
def test_what_loads_is_valid(tmp_path, validator, name):
    assert loads(tmp_path, GOOD[name])
    assert [error.message for error in validator.iter_errors(yaml.load(GOOD[name], Core))] == []


@pytest.mark.parametrize("name", BAD)
def test_what_does_not_load_is_invalid(tmp_path, validator, name):
    assert not loads(tmp_path, BAD[name])
    assert not validator.is_valid(yaml.load(BAD[name], Core))


def test_the_schema_is_the_same_each_time_and_plain_json():
    first, second = (json.dumps(json_schema(REGISTRY)) for _ in range(2))
    assert first == second


def test_it_explains_every_key():
    schema = json_schema(REGISTRY)
    keys = [(name, value) for name, value in schema["properties"].items()]
    assert all(value.get("description") for _, value in keys), [
        name for name, value in keys if not value.get("description")
    ]
    settings = schema["$defs"]["step.envelope.insulation"]["properties"]
    assert "smallest area reported" in settings["smallest"]["description"] and settings["smallest"]["examples"] == [
        "0.05 m2"
    ]
