"""Coupons on paper: cells are where and what their tables say, measured on the written files."""

from __future__ import annotations

import csv
import io
import math
from itertools import combinations, pairwise

import pytest
from shapely import MultiLineString, Polygon
from shapely.affinity import translate

from preprocess.coupon.artwork.stroke_font import stroke_lettering
from preprocess.coupon.design.definition import read_definition
from preprocess.coupon.design.model import CouponKind
from preprocess.coupon.paper.file_names import DEFINITION_SUFFIX, TABLE_SUFFIX
from preprocess.coupon.paper.files import coupon_files
from tests.coupon.drawn import FOLDER, KINDS, page, paths

GRID = 2e-4
"""mm: both ends of a length are rounded to 4 decimals."""

PLATE = (60.0, 40.0)


@pytest.fixture(scope="module", params=KINDS)
def coupon(request):
    """Paths of a written coupon, the rows of its table, and its page."""
    data = (FOLDER / f"{request.param}.svg").read_bytes()
    text = (FOLDER / f"{request.param}{TABLE_SUFFIX}").read_text("utf-8")
    rows = list(csv.DictReader(io.StringIO(text)))
    return request.param, paths(data), rows, page(data)


def of_cell(drawn, name):
    return [
        p for key, p in drawn.items() if key == f"cell-{name}" or key.startswith(f"cell-{name}-")
    ]


def mm(text):
    number, unit = text.split()
    assert unit == "mm"
    return float(number)


OF_GREYS = "squares of greys share a layer: see test_grey_steps"


def test_every_cell_has_a_label_and_shapes_in_its_layer(coupon) -> None:
    kind, drawn, rows, _ = coupon
    if kind == CouponKind.GREY_STEPS:
        pytest.skip(OF_GREYS)
    for row in rows:
        shapes = of_cell(drawn, row["cell"])
        assert shapes
        assert {shape.layer for shape in shapes} == {row["cell"][0]}
        assert drawn[f"label-{row['cell']}"].layer == "labels"
    assert len(rows) == sum(key.startswith("label-") for key in drawn) - 1  # and the id


def test_there_are_few_settings_to_type_in(coupon) -> None:
    kind, drawn, rows, _ = coupon
    layers = {path.layer for path in drawn.values()}
    assert len(layers) <= 8
    if kind == CouponKind.GREY_STEPS:
        pytest.skip(OF_GREYS)
    told = {(r["cell"][0], r["power"], r["speed"], r["pitch"], r["direction"]) for r in rows}
    assert len(told) == len(layers) - 1
    least, most = {"blades": (3, 3), "focus-steps": (17, 17)}.get(kind, (6, 12))
    assert least <= len(rows) <= most, kind


def test_lengths_are_those_of_the_table(coupon) -> None:
    kind, drawn, rows, (width, _) = coupon
    for row in rows:
        shapes = of_cell(drawn, row["cell"])
        left, top, right, bottom = shapes[0].box
        for name, text in row.items():
            if not text or name not in MEASURED:
                continue
            found = MEASURED[name](shapes, (left, top, right, bottom), width, kind)
            assert found == pytest.approx(mm(text), abs=GRID), (row["cell"], name)


def span(shapes, box, _width, _kind):
    """The longest row; blades have no other, which is looked at below."""
    if not shapes[0].filled:  # own rows
        return max(math.dist(*line) for line in shapes[0].lines)
    _, top, _, bottom = box
    rows = [shapes[0].crossings(top + share * (bottom - top)) for share in (0.013, 0.5, 0.987)]
    return max(row[-1] - row[0] for row in rows)


def seed(shapes, _box, _width, _kind):
    """Across: the polygon has its corners at 0°, 90°, …"""
    xs = [x for x, _ in shapes[0].lines[0]]
    return max(xs) - min(xs)


def tip(shapes, box, _width, _kind):
    ends = [x for line in shapes[0].lines for x, y in line if abs(y - box[3]) < 1e-4]
    return max(ends) - min(ends)


def gap(shapes, box, _width, _kind):
    (_, left), (right, _) = _pairs(shapes[0].crossings((box[1] + box[3]) / 2))
    return right - left


def _pairs(values):
    return list(zip(values[::2], values[1::2], strict=True))


def distance(shapes, _box, width, _kind):
    """From the bar to the edge of the plate, which is as far from both edges of the page."""
    edge = (width - PLATE[0]) / 2
    lines = sorted((min(x for x, _ in line), max(x for x, _ in line)) for line in shapes[0].lines)
    (_, first), (second, _) = lines
    return edge - first if first < edge else second - edge - PLATE[0]


def length(shapes, box, _width, kind):
    if kind == "score-depth":
        return box[3] - box[1]
    ((start, end),) = shapes[0].lines
    return math.dist(start, end)


MEASURED = {
    "span": span,
    "height": lambda shapes, box, _width, _kind: (
        box[3] - box[1] + (0.0 if shapes[0].filled else 0.1)  # rows stand for a pitch of 0.1 mm
    ),
    "column": lambda _shapes, box, _width, _kind: box[2] - box[0],
    "width": lambda _shapes, box, _width, _kind: box[2] - box[0],
    "line": lambda _shapes, box, _width, _kind: box[2] - box[0],
    "seed": seed,
    "tip": tip,
    "gap": gap,
    "distance": distance,
    "length": length,
}


@pytest.mark.parametrize("kind", ["power-speed", "pitch", "row-span", "one-way-two-way"])
def test_all_rows_of_a_blade_are_equally_long(kind: str) -> None:
    for name, path in paths((FOLDER / f"{kind}.svg").read_bytes()).items():
        if not name.startswith("cell-"):
            continue
        _, top, _, bottom = path.box
        rows = [path.crossings(top + 0.05 + 0.1 * n) for n in range(round(10 * (bottom - top)))]
        spans = [row[-1] - row[0] for row in rows if len(row) == 2]
        assert len(spans) == len(rows) == 50
        assert max(spans) - min(spans) < 2 * GRID, name


