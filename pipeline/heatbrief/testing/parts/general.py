"""Parts that belong to no trade: patches, reflections, shade and sun."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from heatbrief.errors import UserError
from heatbrief.testing.fields import Box, Fields, Grid, Mark, Part, Points, box_outline, kelvin, mix


@dataclass(frozen=True, kw_only=True)
class Shaped(Part):
    """A part with an outline, a box [left, top, width, height] or an ellipse [x, y, half width, half height] in px.

    soft_m spreads its edge sideways by a Gaussian of that standard deviation [m].
    """

    outline: Points = ()
    box: Box | None = None
    ellipse: Box | None = None
    soft_m: float = 0.0

    def corners(self) -> Points:
        """The outline as a polygon; raises UserError unless exactly one shape is given."""
        if sum((bool(self.outline), self.box is not None, self.ellipse is not None)) != 1:
            raise UserError.single(
                "scene-shape",
                f"part {self.name or self.kind!r}",
                "needs exactly one of outline, box, ellipse",
                "Give one of them in pixels.",
            )
        if self.ellipse is not None:
            return ellipse_outline(self.ellipse)
        return box_outline(self.box) if self.box is not None else self.outline

    def shape(self, grid: Grid) -> tuple[np.ndarray, np.ndarray, Points]:
        """Hard mask, soft share 0..1, and outline."""
        corners = self.corners()
        mask = grid.inside(corners)
        return mask, grid.soften(mask, self.soft_m), corners


def ellipse_outline(ellipse: Box, corners: int = 32) -> Points:
    """Corners on an ellipse."""
    x, y, across, down = ellipse
    angle = 2.0 * np.pi * np.arange(corners) / corners
    return tuple((round(float(x + across * np.cos(a)), 2), round(float(y + down * np.sin(a)), 2)) for a in angle)


@dataclass(frozen=True, kw_only=True)
class Patch(Shaped):
    """Anything with a temperature of its own, or warmer or cooler than what it covers.

    celsius sets the temperature, rise_k changes it; emissivity, reflected_c and tone are set where given.
    """

    kind: ClassVar[str] = "patch"
    celsius: float | None = None
    rise_k: float = 0.0
    emissivity: float | None = None
    reflected_c: float | None = None
    tone: float | None = None

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """The temperature, emissivity, reflection and tone that are set, over the shape; the mark covers it."""
        mask, share, corners = self.shape(grid)
        target = fields.kelvin if self.celsius is None else kelvin(self.celsius) + fields.uneven
        after = replace(fields, kelvin=mix(fields.kelvin, target + self.rise_k, share))
        if self.emissivity is not None:
            after = replace(after, emissivity=mix(fields.emissivity, self.emissivity, share))
        if self.reflected_c is not None:
            after = replace(after, reflected=mix(fields.reflected, kelvin(self.reflected_c), share))
        if self.tone is not None:
            after = replace(after, tone=mix(fields.tone, self.tone, mask))
        return after, Mark(mask, corners)


@dataclass(frozen=True, kw_only=True)
class Reflection(Shaped):
    """A person, lamp or sky mirrored by the surface: what is reflected changes, the true temperature does not.

    gloss is the share of the reflected part that comes from the mirrored thing rather than from all around.
    """

    kind: ClassVar[str] = "reflection"
    reflected_c: float = 33.0
    gloss: float = 1.0
    tone: float | None = None

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """What the surface mirrors, over the shape; its true temperature stays. The mark covers the shape."""
        mask, share, corners = self.shape(grid)
        after = replace(fields, reflected=mix(fields.reflected, kelvin(self.reflected_c), self.gloss * share))
        if self.tone is not None:
            after = replace(after, tone=mix(fields.tone, self.tone, 0.5 * mask))
        return after, Mark(mask, corners)


@dataclass(frozen=True, kw_only=True)
class Shade(Shaped):
    """A shadow: the surface is cooler by drop_k; straight edges, the same in every frame of a short sequence."""

    kind: ClassVar[str] = "shade"
    drop_k: float = 8.0

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """The surface cooler by drop_k and darker, over the shape; the mark covers it."""
        mask, share, corners = self.shape(grid)
        darker = mix(fields.tone, 0.45 * fields.tone, mask)
        return replace(fields, kelvin=fields.kelvin - self.drop_k * share, tone=darker), Mark(mask, corners)


@dataclass(frozen=True, kw_only=True)
class SunPatch(Shaped):
    """A surface the sun shines on: warmer by the absorbed flux over the film, rise = absorptance x irradiance / h.

    irradiance_w_m2 on the surface; h_w_m2k convection and radiation together.
    """

    kind: ClassVar[str] = "sun-patch"
    irradiance_w_m2: float = 400.0
    absorptance: float = 0.6
    h_w_m2k: float = 20.0

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """The surface warmer by the absorbed flux over the film and brighter, over the shape; the mark covers it."""
        mask, share, corners = self.shape(grid)
        rise = self.absorptance * self.irradiance_w_m2 / self.h_w_m2k
        brighter = mix(fields.tone, np.minimum(1.0, 1.25 * fields.tone), mask)
        return replace(fields, kelvin=fields.kelvin + rise * share, tone=brighter), Mark(mask, corners)
