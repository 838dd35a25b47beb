"""The datum in a picture: two crosses, and where they lie on the output's page."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely
from shapely import MultiLineString

from preprocess.marking.machine.datum import datum_of
from preprocess.preview.drawing.canvas import INK, Paint
from preprocess.preview.drawing.entries import LegendEntry, Section

if TYPE_CHECKING:
    from preprocess.geometry.base.bounds import Bounds
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.machine import Machine


def datum_entries(after: Artwork, machine: Machine, shown: Bounds) -> list[LegendEntry]:
    """The entry of the datum, hidden where a cross lies outside of what is shown.

    There is none without a part, since then there is nothing to lay in the same place again.
    """
    if not after.parts:
        return []
    datum, page = datum_of(after, machine), after.page
    places = " and ".join(f"{x - page.left:.1f}, {y - page.top:.1f} mm" for x, y in datum.points)
    hidden = not shapely.box(*shown).covers(shapely.MultiPoint(datum.points))
    words = f"datum of the card: crosses at {places} from the upper left corner of the page"
    words += "; outside this picture" if hidden else ""
    arms = MultiLineString([arm for cross in datum.crosses for arm in cross.geoms])
    return [LegendEntry(Section.PLACE, arms, Paint(stroke=INK, width=0.4), words, hidden=hidden)]
