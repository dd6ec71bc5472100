"""Openings in a building's shell: windows, supply registers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from heatbrief.testing.fields import Box, Fields, Grid, Mark, Part, box_outline, kelvin
from heatbrief.testing.parts.building import Conducting


@dataclass(frozen=True, kw_only=True)
class Window(Conducting):
    """A window from inside: a frame, panes that mirror the room, and a shade let down over part of it.

    frame_px    width of the frame [px]; shade_share of the pane's height is covered, from the top, in folds of cell_px
    glass, frame, shade   resistance from air to air through the pane, the frame, and the pane with the shade down
    """

    kind: ClassVar[str] = "window"
    box: Box = (40.0, 20.0, 80.0, 80.0)
    glass: float = 0.36
    frame: float = 0.5
    shade: float = 0.9
    frame_px: float = 7.0
    shade_share: float = 0.0
    cell_px: float = 5.0
    glass_emissivity: float = 0.89

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """Frame, panes and shade at their surface temperatures; the mark covers the box."""
        left, top, width, height = self.box
        edge, (x, y) = self.frame_px, grid.xy()
        mask = grid.inside(box_outline(self.box))
        pane = grid.inside(box_outline((left + edge, top + edge, width - 2 * edge, height - 2 * edge)))
        shaded = pane & (y < top + edge + self.shade_share * (height - 2 * edge)) & (x >= left)
        glass = pane & ~shaded
        at = {one: replace(self, resistance=one).surface_k() for one in (self.glass, self.frame, self.shade)}
        warm, tone, eps = fields.kelvin.copy(), fields.tone.copy(), fields.emissivity.copy()
        warm[mask], tone[mask] = at[self.frame], 0.92
        warm[glass], tone[glass], eps[glass] = at[self.glass], 0.35, self.glass_emissivity
        # the spacer at the edge of a pane conducts: the outermost part of the glass lies nearer to the outside
        inwards = np.broadcast_arrays(x - left - edge, left + width - edge - x, top + height - edge - y)
        rim = np.exp(-np.maximum(np.minimum.reduce(inwards), 0.0) / 4.0)
        warm = np.where(glass, warm + 0.12 * rim * (self.far_c - self.near_c), warm)
        folds = 0.25 * np.sin(2.0 * np.pi * (y - top) / self.cell_px) * np.sign(self.far_c - self.near_c)
        warm = np.where(shaded, at[self.shade] + folds, warm)
        tone = np.where(shaded, 0.8 + 0.06 * np.sin(2.0 * np.pi * (y - top) / self.cell_px), tone)
        return replace(fields, kelvin=warm, tone=tone, emissivity=eps), Mark(mask, box_outline(self.box))


@dataclass(frozen=True, kw_only=True)
class Vent(Part):
    """A supply register: slats at the temperature of the air, the frame half way to the room."""

    kind: ClassVar[str] = "vent"
    box: Box = (10.0, 10.0, 40.0, 16.0)
    air_c: float = 14.0
    slats: int = 6

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """Slats at the air's temperature in a frame half way to the room; the mark covers the box."""
        left, top, width, height = self.box
        mask = grid.inside(box_outline(self.box))
        inner = grid.inside(box_outline((left + 2, top + 2, width - 4, height - 4)))
        _, y = grid.xy()
        open_slot = inner & (np.sin(2.0 * np.pi * self.slats * (y - top - 2) / max(height - 4, 1.0)) > 0.0)
        half = fields.kelvin + 0.5 * (kelvin(self.air_c) - fields.kelvin)
        warm = np.where(open_slot, kelvin(self.air_c), np.where(mask, half, fields.kelvin))
        glow = grid.soften(mask, 0.06) * 0.15 * (kelvin(self.air_c) - fields.kelvin)
        tone = np.where(open_slot, 0.2, np.where(mask, 0.9, fields.tone))
        return replace(fields, kelvin=np.where(mask, warm, fields.kelvin + glow), tone=tone), Mark(
            mask, box_outline(self.box)
        )
