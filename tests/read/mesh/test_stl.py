"""STL: what is right is read to the last digit, what is damaged is refused in one sentence."""

from __future__ import annotations

import numpy as np
import pytest

from preprocess.errors import UserError
from preprocess.read.mesh.stl import read_stl
from tests.read.mesh.mesh_files import binary, box, text

LABEL = box(0, 0, 0, 60, 30, 3)
TEXT = text(LABEL)
BINARY = binary(LABEL)


@pytest.mark.parametrize(
    "data",
    [
        BINARY,
        binary(LABEL, head=b"solid label"),
        TEXT,
        TEXT.replace(b"\n", b"\r\n"),
        TEXT.upper(),
        b"\xef\xbb\xbf" + TEXT,
        TEXT.replace(b"\n", b"\n\t  "),
        b"solid\n" + TEXT.split(b"\n", 1)[1],
        BINARY + b"\0\0",
    ],
    ids=["binary", "solid", "text", "crlf", "capitals", "mark", "spaces", "unnamed", "trailing"],
)
def test_every_way_of_writing_a_box_gives_the_box(data: bytes) -> None:
    read = read_stl(data, "label.stl")
    assert read.unit is None
    assert np.array_equal(read.triangles, LABEL)


def test_two_solids_in_one_text_are_both_read() -> None:
    assert len(read_stl(TEXT + TEXT, "two.stl").triangles) == 24


def test_bytes_after_the_last_triangle_are_told() -> None:
    (found,) = read_stl(BINARY + b"\0\0", "label.stl").findings
    assert found.code == "model-trailing-bytes"
    assert "2 bytes" in found.message


def _with(data: bytes, at: int, new: bytes) -> bytes:
    return data[:at] + new + data[at + len(new) :]


NAN, FAR = np.float32("nan").tobytes(), np.float32(3e38).tobytes()


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "the file is empty"),
        (b"solid", "too short"),
        (b" " * 80 + b"\0\0\0\0", "holds no triangle"),
        (b"solid x\nendsolid x\n", "holds no triangle"),
        (BINARY[:400], "it has 6 triangles and says 12"),
        (_with(BINARY, 80, b"\xff\xff\xff\xff"), "it has 12 triangles and says 4,294,967,295"),
        (_with(BINARY, 96, NAN), "triangle 1 has a coordinate that is no number"),
        (_with(BINARY, 96, b"\x01\0\x80\x7f"), "triangle 1 has a coordinate that is no number"),
        (_with(BINARY, 146, FAR), "lies more than 100,000 units from its origin"),
        (TEXT[:300], "label.stl:9: a facet of the text STL is not complete"),
        (TEXT.replace(b"endsolid label", b""), "no endsolid"),
        (TEXT.replace(b".", b","), "decimal points"),
        (TEXT.replace(b"3.000000000e+00", b"nan"), "is no number"),
        (TEXT.replace(b"3.000000000e+00", b"tall", 1), "'tall' in place of a number"),
        (TEXT.replace(b"endloop", b"", 1), "not complete here"),
        (b"\x93NUMPY" + bytes(200), "no STL"),
    ],
    ids=range(16),
)
def test_damage_is_told_in_one_sentence(data: bytes, says: str) -> None:
    with pytest.raises(UserError) as caught:
        read_stl(data, "label.stl")
    (complaint,) = caught.value.complaints
    assert says in str(complaint)
    assert complaint.remedy
    assert str(complaint).startswith("label.stl")


def test_more_triangles_than_are_read_are_refused_before_they_are_held() -> None:
    many = b" " * 80 + (2_000_001).to_bytes(4, "little") + bytes(50 * 2_000_001)
    with pytest.raises(UserError, match="2,000,001 triangles, and 2,000,000 are read"):
        read_stl(many, "label.stl")
