"""Parts that carry current: breakers, joints, conductors, heat sinks.

Rises follow the load: rise = rated rise (I / I_rated)^n.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from heatbrief.physics.electrical import rise_at_load
from heatbrief.testing.fields import Box, Fields, Grid, Mark, Part, Points, box_outline, kelvin, mix


def load_rise(rated_rise_k: float, load_a: float, rated_a: float, exponent: float) -> float:
    """Rise of a part over its ambient at a current [K]; exponent 1.5 to 2.0 (dossier E9, [seen: S3, S4])."""
    return float(rise_at_load(rated_rise_k, rated_a, load_a, exponent)) if load_a > 0 else 0.0


@dataclass(frozen=True, kw_only=True)
class Breaker(Part):
    """The face of a breaker: warmest over its contacts, cooler at its edges.

    rated_rise_k   mean rise of the face at the rated current
    fault_rise_k   the same for the extra loss of a bad connection, at the present current
    warm_x         where along the face the connection sits, 0 left to 1 right
    idle_k         rise that the panel around it gives even without load
    """

    kind: ClassVar[str] = "breaker"
    box: Box = (0.0, 0.0, 34.0, 11.0)
    load_a: float = 0.0
    rated_a: float = 20.0
    ambient_c: float = 25.0
    rated_rise_k: float = 22.0
    exponent: float = 1.8
    fault_rise_k: float = 0.0
    idle_k: float = 0.0
    warm_x: float = 0.5
    emissivity: float = 0.94

    def rise(self) -> float:
        """Mean rise of the face over ambient [K]."""
        return load_rise(self.rated_rise_k, self.load_a, self.rated_a, self.exponent) + self.fault_rise_k + self.idle_k

    def sound(self) -> Breaker:
        """The same breaker with a good connection."""
        return replace(self, defect=False, fault_rise_k=0.0)

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """The face over ambient by its load and fault, brightest at the connection; the mark covers the box."""
        left, top, width, height = self.box
        mask, (x, y) = grid.inside(box_outline(self.box)), grid.xy()
        u, v = (x - left) / width - self.warm_x, (y - top) / height - 0.5
        profile = np.exp(-0.5 * (u / 0.55) ** 2 - 0.5 * (v / 0.7) ** 2)
        profile = profile / profile[mask].mean() if mask.any() else profile
        glow = grid.soften(mask, 0.012)
        base = fields.kelvin + np.where(mask, 0.0, 0.22 * self.rise() * glow)
        warm = np.where(mask, kelvin(self.ambient_c) + self.rise() * profile, base)
        handle = mask & (np.abs(u + self.warm_x - 0.5) < 0.13) & (np.abs(v) < 0.32)
        rim = mask & ~grid.inside(box_outline((left + 0.7, top + 0.7, width - 1.4, height - 1.4)))
        tone = np.where(handle, 0.75, np.where(rim, 0.05, np.where(mask, 0.16, fields.tone)))
        return replace(fields, kelvin=warm, tone=tone, emissivity=mix(fields.emissivity, self.emissivity, mask)), Mark(
            mask, box_outline(self.box), f"{self.load_a:g} A of {self.rated_a:g} A, {self.rise():.1f} K over ambient"
        )


@dataclass(frozen=True, kw_only=True)
class Conductor(Part):
    """An insulated cable along a line, evenly warm by its load."""

    kind: ClassVar[str] = "conductor"
    line: Points = ()
    diameter_m: float = 0.007
    ambient_c: float = 25.0
    rise_k: float = 3.0
    emissivity: float = 0.95
    tone: float = 0.12

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """The cable over ambient by its load; the mark covers its width."""
        distance, _ = grid.along(self.line)
        mask = distance <= self.diameter_m / 2.0
        # the flanks of a round cable lose heat to both sides and look a little cooler
        round_off = np.sqrt(np.clip(1.0 - (2.0 * distance / self.diameter_m) ** 2, 0.0, 1.0))
        warm = np.where(mask, kelvin(self.ambient_c) + self.rise_k * (0.85 + 0.15 * round_off), fields.kelvin)
        after = replace(
            fields,
            kelvin=warm,
            emissivity=mix(fields.emissivity, self.emissivity, mask),
            tone=np.where(mask, self.tone + 0.12 * round_off, fields.tone),
        )
        return after, Mark(mask)


@dataclass(frozen=True, kw_only=True)
class Joint(Part):
    """A connection whose loss warms its conductor to both sides as a long fin: rise exp(-way / fall_off_m).

    centre_px    middle of the joint on the line; half_m: half its length; diameter_m of its body
    normal_k, extra_k   rise over ambient of a sound joint, and what a bad contact adds
    """

    kind: ClassVar[str] = "joint"
    line: Points = ()
    centre_px: tuple[float, float] = (0.0, 0.0)
    half_m: float = 0.04
    diameter_m: float = 0.018
    cable_m: float = 0.007
    ambient_c: float = 25.0
    normal_k: float = 4.0
    extra_k: float = 0.0
    fall_off_m: float = 0.06
    emissivity: float = 0.94

    def sound(self) -> Joint:
        """The same joint with a good contact."""
        return replace(self, defect=False, extra_k=0.0)

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """The joint and the decay along its conductor to both sides; the mark covers the joint's body."""
        distance, _ = grid.along(self.line)
        across, down = grid.metres(*self.centre_px)
        (x0, y0), (x1, y1) = self.line[0], self.line[-1]
        u, v = (x1 - x0) * grid.pixel_m[0], (y1 - y0) * grid.pixel_m[1]
        way = np.abs(across * u + down * v) / (float(np.hypot(u, v)) or 1.0)
        body = (way <= self.half_m) & (distance <= self.diameter_m / 2.0)
        cable = (distance <= self.cable_m / 2.0) & ~body
        fin = np.exp(-np.maximum(way - self.half_m, 0.0) / self.fall_off_m)
        hump = np.exp(-0.5 * (way / (1.2 * self.half_m)) ** 2)
        warm = np.where(cable, fields.kelvin + self.extra_k * 0.75 * fin, fields.kelvin)
        warm = np.where(body, kelvin(self.ambient_c) + self.normal_k + self.extra_k * (0.75 + 0.25 * hump), warm)
        collar = body & ((way > 0.8 * self.half_m) | (way < 0.08 * self.half_m))
        tone = np.where(collar, 0.35, np.where(body, 0.12, fields.tone))
        return replace(fields, kelvin=warm, tone=tone, emissivity=mix(fields.emissivity, self.emissivity, body)), Mark(
            body, note=f"contact adds {self.extra_k:g} K"
        )


