"""The row profile on the sheet: three plots for each engraved layer, and what they come to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.preview.drawing.canvas import path, svg_text
from preprocess.preview.drawing.html import inline_svg
from preprocess.preview.row_profile.profile_plot import AFTER_PAINT, BEFORE_PAINT, profile_plots
from preprocess.preview.row_profile.profile_rows import layer_rows
from preprocess.units import digits
from preprocess.write.svg.decimals import decimal_text

if TYPE_CHECKING:
    from preprocess.preview.row_profile.profile_rows import ProfileRows
    from preprocess.preview.sheet.sheet_job import SheetJob


_LEAST = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """The rows of one layer: plots, where they are counted from, and before and after in words."""

    layer: str
    plots: list[str]
    origin: str
    before: str
    after: str


def profiles(job: SheetJob) -> list[Profile]:
    """One for each layer that is swept in rows, before or after."""
    rows = layer_rows(job.before, job.after, job.bench.machine_or_default)
    return [
        Profile(
            layer=one.layer,
            plots=[inline_svg(text, f"rows-{n}-{i}") for i, text in enumerate(profile_plots(one))],
            origin=one.origin,
            before=_said(one.before),
            after=_said(one.after),
        )
        for n, one in enumerate(rows)
    ]


def samples() -> tuple[str, str]:
    """Swatches of before and after."""
    box = "M0.5 0.5 H8.5 V3.5 H0.5 Z"
    sizes = (9.0, 4.0)
    return (
        inline_svg(svg_text("", path(box, BEFORE_PAINT), sizes), "rows-before"),
        inline_svg(svg_text("", path(box, AFTER_PAINT), sizes), "rows-after"),
    )


def _wide(mm: float) -> str:
    return decimal_text(mm, 2) if mm >= _LEAST else f"under {_LEAST}"


def _said(rows: ProfileRows) -> str:
    """Widths of rows, and the shortest return of the beam."""
    if not len(rows):
        return "no rows"
    low, high = _wide(float(rows.span.min())), _wide(float(rows.span.max()))
    words = f"{len(rows)} rows, {high if low == high else f'{low} to {high}'} mm wide"
    known = rows.returns[np.isfinite(rows.returns)]
    if len(known):
        return f"{words}, back after {digits(1e3 * known.min(), 3)} ms at the soonest"
    return f"{words}, no row beside another of the same sweep" if rows.has_speed else words
