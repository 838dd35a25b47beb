"""3MF: units, maps, components and files in files; what would exhaust the computer is refused."""

from __future__ import annotations

import io
import random
import zipfile
from collections import Counter

import numpy as np
import pytest

from preprocess.errors import UserError
from preprocess.model.bench.part import Up
from preprocess.read.mesh import threemf_part
from preprocess.read.mesh.mesh_file import read_mesh
from preprocess.read.mesh.threemf_package import open_package
from preprocess.read.mesh.threemf_part import read_part
from tests.fuzz_models import answer, damaged
from tests.read.mesh.mesh_files import binary, box, document, item, mesh, package, solid

LABEL = box(0, 0, 0, 60, 30, 3)
PLATE = solid(1, mesh(LABEL), "plate")


def _bounds(read) -> list[list[float]]:
    corners = read.triangles.reshape(-1, 3)
    return [np.round(corners.min(0), 6).tolist(), np.round(corners.max(0), 6).tolist()]


def _outward(triangles) -> float:
    """The volume by the divergence theorem; positive where the triangles face outward."""
    a, b, c = np.moveaxis(triangles, 1, 0)
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)


@pytest.mark.parametrize(
    ("unit", "mm"),
    [
        ("micron", 1e-3),
        ("millimeter", 1.0),
        ("centimeter", 10.0),
        ("inch", 25.4),
        ("foot", 304.8),
        ("meter", 1000.0),
    ],
)
def test_each_unit_of_the_format(unit: str, mm: float) -> None:
    small = solid(1, mesh(LABEL / mm), "plate")
    read = read_mesh(package(document(small, item(1), unit)), "label.3mf")
    assert read.unit == unit
    assert _bounds(read) == [[0, 0, 0], [60, 30, 3]]


def test_components_are_turned_then_moved() -> None:
    """A quarter turn, (x, y) to (-y, x), then 2 and 1 to the side: worked out by hand."""
    turned = (
        '<components><component objectid="1" transform="0 1 0 -1 0 0 0 0 1 0 0 0"/></components>'
    )
    model = document(PLATE + solid(9, turned), item(9, "1 0 0 0 1 0 0 0 1 2 1 0"))
    assert _bounds(read_mesh(package(model), "label.3mf")) == [[-28, 1, 0], [2, 61, 3]]


def test_a_mirror_leaves_the_triangles_facing_outward() -> None:
    model = document(PLATE, item(1, "-1 0 0 0 1 0 0 0 1 0 0 0"))
    read = read_mesh(package(model), "label.3mf")
    assert _bounds(read) == [[-60, 0, 0], [0, 30, 3]]
    assert _outward(read.triangles) == pytest.approx(60 * 30 * 3)


def test_an_object_is_built_as_often_as_it_is_named() -> None:
    model = document(PLATE, item(1) + item(1, "1 0 0 0 1 0 0 0 1 70 0 0"))
    read = read_mesh(package(model), "label.3mf")
    assert [body.name for body in read.bodies] == ["plate", "plate"]
    assert _bounds(read) == [[0, 0, 0], [130, 30, 3]]


def test_supports_and_what_is_not_printed_are_left_out_and_told() -> None:
    prop = solid(2, mesh(LABEL + 100), "prop", "support")
    spare = solid(3, mesh(LABEL + 200), "spare")
    model = document(PLATE + prop + spare, item(1) + item(2) + item(3, more='printable="0"'))
    read = read_mesh(package(model), "label.3mf")
    assert _bounds(read) == [[0, 0, 0], [60, 30, 3]]
    assert "prop (support), spare (not to be printed)" in read.findings[0].message


def test_a_mesh_in_another_part_of_the_package() -> None:
    far = '<components><component p:path="/3D/Objects/plate.model" objectid="1"/></components>'
    model = document(solid(2, far), item(2, "1 0 0 0 1 0 0 0 1 128 128 0"))
    data = package(model, **{"3D__Objects__plate": document(PLATE, "")})
    assert _bounds(read_mesh(data, "label.3mf")) == [[128, 128, 0], [188, 158, 3]]


def test_an_extension_that_is_not_read_is_told() -> None:
    model = document(PLATE, item(1), more='requiredextensions="p lattice"')
    (found,) = read_mesh(package(model), "label.3mf").findings
    assert found.code == "model-extension"
    assert "lattice" in found.message


def _named(number: int, *others: int) -> str:
    inner = "".join(f'<component objectid="{n}"/>' for n in others)
    return solid(number, f"<components>{inner}</components>")


