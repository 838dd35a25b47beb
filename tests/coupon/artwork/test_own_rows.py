"""Own rows, repeats and the vernier of the first row, measured on the written files alone."""

import csv
import math
from itertools import pairwise

import pytest

from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.definition import read_definition
from preprocess.coupon.paper.first_row import filled_columns
from preprocess.loading.yaml.yaml_document import load_yaml
from tests.coupon.benches import made
from tests.coupon.drawn import FOLDER, paths

PITCH = 0.1
GRID = 2e-4


def drawn(kind):
    return paths((FOLDER / f"{kind}.svg").read_bytes())


def table(kind):
    with (FOLDER / f"{kind}.grades.csv").open() as file:
        return {row["cell"]: row for row in csv.DictReader(file)}


@pytest.mark.parametrize("kind", ["own-rows", "rastered-interleaved"])
def test_every_fourth_row_comes_first_and_no_row_is_lost(kind):
    rows = table(kind)
    found = 0
    for name, row in rows.items():
        lines = drawn(kind)[f"cell-{name}"].lines
        if row["rows"] == "swept":
            assert drawn(kind)[f"cell-{name}"].filled
            continue
        found += 1
        assert row["rows"] == "in 4 rounds"
        assert all(abs(a[1] - b[1]) < GRID and a[0] < b[0] for a, b in lines)
        ys = [line[0][1] for line in lines]
        again = [n for n in range(1, len(ys)) if ys[n] < ys[n - 1]]
        starts = [ys[0], *(ys[n] for n in again)]
        # rounds in bit-reversed order: 0, 2, 1, 3 rows below the first
        offsets = [round((y - starts[0]) / PITCH) for y in starts]
        assert offsets == [0, 2, 1, 3]
        steps = {round((b - a) / PITCH, 2) for a, b in pairwise(ys) if b > a}
        assert steps == {4.0}
        numbers = sorted(round((y - starts[0]) / PITCH) for y in ys)
        assert numbers == list(range(len(numbers)))
        assert len(numbers) == (50 if kind == "own-rows" else 120)
    assert found == (8 if kind == "own-rows" else 4)


def test_a_leaf_in_own_rows_is_the_swept_leaf():
    leaves = drawn("rastered-interleaved")
    swept, own = leaves["cell-B1"], leaves["cell-A1"]
    left, top, *_ = swept.box
    other_top = min(line[0][1] for line in own.lines) - PITCH / 2
    widest = swept.box[2] - left
    shift = min(min(x for x, _ in line) for line in own.lines) - left
    for (x0, y), (x1, _) in own.lines:
        a, b = swept.crossings(top + y - other_top)
        assert (x0 - shift, x1 - shift) == pytest.approx((a, b), abs=3e-3)
    assert widest == pytest.approx(6.0, abs=GRID)


def test_there_are_own_rows_of_the_power_of_each_swept_leaf_and_one_of_more():
    rows = table("rastered-interleaved").values()
    swept = {row["power"] for row in rows if row["rows"] == "swept"}
    own = {row["power"] for row in rows if row["rows"] != "swept"}
    assert swept == {"24 %", "30 %", "37 %"}  # 0.8, 1 and 1.25 times 30 %, to whole per cents
    assert own - swept == {"46 %"}


def lit_rows(path, first):
    """Rows of a sweep that light the column below its bar, and in the bar."""
    _, top, _, bottom = path.box
    count = math.floor((bottom - first) / PITCH) + 1
    ys = [first + PITCH * n for n in range(count)]
    lit = [y for y in ys if path.crossings(y)]
    bar = top + 10 * PITCH
    return sum(y > bar + 0.02 for y in lit), sum(y < bar - 0.02 for y in lit)


@pytest.mark.parametrize(("rule", "column"), [("edge", "A1"), ("half-pitch", "A6"), ("page", "A4")])
def test_one_column_alone_is_filled_by_each_rule(rule, column):
    columns = {n: p for n, p in drawn("first-row").items() if n.startswith("cell-")}
    assert len(columns) == 10
    filled = {}
    for name, path in columns.items():
        top = path.box[1]
        first = {
            "edge": top + 1e-6,  # the first row lies on the uppermost edge
            "half-pitch": top + PITCH / 2,
            "page": PITCH * math.ceil(top / PITCH - 1e-6),
        }[rule]
        below, in_bar = lit_rows(path, first)
        assert in_bar >= 9
        filled[name.removeprefix("cell-")] = below
    assert filled.pop(column) == 12
    assert set(filled.values()) == {0}
    told = filled_columns(build(read_definition(FOLDER / "first-row.coupon.yaml")))
    assert told[rule] == column


def test_columns_begin_at_one_height_so_that_each_colour_tells_the_same():
    tops = {p.box[1] for n, p in drawn("first-row").items() if n.startswith("cell-")}
    assert max(tops) - min(tops) < GRID


@pytest.mark.parametrize("pitch", [0.05, 0.08, 0.2])
def test_other_pitches_tell_the_rules_apart_too(pitch):
    told = filled_columns(made("first-row", pitches=(pitch,)))
    assert {str(rule): name for rule, name in told.items()} == {
        "edge": "A1", "half-pitch": "A6", "page": "A4",
    }  # fmt: skip


def test_layers_of_repeats_differ_in_power_and_in_how_often():
    settings = load_yaml(FOLDER / "repeats.coupon.yaml").data["settings"]
    assert [(one["power"], one["repeats"]) for one in settings] == [
        ("18 %", 1), ("18 %", 2), ("18 %", 3), ("30 %", 1), ("30 %", 2), ("30 %", 3),
    ]  # fmt: skip
    for name, row in table("repeats").items():
        assert int(row["repeats"]) == settings["ABCDEF".index(name[0])]["repeats"]
