"""The files of a coupon: laser-ready SVG, definition, grade table, sheet, and a stair's STL."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preprocess.coupon.artwork.build import LABELS, build
from preprocess.coupon.artwork.stair.printed_stair import stair_stl
from preprocess.coupon.design.definition import definition_bytes
from preprocess.coupon.design.focus_stair import stair_of
from preprocess.coupon.design.model import CouponKind
from preprocess.coupon.paper.file_names import (
    DEFINITION_SUFFIX,
    SHEET_SUFFIX,
    STAIR_SUFFIX,
    TABLE_SUFFIX,
    sibling_path,
)
from preprocess.coupon.paper.grade_columns import grade_table_bytes
from preprocess.coupon.paper.sheet import cells_share_rows, coupon_sheet_html
from preprocess.findings import Finding, note, on_page, stops, warn
from preprocess.marking.checks.artwork_checks import check_artwork
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Operation
from preprocess.write.digest import sha256_hex
from preprocess.write.guides.anchors import with_anchors
from preprocess.write.svg.layer_colours import assign_colours
from preprocess.write.svg.palette import palette_of
from preprocess.write.verified import verified_svg

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from preprocess.coupon.design.model import Coupon, CouponDefinition
    from preprocess.model.bench.anchors import Anchors

_COLOUR_OF_LABELS = "#808080"
"""Grey, so that every colour of the set is left for layers that are graded."""

_MEANT = frozenset({"below-the-spot", "lines-across-area"})
"""Findings that a coupon causes on purpose."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CouponFiles:
    """A coupon with its files by path; `data` is empty when a finding stops it."""

    coupon: Coupon
    findings: tuple[Finding, ...]
    data: Mapping[Path, bytes]


def coupon_paths(out: Path, kind: str | None = None) -> tuple[Path, ...]:
    """Paths of the SVG, the definition, the grade table and the sheet; last that of a stair."""
    return (
        out,
        sibling_path(out, DEFINITION_SUFFIX),
        sibling_path(out, TABLE_SUFFIX),
        sibling_path(out, SHEET_SUFFIX),
        *([sibling_path(out, STAIR_SUFFIX)] if kind == CouponKind.FOCUS_STEPS else []),
    )


def coupon_files(
    definition: CouponDefinition, out: Path, anchors: Anchors | None = None
) -> CouponFiles:
    """Make all files of a coupon; with anchors, its file has the box of the others of the set-up.

    Raises:
        Refusal: the coupon does not fit.
        Miswritten: the written file differs from the artwork.
    """
    coupon = build(definition)
    machine = coupon.bench.machine
    checked = [f for f in check_artwork(coupon.artwork, coupon.bench) if f.code not in _MEANT]
    if anchors is not None:
        scored = {Operation.SCORE: definition.labels}
        held = with_anchors(coupon.artwork, anchors, coupon.bench.machine_or_default, scored)
        coupon = replace(coupon, artwork=held.artwork)
        checked += held.findings
    grey = {} if palette_of(machine) else {LABELS: _COLOUR_OF_LABELS}
    outputs = output_layers(coupon.artwork, guides=True)
    colours, complaints = assign_colours(outputs, grey, machine)
    page = coupon.artwork.page
    findings = on_page([*checked, *complaints, *_notes(coupon)], page.left, page.top)
    if stops(findings):
        return CouponFiles(coupon=coupon, findings=findings, data={})
    svg, said, table, sheet, *stairs = coupon_paths(out, definition.kind)
    drawn = verified_svg(coupon.artwork, colours)
    data = {
        svg: drawn,
        said: definition_bytes(definition),
        table: grade_table_bytes(coupon),
        sheet: coupon_sheet_html(coupon, colours, table.name, (svg.name, sha256_hex(drawn))),
    }
    data |= {stair: stair_stl(stair_of(definition)) for stair in stairs}
    return CouponFiles(coupon=coupon, findings=findings, data=data)


def _notes(coupon: Coupon) -> list[Finding]:
    found = [
        note(
            "coupon-cautions",
            "a coupon finds the limit: some cells may melt or burn",
            "only plastic that you know, never chlorinated; extract and filter, start with the "
            "lowest power, stay with the machine; its manual and local codes decide",
        )
    ]
    if cells_share_rows(coupon):
        found.append(
            warn(
                "cells-share-rows",
                "the software of this machine sweeps all shapes of one colour together, so cells "
                "of this coupon lengthen one another's rows",
                "grade widths only, not tone",
            )
        )
    return found
