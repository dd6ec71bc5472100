"""Rival explanations that lie in the weather, the material and what people did before the picture.

Same rules as in `rivals_picture`: a Case in, a Rival out, None where it does not apply.
"""

from __future__ import annotations

import numpy as np

from heatbrief.detect.case import Case
from heatbrief.detect.regions import matches, own_regions
from heatbrief.detect.shared import ZERO_CELSIUS
from heatbrief.detect.words import number, said
from heatbrief.model.finding import Rival, RivalStatus

SUN_HOURS, SUN_HOURS_HEAVY = 3.0, 8.0
"""ASTM C1060: no direct sun for 3 h before (read), 8 h for masonry (from memory)."""
STEADY_HOURS = 4.0
"""ASTM C1060: the difference held for 4 h before (from memory)."""
INDOOR_SWING_K = 2.0
"""Indoor air within 2 K during a survey (EN 13187, from memory)."""
DRY_HOURS = 24.0
"""Surfaces dry for 24 h: practice citing EN 13187 (read)."""
HEAVY = ("masonry", "brick", "concrete", "stone", "block", "render", "stucco", "tile", "asphalt", "soil")
_LEAST_FLOOR_K = 0.5

EXPLANATIONS = {
    "shade or sun": "shade, or a patch the sun has warmed",
    "wet film": "a wet surface that dries and cools",
    "material change": "another material or finish",
    "thermal lag": "heat stored from before: conditions that were not steady",
    "unsteady indoors": "indoor air that had not been steady",
    "recent touch": "a hand, furniture or another disturbance shortly before",
}


def rival(name: str, status: RivalStatus, evidence: str, missing: str = "") -> Rival:
    """A Rival with the fixed wording of its name."""
    return Rival(EXPLANATIONS[name], status, evidence, missing)


def shade_or_sun(case: Case) -> Rival | None:
    """Sun on the surface now or in the hours before, which heavy materials hold longer; whether the pattern wandered or
    faded later, and what an ordinary photo shows."""
    later = _later(case)
    if later in ("moved", "faded"):
        return rival("shade or sun", "not ruled out", f"the pattern had {later} in a later picture, as the sun's does")
    if _photo(case) == "shadow":
        return rival("shade or sun", "not ruled out", "an ordinary photo shows a shadow or sunlight there")
    if later == "grew":
        return rival(
            "shade or sun", "ruled out", "the pattern had grown in place in a later picture; shade and sun wander"
        )
    sun, hours = case.conditions.sun, case.conditions.hours_without_sun
    needed = SUN_HOURS_HEAVY if matches(HEAVY, f"{case.material} {case.view.shows}") else SUN_HOURS
    if sun in ("direct", "low"):
        return rival(
            "shade or sun",
            "not ruled out",
            f"{sun} sun stood on the surfaces when the picture was taken" + _straight(case),
        )
    if hours is not None:
        status: RivalStatus = "ruled out" if hours.low >= needed else "not ruled out"
        return rival("shade or sun", status, f"no sun for {said(hours)}; {needed:.0f} h are asked for this surface")
    if sun == "none":
        return rival(
            "shade or sun",
            "not testable",
            "no sun at the time, but the hours before are not given",
            "the hours without sun (`hours_without_sun`)",
        )
    return rival(
        "shade or sun",
        "not testable",
        "nothing is known about the sun",
        "sun on the surface (`sun`, `hours_without_sun`)",
    )


def _straight(case: Case) -> str:
    return (
        "; the area is compact with straight sides, as shadows are"
        if case.area is not None and case.area.fill > 0.85
        else ""
    )


def wet_film(case: Case) -> Rival | None:
    """A wet surface is colder than a dry one, but not colder than the wet bulb of the air (floor holds under cover
    only)."""
    if case.warm:
        return rival("wet film", "ruled out", "the area is warmer than its surroundings; drying cools")
    if _photo(case) == "wet":
        return rival("wet film", "not ruled out", "an ordinary photo shows that the surface is wet there")
    air, humidity = _air(case)
    mean = None if case.area is None else case.area.mean
    if air is None or humidity is None:
        return rival(
            "wet film",
            "not testable",
            "the humidity or temperature of the air is not given",
            "the relative humidity of the air, or a moisture meter reading",
        )
    from heatbrief.physics.psychrometrics import wet_bulb

    floor = float(wet_bulb(air + ZERO_CELSIUS, min(max(humidity, 0.0), 1.0))) - ZERO_CELSIUS
    if mean is not None and _under_cover(case) and mean.high < floor - _LEAST_FLOOR_K:
        return rival(
            "wet film",
            "ruled out",
            f"at {said(mean)} it is colder than the wet bulb of the air, {number(floor, 'degC')}: "
            "drying alone cannot make it so cold",
        )
    reach = air - floor
    contrast = case.contrast
    if contrast is not None and contrast.unit == "K" and _under_cover(case) and -contrast.high > reach + _LEAST_FLOOR_K:
        return rival(
            "wet film",
            "ruled out",
            f"it is {number(-contrast.value, 'K')} colder than its surroundings; "
            f"drying can take at most {number(reach, 'K')}",
        )
    dry = case.conditions.hours_without_rain
    if not _under_cover(case) and dry is not None and dry.low >= DRY_HOURS:
        return rival("wet film", "ruled out", f"no rain for {said(dry)}")
    return rival("wet film", "not ruled out", f"drying could cool a surface by up to {number(reach, 'K')} in this air")


