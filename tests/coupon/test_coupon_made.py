"""How a coupon comes about: its settings, its id, and when it is refused."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from shapely import MultiPolygon, Point, box

from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.defaults import CouponOverrides
from preprocess.coupon.design.define import define
from preprocess.coupon.design.definition import coupon_id, definition_bytes, read_definition
from preprocess.coupon.design.model import CouponKind
from preprocess.coupon.paper.files import coupon_files
from preprocess.coupon.paper.texts import GRADE_TEXTS
from preprocess.coupon.paper.texts import KIND_TEXTS as KIND_WORDS
from preprocess.errors import Refusal, UserError
from preprocess.marking.checks.checks import check
from preprocess.marking.job.plan import plan
from preprocess.marking.job.rows import row_spans
from preprocess.marking.prediction import predict
from preprocess.model.artwork.settings import Direction, Operation, Settings
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament, Reference
from preprocess.model.bench.machine import Machine, PowerSteps, RasterGroups
from preprocess.model.bench.part import Part
from preprocess.write.verify.parsing import parse
from tests.coupon.drawn import FOLDER, KINDS

MACHINE = Machine(name="bench galvo", field=(130.0, 90.0), spot=0.06, max_layers=8)
SPOOL = Filament(name="moss-green PETG, spool 7")
BENCH = Bench(machine=MACHINE, filament=SPOOL)
SETTINGS = {
    Operation.ENGRAVE: Settings(power=0.3, speed=900.0, pitch=0.1),
    Operation.SCORE: Settings(power=0.2, speed=250.0),
}
PLATE = (60.0, 40.0)


def made(kind="power-speed", bench=BENCH, plate=PLATE, settings=SETTINGS, **asked):
    overrides = CouponOverrides(**asked)
    return build(define(kind, bench, plate=plate, settings=settings, asked=overrides))


def powers(coupon) -> list[float]:
    return list(dict.fromkeys(cell.power for cell in coupon.cells))


def test_the_known_power_lies_in_the_middle() -> None:
    assert powers(made("row-span")) == [0.21, 0.3, 0.42]


def test_a_part_of_another_spool_gives_a_coupon_of_that_spool() -> None:
    part = Part(outline=PLATE, filament="slate PETG")
    held = made(bench=replace(BENCH, parts=(part,))).bench.filament
    assert held == replace(SPOOL, name="slate PETG")


def test_an_unknown_power_begins_low() -> None:
    settings = {Operation.ENGRAVE: Settings(speed=900.0, pitch=0.1)}
    assert powers(made("row-span", settings=settings)) == [0.1, 0.2, 0.4]
    assert powers(made("pitch", settings=settings)) == [0.1]


def test_the_reference_patch_fills_what_the_recipe_leaves_open() -> None:
    even = Reference(power=0.5, speed=600.0, pitch=0.08, direction=Direction.TWO_WAY)
    bench = replace(BENCH, filament=replace(SPOOL, reference=even))
    cell = made("bar-distance", bench, settings={}).cells[0]
    assert (cell.power, cell.speed, cell.pitch, cell.two_way) == (0.5, 600.0, 0.08, True)


def test_powers_are_those_that_the_machine_can_be_set_to() -> None:
    coarse = replace(MACHINE, power=PowerSteps(from_=0.05, to=0.4, step=0.05))
    assert powers(made("row-span", replace(BENCH, machine=coarse))) == [0.2, 0.3, 0.4]


def test_at_half_the_speed_the_powers_are_lower_by_the_middle_exponent() -> None:
    cells = made("power-speed").cells
    assert {cell.speed for cell in cells} == {900.0, 450.0}
    slow = sorted({cell.power for cell in cells if cell.speed == 450.0})
    # nobody has graded this filament, so the known power is halved and doubled
    assert slow == [round(p * 0.5**0.75, 2) for p in (0.15, 0.3, 0.6)] == [0.09, 0.18, 0.36]


def test_a_recipe_that_repeats_gives_a_coupon_that_repeats() -> None:
    settings = {Operation.ENGRAVE: Settings(speed=900.0, pitch=0.1, repeats=2)}
    artwork = made("row-span", settings=settings).artwork
    assert artwork.layer("A").of(Operation.ENGRAVE).repeats == 2


def test_the_slower_speed_is_one_that_the_machine_can_be_set_to() -> None:
    odd = {Operation.ENGRAVE: Settings(power=0.3, speed=904.6, pitch=0.1)}
    assert {cell.speed for cell in made(settings=odd).cells} == {904.6, 452.0}
    slow = {Operation.ENGRAVE: Settings(power=0.3, speed=1.5, pitch=0.1)}
    assert {cell.speed for cell in made(settings=slow).cells} == {1.5, 3.0}


def test_layers_differ_in_what_the_kind_measures_alone() -> None:
    assert {(c.power, c.speed) for c in made("pitch").cells} == {(0.3, 900.0)}
    assert len({c.pitch for c in made("pitch").cells}) == 5
    pairs = {(c.power, c.two_way) for c in made("one-way-two-way").cells}
    assert len(pairs) == 2 * len({power for power, _ in pairs})


def test_what_is_asked_for_is_done() -> None:
    coupon = made("row-span", powers=(0.2, 0.25), speeds=(700.0,), lengths=(10.0, 5.0, 2.0))
    assert {(c.power, c.speed, c.size["span"]) for c in coupon.cells} == {
        (power, 700.0, span) for power in (0.2, 0.25) for span in (10.0, 5.0, 2.0)
    }
    layers = (Settings(power=0.4, speed=100.0, pitch=0.2, direction=Direction.TWO_WAY),)
    cell = made("row-span", layers=layers).cells[0]
    assert (cell.layer, cell.power, cell.pitch, cell.two_way) == ("A", 0.4, 0.2, True)


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_speaks_against_a_coupon(kind: str) -> None:
    coupon = made(kind)
    codes = {f.code for f in check(coupon.artwork, coupon.bench)}
    assert codes <= {"below-the-spot"}
    assert coupon.id.startswith(f"{kind}-")
    assert len(coupon.id.removeprefix(f"{kind}-")) == 8
    ids = {shape.id for shape in coupon.artwork.shapes}
    assert all(set(cell.shapes) <= ids for cell in coupon.cells)
    assert len({name for cell in coupon.cells for name in cell.shapes}) == sum(
        len(cell.shapes) for cell in coupon.cells
    )


@pytest.mark.parametrize("kind", KINDS)
def test_a_definition_is_read_again_as_it_was(kind: str, tmp_path) -> None:
    definition = define(kind, BENCH, plate=PLATE, settings=SETTINGS)
    path = tmp_path / "x.coupon.yaml"
    path.write_bytes(definition_bytes(definition))
    again = read_definition(path)
    assert again == definition
    assert build(again) == build(definition) == made(kind)


@pytest.mark.parametrize("digits", [0.1 + 0.2, 1 / 3, 0.123456789])
def test_odd_figures_are_read_again_as_they_were(digits: float, tmp_path) -> None:
    definition = define(
        "row-span",
        Bench(),
        plate=PLATE,
        asked=CouponOverrides(powers=(digits,), speeds=(700.1234567,), pitches=(0.1,)),
    )
    path = tmp_path / "x.coupon.yaml"
    path.write_bytes(definition_bytes(definition))
    assert coupon_id(read_definition(path)) == coupon_id(definition)


def test_another_definition_has_another_id() -> None:
    others = [
        made(),
        made(plate=(60.0, 41.0)),
        made(powers=(0.3, 0.31)),
        made(lengths=(8.0, 2.5)),
        made(bench=Bench(machine=MACHINE)),
        made(bench=replace(BENCH, machine=replace(MACHINE, turnaround=0.001))),
        made(bench=replace(BENCH, parts=(Part(outline=PLATE, thickness=2.0),))),
        made(room=(100.0, 80.0)),
    ]
    assert len({coupon.id for coupon in others}) == len(others)


def test_trials_of_a_profile_are_no_part_of_a_coupon() -> None:
    tried = replace(BENCH, filament=replace(SPOOL, trials=({"cell": "A1"},)))
    assert made(bench=tried).id == made().id


def test_software_that_sweeps_colours_lengthens_no_row() -> None:
    machine = replace(MACHINE, raster_groups=RasterGroups.EACH_COLOUR)
    for kind in ("row-span", "together-apart", "sizes", "bar-distance"):
        apart = plan(made(kind).artwork, MACHINE).steps
        together = plan(made(kind, replace(BENCH, machine=machine)).artwork, machine).steps
        assert longest(apart) == longest(together)


def longest(steps):
    found = {}
    for step in steps:
        if hasattr(step, "shapes"):
            spans = row_spans(step).span
            found.setdefault(step.output.id, []).extend(spans.round(3).tolist())
    return {layer: max(spans) for layer, spans in found.items()}


@pytest.mark.parametrize("name", ["A2", "C4"])
def test_a_blade_is_as_hot_as_a_rectangle_that_stands_alone(name: str) -> None:
    graded = replace(SPOOL, reference=Reference(power=0.3))  # else indices are medians of the job
    timed = replace(MACHINE, turnaround=0.0012, fly_back=2500.0, rated_power=3.0)
    coupon = made("row-span", Bench(machine=timed, filament=graded))
    (cell,) = (cell for cell in coupon.cells if cell.name == name)
    (shape,) = (shape for shape in coupon.artwork.shapes if shape.id in cell.shapes)
    left, top, _, bottom = shape.geometry.bounds
    alone = MultiPolygon([box(left, top, left + cell.size["span"], bottom)])
    single = replace(coupon.artwork, shapes=(replace(shape, geometry=alone),))
    (patch,) = predict(single, coupon.bench).heat.patches
    within = [
        float(np.median(p.index[p.lit]))
        for p in predict(coupon.artwork, coupon.bench).heat.patches
        if shape.geometry.contains(Point(p.points[0][p.lit].mean(), p.points[1][p.lit].mean()))
    ]
    assert within == [pytest.approx(float(np.median(patch.index[patch.lit])), rel=1e-3)]


def test_fine_cells_that_share_rows_are_warned_of() -> None:
    machine = replace(MACHINE, raster_groups=RasterGroups.EACH_COLOUR)
    bench = replace(BENCH, machine=machine)
    definition = define("spot-bleed", bench, plate=PLATE, settings=SETTINGS)
    files = coupon_files(definition, FOLDER / "x.svg")
    assert "cells-share-rows" in {f.code for f in files.findings}
    sheet = files.data[FOLDER / "x.coupon.html"].decode()
    assert "sweeps all that has one colour together" in sheet


def test_a_plate_that_would_do_does_and_a_smaller_one_does_not() -> None:
    with pytest.raises(
        Refusal, match=r"needs 42\.9 × 38\.9 mm, but only 40 × 30 mm are free"
    ) as told:
        made("row-span", plate=(40.0, 30.0))
    assert told.value.remedy.endswith("keep all layers and the lengths 3 mm, 1 mm, which would fit")
    made("row-span", plate=(40.0, 30.0), lengths=(3.0, 1.0))
    made("row-span", plate=(43.0, 39.0))
    with pytest.raises(Refusal):
        made("row-span", plate=(43.0, 38.8))
    with pytest.raises(Refusal, match="not even one cell"):
        made("row-span", plate=(4.0, 4.0))


def test_the_field_and_the_part_of_it_count_too() -> None:
    with pytest.raises(Refusal, match="are free"):
        made("row-span", plate=(80.0, 60.0), room=(30.0, 30.0))
    small = replace(BENCH, machine=replace(MACHINE, field=(35.0, 90.0)))
    with pytest.raises(Refusal, match="are free"):
        made("row-span", small)
    narrow = replace(BENCH, machine=replace(MACHINE, field=(62.0, 90.0)))
    with pytest.raises(Refusal, match=r"with its bars this coupon is 67\.2 mm wide"):
        made("bar-distance", narrow)


def test_the_gauge_is_as_large_as_plate_and_field_let_it_be() -> None:
    lengths = [cell.size["length"] for cell in made("field-scale").cells]
    assert lengths[:4] == [57.0, 57.0, 37.0, 37.0]
    assert lengths[4] == lengths[5] == pytest.approx((57**2 + 37**2) ** 0.5, abs=5e-4)
    within = made("field-scale", plate=(200.0, 200.0)).cells
    assert [cell.size["length"] for cell in within[:4]] == [130.0, 130.0, 90.0, 90.0]


@pytest.mark.parametrize(
    ("asked", "found", "remedy"),
    [
        ({"kind": "row-spam"}, "no coupon of kind 'row-spam'", "did you mean row-span?"),
        ({"kind": "zzz"}, "no coupon of kind 'zzz'", "take one of power-speed, pitch"),
        ({"settings": {}}, "no speed is known to engrave with", "--speeds"),
        ({"kind": "score-depth", "settings": {}}, "no speed is known to score with", "--speeds"),
        (
            {"settings": {Operation.ENGRAVE: Settings(speed=9.0)}},
            "no pitch is known",
            "--pitches",
        ),
        (
            {"powers": tuple(n / 20 for n in range(1, 9))},
            "16 layers and the labels .* a coupon has room for 7",
            "fewer powers",
        ),
        (
            {"bench": replace(BENCH, machine=replace(MACHINE, max_layers=4))},
            "6 layers .* software of bench galvo leaves room for 3",
            "fewer powers",
        ),
        ({"kind": "score-depth", "pitches": (0.1,)}, "scored and has no rows", "leave out"),
        ({"kind": "field-scale", "powers": (0.1, 0.2)}, "gauge .* is one layer", "one power"),
        ({"kind": "field-scale", "lengths": (9.0, 8.0, 7.0)}, "3 lengths", "at most 2"),
        ({"lengths": (5.0, 0.002)}, "0.002 mm is too short", "from 0.01 mm on"),
        ({"kind": "tip-width", "lengths": (7.0,)}, "7 mm is as wide as its leaf", "below 5 mm"),
        ({"lengths": (1.0,) * 25}, "25 lengths", "at most 24"),
        ({"layers": (Settings(power=0.2),)}, "layer A has no speed and no pitch", "give it"),
        ({"powers": (1.2,)}, "120 % cannot be set", "between 1 % and 100 %"),
        ({"powers": (0.205,)}, "lies between two steps", "give 20 %"),
    ],
)
def test_what_cannot_be_made_is_refused_with_what_would_help(asked, found, remedy) -> None:
    with pytest.raises(Refusal, match=found) as told:
        made(**asked)
    assert remedy in told.value.remedy


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("labels:", "  - {power: 1 %, speed: 9 mm/s, pitch: 1 mm}\n" * 6 + "labels:", "9 layers"),
        ("- 24 mm", "- 0.0001 mm", "too short to be marked"),
        ("- 60 mm", "- 6 mm", "not even one cell"),
        ("pitch: 0.1 mm, ", "", "layer A has no pitch"),
    ],
)
def test_a_definition_that_somebody_edited_is_refused(old, new, told, tmp_path) -> None:
    path = tmp_path / "x.coupon.yaml"
    text = (FOLDER / "row-span.coupon.yaml").read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), "utf-8")
    with pytest.raises(Refusal, match=told):
        build(read_definition(path))


def test_another_version_of_a_definition_is_refused(tmp_path) -> None:
    path = tmp_path / "x.coupon.yaml"
    text = (FOLDER / "row-span.coupon.yaml").read_text("utf-8")
    path.write_text(text.replace("coupon: 1\n", "coupon: 2\n"), "utf-8")
    with pytest.raises(UserError, match=r"x\.coupon\.yaml:3:9: this is version 2 of a coupon"):
        read_definition(path)


@pytest.mark.parametrize("kind", KINDS)
def test_the_sheet_has_cautions_settings_and_a_place_for_every_grade(kind: str) -> None:
    definition = define(kind, BENCH, plate=PLATE, settings=SETTINGS)
    files = coupon_files(definition, FOLDER / "x.svg")
    sheet = files.data[FOLDER / "x.coupon.html"].decode()
    for word in (
        "chlorinated",
        "Start low",
        "extract",
        "alone",
        "manual, local codes",
        "that you know",
    ):
        assert word in sheet
    assert ("sacrificial card" in sheet) == (kind == CouponKind.BAR_DISTANCE)
    count = len(files.coupon.cells)
    boxes = sheet.count('class="tick"')
    assert boxes == (0 if kind == CouponKind.FIELD_SCALE else 4 * count)
    layers = [layer.id for layer in parse(files.data[FOLDER / "x.svg"]).layers]
    assert sheet.count('class="step">') == len(layers)
    assert "http://" not in sheet.replace("http://www.w3.org/2000/svg", "")
    assert "lighter or darker" in sheet or kind == CouponKind.FIELD_SCALE


def test_layers_are_named_in_order_and_labels_come_last() -> None:
    layers = [layer.name for layer in made().artwork.layers]
    assert layers[-1] == "labels"
    assert all(ord(b) - ord(a) == 1 for a, b in pairwise(layers[:-1]))


def test_the_page_lists_every_kind_with_what_it_measures() -> None:
    page = (FOLDER.parents[1] / "docs" / "use" / "coupons.md").read_text("utf-8")
    for kind in CouponKind:
        assert f"| `{kind}` | {KIND_WORDS[kind].measures} |" in page
    for grade, said in GRADE_TEXTS[:4]:
        assert f"| `{grade}` | {said}".removesuffix(" to see") in page
