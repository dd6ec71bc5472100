"""In what way insulation may fall short, from where a patch lies and how much more heat passes there."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from heatbrief.detect import Area
from heatbrief.detect.judge import share_above
from heatbrief.model import Quantity

BARE = 0.8
"""Rise of the transmittance [W m-2 K-1] from which a bay is nearer to empty than to thin: an empty stud wall of EX-7.5
(3.73 h ft2 degF/Btu) lies 1.2 above an R-13 cavity, half the thickness of R-13 0.35 above it (computed)."""


def kind_of(place: str, area: Area, inside: np.ndarray, numbers: Mapping[str, Quantity]) -> str:
    """Words for a summary, after "consistent with"."""
    rise = numbers.get("added transmittance")
    if rise is not None and rise.high < BARE:
        amount = "thin or compressed insulation"
    elif rise is not None and rise.low > BARE:
        amount = "missing insulation"
    else:
        amount = "insulation that is missing, thin or displaced"
    where = _where(place, area, inside)
    return f"{amount}{where}"


def _where(place: str, area: Area, inside: np.ndarray) -> str:
    """Fallen insulation bares the top of a wall's bay; a batt cut short bares the edge of a ceiling or floor."""
    if not area.touches_edge:
        return ""
    rows = np.flatnonzero(inside.any(axis=1))
    if place == "Wall":
        _, top, _, bottom = area.box
        depth = rows[-1] - rows[0] + 1
        if top - rows[0] <= 0.05 * depth and bottom - rows[0] < 0.6 * depth and area.fill > 0.5:
            return ", such as insulation that has settled or fallen from the top of the wall"
        return ""
    return ", such as insulation that stops short of the edge"


def kind_rows(numbers: Mapping[str, Quantity]) -> tuple[Mapping[str, str], ...]:
    """How much is missing, with its probability; empty where the rise is not known."""
    rise = numbers.get("added transmittance")
    if rise is None:
        return ()
    share = share_above(rise, BARE)
    return (
        {
            "table": "extent of the shortfall",
            "class": ("missing: nearer to an empty bay" if share > 0.5 else "thin: nearer to a filled bay"),
            "probability": f"{min(max(share, 1 - share), 0.99):.2f}",
            "source": "envelope-surface-examples",
        },
    )
