"""`evenmark coupon` from outside: four files, what it refuses, grades that it never loses."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from preprocess.cli.coupon import COUPON_KINDS
from preprocess.coupon.design.model import CouponKind

FOLDER = Path(__file__).parents[2] / "fixtures" / "coupons"
FILES = ["t.coupon.html", "t.coupon.yaml", "t.grades.csv", "t.svg"]


def evenmark(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "preprocess", "coupon", *arguments]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


def test_the_help_names_every_kind() -> None:
    assert COUPON_KINDS.replace(" or ", ", ").split(", ") == list(CouponKind)


def test_four_files_are_written_and_filled_grades_are_kept(tmp_path: Path) -> None:
    recipe = str(FOLDER / "nursery.yaml")
    arguments = (recipe, "tip-width", "-o", "t.svg", "--plate", "50 mm x 45 mm")
    done = evenmark(tmp_path, *arguments)
    assert done.returncode == 0, done.stderr
    assert sorted(path.name for path in tmp_path.iterdir()) == FILES
    assert "chlorinated" in done.stderr
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    assert evenmark(tmp_path, *arguments).returncode == 0  # the same again
    table = tmp_path / "t.grades.csv"
    table.write_text(table.read_text("utf-8").replace("mm,\n", "mm,even\n"), "utf-8")
    kept = table.read_bytes()
    done = evenmark(tmp_path, *arguments)
    assert done.returncode == 1
    assert "t.grades.csv: this grade table exists already; name another coupon" in done.stderr
    assert table.read_bytes() == kept
    assert evenmark(tmp_path, *arguments, "--replace").returncode == 0
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_the_part_of_the_recipe_is_the_plate(tmp_path: Path) -> None:
    assert evenmark(tmp_path, str(FOLDER / "nursery.yaml"), "row-span").returncode == 0
    assert (tmp_path / "row-span.svg").read_bytes() == (FOLDER / "row-span.svg").read_bytes()


@pytest.mark.parametrize(
    ("arguments", "code", "told"),
    [
        (("row-spam",), 1, "nursery.yaml: there is no coupon of kind 'row-spam'; did you mean"),
        (("row-span", "--plate", "30x30mm"), 1, "only 30 × 30 mm are free; take a larger plate"),
        (("row-span", "--plate", "30"), 2, "write width and height, such as 60x40mm"),
        (("row-span", "--plate", "30x40"), 2, "has no unit"),
        (("row-span", "--powers", "20"), 2, "20 has no unit"),
        (("row-span", "--powers", "120 %"), 1, "120 % cannot be set; choose between 1 % and 100 %"),
        (("row-span", "--powers", "20.5 %"), 1, "between two steps of the machine; give 20 %"),
        (("score-depth", "--pitches", "0.1 mm"), 1, "score-depth is scored and has no rows"),
        (("row-span", "--lengths", "0 mm"), 2, "0 mm is not above zero"),
        (("row-span", "-o", "-"), 2, "a coupon is 4 files"),
        (("focus-steps", "-o", "-"), 2, "a coupon is 5 files"),
        ((), 2, "nursery.yaml, such as power-speed; all: power-speed, pitch"),
    ],
)
def test_what_cannot_be_done_is_said_and_nothing_written(
    tmp_path: Path, arguments: tuple[str, ...], code: int, told: str
) -> None:
    done = evenmark(tmp_path, str(FOLDER / "nursery.yaml"), *arguments)
    assert done.returncode == code, done.stderr
    assert told in " ".join(done.stderr.split())
    assert not list(tmp_path.iterdir())


BED = """<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">
<path d="M8 5h24v8h-24z"/></svg>"""
GRADED = """recipe: 1
design: bed.svg
part: {outline: [40 mm, 30 mm]}
machine: {name: bench galvo, spot: 0.08 mm}
filament:
  name: moss
  reference: {power: 30 %, speed: 900 mm/s, pitch: 0.1 mm}
  window: {weak: 0.85, heavy: 1.2}
  tried: {speed: [450 mm/s, 900 mm/s], pitch: [0.1 mm, 0.1 mm], span: [2 mm, 8 mm]}
settings: {engrave: {power: 30 %, speed: 900 mm/s, pitch: 0.1 mm, direction: one-way}}
"""


def test_the_coupon_for_a_design_is_told_and_written(tmp_path: Path) -> None:
    (tmp_path / "bed.svg").write_text(BED)
    (tmp_path / "bed.yaml").write_text(GRADED)
    done = evenmark(tmp_path, "bed.yaml", "--for-design", "--plate", "90x60mm", "-o", "t.svg")
    assert done.returncode == 0, done.stderr
    lines = {line.split("  ")[0]: " ".join(line.split()) for line in done.stdout.splitlines()}
    assert lines["row span"] == "row span 24 mm 2 mm to 8 mm row-span"
    assert lines["speed"] == "speed 900 mm/s 450 mm/s to 900 mm/s -"
    assert "kind: row-span" in (tmp_path / "t.coupon.yaml").read_text()
    assert "24 mm" in (tmp_path / "t.grades.csv").read_text()


def test_one_call_closes_every_gap_and_names_those_that_it_cannot(tmp_path: Path) -> None:
    """Speed and row span lack grades; three powers of 24 and 8 mm need more than 50 mm."""
    (tmp_path / "bed.svg").write_text(BED)
    slow = ("--set", "settings.engrave.speed=200mm/s", "-o", "t.svg")
    (tmp_path / "bed.yaml").write_text(GRADED)
    done = evenmark(tmp_path, "bed.yaml", "--for-design", *slow, "--plate", "90x60mm")
    assert done.returncode == 0, done.stderr
    assert "kind: power-speed" in (tmp_path / "t.coupon.yaml").read_text()
    assert "kind: row-span" in (tmp_path / "t-row-span.coupon.yaml").read_text()
    assert done.stderr.count("a coupon finds the limit") == 1
    for path in tmp_path.glob("t*"):
        path.unlink()
    done = evenmark(tmp_path, "bed.yaml", "--for-design", *slow, "--plate", "50x40mm")
    assert done.returncode == 1
    assert "error: bed.yaml: row-span: this coupon needs" in done.stderr
    assert {path.name.partition(".")[0] for path in tmp_path.glob("t*")} == {"t"}


def test_nothing_is_written_where_all_was_graded(tmp_path: Path) -> None:
    (tmp_path / "bed.svg").write_text(BED)
    text = GRADED.replace("span: [2 mm, 8 mm]", "span: [2 mm, 24 mm], feature: [2 mm, 8 mm]")
    (tmp_path / "bed.yaml").write_text(text)
    done = evenmark(tmp_path, "bed.yaml", "--for-design")
    assert done.returncode == 0, done.stderr
    assert "no coupon is needed" in done.stdout
    assert sorted(path.name for path in tmp_path.iterdir()) == ["bed.svg", "bed.yaml"]
    assert evenmark(tmp_path, "bed.yaml", "pitch", "--for-design").returncode == 2
