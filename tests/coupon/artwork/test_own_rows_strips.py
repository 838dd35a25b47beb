"""Leaves in rounds of strips, read from the written files and swept by the second simulator."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from preprocess.cli.app import app
from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.defaults import CouponOverrides
from preprocess.coupon.design.define import define
from preprocess.coupon.design.definition import definition_bytes, read_definition
from preprocess.coupon.paper.files import coupon_files
from preprocess.errors import Refusal
from preprocess.marking.job.plan import RasterGroup, plan_of
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import FirstRow, RasterGroups
from preprocess.passes.interleave.interleave import Form
from tests.coupon.benches import BENCH, MACHINE, PLATE, SETTINGS
from tests.second_simulator.beam import Setting, rows_of
from tests.second_simulator.drawing import read_paths

PITCH = 0.1
ROWS = 120
"""A leaf is 12 mm high."""

RECIPE = """recipe: 1
machine: {name: bench galvo, field: [130 mm, 90 mm], spot: 0.06 mm, raster_groups: GROUPS}
filament: {name: moss PETG, polymer: PETG}
part: {outline: [60 mm, 40 mm], thickness: 3 mm}
settings:
  engrave: {power: 30 %, speed: 900 mm/s, pitch: 0.1 mm}
  score: {power: 20 %, speed: 250 mm/s}
passes: [merge, {interleave: {form: FORM}}]
"""


def defined(kind="rastered-interleaved", form=Form.STRIPS, **machine):
    bench = Bench(machine=replace(MACHINE, **machine), filament=BENCH.filament)
    asked = CouponOverrides(form=form)
    return define(kind, bench, plate=PLATE, settings=SETTINGS, asked=asked)


def leaves(definition):
    """Filled paths of each colour, in the order of the file."""
    target = Path("leaf.svg")
    by_colour = defaultdict(list)
    for path in read_paths(coupon_files(definition, target).data[target]):
        if path.filled:
            by_colour[path.colour].append(path)
    return list(by_colour.values())


def seen_rows(path, rule):
    """Rows and their lit length, without the specks by which software finds the first row."""
    rows = rows_of([path], Setting(1.0, 900.0, PITCH), rule)
    lit = [(v, sum(b - a for a, b in spans if b - a > PITCH)) for v, spans in rows]
    return [(v, length) for v, length in lit if length]


def area_of(path):
    """By the shoelace formula; rings of holes go the other way."""
    x, y = (np.concatenate([line[:-1, n] for line in path.lines]) for n in (0, 1))
    u, v = (np.concatenate([line[1:, n] for line in path.lines]) for n in (0, 1))
    return abs(float((x * v - u * y).sum())) / 2


@pytest.mark.parametrize("rule", list(FirstRow))
def test_rounds_of_a_leaf_light_the_rows_of_the_swept_leaf_once(rule):
    found = leaves(defined(first_row=rule))
    plain = [some[0] for some in found if len(some) == 1]
    cut = [some for some in found if len(some) == 4]
    assert (len(plain), len(cut)) == (3, 4)
    whole = seen_rows(plain[0], str(rule))
    assert len(whole) == ROWS
    for rounds in cut:
        assert sum(map(area_of, rounds)) == pytest.approx(area_of(plain[0]), abs=2e-3)
        rows = [seen_rows(path, str(rule)) for path in rounds]
        number = [np.array([v for v, _ in some]) / PITCH for some in rows]
        every = np.sort(np.concatenate(number))
        assert len(every) == ROWS
        assert np.diff(every) == pytest.approx(1.0, abs=0.02)
        for one in number:  # of one colour both edges belong to the last round
            inner = one[one < every[-1]]
            assert np.diff(inner) == pytest.approx(4.0, abs=0.02)
        assert number[3][[0, -1]] == pytest.approx(every[[0, -1]])
        # the second round halves the gaps of the first, and the fourth those of the third
        first = [one[0] for one in number]
        assert round(first[1] - first[0]) % 4 == round(first[3] - first[2]) % 4 == 2
        lit = [length for some in rows for _, length in some]
        assert sum(lit) == pytest.approx(sum(length for _, length in whole), rel=0.001)


def test_each_round_is_swept_by_itself_in_the_heat_that_is_predicted():
    made = build(defined())
    steps = plan_of(made.artwork, made.bench.machine_or_default).steps
    swept = [step for step in steps if isinstance(step, RasterGroup)]
    assert [len(step.shapes) for step in swept] == [1] * (3 + 4 * 4)
    assert {step.pitch for step in swept} == {PITCH}
    (cell,) = (cell for cell in made.cells if cell.name == "A1")
    assert cell.shapes == ("cell-A1-1", "cell-A1-2", "cell-A1-3", "cell-A1-4")
    assert cell.pitch == PITCH
    assert cell.extra["rows"] == "in 4 rounds of strips"


def test_software_that_sweeps_a_colour_as_a_whole_gets_own_rows():
    asked = defined(raster_groups=RasterGroups.EACH_COLOUR)
    assert asked.own_rows.form is Form.OWN_ROWS
    assert asked == defined(form=None, raster_groups=RasterGroups.EACH_COLOUR)
    strips = replace(asked, own_rows=replace(asked.own_rows, form=Form.STRIPS))
    with pytest.raises(Refusal, match="bench galvo sweeps each colour as a whole"):
        build(strips)


def test_blades_of_own_rows_stay_lines():
    blades = defined("own-rows")
    assert blades == defined("own-rows", form=None)
    with pytest.raises(Refusal, match="own-rows has lines to score, and no strips"):
        build(replace(blades, own_rows=replace(blades.own_rows, form=Form.STRIPS)))


def test_the_definition_is_read_back_as_it_was_written(tmp_path):
    definition = defined()
    file = tmp_path / "leaf.coupon.yaml"
    file.write_bytes(definition_bytes(definition))
    assert b"form: strips" in file.read_bytes()
    assert read_definition(file) == definition
    assert build(definition).id != build(defined(form=None)).id


@pytest.mark.parametrize(
    ("form", "groups", "said"),
    [
        ("strips", "each-path", "areas one row high, 0.1 mm apart, in 4 rounds of strips"),
        ("own-rows", "each-path", "rows as lines, 0.1 mm apart, in 4 rounds;"),
        ("strips", "each-colour", "rows as lines, 0.1 mm apart, in 4 rounds;"),
    ],
)
def test_the_command_takes_the_form_of_the_recipe(tmp_path, form, groups, said):
    recipe = tmp_path / "nursery.yaml"
    recipe.write_text(RECIPE.replace("GROUPS", groups).replace("FORM", form), "utf-8")
    out = tmp_path / "leaf.svg"
    done = CliRunner().invoke(
        app, ["coupon", str(recipe), "rastered-interleaved", "-o", str(out), "--quiet"]
    )
    assert done.exit_code == 0, done.output
    sheet = " ".join((tmp_path / "leaf.coupon.html").read_text("utf-8").split())
    assert said in sheet.replace("\N{NO-BREAK SPACE}", " ")
    assert "Which leaf in rounds is as strong as a swept one" in sheet
    assert "Do rounds show as lines, or did the surface rise between them?" in sheet
