"""Growth of the page, and offset of the part's centre from the box of the marks."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from preprocess.findings import note
from preprocess.geometry.base.row_frame import RowFrame
from preprocess.marking.job.grey_rows import image_outline
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.own_marks import OwnMark, own_mark
from preprocess.model.artwork.settings import Operation
from preprocess.write.svg.decimals import decimal_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import Geometry

    from preprocess.findings import Finding
    from preprocess.model.artwork.artwork import Artwork, Page


def growth(before: Page, after: Page) -> dict[str, float]:
    """Outward moves of the sides of the page, mm."""
    return {
        "left": before.left - after.left,
        "top": before.top - after.top,
        "right": after.left + after.width - before.left - before.width,
        "bottom": after.top + after.height - before.top - before.height,
    }


def offset(artwork: Artwork) -> dict[str, float] | None:
    """From the middle of the drawing's box to the part's centre, mm; None without part or mark.

    Software that places what it imports by its box is told x and y (y down); `along` and `across`
    are the same way in the frame of the rows (angle of the first engraved layer, else 0). The
    part's centre is the middle of the joint box of all parts in that frame. Anchors hold the box;
    images of greys count with all of their pixels.
    """
    outputs = output_layers(artwork)
    struck = [s for o in outputs for s in o.shapes]
    marks = [g for s in struck for g in (s.geometry, s.bars) if g is not None and not g.is_empty]
    marks += [image_outline(shape.grey) for shape in struck if shape.grey is not None]
    anchors = own_mark(artwork, OwnMark.ANCHORS)
    if anchors is not None:
        marks = [anchors.geometry]
    parts = [part for part in artwork.parts if not part.is_empty]
    if not marks or not parts:
        return None
    angles = [o.settings.angle for o in outputs if o.operation is Operation.ENGRAVE]
    angle = (angles[0] if angles else None) or 0.0
    frame = RowFrame(angle)
    u, v = _middle([frame.to_rows(part) for part in parts])
    left, top = _middle(marks)
    middle = frame.to_xy(u, v)
    x, y = middle[0] - left, middle[1] - top
    along, across = frame.to_uv(x, y)
    return {
        "x_mm": x,
        "y_mm": y,
        "along_mm": along,
        "across_mm": across,
        "angle_deg": angle,
    }


def box_on_part(artwork: Artwork) -> str | None:
    """Place of the middle of the file's box on the part, in words; None as for `offset`.

    Completes "the middle of the file's box …": "27.368 mm right of and 3 mm above that of the
    part", or "on the middle of the part".
    """
    away = offset(artwork)
    if away is None:
        return None
    x, y = (decimal_text(abs(away[key]), 3) for key in ("x_mm", "y_mm"))
    if x == y == "0":
        return "on the middle of the part"
    sides = (
        "left of" if away["x_mm"] > 0 else "right of",
        "above" if away["y_mm"] > 0 else "below",
    )
    ways = [f"{mm} mm {side}" for mm, side in zip((x, y), sides, strict=True) if mm != "0"]
    return f"{' and '.join(ways)} that of the part"


def box_finding(artwork: Artwork) -> tuple[Finding, ...]:
    """A note for software that places what it imports by its box; none without part or marks."""
    where = box_on_part(artwork)
    if where is None:
        return ()
    message = f"the middle of the file's box belongs {where}"
    return (note("offset-to-part", message, "for software that places a drawing by its box"),)


def _middle(geometries: Sequence[Geometry]) -> tuple[float, float]:
    """Middle of the joint box."""
    left, top, right, bottom = shapely.total_bounds(geometries)
    return float(left + right) / 2, float(top + bottom) / 2
