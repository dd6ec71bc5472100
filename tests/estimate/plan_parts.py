"""Findings, losses, actions and prices to make plans of work of."""

from __future__ import annotations

from heatbrief.model import Action, Estimate, Factor, Finding, Outline, Quantity, Term
from heatbrief.model.costs import Costs, MoneyFacts

exact = Quantity.exact
PRICES = {"electricity": exact(0.2, "USD/kWh"), "water": exact(2.0, "USD/m3")}


def finding(
    name,
    *actions,
    urgency="plan",
    verdict="defect",
    room="",
    shares="",
    polygon=None,
    picture="p",
    region="",
    **measured,
):
    outline = None if polygon is None else Outline(tuple(polygon), 10)
    return Finding(
        name,
        "d",
        "c",
        picture,
        region,
        f"title of {name}",
        "s",
        verdict,
        urgency,
        0.9,
        outline,
        measured,
        actions=actions,
        room=room,
        shares=shares,
    )


def loss(one: Finding, kwh=0.0, *, spread=0.0, water=0.0, common=()):
    terms = []
    if kwh:
        own = Factor(f"loss of {one.id}", Quantity(kwh, "kWh/a", kwh * (1 - spread), kwh * (1 + spread)))
        terms.append(Term("electricity", "kWh/a", 1.0, (own, *common)))
    if water:
        terms.append(Term("water", "m3/a", 1.0, (Factor(f"water of {one.id}", exact(water, "m3/a")),)))
    return Estimate(f"{one.id}-e", one.id, "k", "t", terms=tuple(terms))


def book(*keys, **more):
    return {key: Action(key, key, "contractor", "does", **{"priced_by": "piece", **more}) for key in keys}


def facts(costs=None, **more):
    return MoneyFacts(PRICES, "USD", costs=costs or Costs(), **more)


def keys(items):
    return [one.action for one in items]


def square(x, y, size=10.0):
    return ((x, y), (x + size, y), (x + size, y + size), (x, y + size))
