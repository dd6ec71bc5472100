"""Flat-field frames: what a plan must know about them, and their pattern in the process that calibrates."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from heatbrief.api.context import Context, View
from heatbrief.calibrate.flat_field import shading_of
from heatbrief.engine.context import scale_of
from heatbrief.engine.select import Chosen, Stages, reader_for
from heatbrief.errors import StepError
from heatbrief.manifest.schema import Manifest
from heatbrief.model.flat_field import FlatField
from heatbrief.model.results import NotAnalysed
from heatbrief.model.thermogram import Picture

MISSING = "missing"


@dataclass(frozen=True)
class Frame:
    """One frame with the reader that takes it and what the reader may know."""

    file: str
    path: Path
    sha256: str
    reader: Chosen | None
    context: Context


def frames_of(manifest: Manifest, stages: Stages, digests: Mapping[Path, str]) -> tuple[Frame, ...]:
    """The frames that `camera: flat_field` names, with the scale that all pictures of the survey share, if they do."""
    scales = {scale_of(entry.scale) for entry in manifest.thermograms}
    scale, unit = scales.pop() if len(scales) == 1 else (None, "")
    frames = []
    for file in manifest.camera.flat_field:
        view = View(thermogram=Path(file).stem, source=file, scale=scale, values_unit=unit)
        path = manifest.folder / file
        frames.append(Frame(file, path, digests.get(path, MISSING), reader_for(file, stages), Context(view=view)))
    return tuple(frames)


def field_of(manifest: Manifest, frames: tuple[Frame, ...]) -> FlatField | None:
    """What a key must depend on: names and contents of the frames, and what they are of. None without frames."""
    if not frames:
        return None
    scale = frames[0].context.view.scale
    return FlatField(
        tuple((one.file, one.sha256) for one in frames),
        manifest.camera.flat_field_shows,
        step=None if scale is None else scale[0],
    )


def missing_frames(frames: tuple[Frame, ...]) -> tuple[NotAnalysed, ...]:
    """Frames that are named and are not there."""
    return tuple(
        NotAnalysed(
            one.file,
            "flat-field-missing",
            "there is no such flat-field frame, or it cannot be opened.",
            "Correct `flat_field:` under `camera:`, or put the frame there.",
            failed=True,
        )
        for one in frames
        if one.sha256 == MISSING
    )


_LAST: dict[FlatField, FlatField] = {}


def with_pattern(context: Context, frames: tuple[Frame, ...]) -> Context:
    """The context with the pattern of its flat field estimated; once in a process, as all pictures share it."""
    asked = context.camera.flat_field
    if asked is None or not frames:
        return context
    if asked not in _LAST:
        _LAST.clear()
        _LAST[asked] = replace(_estimated(asked, frames), frames=asked.frames)
    return replace(context, camera=replace(context.camera, flat_field=_LAST[asked]))


def _estimated(asked: FlatField, frames: tuple[Frame, ...]) -> FlatField:
    pictures, notes = [], []
    for frame in frames:
        try:
            pictures.append(_read(frame))
        except StepError as error:
            notes.append(f"flat-field frame {frame.file} left out: {error.message}")
    try:
        found = shading_of(pictures, asked.of)
    except StepError as error:
        return replace(asked, notes=(*notes, f"no flat field was used: {error.message}"))
    return replace(found, notes=(*notes, *found.notes))


def _read(frame: Frame) -> Picture:
    if frame.sha256 == MISSING or frame.reader is None:
        raise StepError(
            "flat-field", "there is no such file" if frame.reader else "no reader takes files with this ending"
        )
    step = frame.reader.step
    result = step.run(frame.path, frame.reader.settings, frame.context.only(step.reads))
    return result if isinstance(result, Picture) else next(iter(result))
