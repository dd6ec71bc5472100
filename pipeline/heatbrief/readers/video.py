"""Reader of video files, frame by frame, on a general-purpose decoder that is installed as the extra `video`."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from heatbrief.api import Context, NoSettings, Step
from heatbrief.errors import StepError
from heatbrief.model.thermogram import Picture
from heatbrief.readers import moment
from heatbrief.readers.assemble import Decoded, assemble, check_size, grey_of
from heatbrief.readers.colour_bar import recover
from heatbrief.readers.compression import BLOCK, Compression
from heatbrief.readers.limits import MOST_PIXELS, check_file, check_page, check_pixels, damaged, decoding

CONTAINERS = {".mp4": "mov", ".mov": "mov", ".mkv": "matroska", ".avi": "avi"}
"""The form of file is fixed by its ending: guessing it could take a list of addresses for a video."""
MOST_FRAMES = 20_000
GREY = {"gray": 8, "gray16le": 16, "gray16be": 16}
_INSTALL = "Install heatbrief with its extra `video`, or save the frames as a multi-page TIFF or as single pictures."
LOSSLESS = frozenset({"ffv1", "ffvhuff", "huffyuv", "png", "rawvideo", "utvideo"})
QUANTISER = 20.0
"""Step by which lossy video is taken to round its coefficients, which the file does not tell: our choice."""


def read(path: Path, settings: NoSettings, context: Context) -> tuple[Picture, ...]:
    """The frame `context.view.page` as one Picture: counts, or temperatures by a colour bar; StepError for all else."""
    size, page, bar = check_file(path), context.view.page, context.view.colour_bar
    with decoding("video"):
        times, second = _times(path, size, path.stat().st_mtime_ns)
        check_page(page, len(times))
        with _opened(path) as (container, stream):
            frame = _frame(container, stream, times, page)
            check_pixels(frame.width, frame.height)
            decoded = _decoded(frame) if bar is None else Decoded(frame.to_ndarray(format="rgb24"))
            compression = _compression(stream, frame)
    taken = moment.from_name(path.stem)
    if taken and times[0] is not None:
        taken = (datetime.fromisoformat(taken) + timedelta(seconds=(times[page] - times[0]) * second)).isoformat()
    if bar is None:
        return assemble(replace(decoded, taken=taken), path, context)
    picture = recover(decoded.values, bar, compression)
    check_size(picture.values, context)
    return (replace(picture, taken=taken),)


@contextmanager
def _opened(path: Path) -> Iterator[tuple[Any, Any]]:
    """(container, its first video stream), from the bytes of this one file and nothing that these may point to."""
    try:
        import av
    except ImportError:
        raise StepError("video-decoder-missing", "videos need a decoder that is not installed", _INSTALL) from None
    with path.open("rb") as file, av.open(file, format=CONTAINERS[path.suffix.lower()]) as container:
        if not container.streams.video:
            raise damaged("video: there is no picture in it")
        stream = container.streams.video[0]
        check_pixels(stream.codec_context.width, stream.codec_context.height)
        stream.codec_context.options = {"max_pixels": str(MOST_PIXELS)}
        stream.codec_context.thread_count = 1
        yield container, stream


@lru_cache(maxsize=4)
def _times(path: Path, size: int, changed: int) -> tuple[tuple[Any, ...], float]:
    """(moments of frames in ticks, in order; all None when one lacks it), seconds in a tick. Nothing is decoded."""
    times = []
    with _opened(path) as (container, stream):
        for packet in container.demux(stream):
            times += [packet.pts] if packet.size else []
            if len(times) > MOST_FRAMES:
                raise StepError("too-large", f"the video has more than {MOST_FRAMES:,} frames", "Cut the video.")
        second = float(stream.time_base or 0)
    known = None not in times and len(set(times)) == len(times)
    return (tuple(sorted(times)) if known else (None,) * len(times)), second


def _frame(container: Any, stream: Any, times: tuple[Any, ...], page: int) -> Any:
    """The frame of a number, from the last whole picture before it where moments are known, else from the start."""
    if times[page] is not None and page:
        container.seek(times[page], stream=stream)
    for number, frame in enumerate(container.decode(stream)):
        if number == page if times[page] is None else frame.pts is not None and frame.pts >= times[page]:
            return frame
    raise damaged(f"video: frame {page} cannot be decoded")


def _decoded(frame: Any) -> Decoded:
    """Grey levels as they are kept, up to 16 bits; colours only where all are grey."""
    kind, bits = frame.format.name, GREY.get(frame.format.name)
    if bits:
        return Decoded(frame.to_ndarray().astype(f"u{bits // 8}"), bits)
    values, notes = grey_of(frame.to_ndarray(format="rgb24"), f"video, {kind}")
    return Decoded(values, 8, notes=notes)


def _compression(stream: Any, frame: Any) -> Compression | None:
    """What the coding did to colours, as far as it can be told; None when nothing was lost."""
    parts = frame.format.components
    across, down = (max(1, round(getattr(parts[0], side) / getattr(parts[-1], side))) for side in ("width", "height"))
    if stream.codec_context.name in LOSSLESS and across == down == 1:
        return None
    steps = np.full((BLOCK, BLOCK), QUANTISER)
    return Compression(steps, steps, across, down)


STEP = Step(
    name="heatbrief.video",
    stage="ingest",
    version=1,
    run=read,
    suffixes=tuple(CONTAINERS),
    reads=("view",),
    summary="Reads single frames of videos: grey levels, and colours by their colour bar.",
    status="stable",
    title="reading of videos",
)
