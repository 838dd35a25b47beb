"""Datum and anchors in a picture: two marks each, and where they lie on the output's page."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely
from shapely import MultiLineString

from preprocess.marking.machine.datum import datum_of
from preprocess.model.artwork.own_marks import OwnMark, own_mark
from preprocess.model.artwork.settings import Operation
from preprocess.preview.drawing.canvas import INK, Paint
from preprocess.preview.drawing.entries import LegendEntry, Section
from preprocess.units import place_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preprocess.geometry.base.bounds import Bounds
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.machine import Machine


def datum_entries(after: Artwork, machine: Machine, shown: Bounds) -> list[LegendEntry]:
    """The entry of the datum, hidden where a cross lies outside of what is shown.

    There is none without a part, since then there is nothing to lay in the same place again.
    """
    if not after.parts:
        return []
    datum = datum_of(after, machine)
    places = _places(after, datum.points)
    hidden = not shapely.box(*shown).covers(shapely.MultiPoint(datum.points))
    words = f"datum of the card: crosses at {places}"
    words += "; outside this picture" if hidden else ""
    arms = MultiLineString([arm for cross in datum.crosses for arm in cross.geoms])
    return [LegendEntry(Section.PLACE, arms, Paint(stroke=INK, width=0.4), words, hidden=hidden)]


def anchor_entries(after: Artwork, shown: Bounds) -> list[LegendEntry]:
    """The entry of the anchors, hidden where one lies outside of what is shown; none without."""
    mark = own_mark(after, OwnMark.ANCHORS)
    if mark is None:
        return []
    left, top, right, bottom = mark.geometry.bounds
    hidden = not shapely.box(*shown).covers(shapely.box(left, top, right, bottom))
    words = f"anchors of the file: corners at {_places(after, ((left, top), (right, bottom)))}"
    words += ", not marked" if mark.operation is Operation.GUIDE else ", scored on the card"
    words += "; outside this picture" if hidden else ""
    paint = Paint(stroke=INK, width=0.3)
    return [LegendEntry(Section.PLACE, mark.geometry, paint, words, hidden=hidden)]


def _places(after: Artwork, points: Iterable[tuple[float, float]]) -> str:
    page = after.page
    places = " and ".join(place_text((x - page.left, y - page.top)) for x, y in points)
    return f"{places} from the upper left corner of the page"
