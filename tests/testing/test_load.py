"""Scene descriptions from YAML: the same scene, and every mistake named."""

from __future__ import annotations

import pytest
from heatbrief.errors import UserError
from heatbrief.testing import Imager, Scene, load_shots
from heatbrief.testing.make import main, make
from heatbrief.testing.parts import PARTS, Patch, WetPatch

GOOD = """\
format: 1
camera: {noise_k: 0.03}
defaults: {width: 32, height: 24}
scenes:
  - name: wall
    base_c: 21
    parts: [{part: patch, name: spot, box: [4, 4, 8, 8], rise_k: 2, defect: true}]
  - name: bed
    imager: {blur_px: 0}
    frames:
      - {name: bed-1, time_s: 0}
      - {name: bed-2, time_s: 600, add: [{part: wet-patch, centre_px: [16, 12]}]}
  - {name: plain, export: 8-bit, visible: false}
"""


def write(tmp_path, text):
    path = tmp_path / "scenes.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def test_fields_become_dataclasses(tmp_path):
    wall, first, second, plain = load_shots(write(tmp_path, GOOD))
    assert wall.scene == Scene(
        "wall",
        32,
        24,
        base_c=21.0,
        imager=Imager(noise_k=0.03),
        parts=(Patch(name="spot", box=(4, 4, 8, 8), rise_k=2.0, defect=True),),
    )
    assert (wall.picture, wall.visible) == ("ir/wall.tiff", "visible/wall.png")
    assert (first.scene.texture, second.scene.texture, second.scene.time_s) == ("bed", "bed", 600.0)
    assert first.scene.parts == () and second.scene.parts == (WetPatch(centre_px=(16.0, 12.0)),)
    assert second.scene.imager == Imager(noise_k=0.03, blur_px=0.0)
    assert (plain.picture, plain.visible) == ("ir/plain.png", "")


def test_making_writes_all_and_says_so(tmp_path, capsys):
    write(tmp_path, GOOD)
    assert main([str(tmp_path)]) == 0
    named = set(capsys.readouterr().out.splitlines())
    found = {str(path) for path in tmp_path.rglob("*") if path.is_file() and path.name != "scenes.yaml"}
    assert named == found
    assert len(found) == 4 + 3 + 1


@pytest.mark.parametrize(
    ("change", "where", "what"),
    [
        (("rise_k: 2", "rise_K: 2"), "scene wall: part 1", "unknown key 'rise_K'"),
        (("part: patch", "part: pach"), "scene wall: part 1", "no part of kind 'pach'"),
        (("base_c: 21", "base_c: warm"), "scene wall", "'warm' does not fit"),
        (("base_c: 21", "base_c: .nan"), "scene wall", "does not fit"),
        (("name: wall", "name: ../../wall"), "scene ../../wall", "letters, digits and hyphens"),
        (("name: wall", "name: plain\n    export: 8-bit"), "", "two scenes are written to"),
        (("width: 32", "width: 32000000"), "scene 'wall'", "is not between"),
        (("noise_k: 0.03", "noise_mk: 30"), "camera", "unknown key 'noise_mk'"),
        (("export: 8-bit", "export: gif"), "scene plain", "`export` is"),
        (("format: 1", "format: 2"), "", "format: 1"),
        (("box: [4, 4, 8, 8]", "box: [4, 4, 8]"), "scene wall: part 1", "does not fit"),
    ],
)
def test_mistakes_are_named_with_their_place(tmp_path, change, where, what):
    assert change[0] in GOOD
    with pytest.raises(UserError) as caught:
        load_shots(write(tmp_path, GOOD.replace(*change)))
    assert any(where in problem.where and what in problem.message for problem in caught.value.problems), str(
        caught.value
    )


def test_all_mistakes_come_at_once(tmp_path):
    with pytest.raises(UserError) as caught:
        load_shots(write(tmp_path, GOOD.replace("rise_k", "rise").replace("export: 8-bit", "export: gif")))
    assert len(caught.value.problems) == 2


@pytest.mark.parametrize("text", ["[", "- 1", "!!python/object/apply:os.system [true]", "\x00"])
def test_hostile_text_is_refused(tmp_path, text):
    with pytest.raises(UserError):
        load_shots(write(tmp_path, text))


def test_command_reports_errors_and_wrong_use(tmp_path, capsys):
    assert main([str(tmp_path)]) == 2
    assert "scenes.yaml" in capsys.readouterr().err
    assert main([]) == 2
    with pytest.raises(UserError):
        make(tmp_path)


def test_a_part_needs_one_shape(tmp_path):
    scene = Scene("odd", parts=(PARTS["shade"](),))
    from heatbrief.testing import render

    with pytest.raises(UserError, match="exactly one of"):
        render(scene)
