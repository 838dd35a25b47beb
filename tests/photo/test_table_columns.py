"""Columns of a grade table for tones: grades and all else stay as a person wrote them."""

from __future__ import annotations

import csv
import io

from preprocess.photo.measured import MeasuredCoupon, MeasuredPlace, Photo
from preprocess.photo.table_columns import with_tone_columns

PHOTO = Photo(
    name="moss.jpg", digest="", px_per_mm=12, edge=0.2, fit=0.01, markers=14, match=0.9, points=9
)
MEASURED = MeasuredCoupon(
    coupon="row-span-1",
    ground=40.0,
    photos=(PHOTO,),
    places=(
        MeasuredPlace(cell="A1", tone=-12.26, ln_ratio=-0.5, sd=0.4, unevenness=0.84, edge=0.314),
        MeasuredPlace(cell="B1", tone=-3.0, ln_ratio=-0.1, sd=0.4),
    ),
)
TABLE = (
    'coupon,cell,power,grade,grade_2\nrow-span-1,B1,30 %,even,\nrow-span-1,A1,40 %,"heavy",weak\n'
)


def rows(data, separator=","):
    return list(csv.reader(io.StringIO(data.decode()), delimiter=separator))


def test_tones_stand_beside_the_grades() -> None:
    assert rows(with_tone_columns(TABLE, MEASURED)) == [
        ["coupon", "cell", "power", "grade", "grade_2", "tone", "unevenness", "edge", "photo"],
        ["row-span-1", "B1", "30 %", "even", "", "-3.0", "", "", "moss.jpg"],
        ["row-span-1", "A1", "40 %", "heavy", "weak", "-12.3", "0.8", "0.31 mm", "moss.jpg"],
    ]


def test_measuring_again_replaces_the_tones_only() -> None:
    once = with_tone_columns(TABLE, MEASURED)
    assert with_tone_columns(once.decode(), MEASURED) == once


def test_rows_of_another_coupon_keep_what_they_have() -> None:
    other = "coupon,cell,grade,tone\nsizes-2,A1,even,-7.0\nrow-span-1,A1,,\n"
    found = rows(with_tone_columns(other, MEASURED))
    assert found[1] == ["sizes-2", "A1", "even", "-7.0", "", "", ""]
    assert found[2] == ["row-span-1", "A1", "", "-12.3", "0.8", "0.31 mm", "moss.jpg"]


def test_the_separator_of_a_spreadsheet_is_kept() -> None:
    found = with_tone_columns(TABLE.replace(",", ";"), MEASURED)
    assert rows(found, ";")[2][-4:] == ["-12.3", "0.8", "0.31 mm", "moss.jpg"]


def test_places_along_a_blade_are_told_from_end_to_end() -> None:
    along = tuple(
        MeasuredPlace(cell="A1", at=at, span=9.0, tone=-at, ln_ratio=0.0, sd=0.4)
        for at in (2.0, 9.0)
    )
    blades = MeasuredCoupon(coupon="row-span-1", ground=40.0, photos=(PHOTO,), places=along)
    assert rows(with_tone_columns(TABLE, blades))[2][5] == "-2.0 to -9.0"
