"""Columns of a grade table for what a photo told: beside the grades, which stay as they are."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.photo.measured import MeasuredCoupon, MeasuredPlace

TONE_COLUMNS = "tone", "unevenness", "edge", "photo"


def with_tone_columns(table: str, measured: MeasuredCoupon) -> bytes:
    """A grade table with the columns of this measurement, in place of those of an older one.

    Rows of other coupons keep what they have. All other fields stay as they are written.
    """
    separator = max(",;\t", key=table.split("\n", 1)[0].count)
    rows = list(csv.reader(io.StringIO(table), delimiter=separator))
    head = [name.strip().lower() for name in rows[0]] if rows else []
    own = [head.index(name) if name in head else None for name in TONE_COLUMNS]
    out = io.StringIO()
    writer = csv.writer(out, delimiter=separator, lineterminator="\n")
    kept = [n for n in range(len(head)) if n not in own]
    writer.writerow([*(rows[0][n] for n in kept), *TONE_COLUMNS])
    for row in rows[1:]:
        if not any(field.strip() for field in row):
            continue
        fields = row + [""] * (len(head) - len(row))
        old = ["" if n is None else fields[n] for n in own]
        said = dict(zip(head, (field.strip() for field in fields), strict=False))
        mine = said.get("coupon") == measured.coupon
        new = _told(said.get("cell", "").upper(), measured) if mine else old
        writer.writerow([*(fields[n] for n in kept), *new])
    return out.getvalue().encode()


def _told(cell: str, measured: MeasuredCoupon) -> list[str]:
    mine = [place for place in measured.places if place.cell == cell]
    if not mine:
        return [""] * len(TONE_COLUMNS)
    photos = " ".join(photo.name for photo in measured.photos)
    uneven = [place.unevenness for place in mine if place.unevenness is not None]
    edge = mine[0].edge
    return [
        _tones(mine),
        f"{max(uneven):.1f}" if uneven else "",
        "" if edge is None else f"{edge:.2f} mm",
        photos,
    ]


def _tones(places: Sequence[MeasuredPlace]) -> str:
    if len(places) == 1:
        return f"{places[0].tone:.1f}"
    return f"{places[0].tone:.1f} to {places[-1].tone:.1f}"
