"""The registry of rival explanations: what else could make the same pattern, and how each fared."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TypeVar, get_args

from heatbrief.api.offers import RivalTest
from heatbrief.api.step import FactSpec
from heatbrief.detect import rivals_camera as camera
from heatbrief.detect import rivals_load as carried
from heatbrief.detect import rivals_picture as picture
from heatbrief.detect import rivals_scene as scene
from heatbrief.detect.case import Case
from heatbrief.model.finding import Rival, RivalStatus

RivalFunction = Callable[[Case], "Rival | None"]
CaseT = TypeVar("CaseT", bound=Case)
"""The kind of case that functions of a check's own take: Case, or its own class of it."""
LONGEST_EVIDENCE = 2_000
"""Characters of what an offered rival may say."""


@dataclass(frozen=True)
class RivalKind:
    """A rival explanation. A `strong` one can make the whole pattern by itself, so the verdict waits for it."""

    name: str
    explanation: str
    function: RivalFunction
    strong: bool
    facts: tuple[str, ...] = ()


FACTS: Mapping[str, FactSpec] = MappingProxyType(
    {
        spec.name: spec
        for spec in (
            FactSpec(
                "second view",
                "what the pattern did when seen from another point",
                choices=("moved", "same place"),
                example="same place",
            ),
            FactSpec(
                "warm body",
                "what the pattern did when a person, lamp or heater before the surface moved",
                choices=("followed", "stayed"),
                example="stayed",
            ),
            FactSpec(
                "ordinary photo",
                "what an ordinary photo of the same view shows at the place",
                choices=("nothing", "shadow", "wet", "another finish"),
                example="nothing",
            ),
            FactSpec(
                "later picture",
                "what the pattern had done in a picture from the same place about half an hour later",
                choices=("unchanged", "moved", "grew", "faded"),
                example="unchanged",
            ),
            FactSpec(
                "indoor swing",
                "by how much the indoor air had changed in the four hours before",
                unit="K",
                example="1 K",
            ),
            FactSpec(
                "same material",
                "whether the surface there is of the same material and finish as around it",
                choices=("yes", "no"),
                example="yes",
            ),
            FactSpec(
                "touched",
                "whether the surface was touched or uncovered in the half hour before",
                choices=("yes", "no"),
                example="no",
            ),
            FactSpec("camera running", "how long the camera had been switched on", unit="min", example="15 min"),
            FactSpec("load", "current through the part, read by a licensed person", unit="A", example="12 A"),
            FactSpec("rated", "rated current of the part", unit="A", example="20 A"),
            FactSpec("u_value", "heat transfer coefficient of the part", unit="W/m2/K", example="0.3 W/m2/K"),
            FactSpec(
                "load share", "load as a share of the rating, when the currents are not known", unit="1", example="60 %"
            ),
        )
    }
)

RIVALS: Mapping[str, RivalKind] = MappingProxyType(
    {
        kind.name: kind
        for kind in (
            RivalKind(
                "reflection", picture.EXPLANATIONS["reflection"], picture.reflection, True, ("second view", "warm body")
            ),
            RivalKind(
                "shade or sun",
                scene.EXPLANATIONS["shade or sun"],
                scene.shade_or_sun,
                True,
                ("later picture", "ordinary photo"),
            ),
            RivalKind("wet film", scene.EXPLANATIONS["wet film"], scene.wet_film, True, ("ordinary photo",)),
            RivalKind(
                "material change",
                scene.EXPLANATIONS["material change"],
                scene.material_change,
                True,
                ("same material", "ordinary photo"),
            ),
            RivalKind("lens shading", camera.EXPLANATIONS["lens shading"], camera.lens_shading, True),
            RivalKind("out of focus", camera.EXPLANATIONS["out of focus"], camera.out_of_focus, False),
            RivalKind("thermal lag", scene.EXPLANATIONS["thermal lag"], scene.thermal_lag, True),
            RivalKind(
                "unsteady indoors",
                scene.EXPLANATIONS["unsteady indoors"],
                scene.unsteady_indoors,
                False,
                ("indoor swing",),
            ),
            RivalKind(
                "recent touch",
                scene.EXPLANATIONS["recent touch"],
                scene.recent_touch,
                False,
                ("touched", "later picture"),
            ),
            RivalKind(
                "camera not settled",
                camera.EXPLANATIONS["camera not settled"],
                camera.camera_not_settled,
                False,
                ("camera running",),
            ),
            RivalKind("load", carried.EXPLANATIONS["load"], carried.load, True, ("load", "rated", "load share")),
            RivalKind("glass", picture.EXPLANATIONS["glass"], picture.glass, True),
            RivalKind("object edge", picture.EXPLANATIONS["object edge"], picture.object_edge, False),
        )
    }
)


def argue(
    case: CaseT, names: Iterable[str | Callable[[CaseT], Rival | None]], strong: Iterable[str] | None = None
) -> tuple[tuple[Rival, ...], frozenset[str]]:
    """The rivals that apply, in the order asked, and the explanations among them that count as strong.

    A name is one of RIVALS or of a rival that a plugin offers; a function of one's own counts as strong unless `strong`
    is given, which then lists the strong ones by name or by their explanation. Offered rivals that ask for this check
    follow. Raises ValueError for an unknown name.
    """
    chosen = None if strong is None else frozenset(strong)
    offered = {one.name: one for one in case.context.rivals}
    asked = tuple(names)
    added = [one.name for one in offered.values() if one.weighed_in(case.check, case.domain) and one.name not in asked]
    found, heavy = [], set()
    for name in (*asked, *added):
        if callable(name):
            called, alone, one = getattr(name, "__name__", ""), True, name(case)
        elif name in offered:
            called, alone, one = name, offered[name].strong, offered_rival(offered[name], case)
        elif name in RIVALS:
            called, alone, one = name, RIVALS[name].strong, RIVALS[name].function(case)
        else:
            raise ValueError(f"there is no rival explanation {name!r}; known: {', '.join((*RIVALS, *offered))}")
        if one is None:
            continue
        found.append(one)
        theirs = called in offered  # the check that weighs it knows nothing of it
        if alone if chosen is None or theirs else (called in chosen or one.explanation in chosen):
            heavy.add(one.explanation)
    return tuple(found), frozenset(heavy)


def offered_rival(test: RivalTest, case: Case) -> Rival | None:
    """How an offered rival fares. One whose test fails or says nothing usable is "not testable", so that a plugin never
    takes another's check with it."""
    try:
        found = test.run(case)
        if found is None:
            return None
        if not isinstance(found, Rival) or found.status not in get_args(RivalStatus):
            raise TypeError(f"its test returned {type(found).__name__} instead of a Rival")
        texts = (str(found.evidence)[:LONGEST_EVIDENCE], str(found.missing)[:LONGEST_EVIDENCE])
    except Exception as error:
        said = f"its test failed: {type(error).__name__}: {str(error)[:200]}"
        return Rival(test.explanation, "not testable", said, f"a version of {test.name} that works")
    return Rival(test.explanation, found.status, *texts)


def facts_for(names: Iterable[str]) -> tuple[FactSpec, ...]:
    """Facts that help to test these rivals, for a Step to declare; without repeats."""
    wanted = dict.fromkeys(fact for name in names for fact in RIVALS[name].facts)
    return tuple(FACTS[name] for name in wanted)
