"""Reading a drawing once for each seat of a tray, with the wording of that seat."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.read.reader import Reading, read

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.options.lettering import Seat
    from preprocess.model.options.reading import ReadingOptions


def read_seats(
    data: bytes, name: str, options: ReadingOptions, seats: Sequence[Seat]
) -> tuple[Reading, dict[int, Artwork]]:
    """The reading of the first seat with the findings of all, and the artwork of each seat.

    Without seats it is that of the drawing as the options say, and there are none.

    Raises:
        UserError: as `read`.
    """
    if not seats:
        return read(data, name, options), {}
    each = {seat.number: read(data, name, replace(options, texts=seat.texts)) for seat in seats}
    first = each[min(each)]
    findings = dict.fromkeys(finding for one in each.values() for finding in one.findings)
    files = dict.fromkeys(file for one in each.values() for file in one.font_files)
    whole = replace(first, findings=tuple(findings), font_files=tuple(files))
    return whole, {number: one.artwork for number, one in each.items()}
