"""Rows of tables that ask another question than for a grade."""

from __future__ import annotations

import csv
import re
from typing import TYPE_CHECKING

from preprocess.errors import Place, wrong
from preprocess.loading.yaml.text_files import read_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from preprocess.coupon.design.model import CouponDefinition, CouponKind


def has_answer_column(path: Path, column: str) -> bool:
    """Test whether a table has a column, by its first row."""
    first = read_text(path).split("\n", 1)[0].lower()
    return column in [name.strip().strip('"') for name in re.split("[,;\t]", first)]


def answer_rows(path: Path) -> Iterator[tuple[dict[str, str], Place]]:
    """Fields by lower-case column, and the place of each row; commas, semicolons or tabs."""
    text = read_text(path)
    separator = max(",;\t", key=text.split("\n", 1)[0].count)
    reader = csv.DictReader(text.splitlines(), delimiter=separator)
    for row in reader:
        fields = {
            (key or "").strip().lower(): value.strip() if isinstance(value, str) else ""
            for key, value in row.items()
        }
        yield fields, Place(str(path), reader.line_num)


def definition_of_kind(
    kind: CouponKind, name: str, known: Mapping[str, CouponDefinition], place: Place
) -> CouponDefinition:
    """The coupon that a row names, among those beside its table.

    Raises:
        UserError: there is none of that name, or it is of another kind.
    """
    definition = known.get(name)
    if definition is None or definition.kind is not kind:
        there = ", ".join(known) or "none"
        remedy = f"put its .coupon.yaml in the same folder; those there are: {there}"
        raise wrong(f"no {kind} coupon {name!r} is defined beside the table", remedy, place=place)
    return definition
