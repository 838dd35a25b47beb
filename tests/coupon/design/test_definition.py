"""Definitions as files: read back, identified, and refused when edited."""

from __future__ import annotations

from dataclasses import replace

import pytest

from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.defaults import CouponOverrides
from preprocess.coupon.design.define import define
from preprocess.coupon.design.definition import coupon_id, definition_bytes, read_definition
from preprocess.errors import Refusal, UserError
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.part import Part
from tests.coupon.benches import BENCH, MACHINE, PLATE, SETTINGS, SPOOL, made
from tests.coupon.drawn import FOLDER, KINDS


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
