"""`heatbrief schema`."""

from __future__ import annotations

import json

import click

from heatbrief.cli.common import registry
from heatbrief.manifest.jsonschema import json_schema


@click.command("schema")
def command() -> None:
    """Print the JSON Schema of the manifest with every installed plugin's settings. Editors use it to complete and check."""
    click.echo(json.dumps(json_schema(registry()), indent=1, sort_keys=True, ensure_ascii=False))
