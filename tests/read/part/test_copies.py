"""Copies on a print bed, laid out by hand: one of them is the part; all else stays."""

from __future__ import annotations

import numpy as np
import pytest

from preprocess.model.bench.part import Part
from preprocess.read.mesh.mesh_file import read_mesh
from preprocess.read.part.model_body import part_triangles
from preprocess.read.part.part_relief import part_model
from tests.read.mesh.mesh_files import binary, box, document, item, mesh, package, solid

PLATE = box(0, 0, 0, 60, 30, 3)
KNOB = box(4, 4, 3, 8, 9, 4)
LABEL = np.concatenate([PLATE, KNOB])
BED = [(70.0 * column, 45.0 * row) for row in range(2) for column in range(3)]


def _turned(triangles, degrees, x=0.0, y=0.0):
    a = np.radians(degrees)
    turn = np.array([[np.cos(a), np.sin(a), 0], [-np.sin(a), np.cos(a), 0], [0, 0, 1]])
    return triangles @ turn + [x, y, 0.0]


def _read(*bodies, items=""):
    held = "".join(solid(n, mesh(one), "label") for n, one in enumerate(bodies, 1))
    every = items or "".join(item(n) for n in range(1, len(bodies) + 1))
    return read_mesh(package(document(held, every)), "label.3mf")


def _chosen(read, **keys):
    return part_triangles(read, Part(model="label.3mf", **keys), "label.3mf")


def test_six_copies_of_one_object_are_one_part_and_the_tray_is_told() -> None:
    items = "".join(item(1, f"1 0 0 0 1 0 0 0 1 {x} {y} 0") for x, y in BED)
    triangles, (found,) = _chosen(_read(LABEL, items=items))
    assert len(triangles) == len(LABEL)
    assert (found.code, found.message[:41]) == (
        "model-copies",
        "the model builds 6 copies of 'label'; one",
    )
    assert "place: {copies: [3, 2], spacing: [70 mm, 45 mm]}" in found.remedy


def test_copies_written_out_and_turned_on_the_bed_are_copies_too() -> None:
    read = _read(LABEL, _turned(LABEL, 90, 120, 0), _turned(LABEL, -35, 20, 90))
    triangles, (found,) = _chosen(read)
    assert len(triangles) == len(LABEL)
    assert "3 copies" in found.message
    assert "copies: and spacing:" in found.remedy
    named, _ = _chosen(read, body="label")
    assert len(named) == len(LABEL)


@pytest.mark.parametrize(
    "other",
    [
        box(70, 0, 0, 130, 30, 3),  # without its knob
        np.concatenate([PLATE, KNOB + np.array([40, 0, 0])]) + np.array([70, 0, 0]),
        LABEL * [-1, 1, 1] - [10, 0, 0],  # mirrored
        LABEL * [1, 1, 1.2] + [70, 0, 0],
        LABEL + np.array([55, 0, 0]),  # it touches the first
    ],
)
def test_what_is_no_copy_stays_part_of_the_model(other) -> None:
    triangles, found = _chosen(_read(LABEL, other))
    assert len(triangles) == len(LABEL) + len(other)
    assert found == ()


def test_pieces_that_lie_apart_are_told() -> None:
    read = _read(LABEL, box(70, 0, 0, 130, 30, 3))
    codes = [one.code for one in part_model(read, Part(model="a.3mf"), None, "a.3mf").findings]
    assert "model-in-pieces" in codes


@pytest.mark.parametrize(("unit", "told"), [(None, ["model-unit"]), ("mm", [])])
def test_a_small_stl_without_a_unit_is_told(unit, told) -> None:
    read = read_mesh(binary(box(0, 0, 0, 12, 6, 2)), "a.stl")
    _, found = part_triangles(read, Part(model="a.stl", unit=unit), "a.stl")
    assert [one.code for one in found] == told
