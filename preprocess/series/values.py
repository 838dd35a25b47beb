"""A table of values, one row to a label: read, checked as a whole, and made into designs."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.errors import Complaint, Place, UserError, wrong
from preprocess.loading.schema.value_complaints import nearest_word
from preprocess.model.options.lettering import Seat
from preprocess.recipe.text_rules import texts_of_row, unprintable_character
from preprocess.series.designs import SeriesDesign

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from preprocess.recipe.recipe_keys import Recipe

_FORBIDDEN = frozenset('/\\:*?"<>|')
_RESERVED = frozenset(
    {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))}
)
_LONGEST_NAME = 100
_MOST_COMPLAINTS = 20


@dataclass(frozen=True, slots=True)
class ValuesRow:
    """One row: its line in the file (from 1) and its fields by column."""

    line: int
    fields: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class ValuesTable:
    """A table of values; `columns` in the order of the file."""

    file: str
    columns: tuple[str, ...]
    rows: tuple[ValuesRow, ...]

    def place(self, row: ValuesRow, column: str) -> Place:
        """Place of a field in its file; the column counts fields, from 1."""
        return Place(self.file, row.line, self.columns.index(column) + 1)


def read_values(text: str, file: str) -> ValuesTable:
    """Read comma-separated values; semicolons or tabs do where the first line has no comma.

    Raises:
        UserError: no table, a column twice, a row with more or fewer fields than the first.
    """
    lines = _lines(text, file)
    first, header = next(lines, (1, []))
    columns = tuple(name.strip() for name in header)
    if not any(columns):
        remedy = "write the names of the columns into the first line"
        raise wrong("the table of values is empty", remedy, place=Place(file))
    complaints = [*_bad_columns(columns, file, first)]
    rows = []
    for line, fields in lines:
        if len(fields) != len(columns):
            found = f"this row has {len(fields)} fields, and the first line has {len(columns)}"
            remedy = "put values that hold the separator in quotes"
            complaints.append(Complaint(found, remedy, Place(file, line)))
        rows.append(ValuesRow(line, dict(zip(columns, map(str.strip, fields), strict=False))))
    if not rows:
        complaints.append(Complaint("there are no rows of values", "add one", Place(file)))
    _raise(complaints)
    return ValuesTable(file, columns, tuple(rows))


def label_designs(recipe: Recipe, table: ValuesTable, path: Path) -> tuple[SeriesDesign, ...]:
    """One design to a row: the same drawing, its texts, and a name of its own.

    Raises:
        UserError: each column that is missing, each value that is empty or cannot be shown, each
            name that is no name of a file or is there twice.
    """
    named = [recipe.names_from] if recipe.names_from is not None else []
    _check(recipe, table, named)
    digits = len(str(len(table.rows)))
    return tuple(
        SeriesDesign(
            path,
            row.fields[named[0]] if named else f"{path.stem}-{number + 1:0{digits}d}",
            row=number,
            texts=texts_of_row(recipe.text, number, row.fields),
        )
        for number, row in enumerate(table.rows)
    )


def plate_designs(
    recipe: Recipe, table: ValuesTable, path: Path, seats: int
) -> tuple[SeriesDesign, ...]:
    """One design to a plate of so many seats: rows in seat order, the last one partly empty.

    Raises:
        UserError: as `label_designs`, but that names of outputs are those of plates.
    """
    _check(recipe, table, [])
    rows = [texts_of_row(recipe.text, n, row.fields) for n, row in enumerate(table.rows)]
    plates = [rows[begin : begin + seats] for begin in range(0, len(rows), seats)]
    digits = len(str(len(plates)))
    return tuple(
        SeriesDesign(
            path,
            f"{path.stem}-plate-{plate:0{digits}d}",
            row=plate - 1,
            seats=tuple(
                Seat(number=number, texts=texts, plate=plate)
                for number, texts in enumerate(labels, 1)
            ),
        )
        for plate, labels in enumerate(plates, 1)
    )


def _check(recipe: Recipe, table: ValuesTable, named: Sequence[str]) -> None:
    wanted = [rule.column for rule in recipe.text if rule.column is not None]
    if not recipe.text:
        remedy = "write text: in the recipe, or leave --values out"
        raise wrong("the recipe fills in no text", remedy, place=Place(table.file))
    _raise([*_missing([*wanted, *named], table)])
    _raise([*_bad_values(wanted, table), *_bad_names(named, table)])


def _lines(text: str, file: str) -> Iterator[tuple[int, list[str]]]:
    """Rows that are not blank, each with its first line in the file."""
    head = text.partition("\n")[0]
    separator = next((one for one in ",;\t" if one in head), ",")
    reader = csv.reader(text.splitlines(keepends=True), delimiter=separator, strict=True)
    last = 0
    try:
        for fields in reader:
            if any(field.strip() for field in fields):
                yield last + 1, fields
            last = reader.line_num
    except csv.Error as error:
        remedy = "check the quotation marks of this row"
        raise wrong(
            f"not readable as values ({error})", remedy, place=Place(file, last + 1)
        ) from None


def _bad_columns(columns: Sequence[str], file: str, line: int) -> Iterator[Complaint]:
    for number, name in enumerate(columns):
        place = Place(file, line, number + 1)
        if not name:
            yield Complaint("this column has no name", "name it, or delete it", place)
        elif name in columns[:number]:
            yield Complaint(f"two columns are called {name!r}", "rename one of them", place)


def _missing(wanted: Sequence[str], table: ValuesTable) -> Iterator[Complaint]:
    for name in dict.fromkeys(wanted):
        if name not in table.columns:
            remedy = nearest_word(name, table.columns, "its columns are")
            found = f"there is no column {name!r}, which the recipe names"
            yield Complaint(found, remedy, Place(table.file, 1))


def _bad_values(wanted: Sequence[str], table: ValuesTable) -> Iterator[Complaint]:
    for row in table.rows:
        for name in dict.fromkeys(wanted):
            if not row.fields[name]:
                yield Complaint(f"{name} is empty", "fill it in", table.place(row, name))
            elif odd := unprintable_character(row.fields[name]):
                yield Complaint(f"{name} holds {odd}", "delete it", table.place(row, name))


def _bad_names(named: Sequence[str], table: ValuesTable) -> Iterator[Complaint]:
    first: dict[str, int] = {}
    for name in named:
        for row in table.rows:
            text, place = row.fields[name], table.place(row, name)
            if wrong_with := _no_name(text):
                yield Complaint(
                    f"{text[:40]!r} cannot be the name of a file: {wrong_with}",
                    "change it, or take another column for names_from",
                    place,
                )
            elif (line := first.setdefault(text.casefold(), row.line)) != row.line:
                found = f"the name {text!r} stands in line {line} already"
                yield Complaint(found, "give each label a name of its own", place)


def _no_name(text: str) -> str:
    """Reason that no file can be called so, on any system; empty when it can."""
    if not text:
        return "it is empty"
    if odd := unprintable_character(text):
        return f"it holds {odd}"
    if found := sorted(_FORBIDDEN.intersection(text)):
        return f"it holds {found[0]}"
    if text[0] in ".-" or text[-1] == "." or text.partition(".")[0].casefold() in _RESERVED:
        return "it begins or ends so, or means something to the system"
    return f"it is longer than {_LONGEST_NAME} bytes" if len(text.encode()) > _LONGEST_NAME else ""


def _raise(complaints: Sequence[Complaint]) -> None:
    if len(complaints) > _MOST_COMPLAINTS:
        more = len(complaints) - _MOST_COMPLAINTS
        last = Complaint(f"and {more} more", "put those right first", complaints[-1].place)
        complaints = [*complaints[:_MOST_COMPLAINTS], last]
    if complaints:
        raise UserError(complaints)
