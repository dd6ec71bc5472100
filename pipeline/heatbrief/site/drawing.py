"""All pictures of a site from the stored arrays: each read once, drawn once, by several threads."""

from __future__ import annotations

import functools
import warnings
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
from PIL import Image

from heatbrief.model.finding import Finding
from heatbrief.model.results import ResultsDocument, ThermogramRecord
from heatbrief.site.levels import Box, Levels
from heatbrief.site.page import safe_names
from heatbrief.site.pictures import (
    Drawn,
    Pictures,
    Points,
    Stored,
    colour_range,
    crop_box,
    draw,
    draw_photo,
    read_stored,
    region_points,
    scale_picture,
    values_of,
    withheld_in,
)

Keep = Callable[[str, str, Callable[[], Drawn | None]], Drawn | None]
"""Called with what a picture is made of, where it lies and how it is drawn; may take over one that was drawn before."""
Beside = Callable[[ThermogramRecord, Drawn, Callable[[], Stored]], None]
"""Called with each thermogram, its picture and its counts on request, while they are at hand."""


def draw_all(
    results: ResultsDocument,
    objects: Path,
    keep: Keep = lambda key, path, make: make(),
    beside: Beside = lambda record, drawn, stored: None,
    jobs: int = 1,
) -> Pictures:
    """Read the objects a document names and draw them. Raises UserError when one is missing or damaged.

    keep  may put the bytes of a picture elsewhere, so that not all are held at a time
    jobs  threads; decoding and encoding happen outside the interpreter's lock
    """
    names, spots = (safe_names(one.id for one in group) for group in (results.thermograms, results.findings))
    found: dict[str, list[Finding]] = {}
    for one in results.findings:
        if one.outline is not None:
            found.setdefault(one.thermogram, []).append(one)

    def drawn(record: ThermogramRecord) -> tuple[Drawn | None, Drawn | None, dict[str, Drawn]]:
        name, own = f"pictures/{names[record.id]}", found.get(record.id, [])
        return _Record(record, own, objects, keep, beside).draw(name, spots)

    with ThreadPoolExecutor(jobs) as pool, warnings.catch_warnings():
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # too large ones are refused in any case
        shares = [results.thermograms[first::jobs] for first in range(jobs)]
        done = list(pool.map(lambda share: [drawn(one) for one in share], shares))
    every = [done[at % jobs][at // jobs] for at in range(len(results.thermograms))]
    pairs = list(zip(results.thermograms, every, strict=True))
    scale = keep("scale", "pictures/scale.png", scale_picture)
    assert scale is not None
    return Pictures(
        {record.id: thermal for record, (thermal, _, _) in pairs if thermal},
        {record.id: photo for record, (_, photo, _) in pairs if photo},
        {key: crop for _, (_, _, crops) in pairs for key, crop in crops.items()},
        scale,
        frozenset(record.id for record, (_, photo, _) in pairs if record.visible and photo is None),
        objects,
    )


class _Record:
    """The pictures of one thermogram. Its counts are read when the first of them has to be drawn."""

    def __init__(
        self, record: ThermogramRecord, findings: Sequence[Finding], objects: Path, keep: Keep, beside: Beside
    ) -> None:
        self.record, self.findings, self.objects = record, findings, objects
        self.keep, self.beside = keep, beside

    def draw(self, name: str, spots: Mapping[str, str]) -> tuple[Drawn | None, Drawn | None, dict[str, Drawn]]:
        """The thermogram, its photo and the enlarged part of each finding by id."""
        record, array = self.record, self.record.array
        crops: dict[str, Drawn] = {}
        photo = self._photo(f"{name}-photo.jpg") if record.visible else None
        if array is None:
            return None, photo, {}
        made_of = repr((array, self.places))
        thermal = self.keep(f"picture {made_of}", f"{name}.png", lambda: self._thermal(f"{name}.png", None))
        assert thermal is not None
        for one in self.findings:
            box = crop_box(one.outline.polygon, array.width, array.height) if one.outline else None
            if box is not None:
                path = f"pictures/spot-{spots[one.id]}.png"
                crop = self.keep(f"part {box} {made_of}", path, functools.partial(self._thermal, path, box))
                crops |= {one.id: crop} if crop else {}
        self.beside(record, thermal, lambda: self.stored)
        return thermal, photo, crops

    def _photo(self, path: str) -> Drawn | None:
        name, turn = self.record.visible, not self.record.visible_matrix
        return self.keep(f"photo {turn} {name}", path, lambda: draw_photo(self.objects, name, path, turn))

    def _thermal(self, path: str, box: Box | None) -> Drawn:
        assert self.record.array is not None
        return draw(self.values, self.span, self.record.array.unit, path, box, self.bare)

    @functools.cached_property
    def places(self) -> list[Points]:
        """What the colours must reach."""
        outlines = [one.outline.polygon for one in self.findings if one.outline is not None]
        return [*(region_points(one, self.record) for one in self.record.regions), *outlines]

    @functools.cached_property
    def stored(self) -> Stored:
        """What was measured, with a picture file of it."""
        assert self.record.array is not None
        return read_stored(self.record.array, self.objects)

    @functools.cached_property
    def bare(self) -> np.ndarray | None:
        """Pixels whose temperature is withheld, if there are any."""
        array = self.record.array
        return withheld_in(array) if array is not None and array.withheld else None

    @functools.cached_property
    def values(self) -> np.ndarray | Levels:
        """What is drawn."""
        array = self.record.array
        assert array is not None
        return Levels(self.stored[0], array.low, array.step) if self.bare is None else values_of(array, self.stored[0])

    @functools.cached_property
    def span(self) -> tuple[float, float]:
        """Ends of the colours."""
        if isinstance(self.values, Levels) or self.bare is None:
            return colour_range(self.values, self.places)
        return colour_range(np.where(self.bare, np.nan, self.values), self.places)
