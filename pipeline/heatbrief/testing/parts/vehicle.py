"""Parts of a vehicle: exhaust runners and the engine's radiator."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from heatbrief.testing.fields import Box, Fields, Grid, Mark, Part, Points, box_outline, kelvin, mix


@dataclass(frozen=True, kw_only=True)
class ExhaustRunner(Part):
    """A pipe from the head, cooling along its way towards `end_c` as exp(-way / fall_off_m); flanks a little cooler.

    gas_c    temperature of its skin close to the head
    sound_c  the same if its cylinder fired as the others do, to measure a defect against
    """

    kind: ClassVar[str] = "exhaust-runner"
    line: Points = ()
    diameter_m: float = 0.038
    gas_c: float = 210.0
    sound_c: float | None = None
    end_c: float = 150.0
    fall_off_m: float = 0.15
    emissivity: float = 0.85
    tone: float = 0.4

    def sound(self) -> ExhaustRunner | None:
        """The same runner with its cylinder firing, if that is known."""
        return None if self.sound_c is None else replace(self, defect=False, gas_c=self.sound_c)

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """The pipe cooling along its way; the mark covers its width."""
        distance, way = grid.along(self.line)
        mask = distance <= self.diameter_m / 2.0
        round_off = np.sqrt(np.clip(1.0 - (2.0 * distance / self.diameter_m) ** 2, 0.0, 1.0))
        skin = self.end_c + (self.gas_c - self.end_c) * np.exp(-way / self.fall_off_m)
        skin = skin - 0.06 * (skin - 40.0) * (1.0 - round_off) + 1.5 * grid.uneven(self.name or self.kind, 0.012)
        after = replace(
            fields,
            kelvin=np.where(mask, kelvin(skin), fields.kelvin),
            emissivity=mix(fields.emissivity, self.emissivity, mask),
            tone=np.where(mask, self.tone * (0.3 + 0.7 * round_off), fields.tone),
        )
        return after, Mark(mask, note=f"{self.gas_c:g} degC at the head")


@dataclass(frozen=True, kw_only=True)
class EngineRadiator(Part):
    """A cross-flow radiator core: from inlet on the left to outlet on the right; blocked tubes stay cold.

    blocked   [first, last] height and [from, to] width of the blocked tubes as shares of the core; () for none
    """

    kind: ClassVar[str] = "engine-radiator"
    box: Box = (0.0, 0.0, 100.0, 60.0)
    inlet_c: float = 88.0
    outlet_c: float = 74.0
    blocked_c: float = 55.0
    blocked: tuple[float, float, float, float] | tuple[()] = ()
    tubes: int = 26
    emissivity: float = 0.9

    def sound(self) -> EngineRadiator:
        """The same core with open tubes."""
        return replace(self, defect=False, blocked=())

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """The core from inlet to outlet with its blocked tubes; the mark covers the blocked tubes, else the core."""
        left, top, width, height = self.box
        mask, (x, y) = grid.inside(box_outline(self.box)), grid.xy()
        u, v = (x - left) / width, (y - top) / height
        rows = np.cos(2.0 * np.pi * self.tubes * v)
        warm = kelvin(self.inlet_c + (self.outlet_c - self.inlet_c) * np.clip(u, 0.0, 1.0)) + 1.2 * rows
        cold = np.zeros(grid.shape, bool)
        if self.blocked:
            first, last, start, end = self.blocked
            cold = mask & (v >= first) & (v <= last) & (u >= start) & (u <= end)
            # coolant stands in the tubes: cold in the middle of their run, warmed through the header at the left
            depth = np.clip((u - start) / 0.25, 0.0, 1.0) * np.clip((end - u) / 0.04, 0.0, 1.0)
            warm = mix(warm, kelvin(self.blocked_c) + 0.8 * rows, grid.soften(cold, 0.006) * depth)
        tanks = mask & ((u < 0.05) | (u > 0.95))
        warm = np.where(tanks, kelvin(np.where(u < 0.5, self.inlet_c + 2.0, self.outlet_c - 1.0) + 0.0 * v), warm)
        tone = np.where(tanks, 0.1, 0.3 + 0.12 * rows + 0.0 * u)
        after = replace(
            fields,
            kelvin=np.where(mask, warm, fields.kelvin),
            tone=np.where(mask, tone, fields.tone),
            emissivity=mix(fields.emissivity, self.emissivity, mask),
        )
        return after, Mark(cold if self.defect else mask, () if self.defect else box_outline(self.box))
