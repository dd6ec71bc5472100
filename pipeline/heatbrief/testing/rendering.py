"""From a scene to recorded counts: emission and reflection, path, lens, pixel, imager faults, rounding."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from heatbrief.physics.atmosphere import transmittance
from heatbrief.physics.measurement import Settings, measured_signal
from heatbrief.physics.planck import ZERO_CELSIUS_K
from heatbrief.testing.fields import Fields, Grid, Mark, Part, kelvin
from heatbrief.testing.recording import pooled, quantised, reported, table_band, through_lens
from heatbrief.testing.scene import Scene
from heatbrief.testing.truth import Truth, TruthRecord, hull, to_json


@dataclass(frozen=True)
class Rendered:
    """A recorded picture with everything that is true about it.

    counts        uint16 (height, width)
    scale         (kelvin per count, kelvin at count 0)
    kelvin        float64 (height, width): mean true surface temperature within each pixel
    apparent      float64 (height, width): what a faultless imager would read, before rounding [K]
    bad           bool (height, width): pixels stuck at a wrong count
    tone          float64, finer than the picture: grey of the visible view
    """

    counts: np.ndarray
    scale: tuple[float, float]
    scene: Scene
    truth: Truth
    kelvin: np.ndarray
    apparent: np.ndarray
    bad: np.ndarray
    tone: np.ndarray

    @property
    def reading(self) -> np.ndarray:
        """Recorded temperature [K], float64 (height, width)."""
        return self.counts * self.scale[0] + self.scale[1]


def render(scene: Scene) -> Rendered:
    """Counts, scale and truth of a scene; the same scene always gives the same arrays."""
    band, grid, settings = table_band(*scene.imager.band_um), grid_of(scene), path_of(scene)
    fields, records = paint(scene, grid)
    signal = measured_signal(band, fields.kelvin, _settings(fields, settings))
    signal = through_lens(signal, scene)
    reading = reported(signal, scene)
    counts, bad = quantised(reading, scene)
    truth = Truth(
        scene.name,
        scene.width,
        scene.height,
        scene.pixel_m,
        scene.emissivity,
        scene.reflected_c,
        scene.imager.offset(),
        int(bad.sum()),
        records,
    )
    scale = (scene.imager.kelvin_per_count, scene.imager.kelvin_at_0)
    return Rendered(
        counts, scale, scene, truth, pooled(fields.kelvin, scene.oversample), band.temperature(signal), bad, fields.tone
    )


def grid_of(scene: Scene) -> Grid:
    """The points at which a scene is evaluated."""
    return Grid(
        scene.width,
        scene.height,
        scene.pixel_m,
        scene.oversample,
        scene.time_s,
        scene.seed,
        scene.texture or scene.name,
    )


def path_of(scene: Scene) -> Settings:
    """What stands between surface and imager; emissivity and reflection are per point and filled in later."""
    low, high = scene.imager.band_um
    tau = transmittance(scene.distance_m, kelvin(scene.air_c), scene.humidity, low_um=low, high_um=high)
    return Settings(transmittance=float(tau), air_k=kelvin(scene.air_c))


def paint(scene: Scene, grid: Grid) -> tuple[Fields, tuple[TruthRecord, ...]]:
    """The finished fields and one record for each part."""
    fields, band, path = _blank(scene, grid), table_band(*scene.imager.band_um), path_of(scene)
    painted: list[tuple[Part, Mark, float, float]] = []
    seen = measured_signal(band, fields.kelvin, _settings(fields, path))
    for part in scene.parts:
        after, mark = part.paint(fields, grid)
        now = measured_signal(band, after.kelvin, _settings(after, path))
        sound = part.sound() if part.defect else None
        base = fields if sound is None else sound.paint(fields, grid)[0]
        before = seen if sound is None else measured_signal(band, base.kelvin, _settings(base, path))
        true = _mean(after.kelvin - base.kelvin, mark.mask)
        apparent = _mean(band.temperature(now) - band.temperature(before), mark.mask)
        painted.append((part, mark, true, apparent))
        fields, seen = after, now
    return fields, tuple(_record_of(one, fields, grid) for one in painted)


def _blank(scene: Scene, grid: Grid) -> Fields:
    ones = np.ones(grid.shape)
    length = scene.mottle_px * scene.pixel_m[0]
    warm = scene.mottle_k * grid.uneven("texture", length) if scene.mottle_k else 0.0
    eps = scene.emissivity_mottle * grid.uneven("emissivity", length) if scene.emissivity_mottle else 0.0
    return Fields(
        kelvin(scene.base_c) * ones + warm,
        warm * ones,
        np.clip(scene.emissivity * ones + eps, 0.02, 1.0),
        kelvin(scene.reflected_c) * ones,
        scene.tone * ones,
    )


def _settings(fields: Fields, path: Settings) -> Settings:
    return Settings(fields.emissivity, fields.reflected, path.transmittance, path.air_k)


def _mean(values: np.ndarray, mask: np.ndarray) -> float:
    return float(values[mask].mean()) if mask.any() else 0.0


def _record_of(painted: tuple[Part, Mark, float, float], fields: Fields, grid: Grid) -> TruthRecord:
    part, mark, true, apparent = painted
    pixels = float(mark.mask.sum()) / grid.oversample**2
    mean = _mean(fields.kelvin, mark.mask) - ZERO_CELSIUS_K if mark.mask.any() else 0.0
    return TruthRecord(
        part.name or part.kind,
        part.kind,
        part.defect and pixels > 0,
        true,
        apparent,
        mean,
        pixels,
        pixels * grid.pixel_m[0] * grid.pixel_m[1],
        mark.outline or hull(mark.mask, grid),
        mark.note or part.note,
    )


def write_counts(counts: np.ndarray, path: Path) -> None:
    """A deflate-compressed greyscale TIFF without time stamps or program names."""
    import tifffile

    tifffile.imwrite(
        path,
        counts,
        compression="deflate",
        predictor=True,
        photometric="minisblack",
        metadata=None,
        software=False,
        description=None,
        datetime=None,
    )


def write(rendered: Rendered, folder: Path, name: str) -> tuple[Path, Path]:
    """`<name>.tiff` and `<name>.truth.json` in an existing folder; the paths written."""
    picture, truth = Path(folder) / f"{name}.tiff", Path(folder) / f"{name}.truth.json"
    write_counts(rendered.counts, picture)
    truth.write_text(to_json(rendered.truth), encoding="utf-8", newline="\n")
    return picture, truth
