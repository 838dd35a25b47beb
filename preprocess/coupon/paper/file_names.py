"""Names of a coupon's files, and the definitions in a folder."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.coupon.design.definition import coupon_id, read_definition
from preprocess.errors import UserError

if TYPE_CHECKING:
    from pathlib import Path

    from preprocess.coupon.design.model import CouponDefinition

DEFINITION_SUFFIX, TABLE_SUFFIX, SHEET_SUFFIX = ".coupon.yaml", ".grades.csv", ".coupon.html"
STAIR_SUFFIX = ".stair.stl"


def sibling_path(out: Path, ending: str) -> Path:
    """Path of another file of the coupon, beside its SVG."""
    return out.with_name(out.name.removesuffix(".svg") + ending)


def definitions_beside(table: Path) -> dict[str, CouponDefinition]:
    """Definitions in the folder of a grade table, by the coupon's id.

    The definition of the table's own name must be readable; other damaged ones are skipped.

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
