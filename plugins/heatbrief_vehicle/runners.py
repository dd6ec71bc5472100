"""Gates, rival explanations and words for one exhaust runner that differs from the others."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from heatbrief.detect import Case, Reading, number
from heatbrief.model import Quantity, Rival
from heatbrief.model.finding import RivalStatus
from heatbrief.physics.planck import ZERO_CELSIUS_K
from heatbrief.physics.small_groups import GroupComparison

RUNNERS = (
    "exhaust runner",
    "exhaust manifold runner",
    "exhaust primary",
    "exhaust header",
    "exhaust port",
    "exhaust pipe of a cylinder",
)
COATING = "a coating, rust or bright metal of its own"
END = "an end cylinder, or air from the fan"
TRIM = "a mixture that differs on purpose, or cylinders switched off by design"
SHIELD = "a shield or wrap that stands before the runner"
BRIGHT = 0.3
"""Bright metal; rusted, cast or coated runners lie above (domains dossier: 0.3 to 0.95; common practice)."""
END_K = 55.0
"""An end cylinder explains up to ordinary idle spread, 28 K; from 55 K one looks (common practice, the second
consistent with a case of 56 K)."""


@dataclass(frozen=True)
class RunnerCase(Case):
    """A runner against the median of the others. `usual` is that median [K, absolute]; at_end: outermost in its row."""

    difference: Quantity | None = None
    usual: float | None = None
    at_end: bool = False

    @property
    def contrast(self) -> Quantity | None:
        """Difference from the median of the others."""
        return self.difference

    @property
    def warm(self) -> bool | None:
        """Whether it is the warmer one."""
        return None if self.difference is None else self.difference.value > 0


def needed_emissivity(reading: Reading, usual: float, reflected: float, emissivity: float) -> float:
    """Emissivity that would make a runner as warm as the others read as cold as it does (grey body, kelvin).

    The surface was read with `emissivity`, so its signal over the surroundings is emissivity (T^4 - Tr^4); a
    surface at `usual` would give
    the same with emissivity (T^4 - Tr^4) / (usual^4 - Tr^4).
    """
    shown = reading.values["mean"]
    signal, there = shown**4 - reflected**4, usual**4 - reflected**4
    return emissivity * signal / there


def coating(case: RunnerCase) -> Rival | None:
    """Whether another surface could make a like runner read so different."""
    same = case.yes("same material")
    if same is not None:
        word = "the same as" if same else "another than"
        return Rival(
            COATING, "ruled out" if same else "not ruled out", f"its surface is stated to be {word} the others'"
        )
    reflected = case.view.reflected or case.conditions.reflected
    if case.reading is None or case.usual is None or case.emissivity is None or reflected is None:
        return _untold("the emissivity or the reflected temperature is not known")
    if case.usual - ZERO_CELSIUS_K <= reflected.value:
        return _untold("the runners are not warmer than what they mirror")
    needed = needed_emissivity(case.reading, case.usual, reflected.value + ZERO_CELSIUS_K, case.emissivity)
    said = f"a runner as hot as the others would need emissivity {needed:.2f} to read so"
    if needed <= 0:
        return Rival(
            COATING, "ruled out", "it reads colder than its surroundings, which no surface as hot as the others can"
        )
    if needed > 1:
        return Rival(COATING, "ruled out", f"{said}, and none is above 1")
    if needed < BRIGHT:
        return Rival(COATING, "ruled out", f"{said}, that of bright metal; it was taken as {case.emissivity:.2f}")
    return _untold(said)


def _untold(why: str) -> Rival:
    return Rival(
        COATING,
        "not testable",
        why,
        "whether the runners have the same surface (`same material`), or an ordinary photo",
    )


def end_of_row(case: RunnerCase) -> Rival | None:
    """End cylinders run cooler; how much cooler is limited."""
    if case.difference is None or case.warm:
        return None
    least = -case.difference.high
    if not case.at_end:
        return Rival(END, "ruled out", "it stands between other runners")
    status: RivalStatus = "ruled out" if least >= END_K else "not ruled out"
    return Rival(
        END,
        status,
        f"it is the outermost and at least {number(max(least, 0.0), 'K')} cooler; an end cylinder explains less "
        f"than {END_K:g} K",
    )


def by_design(case: Case) -> Rival | None:
    """Nothing in a picture tells a design from a fault."""
    return Rival(TRIM, "not testable", "a picture cannot tell", "the vehicle's manual, or its misfire counters")


SCATTER = "ordinary scatter of the group"


def scatter_of(group: GroupComparison, place: int, limit: float | None) -> Callable[[RunnerCase], Rival | None]:
    """The scatter of the others, as an argument of its own."""

    def scatter(case: RunnerCase) -> Rival | None:
        if limit is None:
            return None
        score = abs(float(group.modified_z[place]))
        return Rival(
            SCATTER,
            "not ruled out" if score <= limit else "ruled out",
            f"its modified z is {score:.1f}; clean groups of this size reach {limit:.1f} in one case of twenty",
        )

    return scatter


def reading_of(cold: bool) -> str:
    """What the difference is consistent with; never a cause."""
    if cold:
        return (
            "Consistent with weak or no firing in that cylinder, or with a mixture unlike the others': exhaust gas "
            "is hottest near the most complete combustion and "
            "falls off both with less and with more fuel, so the picture alone cannot name a cause. Misfire "
            "counters, spark, fuel and compression would tell."
        )
    return (
        "Consistent with late ignition or with a mixture nearer to the hottest point than the others': exhaust gas "
        "is hottest near the most complete combustion and falls "
        "off both with less and with more fuel, so the picture alone cannot name a cause. Ignition, fuel and "
        "valves would tell."
    )


def hidden(case: RunnerCase) -> Rival | None:
    """A shield that stands off the pipe reads cool whatever the pipe does; a picture cannot look behind it."""
    if case.warm:
        return None
    stated = case.yes("shielded")
    if stated is False:
        return Rival(SHIELD, "ruled out", "the runner is stated to be bare")
    return Rival(
        SHIELD,
        "not testable",
        "nothing is stated about shields",
        "whether a shield or wrap covers the runner (`shielded`)",
    )
