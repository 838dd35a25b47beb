"""Trays of labels that differ: which says what in which seat, read from the written SVG."""

from __future__ import annotations

import json
import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from tests import written_svg as written
from tests.cli.inside import evenmark
from tests.read import lettering
from tests.read.lettering import AREAS

SIZE = 5.0
"""mm that an em of the lettering measures: a glyph of n square units has n · 1e-6 · 25 mm²."""

LABEL = """<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="20mm" viewBox="0 0 40 20">
<path id="edge" d="M1 1 H39 V19 H1 Z" fill="none" stroke="#f00" stroke-width="0.1"/>
<text id="name" x="4" y="12" font-family="Fern Test" font-size="5">f</text>
<path id="dot" d="M30 8 H33 V11 H30 Z"/></svg>"""
DOT = 9.0

RECIPE = """recipe: 1
design: label.svg
machine: {name: bench galvo, field: [200 mm, 200 mm], spot: 0.06 mm, turnaround: 1 ms}
part: {outline: "#edge"}
fonts: {folder: fonts, installed: false}
text: [{element: "#name", WORDS}]
settings: {engrave: {power: 40 %, speed: 600 mm/s, pitch: 0.1 mm}}
passes:
  - place: {copies: [2, 2], spacing: [44 mm, 24 mm]}
  - PASS
"""
DIGITS = {
    digit: (500, [[(100, 0), (100, 600), (130 + 30 * n, 600), (130 + 30 * n, 0)]])
    for n, digit in enumerate("023456789")
}
"""Bars whose width tells them apart."""

NAMES = ["f", "e", "n", "i", "m", "o"]


@pytest.fixture
def bench(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    Path("fonts").mkdir()
    monkeypatch.setattr(lettering, "GLYPHS", lettering.GLYPHS | DIGITS)
    monkeypatch.setattr(
        lettering, "_NAMES", lettering._NAMES | dict(zip("023456789", "ABCDEFGHI", strict=True))
    )
    Path("fonts/fern.ttf").write_bytes(lettering.font_bytes())
    Path("label.svg").write_text(LABEL)
    Path("names.csv").write_text("plant\n" + "".join(f"{name}\n" for name in NAMES))

    def run(line):
        said = evenmark(monkeypatch, capsys, *line.split())
        return said.code, said.err

    return run


def recipe(words="column: plant", step="merge", **more):
    text = RECIPE.replace("WORDS", words).replace("PASS", step)
    for old, new in more.items():
        text = text.replace(old, new)
    Path("label.yaml").write_text(text)


def seats_of(path: str, copies=(2, 2), spacing=(44.0, 24.0)) -> list[float]:
    """Area that is marked in each seat, mm², row by row; the tray lies about the page's middle."""
    size, layers = written.read(Path(path).read_bytes())
    corner = (np.array(size) - np.array(copies) * spacing) / 2
    found = [0.0] * (copies[0] * copies[1])
    for layer in layers:
        for ring in (ring for one in layer.paths for ring in one):
            column, row = ((ring.mean(axis=0) - corner) // spacing).astype(int)
            found[row * copies[0] + column] += written.shoelace(ring)
    return found


def wanted(names) -> list[float]:
    return [DOT + AREAS[name] * 1e-6 * SIZE**2 for name in names]


PLATES = "series label.yaml label.svg -d out --values names.csv --tray --no-heat --report --sheet"


def test_rows_of_values_fill_the_seats_in_order_and_the_last_plate_partly(bench) -> None:
    recipe()
    assert bench(PLATES)[0] == 0
    assert sorted(path.name for path in Path("out").glob("*.svg")) == [
        "label-plate-1.laser.svg",
        "label-plate-2.laser.svg",
    ]
    assert seats_of("out/label-plate-1.laser.svg") == pytest.approx(wanted(NAMES[:4]), abs=1e-3)
    assert seats_of("out/label-plate-2.laser.svg") == pytest.approx(
        [*wanted(NAMES[4:]), 0.0, 0.0], abs=1e-3
    )


def test_report_sheet_and_finding_say_which_label_lies_where(bench) -> None:
    recipe()
    bench(PLATES)
    told = json.loads(Path("out/label-plate-2.report.json").read_text())
    assert told["seats"] == [
        {"plate": 2, "seat": 1, "says": {"#name": "m"}},
        {"plate": 2, "seat": 2, "says": {"#name": "o"}},
    ]
    (empty,) = (f for f in told["findings"] if f["code"] == "empty-seats")
    assert "seats 3, 4 of the tray stay empty" in empty["message"]
    page = Path("out/label-plate-2.sheet.html").read_text()
    assert "Seats of plate 2" in page
    assert re.findall(r'<li value="(\d)">(\w)</li>', page) == [("1", "m"), ("2", "o")]


def test_the_box_of_a_partly_empty_plate_is_that_of_a_full_one(bench) -> None:
    recipe(**{"text:": "anchors: true\ntext:"})
    bench(PLATES)
    boxes = []
    for plate in (1, 2):
        _, layers = written.read(Path(f"out/label-plate-{plate}.laser.svg").read_bytes())
        points = np.concatenate([layer.points for layer in layers])
        boxes.append([*points.min(axis=0), *points.max(axis=0)])
    assert boxes[0] == pytest.approx(boxes[1], abs=1e-3)


def test_a_serial_fills_the_seats_of_a_single_run(bench) -> None:
    recipe("serial: {from: 8, before: 'o'}")
    assert bench("run label.yaml -o tray.svg --no-heat --record log")[0] == 0
    tray = written.read(Path("tray.svg").read_bytes())[1][0]
    expected = []
    for k, (x, y) in enumerate([(0, 0), (44, 0), (0, 24), (44, 24)]):
        recipe(f"value: 'o{8 + k}'", **{"copies: [2, 2]": "copies: [1, 1]"})
        assert bench(f"run label.yaml -o one{k}.svg --no-heat")[0] == 0
        (one,) = written.read(Path(f"one{k}.svg").read_bytes())[1]
        expected.append(one.points + np.array((x, y)))
    order = np.lexsort(np.round(tray.points.T, 3))
    other = np.concatenate(expected)
    assert tray.points[order] == pytest.approx(other[np.lexsort(np.round(other.T, 3))], abs=2e-4)
    (entry,) = Path("log").iterdir()
    assert re.findall(r"seat: (\d), plate: 1, says: \{'#name': (\w+)\}", entry.read_text()) == [
        ("1", "o8"), ("2", "o9"), ("3", "o10"), ("4", "o11"),
    ]  # fmt: skip


@pytest.mark.usefixtures("bench")
def test_five_hundred_names_become_plates() -> None:
    from preprocess.recipe.load import load_recipe
    from preprocess.series.values import plate_designs, read_values

    recipe(**{"[2, 2]": "[4, 5]"})
    table = read_values("plant\n" + "f\n" * 507, "names.csv")
    plates = plate_designs(load_recipe(Path("label.yaml")).recipe, table, Path("l.svg"), 20)
    assert [len(plate.seats) for plate in plates] == [20] * 25 + [7]
    assert plates[0].name == "l-plate-01"
    assert [seat.number for seat in plates[-1].seats] == list(range(1, 8))


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (PLATES.replace(" --tray", ""), "add --tray to fill the seats with rows"),
        ("run label.yaml -o x.svg", "use evenmark series with --values"),
    ],
)
def test_a_tray_is_never_filled_with_one_name_in_silence(bench, line, words) -> None:
    recipe()
    code, err = bench(line)
    assert code == 1
    assert words in err


