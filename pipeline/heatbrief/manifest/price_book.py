"""The example price book below what a manifest says under `costs:`, and whether all of it fits together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from importlib.resources import files
from pathlib import Path
from typing import Any, get_args

from heatbrief.api.checks import BOOK_CURRENCY
from heatbrief.manifest.bind import Binder
from heatbrief.manifest.include import merged
from heatbrief.manifest.names import suggestion
from heatbrief.manifest.nodes import Node, Problems, Scalar, Table, shown
from heatbrief.manifest.reader import read_yaml
from heatbrief.manifest.schema import Manifest
from heatbrief.model.action import Who
from heatbrief.model.costs import PER
from heatbrief.model.quantity import Quantity

BOOK = "estimate/price_book.yaml"


def with_price_book(tree: Table, problems: Problems) -> tuple[Table, frozenset[str]]:
    """The tree with the example price book filled in where `costs: {book: example}` asks for it.

    Also the names of what the survey stated itself, as "labour.TRADE" and "actions.KEY": a stated action replaces the
    whole entry of the book.
    """
    costs = tree.get("costs")
    if not isinstance(costs, Table):
        return tree, frozenset()
    stated = frozenset(f"{part}.{key}" for part in ("labour", "actions") for key in _entries(costs, part))
    book = costs.get("book")
    if not isinstance(book, Scalar) or book.text != "example":
        return tree, stated
    path = Path(str(files("heatbrief"))) / BOOK
    example = read_yaml(path, problems, f"heatbrief/{BOOK}")
    below = example.get("costs") if isinstance(example, Table) else None
    if not isinstance(below, Table):
        return tree, stated
    kept: dict[str, tuple[Scalar, Node]] = {
        part: (
            key,
            Table(
                value.file,
                value.line,
                value.column,
                {name: one for name, one in value.entries.items() if name not in _entries(costs, part)},
            ),
        )
        for part, (key, value) in below.entries.items()
        if part in ("labour", "actions") and isinstance(value, Table)
    }
    filled = merged(costs, Table(below.file, below.line, below.column, kept))
    return Table(
        tree.file, tree.line, tree.column, {**tree.entries, "costs": (tree.entries["costs"][0], filled)}
    ), stated


def _entries(costs: Table, part: str) -> Mapping[str, Any]:
    found = costs.get(part)
    return found.entries if isinstance(found, Table) else {}


def check_costs(
    binder: Binder, tree: Table, manifest: Manifest, actions: Mapping[str, Any], currency: str, stated: frozenset[str]
) -> None:
    """Add actions and trades that do not exist, prices per something else than the action is counted by, and other
    currencies."""
    costs = tree.get("costs")
    if not isinstance(costs, Table):
        return
    for part, known in (("actions", actions), ("labour", get_args(Who))):
        for key, (node, _) in _entries(costs, part).items():
            if known and key not in known and f"{part}.{key}" in stated:
                binder.problems.add(
                    node,
                    "unknown-price",
                    f"{shown(key)} is nothing that the plan of work knows",
                    suggestion(key, known, "names"),
                )
    for place, name, price, units in _prices(costs, manifest, actions):
        if price.unit[:3] != currency:
            example = place.file.endswith(BOOK)
            binder.problems.add(
                costs.at("book") if example else place,
                "two-currencies",
                f"{'the example price book' if example else name} is in {price.unit[:3]}, "
                f"but the survey's currency is {currency}",
                "State your own prices under `costs:`, in one file that your manifests include."
                if example
                else f"Give all prices in {currency}, or state `currency:`.",
            )
            return
        if price.unit[3:] not in units:
            wanted = " or ".join(f"{currency}{unit}" for unit in units)
            binder.problems.add(
                place, "price-unit", f"{name} must be in {wanted}, got {price.unit}", f"Write it in {wanted}."
            )


def with_offered_prices(manifest: Manifest, offered: Mapping[str, Any]) -> Manifest:
    """The manifest with what plugins offer for the example price book, where it asks for the book; own entries win."""
    costs = manifest.costs
    if costs.book != "example" or manifest.currency != BOOK_CURRENCY or not offered:
        return manifest
    entries = {key: entry.cost for key, entry in sorted(offered.items())}
    return replace(manifest, costs=replace(costs, actions={**entries, **costs.actions}))


def cost_prices(manifest: Manifest) -> Iterator[Quantity]:
    """All prices under `costs:`."""
    costs = manifest.costs
    yield from costs.labour.values()
    for entry in costs.actions.values():
        yield from (one for one in (entry.cost, entry.fixed, entry.material) if one is not None)
    if costs.budget is not None:
        yield costs.budget


def _prices(
    costs: Table, manifest: Manifest, actions: Mapping[str, Any]
) -> Iterator[tuple[Node, str, Quantity, tuple[str, ...]]]:
    """(place, name, price, units after the currency that it may have)"""
    given = manifest.costs
    price: Quantity | None
    for trade, price in given.labour.items():
        yield _place(costs, "labour", trade), f"an hour of {trade}", price, ("/h",)
    for key, entry in given.actions.items():
        per = PER[actions[key].priced_by] if key in actions else None
        for name, price, units in (
            ("cost", entry.cost, ("",)),
            ("fixed", entry.fixed, ("",)),
            ("material", entry.material, ("", "/m", "/m2") if per is None else (per,)),
        ):
            if price is not None:
                yield _place(costs, "actions", key), f"{name} of {key}", price, units
    if given.budget is not None:
        yield costs.at("budget"), "budget", given.budget, ("",)


def _place(costs: Table, part: str, key: str) -> Node:
    found = costs.get(part)
    return found.at(key) if isinstance(found, Table) else costs
