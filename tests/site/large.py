"""An invented property with many findings on many pictures, for sizes, times and print."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import sample as small
from heatbrief.model import Estimate, PlanItem, Quantity
from heatbrief.model.finding import Finding
from heatbrief.model.results import BudgetLine, RegionRecord, ResultsDocument, ThermogramRecord

WIDTH, HEIGHT = 320, 240


def large(objects: Path, findings: int, pictures: int = 40) -> ResultsDocument:
    """A results document with that many findings; picture objects are written to `objects`."""
    base = small.sample(objects)
    records = tuple(_record(objects, number) for number in range(pictures))
    found = tuple(_finding(base.findings[number % 2], records[number % pictures], number) for number in range(findings))
    costs = tuple(
        Estimate(
            f"cost-{one.id}",
            one.id,
            "yearly-cost",
            "Yearly cost",
            {"yearly_cost": Quantity.normal(4.0 + at % 17, "USD/a", 0.8)},
        )
        for at, one in enumerate(found)
    )
    plan = tuple(_step(base.plan[0], found, number) for number in range(24))
    return dataclasses.replace(base, thermograms=records, findings=found, estimates=costs, plan=plan)


def _record(objects: Path, number: int) -> ThermogramRecord:
    values = small.scene(HEIGHT, WIDTH, 22.0 + number % 5, [(90 + number, 60, 14, 6.0), (230, 160, 20, 3.0)], number)
    low, high = (Quantity.normal(float(edge), "degC", 1.2) for edge in (values.min(), values.max()))
    regions = tuple(
        RegionRecord(
            f"field {index + 1}",
            "box",
            ((40 + 60 * index, 40), (80 + 60 * index, 90)),
            "breaker",
            statistics={"median": Quantity.normal(24.0 + index, "degC", 1.2), "min": low, "max": high},
        )
        for index in range(4)
    )
    budget = tuple(
        BudgetLine(name, 0.4 / (at + 1), "K", 0.4 / (at + 1) + number / 1000, True)
        for at, name in enumerate(("camera accuracy", "emissivity", "noise"))
    )
    return ThermogramRecord(
        f"picture-{number}",
        f"ir/{number}.tiff",
        f"{number:064d}",
        WIDTH,
        HEIGHT,
        "analysed",
        f"Picture {number}",
        f"room {number % 9}",
        "2026-07-14T16:05-07:00",
        {"min": low, "max": high, "mean": Quantity.normal(float(np.mean(values)), "degC", 1.1)},
        regions,
        small.stored(objects, values),
        small.photo(objects),
        budget=budget,
    )


def _finding(like: Finding, record: ThermogramRecord, number: int) -> Finding:
    urgency = ("now", "soon", "plan", "watch")[min(number % 10, 3)]
    return dataclasses.replace(
        like, id=f"{like.id}-{number}", thermogram=record.id, room=record.room, region="field 1", urgency=urgency
    )


def _step(like: PlanItem, found: tuple[Finding, ...], number: int) -> PlanItem:
    chosen = tuple(one.id for one in found[number::24])
    return dataclasses.replace(
        like, order=number + 1, findings=chosen, title=f"{like.title} {number + 1}", urgency=found[number].urgency
    )
