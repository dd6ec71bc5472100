"""Parts that carry water or air: damp and wet patches, buried pipes, radiators, ducts."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import ClassVar

import numpy as np

from heatbrief.physics.wet_surface import equilibrium_temperature
from heatbrief.testing.fields import Box, Fields, Grid, Mark, Part, Points, box_outline, kelvin, mix

GROWN = 0.35


@lru_cache(maxsize=256)
def wet_surface(
    dry_k: float, air_k: float, humidity: float, h_convection: float, h_radiation: float, wetness: float
) -> float:
    """Temperature of an evaporating surface that would be at `dry_k` when dry [K].

    Sun and surroundings are within `dry_k`: surroundings are chosen that alone would hold the dry surface there,
    so that (h_c + h_r)(T_dry - T) equals the heat of evaporation.
    """
    around = air_k + (h_convection + h_radiation) / h_radiation * (dry_k - air_k)
    return float(
        equilibrium_temperature(air_k, humidity, h_convection, around, h_radiation=h_radiation, wetness=wetness)
    )


@dataclass(frozen=True, kw_only=True)
class WetPatch(Part):
    """A damp or wet patch that cools by evaporation, with a soft irregular edge, growing if `tau_s` is given.

    radius(t) = radius_m (1 - exp(-(t - start_s) / tau_s)) after start_s, nothing before; tau_s 0 means full size always
    wetness     0 dry to 1 open water at its middle
    """

    kind: ClassVar[str] = "wet-patch"
    defect: bool = True
    centre_px: tuple[float, float] = (0.0, 0.0)
    radius_m: float = 0.3
    soft_m: float = 0.05
    ragged: float = 0.25
    wetness: float = 0.8
    air_c: float = 24.0
    humidity: float = 0.4
    h_convection: float = 3.5
    h_radiation: float = 5.5
    start_s: float = 0.0
    tau_s: float = 0.0
    darker: float = 0.25

    def radius(self, time_s: float) -> float:
        """Radius at a moment [m]."""
        if self.tau_s <= 0.0:
            return self.radius_m
        return self.radius_m * float(-np.expm1(-max(time_s - self.start_s, 0.0) / self.tau_s))

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """The patch at its wet temperature as large as it is by now; an empty mark before it starts."""
        radius = self.radius(grid.time_s)
        if radius <= 0.0:
            return fields, Mark(np.zeros(grid.shape, bool), note="not there yet")
        across, down = grid.metres(*self.centre_px)
        wander = 1.0 + self.ragged * grid.uneven(self.name or self.kind, 0.35 * self.radius_m)
        inside = radius * wander - np.hypot(across, down)
        share = 1.0 / (1.0 + np.exp(-np.clip(inside / (self.soft_m / 2.0), -60.0, 60.0)))
        middle = (
            float(np.median(fields.kelvin[inside > 0.0])) if np.any(inside > 0.0) else float(np.median(fields.kelvin))
        )
        wet = wet_surface(
            round(middle, 3),
            float(kelvin(self.air_c)),
            self.humidity,
            self.h_convection,
            self.h_radiation,
            self.wetness,
        )
        # where the dry surface is already cooler (shade) there is less left to lose
        spare = np.clip((fields.kelvin - wet) / max(middle - wet, 1e-6), 0.0, 1.5)
        warm = fields.kelvin - (middle - wet) * np.minimum(spare, 1.0) * share
        after = replace(fields, kelvin=warm, tone=fields.tone * (1.0 - self.darker * share))
        return after, Mark(share > 0.5, note=f"wet surface {wet - 273.15:.1f} degC")


@dataclass(frozen=True, kw_only=True)
class PipeRidge(Part):
    """A warm or cold pipe below a surface: flux of a line source under a plane, rise / (1 + (distance / depth)^2)."""

    kind: ClassVar[str] = "pipe-ridge"
    line: Points = ()
    depth_m: float = 0.05
    rise_k: float = 4.0

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """The ridge over the pipe added to the surface; the mark covers its depth to both sides."""
        distance, _ = grid.along(self.line)
        rise = self.rise_k / (1.0 + (distance / self.depth_m) ** 2)
        return replace(fields, kelvin=fields.kelvin + rise), Mark(distance <= self.depth_m)


@dataclass(frozen=True, kw_only=True)
class WarmSpread(Part):
    """Heat spreading from below the surface, as from hot water leaking under a slab: a lopsided Gaussian."""

    kind: ClassVar[str] = "warm-spread"
    defect: bool = True
    centre_px: tuple[float, float] = (0.0, 0.0)
    radius_m: float = 0.2
    rise_k: float = 5.0
    ragged: float = 0.12

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """The lopsided rise added to the surface; the mark covers where it is strong."""
        across, down = grid.metres(*self.centre_px)
        wander = np.maximum(1.0 + self.ragged * grid.uneven(self.name or self.kind, 0.6 * self.radius_m), 0.4)
        rise = self.rise_k * np.exp(-0.5 * (np.hypot(across, down) / (self.radius_m * wander)) ** 2)
        return replace(fields, kelvin=fields.kelvin + rise), Mark(rise >= GROWN * self.rise_k)


@dataclass(frozen=True, kw_only=True)
class Radiator(Part):
    """A panel radiator, flow at the top: falls from flow to return downwards.

    sludge, air   share of the height that stays cold at the bottom middle, or at the top; 0 for a sound one
    """

    kind: ClassVar[str] = "radiator"
    box: Box = (0.0, 0.0, 100.0, 60.0)
    flow_c: float = 60.0
    return_c: float = 48.0
    room_c: float = 20.0
    sludge: float = 0.0
    air: float = 0.0
    columns: int = 16

    def sound(self) -> Radiator:
        """The same radiator, clean and bled."""
        return replace(self, defect=False, sludge=0.0, air=0.0)

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """The panel from flow to return with its cold parts; the mark covers the cold parts, else the panel."""
        left, top, width, height = self.box
        mask, (x, y) = grid.inside(box_outline(self.box)), grid.xy()
        u, v = (x - left) / width, (y - top) / height
        warm = kelvin(self.flow_c + (self.return_c - self.flow_c) * v) + 0.8 * np.cos(2.0 * np.pi * self.columns * u)
        settled = self.sludge * np.exp(-0.5 * ((u - 0.5) / 0.25) ** 2)
        cold = 1.0 / (1.0 + np.exp(-(v - (1.0 - settled)) / 0.03)) if self.sludge else np.zeros(grid.shape)
        trapped = 1.0 / (1.0 + np.exp((v - self.air) / 0.03)) if self.air else np.zeros(grid.shape)
        cold = np.maximum(cold, trapped)
        warm = warm + 0.8 * cold * (kelvin(self.room_c) - warm)
        tone = np.where(mask, 0.85 + 0.08 * np.cos(2.0 * np.pi * self.columns * u) + 0.0 * v, fields.tone)
        return replace(fields, kelvin=np.where(mask, warm, fields.kelvin), tone=tone), Mark(
            mask & (cold > 0.5) if self.defect else mask, () if self.defect else box_outline(self.box)
        )


@dataclass(frozen=True, kw_only=True)
class Duct(Part):
    """A run of round duct: its skin from the air inside, the insulation and the air around, in resistances [m2 K W-1].

    bare   way along the line [m] from..to where the insulation is missing; () for a sound run
    """

    kind: ClassVar[str] = "duct"
    line: Points = ()
    diameter_m: float = 0.3
    supply_c: float = 13.0
    around_c: float = 50.0
    inner_film: float = 0.10
    insulation: float = 1.06
    outer_film: float = 0.12
    bare: tuple[float, float] | tuple[()] = ()
    emissivity: float = 0.93

    def skin_k(self, insulation: float) -> float:
        """Temperature of the skin for an insulation [K]."""
        total = self.inner_film + insulation + self.outer_film
        return float(kelvin(self.around_c)) + (self.supply_c - self.around_c) * self.outer_film / total

    def sound(self) -> Duct:
        """The same duct, insulated all along."""
        return replace(self, defect=False, bare=())

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """The skin of the run, and of the bare part; the mark covers the bare part, else the run."""
        distance, way = grid.along(self.line)
        mask = distance <= self.diameter_m / 2.0
        round_off = np.sqrt(np.clip(1.0 - (2.0 * distance / self.diameter_m) ** 2, 0.0, 1.0))
        ribs = np.cos(2.0 * np.pi * way / 0.045)
        jacket = self.skin_k(self.insulation) + 0.35 * ribs * round_off - 1.2 * (round_off - 0.8)
        joint = mask & (way >= self.bare[0]) & (way <= self.bare[1]) if self.bare else np.zeros(grid.shape, bool)
        share = grid.soften(joint, 0.012)
        warm = np.where(mask, mix(jacket, self.skin_k(0.02) + 1.0 * (1.0 - round_off), share), fields.kelvin)
        tone = np.where(
            joint, 0.75 * round_off, np.where(mask, (0.45 + 0.08 * ribs) * (0.4 + 0.6 * round_off), fields.tone)
        )
        after = replace(fields, kelvin=warm, tone=tone, emissivity=mix(fields.emissivity, self.emissivity, mask))
        return after, Mark(joint if self.defect else mask, note="bare joint" if self.bare else "")
