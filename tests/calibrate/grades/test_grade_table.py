"""Grade tables as people and spreadsheets leave them."""

from __future__ import annotations

import shutil

import pytest

from preprocess.calibrate.grades.grade_table import read_grade_table
from preprocess.coupon.design.model import Grade
from preprocess.errors import UserError
from tests.coupon.drawn import FOLDER

KIND = "tip-width"
NAME = f"{KIND}.grades.csv"
LINES = (FOLDER / NAME).read_text("utf-8").splitlines()
"""Line 1 names the columns: coupon, cell, power, speed, pitch, direction, tip, grade."""

ID = LINES[1].split(",")[0]
GRADES = ("even", "weak", "weak", "heavy", "even", "even", "molten", "heavy", "")


@pytest.fixture
def folder(tmp_path):
    shutil.copy(FOLDER / f"{KIND}.coupon.yaml", tmp_path)
    return tmp_path


def filled(grades=GRADES) -> list[str]:
    assert len(grades) == len(LINES) - 1
    return [LINES[0], *(line + grade for line, grade in zip(LINES[1:], grades, strict=True))]


def read(folder, lines, name=NAME):
    path = folder / name
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return read_grade_table(path)


def refused(folder, lines, name=NAME) -> str:
    with pytest.raises(UserError) as told:
        read(folder, lines, name)
    return str(told.value).replace(f"{folder}/", "")


def test_a_table_is_read_with_its_coupon(folder) -> None:
    table = read(folder, filled())
    assert [row.grades for row in table.rows] == [(Grade(g) if g else None,) for g in GRADES]
    assert [row.cell for row in table.rows] == [f"{a}{n}" for a in "ABC" for n in (1, 2, 3)]
    assert [row.line for row in table.rows] == list(range(2, 11))
    (coupon,) = table.coupons
    assert {row.coupon for row in table.rows} == {coupon.id} == {ID}


def test_a_table_as_it_was_written_is_blank(folder) -> None:
    assert {row.grades for row in read(folder, LINES).rows} == {(None,)}


def test_more_judges_have_columns_of_their_own(folder) -> None:
    lines = [f"{filled()[0]},grade_2,grade_3", *(f"{line},heavy," for line in filled()[1:])]
    rows = read(folder, lines).rows
    assert rows[0].grades == (Grade.EVEN, Grade.HEAVY, None)


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text.replace(",", ";"),
        lambda text: text.replace(",", "\t"),
        lambda text: "\ufeff" + text,
        lambda text: text.replace("\n", "\r\n"),
        lambda text: text.replace("30 %", "30%").replace("0.8 mm", "0.80 mm"),
        lambda text: text.replace("heavy", " Heavy ").replace("coupon,", "Coupon,", 1),
        lambda text: text + "\n\n,,,,,,,\n",
        lambda text: text.replace("A1", "a1"),
        lambda text: "\n".join(
            f'{line},"said: all, fine"' if n else f"{line},remark"
            for n, line in enumerate(text.splitlines())
        ),
    ],
)
def test_what_spreadsheets_do_to_a_table_does_not_matter(folder, change) -> None:
    path = folder / NAME
    path.write_bytes(change("\n".join(filled())).encode())
    assert read_grade_table(path).rows == read(folder, filled(), "again.grades.csv").rows


def test_the_order_of_rows_and_columns_is_free(folder) -> None:
    lines = [",".join(reversed(line.split(","))) for line in filled()]
    table = read(folder, [lines[0], *reversed(lines[1:])])
    assert {(r.cell, r.grades) for r in table.rows} == {
        (r.cell, r.grades) for r in read(folder, filled()).rows
    }


def test_one_table_may_hold_several_coupons(folder) -> None:
    shutil.copy(FOLDER / "sizes.coupon.yaml", folder)
    other = (FOLDER / "sizes.grades.csv").read_text("utf-8").splitlines()[1:]
    table = read(folder, [*filled(), *other], "both.grades.csv")
    assert [coupon.kind for coupon in table.coupons] == [KIND, "sizes"]
    assert len(table.rows) == 18


def test_a_damaged_definition_of_another_coupon_is_passed_by(folder) -> None:
    (folder / "old.coupon.yaml").write_text("kind: [", "utf-8")
    assert read(folder, filled()).rows


def test_a_gauge_is_measured(tmp_path) -> None:
    shutil.copy(FOLDER / "field-scale.coupon.yaml", tmp_path)
    lines = (FOLDER / "field-scale.grades.csv").read_text("utf-8").splitlines()
    assert lines[0].endswith(",length,measured")
    lines = [lines[0], lines[1] + "56.9 mm", lines[2] + "5.7 cm", *lines[3:]]
    rows = read(tmp_path, lines, "field-scale.grades.csv").rows
    assert [row.measured for row in rows] == [56.9, 57.0, None, None, None, None]
    lines[3] += "36.9"
    told = refused(tmp_path, lines, "field-scale.grades.csv")
    assert told.startswith("field-scale.grades.csv:4:8: measured: 36.9 has no unit")