def test_a_recipe_without_a_tray_makes_no_plates(bench) -> None:
    recipe(**{"copies: [2, 2], spacing: [44 mm, 24 mm]": "shift: [1 mm, 0 mm]"})
    code, err = bench(PLATES)
    assert code == 1
    assert "the recipe makes no tray" in err


def test_two_trays_with_texts_that_differ_are_refused(bench) -> None:
    recipe(step="place: {copies: [1, 2], spacing: [90 mm, 60 mm]}")
    code, err = bench(PLATES)
    assert code == 1
    assert "two steps make copies" in err


def test_the_jig_numbers_its_seats_beside_their_windows(bench) -> None:
    recipe()
    assert bench("jig label.yaml -o jig.svg")[0] == 0
    text = Path("jig.svg").read_text()
    boxes = {}
    for name, data in re.findall(r'<path id="((?:seat|window)-\d)"[^>]* d="([^"]*)"', text):
        points = np.array(re.findall(r"-?[\d.]+", data), dtype=float).reshape(-1, 2)
        boxes[name] = points.min(axis=0), points.max(axis=0)
    assert sorted(boxes) == [f"{kind}-{n}" for kind in ("seat", "window") for n in range(1, 5)]
    corners = [tuple(np.round(boxes[f"seat-{n}"][0], 3)) for n in range(1, 5)]
    assert corners[1][0] - corners[0][0] == pytest.approx(44.0, abs=2.0)  # digits differ in width
    assert corners[2][1] - corners[0][1] == pytest.approx(24.0, abs=0.01)
    for n in range(1, 5):
        (left, top), (right, bottom) = boxes[f"seat-{n}"]
        assert all(
            right < b[0][0] or left > b[1][0] or bottom < b[0][1] or top > b[1][1]
            for name, b in boxes.items()
            if name.startswith("window")
        )


def test_parts_are_marked_in_turn_where_coolness_is_asked(bench) -> None:
    recipe("serial: {from: 11}", step="split\n  - order-shapes", raster="raster")
    code, err = bench("run label.yaml -o turn.svg --no-heat --verbose")
    assert code == 0
    assert "between two shapes of one part at least 0 → 3 of others are marked" in " ".join(
        err.split()
    )
    (layer,) = written.read(Path("turn.svg").read_bytes())[1]
    size, _ = written.read(Path("turn.svg").read_bytes())
    corner = (np.array(size) - (88.0, 48.0)) / 2
    seats = [tuple(((one[0].mean(axis=0) - corner) // (44, 24)).astype(int)) for one in layer.paths]
    assert len(seats) == 4 * 3  # two digits and a dot on each part
    for seat in set(seats):
        visits = [n for n, one in enumerate(seats) if one == seat]
        assert min(b - a for a, b in pairwise(visits)) == 4
