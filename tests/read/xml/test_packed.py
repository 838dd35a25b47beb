"""Drawings packed with gzip are read like others; damaged and growing ones are refused."""

import gzip

import pytest

from preprocess.errors import UserError
from preprocess.model.options.limits import DrawingLimits
from preprocess.model.options.reading import ReadingOptions
from preprocess.read.reader import read
from tests.read.reading import sheet

FERN = sheet('<rect id="fern" width="20" height="10"/>')
PACKED = gzip.compress(FERN, mtime=0)
HALF = len(FERN) // 2


@pytest.mark.parametrize(
    "data", [PACKED, gzip.compress(FERN[:HALF]) + gzip.compress(FERN[HALF:])], ids=["one", "two"]
)
def test_a_packed_drawing_is_read(data):
    (shape,) = read(data, "fern.svgz", ReadingOptions()).artwork.shapes
    assert (shape.id, shape.geometry.area) == ("fern", pytest.approx(200))


def refusal(data, **limits):
    with pytest.raises(UserError) as caught:
        read(data, "fern.svgz", ReadingOptions(limits=DrawingLimits(**limits)))
    (complaint,) = caught.value.complaints
    assert complaint.remedy
    assert complaint.place.file == "fern.svgz"
    return complaint.found


@pytest.mark.parametrize("cut", [2, 9, len(PACKED) // 2, len(PACKED) - 1])
def test_a_cut_off_package_is_one_sentence(cut):
    assert refusal(PACKED[:cut]) == "the compressed drawing (gzip) is cut off or damaged"


def test_a_wrong_checksum_is_damage():
    data = PACKED[:-8] + bytes([PACKED[-8] ^ 1]) + PACKED[-7:]
    assert refusal(data) == "the compressed drawing (gzip) is cut off or damaged"


def test_no_more_is_unpacked_than_a_file_may_have():
    blank = gzip.compress(b" " * 3_000_000)
    assert len(blank) < 10_000
    found = refusal(blank, file=2**20)
    assert found == "the compressed file unpacks to more, and 1 MiB are allowed"
    assert refusal(blank + blank, file=4 * 2**20).startswith("the compressed file unpacks to more")


def test_other_data_in_a_package_is_no_drawing():
    assert refusal(gzip.compress(b"fern label")) == "the file is no XML at all"
    assert refusal(gzip.compress(b"")) == "the file is empty"