LOOP = document(_named(1, 2) + _named(2, 1), item(1))
FAN = document(
    PLATE + "".join(_named(n, n - 1, n - 1) for n in range(2, 30)),
    item(29),
)
ENTITIES = '<!DOCTYPE model [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;">]>' + LOOP
LONG = f'<model a="{"x" * 9_000_000}"/>'
DEEP = "<model>" + "<a>" * 5000


@pytest.mark.parametrize(
    ("model", "says"),
    [
        (LOOP, "name themselves, or nest without end"),
        (FAN, "name themselves, or nest without end"),
        (ENTITIES, "declares a document type"),
        (LONG, "element of more than 2 MiB"),
        (DEEP, "nest more than 64 deep"),
        (document(PLATE, item(7)), "builds object '7', which is not in it"),
        (document(PLATE, ""), "builds nothing"),
        (document(PLATE, item(1), "parsec"), "'parsec', a unit that the format does not have"),
        (document(PLATE, item(1, "1 0 0")), "'1 0 0', which is not twelve numbers"),
        (document(PLATE, item(1, "nan 0 0 0 1 0 0 0 1 0 0 0")), "which is not twelve numbers"),
        (document(PLATE, item(1, "1e200 0 0 0 1 0 0 0 1 0 0 0")), "from its origin"),
        (document(PLATE.replace('v3="1"', 'v3="99"'), item(1)), "names corner 99 of 8"),
        (document(PLATE.replace('v3="1"', 'v3="-2"'), item(1)), "names corner -2 of 8"),
        (document(PLATE.replace('x="60"', 'x="6,0"'), item(1)), "decimal points"),
        (document(PLATE.replace('x="60"', 'x="nan"'), item(1)), "a coordinate that is no number"),
        (document(PLATE.replace('x="60"', ""), item(1)), "values that are no numbers"),
        ("<model", "no sound XML (unclosed token)"),
        ("<relations/>", "holds no model"),
    ],
    ids=range(18),
)
def test_damage_is_told_in_one_sentence(model: str, says: str) -> None:
    with pytest.raises(UserError) as caught:
        read_mesh(package(model), "label.3mf")
    (complaint,) = caught.value.complaints
    assert says in str(complaint)
    assert complaint.remedy
    assert str(complaint).startswith("label.3mf")


def test_a_package_that_unpacks_without_end_is_refused() -> None:
    """Stopped where it passes what is left to unpack."""
    data = package("<model>" + "<!-- -->" * 500_000)
    assert len(data) < 10_000  # of 4 MB
    held = open_package(data, "label.3mf")
    held.left = 3_000_000
    with pytest.raises(UserError, match="unpacks to more than 512 MiB"):
        read_part(held, "3D/label.model")
    assert held.left > -(2**20)


def test_elements_without_end_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(threemf_part, "_MOST_ELEMENTS", 1000)
    with pytest.raises(UserError, match="more than 1,000 elements"):
        read_mesh(package("<model>" + "<a/>" * 1001), "label.3mf")


def _zip(**parts: str) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        for name, what in parts.items():
            archive.writestr(name, what)
    return held.getvalue()


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (package(LOOP)[:200], "table of contents cannot be read"),
        (b"PK", "table of contents cannot be read"),
        (_zip(letter="hello"), "a ZIP, but no 3MF"),
        (_zip(**{"_rels/.rels": "<a/>"}), "which of its parts is the model"),
        (package(LOOP).replace(b"3D/label.model", b"3D/label.mudel"), "'/3D/label.model'"),
        (b"ISO-10303-21;", "a STEP file"),
        (b"<svg/>", "a drawing"),
        (b"ply\n", "a PLY file"),
    ],
    ids=range(8),
)
def test_other_files_are_told(data: bytes, says: str) -> None:
    with pytest.raises(UserError, match="label") as caught:
        read_mesh(data, "label.3mf")
    assert says in str(caught.value)


def test_the_first_bytes_count_not_the_name() -> None:
    assert len(read_mesh(binary(LABEL), "label.3mf").triangles) == 12


def test_damaged_packages_are_told_in_one_sentence() -> None:
    """Places within a ZIP that lie before its beginning, and the like: tests/fuzz_models.py."""
    dice = random.Random(5)
    kinds = Counter()
    for _ in range(150):
        kind, data = damaged(dice)
        kinds[kind, answer(data, Up.Z)] += 1
    assert kinds["package", "sentence"] > 20
