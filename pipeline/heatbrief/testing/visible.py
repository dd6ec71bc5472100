"""A grey drawing of the same view, in place of the photograph a camera would take beside the thermal picture."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from heatbrief.testing.rendering import Rendered
from heatbrief.testing.scene import Scene, stream

LEVELS = 64


def draw_visible(rendered: Rendered, scene: Scene) -> np.ndarray:
    """8-bit greys, the picture's size times its oversampling: tone, daylight falling off to the corners, faint grain.

    The greys are few, so that the file stays small.
    """
    from scipy.ndimage import gaussian_filter

    tone = rendered.tone
    edges = np.hypot(*np.gradient(gaussian_filter(tone, 0.8)))
    y, x = np.linspace(-1.0, 1.0, tone.shape[0])[:, None], np.linspace(-1.0, 1.0, tone.shape[1])[None, :]
    light = 1.04 - 0.16 * (x + 0.25) ** 2 - 0.12 * (y + 0.15) ** 2
    grain = stream(scene.seed, scene.texture or scene.name, "visible").standard_normal(tone.shape)
    grey = tone * light - 0.6 * edges + 0.02 * gaussian_filter(grain, 2.5)
    steps = np.rint(np.clip(grey, 0.0, 1.0) * (LEVELS - 1))
    result: np.ndarray = (steps * (255.0 / (LEVELS - 1))).astype(np.uint8)
    return result


def stretched(reading: np.ndarray) -> np.ndarray:
    """8-bit greys between the 0.5 and 99.5 percentile, as a camera without a scale exports them; uint8, shape of the reading."""
    low, high = np.percentile(reading, (0.5, 99.5))
    result: np.ndarray = np.rint(np.clip((reading - low) / max(high - low, 1e-9), 0.0, 1.0) * 255.0).astype(np.uint8)
    return result


def write_grey(greys: np.ndarray, path: Path) -> None:
    """A greyscale PNG without text or time."""
    from PIL import Image

    Image.fromarray(greys).save(path, format="PNG", optimize=True)
