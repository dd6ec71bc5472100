"""What lossy compression did to a picture of colours, from the tables in the file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from PIL import Image

LUMA_CHROMA = np.array([[0.299, 0.587, 0.114], [-0.168736, -0.331264, 0.5], [0.5, -0.418688, -0.081312]])
"""Red, green, blue to Y, Cb, Cr without offset: ITU-T T.871 (JFIF), after ITU-R BT.601."""
BLOCK = 8
_ROUNDING = 1.0 / 12.0
_SEEN = 20
_MOST_BLOCKS = 20_000


@dataclass(frozen=True)
class Compression:
    """Quantiser steps of luma and chroma, each (8, 8) for frequencies down and across; pixels per chroma sample."""

    luma: np.ndarray
    chroma: np.ndarray
    across: int = 1
    down: int = 1

    @property
    def block(self) -> tuple[int, int]:
        """(width, height) in pixels of what is coded together."""
        return BLOCK * self.across, BLOCK * self.down


def compression_of(image: Image.Image) -> Compression | None:
    """The lossy compression of an open JPEG picture; None for others."""
    tables = getattr(image, "quantization", None)
    if image.format != "JPEG" or not tables:
        return None
    layers = getattr(image, "layer", None) or [(1, 1, 1, 0)]
    numbers = [one[3] if one[3] in tables else min(tables) for one in layers]
    luma, chroma = (np.asarray(tables[one], float).reshape(BLOCK, BLOCK) for one in (numbers[0], numbers[-1]))
    across, down = (max(1, round(layers[0][side] / max(layers[-1][side], 1))) for side in (1, 2))
    return Compression(luma, chroma, across, down)


@dataclass(frozen=True)
class LumaError:
    """Standard deviation that compression gave the luma of a pixel, and the mean luma of a block, in levels of 255."""

    pixel: float
    block: float


def luma_error(rgb: np.ndarray, compression: Compression, at: tuple[int, int] = (0, 0)) -> LumaError:
    """The damage to a part (height, width, 3) of a picture whose left top pixel lies `at` (x, y) in the file.

    A coefficient that was kept is off by up to half its step. What a coefficient that became zero may have held follows
    from how often the same one was kept elsewhere, for a Laplace or a normal distribution, whichever is wider.
    """
    plane = rgb[-at[1] % BLOCK :, -at[0] % BLOCK :] @ LUMA_CHROMA[0]
    whole = float(compression.luma[0, 0]) / BLOCK / 12.0**0.5
    height, width = (side - side % BLOCK for side in plane.shape)
    if not height or not width:
        return LumaError(float(compression.luma.mean()) / 12.0**0.5, whole)
    from scipy.fft import dctn

    blocks = plane[:height, :width].reshape(height // BLOCK, BLOCK, width // BLOCK, BLOCK).swapaxes(1, 2)
    blocks = blocks.reshape(-1, BLOCK, BLOCK)
    blocks = blocks[:: 1 + len(blocks) // _MOST_BLOCKS]
    kept = np.abs(dctn(blocks, axes=(1, 2), norm="ortho")) > compression.luma / 2
    energy = _lost(kept.mean(axis=0), compression.luma, len(blocks))
    return LumaError(float(np.sqrt(energy.mean() + _ROUNDING)), whole)


def _lost(kept: np.ndarray, step: np.ndarray, blocks: int) -> np.ndarray:
    """Mean square error of each coefficient (8, 8) from the share of blocks that kept it."""
    from scipy.special import ndtri

    share = np.clip(kept, 0.5 / blocks, 1.0 - 1e-6)
    rate = -2.0 * np.log(share) / step
    # Noise has the thinner tails of a normal distribution: the same rare coefficients then mean more energy.
    own = np.maximum(2.0 / rate**2, (step / 2.0 / ndtri(1.0 - share / 2.0)) ** 2)
    # Rare coefficients say only "small"; energy falls with frequency, so lower frequencies bound the higher ones.
    order = np.add.outer(np.arange(BLOCK), np.arange(BLOCK))
    ceiling = np.inf
    for diagonal in range(1, 2 * BLOCK - 1):
        here = order == diagonal
        sure = here & (kept * blocks >= _SEEN)
        own[here & ~sure] = np.minimum(own[here & ~sure], ceiling)
        ceiling = min(ceiling, float(own[here].mean()))
    rate = np.sqrt(2.0 / own)
    reach = rate * step / 2
    gone = np.exp(-reach)
    zeroed = (2.0 - gone * (reach**2 + 2.0 * reach + 2.0)) / (rate**2 * (1.0 - gone))
    result: np.ndarray = kept * step**2 / 12.0 + (1.0 - kept) * np.minimum(zeroed, step**2 / 12.0)
    return result