def replaced(number: int, old: str, new: str) -> list[str]:
    lines = filled()
    assert old in lines[number - 1]
    lines[number - 1] = lines[number - 1].replace(old, new)
    return lines


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (replaced(3, "weak", "weka"), f"{NAME}:3:8: 'weka' is no grade; did you mean weak?"),
        (
            replaced(3, "weak", "7"),
            f"{NAME}:3:8: '7' is no grade; write weak, even, heavy, molten, or nothing",
        ),
        (
            replaced(2, ID, "tip-width-00000000"),
            (
                f"{NAME}:2:1: no coupon 'tip-width-00000000' is defined beside the table; "
                f"put its .coupon.yaml in the same folder; those there are: {ID}"
            ),
        ),
        (
            replaced(2, "A1", "A9"),
            f"{NAME}:2:2: {ID} has no cell 'A9'; its cells are A1, A2, A3, B1, B2, B3, C1, C2, C3",
        ),
        (
            filled()[:5] + filled()[7:],
            (
                f"{NAME}: {ID} lacks rows for B2, B3; "
                "put them back; leave the grade of an unjudged cell blank"
            ),
        ),
        (
            [*filled(), filled()[1]],
            (
                f"{NAME}:11:2: cell A1 has a row already, in line 2; "
                "a second judge has the column grade_2"
            ),
        ),
        (
            replaced(2, "21 %", "25 %"),
            f"{NAME}:2:3: power of cell A1 is '25 %', not '21 %'; put it back",
        ),
        (replaced(2, "0.8 mm", "0.8"), f"{NAME}:2:7: tip of cell A1 is '0.8', not '0.8 mm'"),
        (replaced(2, "one-way", "two-way"), f"{NAME}:2:6: direction of cell A1 is 'two-way'"),
        (
            replaced(4, "weak", "weak,even"),
            f"{NAME}:4: the row has 9 fields, but the first row has 8",
        ),
        (replaced(1, "cell", "cells"), f"{NAME}:1: the column 'cell' is missing"),
        (replaced(1, "tip", "cell"), f"{NAME}:1: the column 'cell' occurs twice"),
        (replaced(1, "grade", "grades"), f"{NAME}:1:8: the column 'grades' is not known"),
        (replaced(1, "grade", "verdict"), f"{NAME}:1: the column 'grade' is missing"),
        (LINES[:1], f"{NAME}:1: the table has no rows"),
        ([""], f"{NAME}: the table is empty"),
    ],
)
def test_what_is_wrong_is_said_with_row_and_column(folder, lines, told) -> None:
    assert refused(folder, lines).startswith(told) or f"\n{told}" in refused(folder, lines)


def test_all_complaints_come_at_once(folder) -> None:
    lines = filled()
    lines[1] += "n"
    lines[5] = lines[5].replace("even", "good")
    told = refused(folder, lines).splitlines()
    assert [line.split(": ")[0] for line in told] == [f"{NAME}:2:8", f"{NAME}:6:8"]


def test_a_table_without_its_definition_says_what_is_missing(tmp_path) -> None:
    told = refused(tmp_path, filled())
    assert "those there are: none" in told
    assert told.count("is defined beside the table") == 1


def test_a_damaged_definition_of_its_own_is_told(folder) -> None:
    (folder / f"{KIND}.coupon.yaml").write_text("kind: tip-wide\n", "utf-8")
    told = refused(folder, filled())
    assert f"{KIND}.coupon.yaml:1:7: kind is 'tip-wide'; did you mean tip-width?" in told


def test_a_coupon_that_cannot_be_built_is_told(folder) -> None:
    path = folder / f"{KIND}.coupon.yaml"
    small = path.read_text("utf-8").replace("- 60 mm", "- 6 mm")
    path.write_text(small, "utf-8")
    assert "no coupon" in refused(folder, filled())


@pytest.mark.parametrize("data", [b"\xff\xfe", b"coupon,cell,grade\n\x00,A1,even\n", b'a,"b\nc'])
def test_what_is_no_table_is_refused(folder, data) -> None:
    (folder / NAME).write_bytes(data)
    with pytest.raises(UserError):
        read_grade_table(folder / NAME)


def test_no_file_is_said(folder) -> None:
    with pytest.raises(UserError, match="there is no such file; did you mean"):
        read_grade_table(folder / f"{KIND}.coupon.yml")
