"""A recipe that names a model: what it takes from it, and what does not go together."""

from __future__ import annotations

import re
import subprocess
import sys
from typing import TYPE_CHECKING

import numpy as np
import pytest

from preprocess.errors import UserError
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from tests.read.mesh.mesh_files import binary, box
from tests.read.part.parts import RIBBED

if TYPE_CHECKING:
    from pathlib import Path

LEAF = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="110mm" height="80mm" viewBox="0 0 110 80">'
    '<path id="leaf" d="M30 30H80V50H30Z"/></svg>'
)
MACHINE = "machine: {name: bench galvo, field: [110 mm, 80 mm], focal_length: 160 mm}\n"


def _load(folder: Path, part: str, more: str = ""):
    (folder / "label.stl").write_bytes(binary(RIBBED))
    text = f"recipe: 1\n{MACHINE}part: {part}\n{more}"
    return load_recipe(folder / "label.yaml", text)


def _convert(folder: Path, part: str, passes: str = "[]"):
    loaded = _load(folder, part, f"passes: {passes}\nsettings: {{engrave: {{pitch: 0.1 mm}}}}\n")
    return convert(loaded, LEAF.encode(), "leaf.svg")


def test_the_model_completes_the_part(tmp_path: Path) -> None:
    loaded = _load(tmp_path, "{model: label.stl, in_focus: 0.3 mm}")
    (part,) = loaded.bench.parts
    assert (part.height, part.thickness) == (3.0, 3.0)
    assert loaded.read_files[-1] == tmp_path / "label.stl"
    assert "model-read" in {note.code for note in loaded.notes}


def test_the_rib_is_kept_off_and_said_in_mm2(tmp_path: Path) -> None:
    """The rib is 2 × 10 mm, at 65 to 67 mm of the page; all of it lies under the leaf."""
    result = _convert(tmp_path, "{model: label.stl, in_focus: 0.3 mm}")
    assert result.before.parts[0].bounds == pytest.approx((25, 25, 85, 55))
    left, top, right, bottom = result.before.keep_off[0].bounds
    assert (left, top, bottom) == pytest.approx((65, 35, 45), abs=0.03)
    assert right == pytest.approx(67 + 12 * 0.8 / (160 - 0.8), abs=1e-4)
    found = {f.code: f for f in result.findings}
    assert result.data is None
    assert "on-keep-off" in found
    assert found["marks-out-of-focus"].message.startswith(
        "20 mm² of the marks lie up to 0.8 mm too"
    )
    assert found["marks-out-of-focus"].spot == pytest.approx((66, 40), abs=1)
    assert "marks-in-shade" in found


@pytest.mark.parametrize(("focus", "told"), [("0.85 mm", True), ("0.3 mm", False)])
def test_a_step_in_focus_is_said_to_be_struck_beside_its_place(tmp_path, focus, told) -> None:
    """Right of x = 5 mm the plate is 0.8 mm lower; the leaf ends 25 mm right of the axis."""
    steps = [box(-30, -15, 0, 5, 15, 3), box(5, -15, 0, 30, 15, 2.2)]
    (tmp_path / "step.stl").write_bytes(binary([one for body in steps for one in body]))
    part = f"{{model: step.stl, in_focus: {focus}, at: 3 mm, keep_off: false}}"
    result = _convert(tmp_path, part)
    found = [one for one in result.findings if one.code == "marks-off-by-lean"]
    assert bool(found) == told
    for one in found:
        off, between = 0.8 * np.hypot(25, 10) / 160, np.sqrt(2 * 1000 / 200)  # mm between rays
        assert one.message.startswith("marks on a step 0.8 mm below the marked surface")
        (said,) = re.findall(r"up to ([\d.]+) mm farther out", one.message)
        assert off - 0.8 * between / 160 - 0.005 < float(said) < off + 0.005
        assert f"{1 / (1 + 0.8 / 160):.3f}" in one.remedy


def test_keep_clear_cuts_the_marks_off_the_rib(tmp_path: Path) -> None:
    result = _convert(tmp_path, "{model: label.stl, in_focus: 0.3 mm}", "[merge, keep-clear]")
    assert result.data is not None
    assert not {"marks-out-of-focus", "marks-in-shade"} & {f.code for f in result.findings}
    k = 1 / (1 - 0.8 / 160)
    shaded = (100 * k**2 - 100) / 2 + 20 * k**2  # the rib, 10 ≤ x ≤ 12 and |y| ≤ 5, scaled 1 to k
    assert result.after.shapes[0].geometry.area == pytest.approx(1000 - shaded, abs=1e-3)


