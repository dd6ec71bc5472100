"""The table of bounds in DEVELOPERS.md says what the code does."""

from __future__ import annotations

from heatbrief.engine import limits as steps
from heatbrief.engine import named_files, visible
from heatbrief.manifest import include, load, nodes, pictures, reader, regions, scalars
from heatbrief.readers import colour_bar, limits, npy, video
from heatbrief.site import pictures as drawn
from heatbrief.store import codec, results
from support import ROOT

MIB = 1 << 20
BOUNDS = (
    ("picture file", f"{limits.MOST_BYTES // MIB:,} MiB; a table of text {limits.MOST_TEXT_BYTES // MIB:,} MiB"),
    ("picture", f"{limits.MOST_PIXELS:,} pixels; with a colour bar {colour_bar.MOST_PIXELS:,}"),
    ("pages of a file", f"{limits.MOST_PAGES:,}; frames of a video {video.MOST_FRAMES:,}; parts of an archive {npy.MOST_MEMBERS}"),
    ("scale beside a picture", f"{limits.MOST_SIDECAR_BYTES // 1024} KiB, no aliases, no tags"),
    ("visible picture", f"{visible.MOST_PIXELS:,} pixels; published with at most {visible.LONGEST_SIDE:,} a side"),
    ("manifest", f"{reader.MAX_BYTES:,} bytes, {reader.MAX_DEPTH} levels, {reader.MAX_NODES:,} values, {reader.MAX_ALIAS_NODES:,} of them by aliases, no tags"),
    ("includes", f"{include.MAX_INCLUDES} deep"),
    ("pictures of a survey", f"{pictures.MOST_PICTURES:,}; frames of a flat field {load.MOST_FRAMES}"),
    ("texts", f"{scalars.TEXT_LIMIT:,} characters; notes {scalars.NOTES_LIMIT:,}; no control characters"),
    ("outline of a region", f"{regions.MOST_POINTS:,} points"),
    ("problems told at once", f"{nodes.PROBLEM_LIMIT}"),
    ("weather and other named files", f"{named_files.MOST_BYTES // 10**6} MB"),
    ("results document", f"{results.MOST_BYTES // 10**6} MB, numbers up to {codec.LARGEST:g}"),
    ("picture object", f"{results.MOST_PIXELS:,} pixels, and the size that the document says"),
    ("one step on one picture", f"{steps.STEP_SECONDS:g} s"),
)  # fmt: skip


def test_the_table_says_what_the_code_does():
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    shown = text.split("<!-- bounds -->")[1].split("<!-- /bounds -->")[0].strip()
    rows = "\n".join(f"| {name} | {most} |" for name, most in BOUNDS)
    assert shown == f"| input | at most |\n|---|---|\n{rows}"


def test_what_may_be_analysed_may_be_published():
    assert limits.MOST_PIXELS == results.MOST_PIXELS == drawn.MOST_PIXELS
