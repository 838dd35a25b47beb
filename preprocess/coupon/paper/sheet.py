"""The coupon sheet: one HTML page to print, with settings, cautions, and the grades to fill in."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from preprocess import __version__
from preprocess.coupon.design.model import CouponKind
from preprocess.coupon.paper.first_row import answer_text
from preprocess.coupon.paper.grade_columns import (
    answer_column,
    answer_words,
    cell_columns,
    cell_texts,
    is_measured_coupon,
)
from preprocess.coupon.paper.grading_order import grading_order
from preprocess.coupon.paper.stair_texts import STAIR_CAPTION, stair_facts
from preprocess.coupon.paper.texts import (
    CLOSE_UP_GRADES,
    GRADE_TEXTS,
    KIND_TEXTS,
    SHARED_ROWS,
    coupon_cautions,
    grading_instructions,
)
from preprocess.findings import counted
from preprocess.geometry.base.bounds import joint_bounds
from preprocess.marking.machine.machine_field import field_box
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Operation
from preprocess.model.bench.machine import RasterGroups
from preprocess.preview.drawing.canvas import INK, Paint, group, path, svg_text
from preprocess.preview.drawing.html import inline_svg, own_file, render_page
from preprocess.preview.drawing.page_layout import fit_viewport
from preprocess.preview.sheet.layer_steps import job_schedule, layer_steps
from preprocess.preview.sheet.quantities import duration_text, size_text
from preprocess.preview.sheet.sheet_job import SheetJob
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Mapping

    from markupsafe import Markup

    from preprocess.coupon.design.model import Coupon

_PICTURE = 180.0, 130.0
_PACKAGE = "preprocess.coupon"

_OWN_ROWS = (
    "layers to score hold rows as lines, {pitch} mm apart, {rounds}; have the software mark "
    "lines in the order of the file, without sorting them"
)
"""To be completed with the pitch and the rounds."""

_STRIPS = (
    "leaves in rounds are areas one row high, {pitch} mm apart, {rounds}; have the software sweep "
    "path by path in the order of the file, and begin rows as the machine file says"
)
"""To be completed with the pitch and the rounds."""


def coupon_sheet_html(
    coupon: Coupon, colours: Mapping[str, str], table: str, output: tuple[str, str]
) -> bytes:
    """The sheet as UTF-8 HTML.

    Args:
        coupon: what is to be marked.
        colours: #rrggbb by output layer.
        table: name of the grade table's file.
        output: name of the coupon's SVG, and its SHA-256.
    """
    job = SheetJob(
        title=coupon.id,
        before=coupon.artwork,
        after=coupon.artwork,
        bench=coupon.bench,
        colours=colours,
    )
    kind, measured = CouponKind(coupon.kind), is_measured_coupon(coupon)
    known = coupon.bench.filament is not None and coupon.bench.filament.reference is not None
    headings, rows = _cells(coupon)
    boxes = answer_words(coupon) or (answer_column(coupon),)
    return render_page(
        _PACKAGE,
        "coupon.html",
        css=own_file("preprocess.preview", "sheet.css"),
        more_css=own_file(_PACKAGE, "coupon.css"),
        name=coupon.id,
        words=KIND_TEXTS[kind],
        facts=_facts(coupon, job),
        cautions=coupon_cautions(bars=_barred(coupon), known=known),
        steps=layer_steps(job),
        picture=_picture(coupon, colours),
        caption=_caption(coupon),
        measured=measured,
        written=len(boxes) == 1,
        begin=_begin(coupon),
        judging=grading_instructions(kind),
        grades=CLOSE_UP_GRADES.get(kind, GRADE_TEXTS),
        table=table,
        headings=headings,
        rows=rows,
        boxes=boxes,
        output=output,
        version=__version__,
    )


def cells_share_rows(coupon: Coupon) -> bool:
    """Test whether cells of one layer lengthen one another's rows on this machine."""
    together = coupon.bench.machine_or_default.raster_groups is RasterGroups.EACH_COLOUR
    return together and coupon.kind == CouponKind.SPOT_BLEED


