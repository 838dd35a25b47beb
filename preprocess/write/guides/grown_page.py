"""Growth of the page for marks of our own, so that its middle and the grid of rows stay."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.geometry.base.bounds import joint_bounds
from preprocess.model.artwork.output import output_layers

if TYPE_CHECKING:
    from collections.abc import Iterable

    from shapely import Geometry

    from preprocess.model.artwork.artwork import Artwork, Page

_EDGE = 1.0
"""mm of page around the marks."""

_MICRO = 1000
_MOST = 10.0
"""mm; pitches without a common length below this are not kept in step."""


def grown_to_hold(artwork: Artwork, marks: Iterable[Geometry]) -> Page:
    """The page, grown by the same on opposite sides until it holds the marks.

    It grows by whole pitches if those of all layers have a common length of at most 10 mm, so that
    rows that begin on the page's grid stay where they are. The field stays where it was.
    """
    page, bounds = artwork.page, joint_bounds(marks)
    if bounds is None:
        return page
    left, top, right, bottom = bounds
    wide = max(page.left - left, right - page.left - page.width) + _EDGE
    high = max(page.top - top, bottom - page.top - page.height) + _EDGE
    step = _step(artwork)
    wide, high = (step * max(0, math.ceil(mm / step - 1e-9)) for mm in (wide, high))
    counted = page.counted_from or (page.left, page.top)
    return replace(page.grown(wide, high), counted_from=counted) if wide or high else page


def _step(artwork: Artwork) -> float:
    """The least length that is a whole number of each pitch, mm."""
    pitches = (output.settings.pitch for output in output_layers(artwork))
    microns = [round(_MICRO * pitch) for pitch in pitches if pitch]
    common = math.lcm(*microns) / _MICRO if microns and all(microns) else 1.0
    return common if common <= _MOST else 1.0
