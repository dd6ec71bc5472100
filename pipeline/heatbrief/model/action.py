"""Repairs from the catalogue, and the ordered plan of work."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from heatbrief.model.quantity import Quantity

Who = Literal[
    "owner", "licensed electrician", "licensed plumber", "heating engineer", "contractor", "workshop", "surveyor"
]


@dataclass(frozen=True)
class Action:
    """A kind of repair or of further check, offered by a plugin.

    key       "<domain>.<what>", used by findings
    who       who may do it; anything but "owner" is left to that trade
    does      what is done, in one or two sentences without instructions that need a trade
    after     keys of actions that come first when both are planned (air-seal before insulating)
    kind      "check" for looking closer or photographing again: also planned for inconclusive findings
    safety    True when it goes before anything that only saves money
    priced_by "area" [m2], "length" [m], "piece" or "" when no price applies
    role      "dry" (makes a part dry), "seal" (closes air leaks), "close" (covers or fills a part): in one room what
              closes comes after what dries and seals, whichever plugins they are from
    cautions_complete  True when its own cautions are all it needs, because it is done elsewhere (at a meter, a valve)
              or touches nothing; otherwise those of its findings join them on the plan
    """

    key: str
    title: str
    who: Who
    does: str
    cautions: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    kind: Literal["repair", "check"] = "repair"
    safety: bool = False
    priced_by: Literal["area", "length", "piece", ""] = ""
    role: Literal["dry", "seal", "close", ""] = ""
    cautions_complete: bool = False


@dataclass(frozen=True)
class PlanItem:
    """One line of the plan of work, in order.

    quantities     amount of work (area, length or pieces), hours and cost; on the repair that brings them also what it
                   saves in a year, payback, net present value and savings-to-investment ratio
    price_origin   "given in the survey", "example price book", or "" without a price
    after          keys of actions on the plan that come first
    within_budget  whether it belongs to the best set for the budget; None when no budget is given
    safety         whether it goes before anything that only saves money
    slight_saving  True when what it saves is no reason to do it: next to nothing beside its cost
    """

    order: int
    action: str
    title: str
    kind: str
    who: Who
    does: str
    findings: tuple[str, ...]
    urgency: str
    quantities: Mapping[str, Quantity] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()
    reason: str = ""
    price_origin: str = ""
    after: tuple[str, ...] = ()
    within_budget: bool | None = None
    safety: bool = False
    slight_saving: bool = False