@dataclass(frozen=True, kw_only=True)
class HeatSink(Part):
    """The body of an inverter or driver: loss over thermal conductance, warmer at the top, ribbed.

    loss_w / conductance_w_k is the mean rise over ambient; sound_w is the loss without a defect, to measure it against
    """

    kind: ClassVar[str] = "heat-sink"
    box: Box = (0.0, 0.0, 40.0, 60.0)
    loss_w: float = 100.0
    sound_w: float | None = None
    conductance_w_k: float = 7.0
    ambient_c: float = 25.0
    ribs: int = 9
    emissivity: float = 0.92

    def sound(self) -> HeatSink | None:
        """The same body with its sound loss, if that is known."""
        return None if self.sound_w is None else replace(self, defect=False, loss_w=self.sound_w)

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """The body over ambient by its loss, with ribs; the mark covers the box."""
        left, top, width, height = self.box
        mask, (x, y) = grid.inside(box_outline(self.box)), grid.xy()
        rise = self.loss_w / self.conductance_w_k
        upward = 1.0 + 0.28 * (0.5 - (y - top) / height)
        middle = np.exp(-0.5 * (((x - left) / width - 0.5) / 0.6) ** 2)
        profile = upward * middle * (1.0 + 0.05 * np.cos(2.0 * np.pi * self.ribs * (x - left) / width))
        profile = profile / profile[mask].mean() if mask.any() else profile
        plume = grid.soften(grid.inside(box_outline((left, top - 12.0, width, 12.0))), 0.03) * 0.06 * rise
        warm = np.where(mask, kelvin(self.ambient_c) + rise * profile, fields.kelvin + plume)
        tone = np.where(mask, 0.62 + 0.1 * np.cos(2.0 * np.pi * self.ribs * (x - left) / width), fields.tone)
        return replace(fields, kelvin=warm, tone=tone, emissivity=mix(fields.emissivity, self.emissivity, mask)), Mark(
            mask, box_outline(self.box), f"{rise:.1f} K over ambient"
        )
