"""Names of the files that belong to a coupon, and the definitions that lie in a folder."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.coupon.design.definition import coupon_id, read_definition
from preprocess.errors import UserError

if TYPE_CHECKING:
    from pathlib import Path

    from preprocess.coupon.design.model import CouponDefinition

DEFINITION_SUFFIX, TABLE_SUFFIX, SHEET_SUFFIX = ".coupon.yaml", ".grades.csv", ".coupon.html"


def stem_of(out: Path) -> Path:
    """The SVG's path without its ending, to which the others put theirs."""
    return out.with_name(out.name.removesuffix(".svg"))


def sibling_path(out: Path, ending: str) -> Path:
    """The path of another file of the coupon."""
    stem = stem_of(out)
    return stem.with_name(f"{stem.name}{ending}")


def definitions_beside(table: Path) -> dict[str, CouponDefinition]:
    """Definitions in the folder of a grade table, by the coupon's id.

    One that belongs to the table by its name must be readable; others that are not are passed by.

    Raises:
        UserError: the table's own definition is damaged.
    """
    own = table.with_name(table.name.removesuffix(TABLE_SUFFIX) + DEFINITION_SUFFIX)
    found: dict[str, CouponDefinition] = {}
    for path in sorted(table.parent.glob(f"*{DEFINITION_SUFFIX}"), key=lambda path: path != own):
        try:
            definition = read_definition(path)
        except UserError:
            if path == own:
                raise
            continue
        found.setdefault(coupon_id(definition), definition)
    return found
