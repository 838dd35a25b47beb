"""The file of what a photo told, written and read back."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from preprocess.errors import UserError
from preprocess.photo.measured import (
    LeftOut,
    MeasuredCoupon,
    MeasuredJob,
    MeasuredPlace,
    Photo,
)
from preprocess.photo.measured_file import coupons_beside, measured_bytes, read_measured

PHOTO = Photo(
    name="fern.jpg",
    digest="ab" * 32,
    px_per_mm=12.25,
    edge=0.21,
    fit=0.012,
    markers=14,
    match=0.83,
    points=310,
)
COUPON = MeasuredCoupon(
    coupon="blades-0a1b2c3d",
    ground=41.5,
    photos=(PHOTO,),
    places=(
        MeasuredPlace(cell="A1", tone=-12.25, ln_ratio=-0.5, sd=0.4, unevenness=0.8, edge=0.3),
        MeasuredPlace(cell="B1", at=4.0, span=14.5, tone=-9.5, ln_ratio=-0.4, sd=0.4),
    ),
    left_out=(LeftOut(cell="C1", at=3.0, why="glare"),),
)
MAP = np.array([[np.nan, 1.25, 2.5], [0.5, np.nan, 1.0]])
JOB = MeasuredJob(
    name="label.yaml",
    drawing="cd" * 32,
    origin=(3.1, 2.1),
    step=0.2,
    ground=30.0,
    photos=(PHOTO, replace(PHOTO, name="moth.jpg")),
    tone=-MAP,
    index=MAP,
    wider=2 * MAP,
    noise=0.5,
)


def test_a_coupon_comes_back_as_it_was(tmp_path):
    path = tmp_path / "blades.measured.json"
    path.write_bytes(measured_bytes(COUPON))
    assert read_measured(path) == COUPON


def test_a_job_comes_back_with_its_maps(tmp_path):
    path = tmp_path / "label.measured.json"
    path.write_bytes(measured_bytes(JOB))
    read = read_measured(path)
    assert (read.origin, read.step, read.photos) == ((3.1, 2.1), 0.2, JOB.photos)
    for name in ("tone", "index", "wider"):
        np.testing.assert_array_equal(getattr(read, name), getattr(JOB, name))


def test_the_file_has_null_where_nothing_was_seen():
    held = json.loads(measured_bytes(JOB))
    assert held["measured"] == 1
    assert held["kind"] == "job"
    assert held["index"] == [[None, 1.25, 2.5], [0.5, None, 1.0]]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{}",
        '{"measured": 1, "kind": "coupon"}',
        '{"measured": 1, "kind": "moth"}',
        "[" * 5000,
        measured_bytes(COUPON).decode().replace("41.5", '"light"'),
        measured_bytes(COUPON).decode().replace("41.5", "NaN"),
        measured_bytes(COUPON).decode().replace("-12.25", "null"),
        measured_bytes(COUPON).decode().replace('"A1"', "7"),
        measured_bytes(JOB).decode().replace("[null, 1.25, 2.5]", "[1.0]", 1),
        measured_bytes(JOB).decode().replace("0.2,", "0.0,"),
    ],
)
def test_another_file_is_refused_in_one_sentence(tmp_path, text):
    path = tmp_path / "odd.measured.json"
    path.write_text(text)
    with pytest.raises(UserError, match="not what evenmark measure writes") as told:
        read_measured(path)
    assert len(told.value.complaints) == 1


def test_a_later_version_is_told(tmp_path):
    path = tmp_path / "late.measured.json"
    path.write_bytes(measured_bytes(COUPON).replace(b'"measured": 1', b'"measured": 2'))
    with pytest.raises(UserError, match="version 2 of a measured photo"):
        read_measured(path)


def test_measured_coupons_lie_beside_the_table(tmp_path):
    (tmp_path / "blades.measured.json").write_bytes(measured_bytes(COUPON))
    (tmp_path / "label.measured.json").write_bytes(measured_bytes(JOB))
    (tmp_path / "torn.measured.json").write_text("{")
    assert coupons_beside(tmp_path / "blades.grades.csv") == {"blades-0a1b2c3d": COUPON}
    with pytest.raises(UserError):
        coupons_beside(tmp_path / "torn.grades.csv")