def _photo(case: Case) -> str:
    """What an ordinary photo shows at the place, by the facts; "" when not given."""
    return str(case.fact("ordinary photo") or "").strip().casefold()


def _later(case: Case) -> str:
    """What the pattern had done in a picture about half an hour later, by the facts; "" when not given."""
    return str(case.fact("later picture") or "").strip().casefold()


def _under_cover(case: Case) -> bool:
    return not matches(
        ("roof", "outside", "exterior", "outdoors", "lawn", "soil", "bed", "facade", "ground"), case.view.shows
    )


def _air(case: Case) -> tuple[float | None, float | None]:
    """Air [degC] and relative humidity next to the surface."""
    now = case.conditions
    air, humidity = (now.inside_air, now.humidity) if _under_cover(case) else (now.outside_air, now.outside_humidity)
    return (None if air is None else air.value), (None if humidity is None else humidity.value)


def material_change(case: Case) -> Rival | None:
    """Whether the area follows a declared region or a zone of another emissivity."""
    same = case.yes("same material")
    if same is not None:
        word = "the same as" if same else "not the same as"
        return rival(
            "material change",
            "ruled out" if same else "not ruled out",
            f"the surface there is stated to be {word} around it",
        )
    photo = _photo(case)
    if photo:
        return rival(
            "material change",
            "not ruled out" if photo == "another finish" else "ruled out" if photo == "nothing" else "not testable",
            f"an ordinary photo shows {photo} there",
            "" if photo in ("another finish", "nothing") else "`same material` in the facts",
        )
    for region in own_regions(case.context, case.subject):
        if (
            region.material
            and region.material != case.material
            and region.shape != "whole"
            and region is not case.region
        ):
            mask = region.mask(*case.subject.shape)
            alike = float((mask & case.mask).sum()) / max(int((mask | case.mask).sum()), 1)
            if alike > 0.3:
                return rival(
                    "material change",
                    "not ruled out",
                    f'the area is {alike:.0%} alike with "{region.name}", stated to be {region.material}',
                )
    if case.subject.zones is not None and np.unique(case.subject.zones[case.mask]).size > 1:
        return rival("material change", "not ruled out", "the area lies across surfaces of different emissivity")
    return rival(
        "material change",
        "not testable",
        "the thermal picture alone cannot tell a change of finish",
        "an ordinary photo of the same view, or `same material` in the facts",
    )


def thermal_lag(case: Case) -> Rival | None:
    """Whether the inside-outside difference had held long enough for stored heat to have gone."""
    hours = case.conditions.hours_steady
    if hours is None:
        return rival(
            "thermal lag",
            "not testable",
            "how long the inside-outside difference had held is not given",
            "hours of steady conditions (`hours_steady`)",
        )
    status: RivalStatus = "ruled out" if hours.low >= STEADY_HOURS else "not ruled out"
    return rival("thermal lag", status, f"the difference had held for {said(hours)}; {STEADY_HOURS:.0f} h are asked")


def unsteady_indoors(case: Case) -> Rival | None:
    """Whether the indoor air had changed in the hours before: parts of a surface follow it at different speeds."""
    swing = case.number("indoor swing")
    if swing is not None:
        return rival(
            "unsteady indoors",
            "ruled out" if abs(swing) <= INDOOR_SWING_K else "not ruled out",
            f"the indoor air had changed by {number(abs(swing), 'K')}; "
            f"up to {number(INDOOR_SWING_K, 'K')} counts as steady",
        )
    hours = case.conditions.hours_steady
    if hours is not None and hours.low >= STEADY_HOURS:
        return rival("unsteady indoors", "ruled out", f"the inside-outside difference had held for {said(hours)}")
    return rival(
        "unsteady indoors",
        "not testable",
        "how much the indoor air had changed in the hours before is not given",
        "by how much the indoor air changed in the four hours before (`indoor swing`)",
    )


def recent_touch(case: Case) -> Rival | None:
    """Hands and moved furniture leave marks for some minutes; only a statement or a later picture can tell."""
    touched, later = case.yes("touched"), _later(case)
    if later == "faded":
        return rival("recent touch", "not ruled out", "the pattern had faded in a later picture, as a mark does")
    if touched is None and later in ("unchanged", "grew"):
        return rival(
            "recent touch", "ruled out", "the pattern was still there in a later picture; a mark fades in minutes"
        )
    if touched is None:
        return rival(
            "recent touch",
            "not testable",
            "one picture cannot tell a mark that fades",
            "a second picture about ten minutes later, or `touched` in the facts",
        )
    evidence = (
        "the surface is stated to have been touched or uncovered shortly before"
        if touched
        else "the surface is stated not to have been touched or uncovered"
    )
    return rival("recent touch", "not ruled out" if touched else "ruled out", evidence)
