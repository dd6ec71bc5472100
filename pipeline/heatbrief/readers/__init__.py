"""Built-in readers, offered through the same door as anybody's."""

from __future__ import annotations

from heatbrief.api.step import Step
from heatbrief.readers import npy, picture, text, tiff, video
from heatbrief.readers.sidecar import sidecar_path, sidecar_scale

STEPS: tuple[Step, ...] = (tiff.STEP, picture.STEP, text.STEP, npy.STEP, video.STEP)

__all__ = ["STEPS", "sidecar_path", "sidecar_scale"]