def test_labels_touch_no_cell_and_no_other_label(coupon) -> None:
    _, drawn, _, _ = coupon
    labels = {name: path for name, path in drawn.items() if name.startswith("label-")}
    cells = {name: path for name, path in drawn.items() if name.startswith("cell-")}
    for (one, a), (other, b) in combinations(labels.items(), 2):
        assert not near(a.box, b.box, 0.3), (one, other)
    for name, label in labels.items():
        for other, cell in cells.items():
            if cell.filled or other.count("-") > 1:
                assert not near(label.box, cell.box, 0.3) or apart(label, cell) > 0.3, (name, other)
            else:
                assert not any(crosses(label.box, line) for line in cell.lines), (name, other)


def apart(label, cell):
    """Distance of lettering from one area: beside a blade that tapers, their boxes overlap."""
    (ring,) = cell.lines
    return Polygon(ring).distance(MultiLineString(label.lines))


def near(a, b, gap_):
    return a[0] - gap_ < b[2] and b[0] - gap_ < a[2] and a[1] - gap_ < b[3] and b[1] - gap_ < a[3]


def crosses(box, line):
    """Whether any of many points along a line lies in a box."""
    return any(
        box[0] < x0 + t / 500 * (x1 - x0) < box[2] and box[1] < y0 + t / 500 * (y1 - y0) < box[3]
        for (x0, y0), (x1, y1) in pairwise(line)
        for t in range(501)
    )


def wide(line):
    return max(x for x, _ in line) - min(x for x, _ in line)


def test_all_but_bars_lies_on_the_plate_and_in_the_field(coupon) -> None:
    kind, drawn, _, (width, height) = coupon
    edge = (width - PLATE[0]) / 2
    assert height == PLATE[1]
    assert (edge > 0) == (kind == "bar-distance")
    for name, path in drawn.items():
        lines = path.lines
        if kind == "bar-distance" and name.startswith("cell"):
            lines = [max(lines, key=wide)]
        for x, y in (point for line in lines for point in line):
            assert edge + 0.99 <= x <= edge + PLATE[0] - 0.99, name
            assert 0.99 <= y <= PLATE[1] - 0.99, name
    assert width <= 130.0


def test_bars_stand_off_the_plate() -> None:
    data = (FOLDER / "bar-distance.svg").read_bytes()
    edge = (page(data)[0] - PLATE[0]) / 2
    for name, path in paths(data).items():
        if name.startswith("cell-"):
            bar = min(path.lines, key=wide)
            xs = [x for x, _ in bar]
            assert max(xs) < edge or min(xs) > edge + PLATE[0], name
            assert max(xs) - min(xs) == pytest.approx(0.6, abs=GRID)


def test_cells_of_a_layer_share_no_row(coupon) -> None:
    """So that software that sweeps a whole colour together lengthens no row."""
    kind, drawn, rows, _ = coupon
    if kind in {"spot-bleed", "field-scale", "score-depth", "first-row"}:
        return  # columns of the first row begin at one height, so that any sweep tells the same
    heights = {}
    for row in rows:
        boxes = [shape.box for shape in of_cell(drawn, row["cell"])]
        heights[row["cell"]] = min(b[1] for b in boxes), max(b[3] for b in boxes)
    for one, other in combinations(heights, 2):
        if one[0] == other[0]:
            (a, b), (c, d) = heights[one], heights[other]
            assert b < c or d < a, (one, other)


def test_seeds_apart_are_paths_of_their_own() -> None:
    drawn = paths((FOLDER / "together-apart.svg").read_bytes())
    assert len(drawn["cell-A1"].lines) == 4
    column = [drawn[f"cell-A2-{n}"] for n in (1, 2, 3)]
    assert [len(path.lines) for path in column] == [1, 1, 1]
    tops = sorted(path.box[1::2] for path in column)
    assert all(one[1] < other[0] for one, other in pairwise(tops))


@pytest.mark.parametrize("kind", KINDS)
def test_a_definition_gives_the_same_files_again(kind: str) -> None:
    """Shapes that change make another coupon: then FORMAT in definition.py has to go up."""
    definition = read_definition(FOLDER / f"{kind}{DEFINITION_SUFFIX}")
    made = coupon_files(definition, FOLDER / f"{kind}.svg")
    for path, data in made.data.items():
        if path.suffix not in {".html", ".stl"}:  # measured in stair/test_printed_stair.py
            assert data == path.read_bytes(), path.name


@pytest.mark.parametrize("kind", KINDS)
def test_the_scored_digits_are_those_of_the_id(kind: str) -> None:
    text = (FOLDER / f"{kind}{TABLE_SUFFIX}").read_text("utf-8").splitlines()[1]
    digits = text.split(",")[0].rpartition("-")[2].upper()
    label = paths((FOLDER / f"{kind}.svg").read_bytes())["label-id"]
    meant = stroke_lettering(digits, label.box[3] - label.box[1])
    scored = MultiLineString(label.lines)
    assert len(digits) == 8
    found, wanted = (translate(g, -g.bounds[0], -g.bounds[1]) for g in (scored, meant))
    assert found.hausdorff_distance(wanted) < 0.01


def test_no_two_letters_look_alike() -> None:
    pictures = {name: stroke_lettering(name, 6.0).buffer(0.4) for name in "0123456789ABCDEFG"}
    for one, other in combinations(pictures, 2):
        a, b = pictures[one], pictures[other]
        assert a.symmetric_difference(b).area > 0.1 * a.union(b).area, (one, other)
