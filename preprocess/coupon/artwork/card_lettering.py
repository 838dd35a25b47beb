"""Lettering on a card: the numbers of its seats, and the name of its job, where there is room."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING

import shapely
from shapely import MultiLineString, MultiPolygon

from preprocess.coupon.artwork.shapes import translated
from preprocess.coupon.artwork.stroke_font import letterable, stroke_lettering
from preprocess.findings import Finding, note
from preprocess.geometry.overlay.booleans import union
from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.marking.machine.datum import Datum
    from preprocess.model.artwork.artwork import Artwork

_NUMBER, _AWAY = 3.0, 1.2
"""mm: height of the lettering, and its distance from the box of the part or window."""


def seat_numbers(
    after: Artwork, windows: MultiPolygon, points: Datum, seats: int
) -> tuple[list[MultiLineString], list[Finding]]:
    """The number of each seat beside its window, all on the same side; none without a tray.

    Seats are counted as they are marked: row by row, from the upper left.
    """
    if seats < 2 or len(after.parts) % seats:  # noqa: PLR2004 - one part needs no number
        return [], []
    each = len(after.parts) // seats
    boxes = [
        shapely.total_bounds(after.parts[n * each : (n + 1) * each]).tolist() for n in range(seats)
    ]
    taken = _taken(after, windows, points)
    for place in (_above, _left, _right, _below):
        numbers = [place(box, stroke_lettering(str(n), _NUMBER)) for n, box in enumerate(boxes, 1)]
        if _has_room(numbers, points, taken):
            return numbers, []
    message = "the card has no room for the numbers of the seats beside their windows"
    remedy = f"space the copies {digits(_NUMBER + 2 * _AWAY)} mm farther apart"
    return [], [note("seats-not-numbered", message, remedy)]


def scored_name(
    after: Artwork,
    windows: MultiPolygon,
    points: Datum,
    numbers: list[MultiLineString],
    name: str,
) -> tuple[list[MultiLineString], list[Finding]]:
    """The name of the job below or above the windows, so that a drawer of cards can be told apart.

    It holds the letters that can be scored, as many as the windows are wide.
    """
    box = shapely.total_bounds(windows).tolist()
    most = int((box[2] - box[0]) / _NUMBER)
    words = letterable(PurePath(name).stem)[:most].strip()
    if not words:
        return [], []
    lettering = stroke_lettering(words, _NUMBER)
    taken = union([_taken(after, windows, points), *(MultiPolygon([n.envelope]) for n in numbers)])
    for place in (_below, _above, _left, _right):
        called = [place(box, lettering)]
        if _has_room(called, points, taken):
            return called, []
    message = "the card has no room for the name of the job beside its windows"
    return [], [note("card-not-named", message, "write it on the card by hand")]


def _taken(after: Artwork, windows: MultiPolygon, points: Datum) -> MultiPolygon:
    crosses = (MultiPolygon([cross.envelope]) for cross in points.crosses)
    return union([windows, *after.keep_off, *crosses])


def _has_room(lettering: list[MultiLineString], points: Datum, taken: MultiPolygon) -> bool:
    room = [words.envelope.buffer(_AWAY / 2) for words in lettering]
    return all(points.frame.covers(one) and not one.intersects(taken) for one in room)


def _above(box: list[float], number: MultiLineString) -> MultiLineString:
    return translated(number, box[0], box[1] - _AWAY - _NUMBER)


def _below(box: list[float], number: MultiLineString) -> MultiLineString:
    return translated(number, box[0], box[3] + _AWAY)


def _left(box: list[float], number: MultiLineString) -> MultiLineString:
    return translated(number, box[0] - _AWAY - number.bounds[2], box[1])


def _right(box: list[float], number: MultiLineString) -> MultiLineString:
    return translated(number, box[2] + _AWAY, box[1])
