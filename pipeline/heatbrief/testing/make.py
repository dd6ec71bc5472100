"""`python -m heatbrief.testing.make FOLDER`: pictures and truth of a demonstration survey from its `scenes.yaml`."""

from __future__ import annotations

import sys
from pathlib import Path

from heatbrief.errors import UserError
from heatbrief.testing.floor import draw_floor
from heatbrief.testing.load import Shot, load_floors, load_shots
from heatbrief.testing.rendering import Rendered, render, write_counts
from heatbrief.testing.truth import Truth, to_json
from heatbrief.testing.visible import draw_visible, stretched, write_grey

SCENES, TRUTH = "scenes.yaml", "truth.json"


def make(folder: Path, out: Path | None = None) -> tuple[Path, ...]:
    """Write every picture, visible drawing and `truth.json` of a survey folder; the files written, in order.

    Existing files of the same names are replaced. `out` writes elsewhere. Raises UserError for a bad `scenes.yaml`.
    """
    shots = load_shots(Path(folder) / SCENES)
    target = Path(out) if out is not None else Path(folder)
    files: list[Path] = []
    truths: list[Truth] = []
    for shot in shots:
        rendered = render(shot.scene)
        truths.append(rendered.truth)
        files.extend(_write(shot, rendered, target))
    for floor in load_floors(Path(folder) / SCENES):
        drawing = target / floor.picture
        drawing.parent.mkdir(parents=True, exist_ok=True)
        draw_floor(floor, drawing)
        files.append(drawing)
    truth = target / TRUTH
    truth.write_text(to_json(truths), encoding="utf-8", newline="\n")
    return (*files, truth)


def _write(shot: Shot, rendered: Rendered, target: Path) -> list[Path]:
    picture = target / shot.picture
    picture.parent.mkdir(parents=True, exist_ok=True)
    if shot.export == "16-bit":
        write_counts(rendered.counts, picture)
    else:
        write_grey(stretched(rendered.reading), picture)
    if not shot.visible:
        return [picture]
    drawing = target / shot.visible
    drawing.parent.mkdir(parents=True, exist_ok=True)
    write_grey(draw_visible(rendered, shot.scene), drawing)
    return [picture, drawing]


def main(arguments: list[str]) -> int:
    """The command line; 2 for wrong use or a bad description, as everywhere in heatbrief."""
    if len(arguments) != 1 or arguments[0].startswith("-"):
        sys.stderr.write("usage: python -m heatbrief.testing.make FOLDER\n")
        return 2
    try:
        files = make(Path(arguments[0]))
    except UserError as error:
        sys.stderr.write(f"{error}\n")
        return 2
    sys.stdout.write("".join(f"{file}\n" for file in files))
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
