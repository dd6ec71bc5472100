"""Parts of a building's shell: layers, framing, gaps in the insulation, bridges, leaks.

Surface temperatures come from the layers: T = T_near + (T_far - T_near) R_film / R_total, resistances in m2 K W-1.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar, Literal

import numpy as np

from heatbrief.physics.transmittance import expected_inside_surface
from heatbrief.testing.fields import Box, Fields, Grid, Mark, Part, Points, box_outline, kelvin, mix
from heatbrief.testing.parts.general import Shaped


@dataclass(frozen=True, kw_only=True)
class Conducting(Part):
    """A part between two airs.

    near_c, far_c   air on the camera's side and beyond [degC]
    film            surface resistance on the camera's side; resistance: of everything from air to air
    """

    near_c: float = 21.0
    far_c: float = 0.0
    film: float = 0.13
    resistance: float = 3.0

    def surface_k(self) -> float:
        """Temperature of the surface on the camera's side [K]."""
        return float(expected_inside_surface(kelvin(self.near_c), kelvin(self.far_c), self.film, self.resistance))

    def u_value(self) -> float:
        """1 / resistance [W m-2 K-1]."""
        return 1.0 / self.resistance


@dataclass(frozen=True, kw_only=True)
class Layers(Conducting, Shaped):
    """A plain wall, ceiling or floor, the whole view unless a shape is given.

    stratified_k_per_m  rise of the air's and so the surface's temperature upwards, from the middle of the view
    """

    kind: ClassVar[str] = "layers"
    stratified_k_per_m: float = 0.0
    tone: float | None = None
    emissivity: float | None = None

    def corners(self) -> Points:
        """The outline of the shape as a polygon; () for the whole view."""
        return super().corners() if self.outline or self.box or self.ellipse else ()

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """The surface temperature of the layers over the shape, rising upwards with the air."""
        corners = self.corners()
        mask = grid.inside(corners) if corners else np.ones(grid.shape, bool)
        _, height = grid.metres(0.0, (grid.height - 1) / 2.0)
        wall = self.surface_k() - self.stratified_k_per_m * height + fields.uneven
        after = replace(fields, kelvin=mix(fields.kelvin, wall, grid.soften(mask, self.soft_m)))
        if self.tone is not None:
            after = replace(after, tone=mix(fields.tone, self.tone, mask))
        if self.emissivity is not None:
            after = replace(after, emissivity=mix(fields.emissivity, self.emissivity, mask))
        return after, Mark(
            mask, corners or box_outline((0, 0, grid.width, grid.height)), f"U {self.u_value():.3g} W/m2K"
        )


@dataclass(frozen=True, kw_only=True)
class Framing(Conducting):
    """Studs or joists at equal spacing; heat spreading in the lining softens them by soft_m.

    runs     "down" the picture or "across" it; first_px is the middle of the first member
    """

    kind: ClassVar[str] = "framing"
    spacing_m: float = 0.4
    width_m: float = 0.038
    soft_m: float = 0.012
    first_px: float = 20.0
    runs: Literal["down", "across"] = "down"
    box: Box | None = None

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """Stripes at the surface temperature of the members; the mark covers the members."""
        across, down = grid.metres(self.first_px, self.first_px)
        away = across + 0.0 * down if self.runs == "down" else down + 0.0 * across
        wrapped = np.abs((away + self.spacing_m / 2.0) % self.spacing_m - self.spacing_m / 2.0)
        mask = wrapped <= self.width_m / 2.0
        if self.box is not None:
            mask &= grid.inside(box_outline(self.box))
        share = grid.soften(mask, self.soft_m)
        return replace(fields, kelvin=mix(fields.kelvin, self.surface_k() + fields.uneven, share)), Mark(
            mask, box_outline(self.box or (0, 0, grid.width, grid.height)), f"every {self.spacing_m:g} m"
        )


@dataclass(frozen=True, kw_only=True)
class MissingInsulation(Conducting, Shaped):
    """A bay, or part of one, whose insulation is gone: the same films with the resistance that is left."""

    kind: ClassVar[str] = "missing-insulation"
    defect: bool = True
    ragged_m: float = 0.0

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """The surface temperature of what is left, over a shape with a soft or ragged edge; the mark covers the shape."""
        mask, share, corners = self.shape(grid)
        if self.ragged_m:
            # the edge wanders by moving the half-way line of a wider transition
            wide = grid.soften(mask, 2.0 * self.ragged_m)
            wander = np.where(
                (wide > 0.02) & (wide < 0.98), 0.18 * grid.uneven(self.name or self.kind, 2.0 * self.ragged_m), 0.0
            )
            ragged = wide + wander > 0.5
            mask, share = ragged, grid.soften(ragged, self.soft_m)
        filled = mix(fields.kelvin, self.surface_k() + fields.uneven, share)
        return replace(fields, kelvin=filled), Mark(mask, corners, f"U {self.u_value():.3g} W/m2K left")


@dataclass(frozen=True, kw_only=True)
class ThermalBridge(Conducting):
    """A line of steel or concrete through the insulation; its contrast falls off sideways over soft_m."""

    kind: ClassVar[str] = "thermal-bridge"
    defect: bool = True
    line: Points = ()
    width_m: float = 0.05
    soft_m: float = 0.05

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """The surface temperature of the member along its line, falling off to both sides; the mark covers its width and soft_m."""
        distance, _ = grid.along(self.line)
        share = np.exp(-np.maximum(distance - self.width_m / 2.0, 0.0) / self.soft_m)
        after = replace(fields, kelvin=mix(fields.kelvin, self.surface_k(), share))
        return after, Mark(distance <= self.width_m / 2.0 + self.soft_m)


@dataclass(frozen=True, kw_only=True)
class AirLeak(Part):
    """Air entering at a point of an edge and washing over the surface as a tongue that widens and decays.

    start_px, toward_px  where it comes out and the direction it takes [px]
    air_c                of the entering air; strength: share of its difference the surface takes on at the start
    length_m             way over which it falls to 1/e; width_m: half width at the start
    """

    kind: ClassVar[str] = "air-leak"
    defect: bool = True
    start_px: tuple[float, float] = (0.0, 0.0)
    toward_px: tuple[float, float] = (0.0, 1.0)
    air_c: float = 0.0
    strength: float = 0.5
    length_m: float = 0.25
    width_m: float = 0.03

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """The tongue of entering air on the surface; the mark covers where it is strong."""
        across, down = grid.metres(*self.start_px)
        u, v = (
            (self.toward_px[0] - self.start_px[0]) * grid.pixel_m[0],
            (self.toward_px[1] - self.start_px[1]) * grid.pixel_m[1],
        )
        length = float(np.hypot(u, v)) or 1.0
        way, side = (across * u + down * v) / length, (across * v - down * u) / length
        side = side + 0.012 * grid.uneven(self.name or self.kind, 0.05)
        width = self.width_m * (1.0 + 0.6 * np.maximum(way, 0.0) / self.length_m)
        share = self.strength * np.exp(-np.maximum(way, 0.0) / self.length_m - 0.5 * (side / width) ** 2)
        share = np.where(way >= 0.0, share, 0.0)
        after = replace(fields, kelvin=mix(fields.kelvin, kelvin(self.air_c), share))
        return after, Mark(share >= 0.25 * self.strength if self.strength else np.zeros(grid.shape, bool))