def test_without_keep_off_it_is_only_told(tmp_path: Path) -> None:
    part = "{model: label.stl, in_focus: 0.3 mm, keep_off: false}"
    result = _convert(tmp_path, part)
    assert result.data is not None
    assert not result.before.keep_off
    assert "marks-out-of-focus" in {f.code for f in result.findings}


def test_copies_take_their_reliefs_along(tmp_path: Path) -> None:
    passes = "[place: {copies: [1, 2], spacing: [70 mm, 40 mm]}]"
    result = _convert(tmp_path, "{model: label.stl, in_focus: 0.3 mm}", passes)
    assert [pose[5] for pose in result.after.poses] == pytest.approx([20, 60])
    assert len(result.after.keep_off) == 2
    told = [f for f in result.findings if f.code == "marks-out-of-focus"]
    assert len(told) == 2


def test_copies_stay_with_their_reliefs_when_the_drawing_is_moved_again(tmp_path: Path) -> None:
    copies = "place: {copies: [1, 2], spacing: [70 mm, 40 mm]}"
    passes = f"[{copies}, place: {{shift: [3 mm, 0 mm]}}]"
    once = _convert(tmp_path, "{model: label.stl, in_focus: 0.3 mm}", f"[{copies}]").after
    after = _convert(tmp_path, "{model: label.stl, in_focus: 0.3 mm}", passes).after
    assert (after.parts, after.keep_off, after.poses) == (once.parts, once.keep_off, once.poses)
    assert after.shapes[1].geometry.bounds[0] == pytest.approx(33)


def test_the_part_stays_where_it_is_when_the_drawing_is_moved(tmp_path: Path) -> None:
    passes = "[place: {shift: [3 mm, 0 mm]}]"
    result = _convert(tmp_path, "{model: label.stl, in_focus: 0.3 mm}", passes)
    assert result.after.parts == result.before.parts
    assert result.after.keep_off == result.before.keep_off
    assert result.after.poses == result.before.poses


def test_a_model_under_a_drawn_outline_moves_with_the_drawing(tmp_path: Path) -> None:
    drawn = LEAF.replace("<path", '<path id="edge" d="M20 20H80V50H20Z"/><path')
    part = "{model: label.stl, in_focus: 0.3 mm, place: {outline: '#edge', turn: 0 deg}}"
    more = "passes: [place: {shift: [3 mm, 0 mm]}]\nsettings: {engrave: {pitch: 0.1 mm}}\n"
    result = convert(_load(tmp_path, part, more), drawn.encode(), "leaf.svg")
    assert result.before.parts[0].bounds == pytest.approx((20, 20, 80, 50), abs=1e-3)
    assert result.after.parts[0].bounds == pytest.approx((23, 20, 83, 50), abs=1e-3)
    assert result.after.poses[0][4] - result.before.poses[0][4] == pytest.approx(3)
    assert len(result.after.shapes) == 1


@pytest.mark.parametrize(
    ("part", "says"),
    [
        ("{thickness: 3 mm}", "the part has neither an outline nor a model"),
        ("{outline: [60 mm, 30 mm], up: -z}", "up belongs to a model"),
        ("{outline: '#edge', model: label.stl}", "the part has an outline and a model"),
        ("{model: label.stl, place: {corner: upper left}}", "needs corner and on together"),
        (
            "{model: label.stl, place: {centre: page, outline: '#a'}}",
            "place says outline and centre",
        ),
        ("{model: lable.stl}", "there is no such file; did you mean"),
        ("{model: label.stl, up: '+w'}", "'+w'"),
        ("{model: label.stl, body: rim}", "no printed body of the model is called 'rim'"),
        ("{model: label.stl, place: {outline: '##'}}", "is no CSS selector"),
    ],
)
def test_keys_that_do_not_go_together(part: str, says: str, tmp_path: Path) -> None:
    with pytest.raises(UserError) as caught:
        _load(tmp_path, part)
    assert says in str(caught.value)


def test_nothing_of_models_is_imported_without_one() -> None:
    code = (
        "import sys\n"
        "from preprocess.recipe.load import recipe_from_mapping\n"
        "from preprocess.pipeline import convert\n"
        "loaded = recipe_from_mapping({'recipe': 1, 'part': {'outline': ['60 mm', '30 mm']}})\n"
        f"convert(loaded, {LEAF.encode()!r}, 'leaf.svg')\n"
        "ours = ('geometry.relief', 'read.mesh', 'read.part.', 'relief_marks', 'part_relief')\n"
        "mine = [n for n in sys.modules if any(one in n for one in ours)]\n"
        "sys.exit(f'imported {mine}' if mine else 0)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
