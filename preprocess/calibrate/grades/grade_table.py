"""The grade table of a coupon: read, and checked against the coupon."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING

from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.model import Grade
from preprocess.coupon.paper.file_names import definitions_beside
from preprocess.coupon.paper.grade_columns import (
    CELL,
    COUPON,
    GRADE,
    MEASURED,
    cell_texts,
    field_matches,
    is_grade_column,
    is_measured_coupon,
)
from preprocess.errors import Complaint, Place, Refusal, UserError, wrong
from preprocess.loading.yaml.text_files import read_text
from preprocess.units import LENGTH, UnitError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from preprocess.coupon.design.model import Cell, Coupon, CouponDefinition


@dataclass(frozen=True, slots=True, kw_only=True)
class GradedCell:
    """One row of a grade table.

    `grades` has one entry for each judge or repeat, None where the field is blank. `measured` is a
    length in mm, on coupons that are measured with a calliper. `line` counts from 1.
    """

    coupon: str
    cell: str
    grades: tuple[Grade | None, ...]
    measured: float | None = None
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class GradeTable:
    """A table with one row for each cell of its coupons.

    `coupons` are those that the rows name, in the order of the rows.
    """

    file: str
    coupons: tuple[Coupon, ...]
    rows: tuple[GradedCell, ...]


def read_grade_table(path: Path) -> GradeTable:
    """Read a grade table; definitions of its coupons (`*.coupon.yaml`) lie beside it.

    Raises:
        UserError: every complaint at once, each with file, row and column.
    """
    reader = _Reader(path)
    rows = reader.graded()
    if reader.complaints:
        raise UserError(reader.complaints)
    return GradeTable(file=str(path), coupons=tuple(reader.built), rows=rows)


class _Reader:
    """Reads one table; collects what is wrong and goes on."""

    def __init__(self, path: Path) -> None:
        self.file = str(path)
        self.complaints: list[Complaint] = []
        self.coupons: dict[str, Coupon | None] = {}
        lines = _fields_of(read_text(path), self.file)
        if not lines:
            raise wrong("the table is empty", "write it anew with evenmark coupon", place=self.at())
        self.header = tuple(name.strip().lower() for name in lines[0][1])
        self.lines = lines[1:]
        self._check_header(lines[0][0])
        self.known: Mapping[str, CouponDefinition] = definitions_beside(path)

    def at(self, line: int | None = None, column: str | None = None) -> Place:
        number = self.header.index(column) + 1 if column else None
        return Place(self.file, line, number)

    def complain(self, found: str, remedy: str, place: Place) -> None:
        self.complaints.append(Complaint(found, remedy, place))

    @property
    def built(self) -> list[Coupon]:
        return [coupon for coupon in self.coupons.values() if coupon is not None]

    def graded(self) -> tuple[GradedCell, ...]:
        """All readable rows; complains of the others, and of cells without a row."""
        seen: dict[tuple[str, str], int] = {}
        rows = [row for line, fields in self.lines for row in self._row(line, fields, seen)]
        for coupon in self.built:
            self._missing(coupon, {cell for owner, cell in seen if owner == coupon.id})
        if not self.lines:
            self.complain("the table has no rows", "write it anew with evenmark coupon", self.at(1))
        return tuple(rows)

    def _check_header(self, line: int) -> None:
        place = Place(self.file, line)
        for name in (COUPON, CELL):
            if name not in self.header:
                remedy = f"the first row names the columns; keep {COUPON} and {CELL}"
                raise wrong(f"the column {name!r} is missing", remedy, place=place)
        for name in dict.fromkeys(name for name in self.header if name):
            if self.header.count(name) > 1:
                found = f"the column {name!r} occurs twice"
                raise wrong(found, "a second judge has the column grade_2", place=place)
            if name.startswith(GRADE) and not is_grade_column(name):
                found = f"the column {name!r} is not known"
                remedy = "grades stand in the column grade, and in grade_2, grade_3, … of others"
                raise wrong(found, remedy, place=self.at(line, name))
        if not any(is_grade_column(name) or name == MEASURED for name in self.header):
            raise wrong("the column 'grade' is missing", "add it, and grade each cell", place=place)

    def _row(
        self, line: int, fields: Sequence[str], seen: dict[tuple[str, str], int]
    ) -> Iterator[GradedCell]:
        if len(fields) != len(self.header):
            found = f"the row has {len(fields)} fields, but the first row has {len(self.header)}"
            self.complain(found, "look for a comma too many or too few", self.at(line))
            return
        held = dict(zip(self.header, (field.strip() for field in fields), strict=True))
        coupon = self._coupon(held[COUPON], line)
        cell = self._cell(coupon, held[CELL], line) if coupon else None
        if coupon is None or cell is None:
            return
        first = seen.setdefault((coupon.id, cell.name), line)
        if first != line:
            found = f"cell {cell.name} has a row already, in line {first}"
            self.complain(found, "a second judge has the column grade_2", self.at(line, CELL))
            return
        self._unchanged(cell, held, line)
        yield GradedCell(
            coupon=coupon.id,
            cell=cell.name,
            grades=tuple(
                self._grade(held[name], self.at(line, name))
                for name in filter(is_grade_column, held)
            ),
            measured=self._measured(coupon, held, line),
            line=line,
        )

    def _coupon(self, name: str, line: int) -> Coupon | None:
        if name not in self.coupons:
            self.coupons[name] = self._built(name, self.at(line, COUPON))
        return self.coupons[name]

    def _built(self, name: str, place: Place) -> Coupon | None:
        if name not in self.known:
            known = ", ".join(self.known) or "none"
            remedy = f"put its .coupon.yaml in the same folder; those there are: {known}"
            self.complain(f"no coupon {name!r} is defined beside the table", remedy, place)
            return None
        try:
            return build(self.known[name])
        except Refusal as refusal:
            self.complain(refusal.found, refusal.remedy, place)
            return None

    def _cell(self, coupon: Coupon, name: str, line: int) -> Cell | None:
        cells = {cell.name: cell for cell in coupon.cells}
        cell = cells.get(name.upper())
        if cell is None:
            found = f"{coupon.id} has no cell {name!r}"
            remedy = f"its cells are {', '.join(cells)}"
            self.complain(found, remedy, self.at(line, CELL))
        return cell

    def _unchanged(self, cell: Cell, held: Mapping[str, str], line: int) -> None:
        """Complain of settings that differ from the coupon's."""
        for column in dict.fromkeys((*cell_texts(cell), "pitch")):
            if column in held and not field_matches(cell, column, held[column]):
                meant = cell_texts(cell).get(column, "")
                found = f"{column} of cell {cell.name} is {held[column]!r}, not {meant!r}"
                remedy = (
                    "put it back; if the cell was marked with other settings, leave its grade "
                    "blank and make a coupon of those settings"
                )
                self.complain(found, remedy, self.at(line, column))

    def _grade(self, word: str, place: Place) -> Grade | None:
        known = [str(grade) for grade in Grade]
        if word and word.lower() not in known:
            near = get_close_matches(word.lower(), known, n=1)
            remedy = f"did you mean {near[0]}?" if near else f"write {', '.join(known)}, or nothing"
            self.complain(f"{word!r} is no grade", remedy, place)
            return None
        return Grade(word.lower()) if word else None

    def _measured(self, coupon: Coupon, held: Mapping[str, str], line: int) -> float | None:
        field = held.get(MEASURED, "")
        if not is_measured_coupon(coupon) or not field:
            return None
        try:
            length = LENGTH.parse(field)
        except UnitError as error:
            self.complain(f"{MEASURED}: {error}", "", self.at(line, MEASURED))
            return None
        if length <= 0:
            self.complain(f"{MEASURED} is {field}", "write what was measured", self.at(line))
        return length

    def _missing(self, coupon: Coupon, there: set[str]) -> None:
        missing = [cell.name for cell in coupon.cells if cell.name not in there]
        if missing:
            rows = "rows" if len(missing) > 1 else "a row"
            found = f"{coupon.id} lacks {rows} for {', '.join(missing)}"
            remedy = "put them back; leave the grade of an unjudged cell blank"
            self.complain(found, remedy, self.at())


def _fields_of(text: str, file: str) -> list[tuple[int, list[str]]]:
    """Rows with the number of their last line; some spreadsheets write semicolons or tabs."""
    first = text.split("\n", 1)[0]
    separator = max(",;\t", key=first.count)
    reader = csv.reader(text.splitlines(keepends=True), delimiter=separator)
    rows: list[tuple[int, list[str]]] = []
    try:
        rows.extend((reader.line_num, row) for row in reader if any(f.strip() for f in row))
    except csv.Error as error:
        place = Place(file, reader.line_num)
        raise wrong(f"not readable as a table ({error})", "save it as CSV", place=place) from None
    return rows
