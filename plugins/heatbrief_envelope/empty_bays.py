"""Bays without any insulation show the other way round: their members pass less heat than the bays between them."""

from __future__ import annotations

from typing import Any

from heatbrief.api import Context
from heatbrief.detect import Case, Criterion, conclude, read_region
from heatbrief.detect.films import facing_of
from heatbrief.model import Finding, Quantity, Region, Thermogram

from heatbrief_envelope.framing import Framing
from heatbrief_envelope.measures import LEAST_K, practice_for
from heatbrief_envelope.outside import outside_gates
from heatbrief_envelope.search import Searched
from heatbrief_envelope.surfaces import Airs, from_outside, known, with_airs, words_of

RIVALS = ("reflection", "shade or sun", "material change", "thermal lag")
MEMBERS = 0.15
"""Share of a framed surface that its members take (EX-2.1)."""
SPREAD = 0.25
"""Bound on the contrast of the members: how far they differ among each other (common practice)."""


def inverted(framing: Framing | None, airs: Airs, subject: Thermogram) -> bool:
    """Whether members lie nearer to the near air than their bays: the other way than in an insulated surface.

    EX-7.5: inside 70, outside 0 degF: stud 63.3 and insulated bay 67.0 degF, but empty bay 57.2 degF.
    """
    if framing is None or airs.sign is None or subject.scale != "temperature":
        return False
    nearer_to_room = framing.contrast > 0 if airs.sign == "cold" else framing.contrast < 0
    return nearer_to_room and abs(framing.contrast) * (1 - SPREAD) > LEAST_K


def empty_bays(
    subject: Thermogram, settings: Any, context: Context, region: Region, airs: Airs, found: Searched
) -> Finding:
    """The finding on a surface whose members show inverted."""
    framing, text = found.framing, words_of(context, region)
    assert framing is not None and airs.difference is not None
    case = Case(
        check="envelope.insulation",
        domain="envelope",
        subject=subject,
        context=with_airs(context, airs),
        region=region,
        reading=read_region(subject, found.inside, region.name),
        purpose="insulation",
        rule_set=settings.rule_set or practice_for(region, context),
        tag="bays",
    )
    half = max(SPREAD * abs(framing.contrast), subject.noise())
    contrast = Quantity.between(
        framing.contrast - half, framing.contrast + half, "K", framing.contrast, "median of the members over their bays"
    )
    place = {"down": "Ceiling", "up": "Floor", "sideways": "Wall"}[facing_of(text)]
    word = "warmer" if framing.contrast > 0 else "colder"
    whole = None if subject.pixel is None else subject.pixel.area_of(found.inside)
    return conclude(
        case,
        title=f"{place}: bays between the members pass more heat than the members",
        summary=f"{framing.lines} regular members read {abs(framing.contrast):.1f} K {word} than the bays between "
        f"them, with {airs.given} {abs(airs.difference.value):.0f} K away from the air on this side. In an insulated "
        "surface members show the other way. Consistent with bays that hold no insulation.",
        contrast=contrast,
        criterion=Criterion(
            LEAST_K,
            because="members of an insulated surface show the other way",
            sources=("envelope-surface-examples",),
        ),
        gates=(
            "difference",
            "steady",
            "wind",
            "sun",
            *(outside_gates(case) if from_outside(context, region) else ()),
        ),
        rivals=RIVALS,
        strong=("reflection", "shade or sun", "thermal lag"),
        severity="energy",
        at_most="plan",
        actions={
            "Ceiling": ("envelope.look-in-attic", "envelope.air-seal", "envelope.add-attic-insulation"),
            "Wall": ("envelope.borescope", "envelope.air-seal", "envelope.fill-wall"),
            "Floor": ("envelope.look-below", "envelope.air-seal", "envelope.add-floor-insulation"),
        }[place],
        cautions={
            "Ceiling": ("envelope.attic", "envelope.vermiculite", "envelope.old-wiring"),
            "Wall": ("envelope.old-wiring", "envelope.wall-opening"),
            "Floor": ("envelope.crawl-space", "envelope.old-wiring"),
        }[place],
        sources=("envelope-surface-examples", "iso-6946"),
        measured=known(
            air_difference=airs.difference,
            area=None if whole is None else whole.scaled(1.0 - MEMBERS, "m2", "the surface without its members"),
        ),
        shares=f"{subject.id}:{region.name}:whole",
    )