def _facts(coupon: Coupon, job: SheetJob) -> list[tuple[str, str]]:
    bench, layers = coupon.bench, {cell.layer for cell in coupon.cells}
    width, height = coupon.artwork.parts[0].bounds[2:]
    field = field_box(coupon.artwork, bench.machine_or_default)
    machine = bench.machine.name if bench.machine else "not known"
    if bench.machine is not None and bench.machine.field and field is not None:
        machine += f", field {size_text(*bench.machine.field)}"
    schedule = job_schedule(job)
    plate = (
        "Plate",
        f"{size_text(width, height)}, flat, printed like the parts, a new one for each trial",
    )
    facts = [
        ("Coupon", f"{coupon.id}; the digits are scored on the plate"),
        *(stair_facts(coupon) if coupon.kind == CouponKind.FOCUS_STEPS else [plate]),
        ("Filament", bench.filament.name if bench.filament else "not known: write it down below"),
        ("Machine", machine),
        ("Cells", f"{len(coupon.cells)} in {counted(len(layers), 'layer')}, and their labels"),
        ("Expected time", f"{duration_text(schedule.total)} of marking"),
        ("Placing", "middle of the drawing on the middle of the plate; rows run left to right"),
    ]
    rounds = {cell.extra.get("rows", "swept"): cell.pitch for cell in coupon.cells}
    for said in sorted(rounds.keys() - {"swept"}):
        name, words = ("Strips", _STRIPS) if "strips" in said else ("Own rows", _OWN_ROWS)
        facts.append((name, words.format(pitch=digits(rounds[said]), rounds=said)))
    if coupon.kind == CouponKind.FIRST_ROW:
        facts.append(("Answer", answer_text(coupon)))
    return [*facts, ("Rows", SHARED_ROWS)] if cells_share_rows(coupon) else facts


def _begin(coupon: Coupon) -> str:
    """The order of marking, the hottest layer last; empty for a single layer."""
    first = {cell.layer: cell for cell in reversed(coupon.cells)}

    def heat(one: str) -> tuple[float, float, float, str]:
        cell = first[one]
        return cell.power, -cell.speed, -cell.pitch, one

    order = sorted(first, key=heat)
    if len(order) == 1:
        return ""
    return (
        f"Mark one layer at a time in the order {', '.join(order)}: least power first, then "
        "higher speed, then wider pitch. Look after each. Leave out the rest once one is molten, "
        "and mark the labels."
    )


def _caption(coupon: Coupon) -> str:
    if coupon.kind == CouponKind.FOCUS_STEPS:
        return STAIR_CAPTION
    bars = "; bars stand beside the plate" if _barred(coupon) else ""
    return (
        "The plate from above, in the colours of the layers. A label is the letter of the layer "
        f"and the number of its cell{bars}."
    )


def _barred(coupon: Coupon) -> bool:
    return any(shape.bars is not None for shape in coupon.artwork.shapes)


def _cells(coupon: Coupon) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    said = {cell.name: cell_texts(cell) for cell in grading_order(coupon)}
    used = [name for name in cell_columns(coupon) if any(name in one for one in said.values())]
    rows = [(cell, *(_shown(one.get(name, "")) for name in used)) for cell, one in said.items()]
    return ("cell", *used), rows


def _shown(figure: str) -> str:
    """A figure of the grade table for people: its hyphen is a minus."""
    return re.sub(r"^-(?=\d)", "−", figure)


def _picture(coupon: Coupon, colours: Mapping[str, str]) -> Markup:
    artwork = coupon.artwork
    cells = [shape for shape in artwork.shapes if shape.sources]  # anchors stand far outside
    shown = [g for s in cells for g in (s.geometry, s.bars) if g is not None]
    box = joint_bounds([*shown, *artwork.parts]) or (0.0, 0.0, 1.0, 1.0)
    view, whole = fit_viewport(box, *_PICTURE)
    lines = path(view.data(artwork.parts[0]), Paint(fill="#f7f7f7", stroke=INK, width=0.3))
    for output in output_layers(artwork):
        colour, filled = colours[output.id], output.operation is Operation.ENGRAVE
        paint = Paint(fill=colour) if filled else Paint(stroke=_ink(output.id, colour), width=0.4)
        for shape in output.shapes:
            drawn = [g for g in (shape.geometry, shape.bars) if g is not None]
            pieces = [line for g in drawn for line in path(view.data(g), paint)]
            lines += group(shape.id, f"{shape.id} in layer {output.id}", pieces)
    return inline_svg(svg_text(f"{coupon.id} on its plate", lines, whole[2:]), "coupon")


def _ink(layer: str, colour: str) -> str:
    """Labels are drawn in ink on the page, so that they can be read."""
    return INK if layer == "labels" else colour
