"""Artwork that was moved beyond its page: laser software may cut it off there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.findings import Finding, warn

if TYPE_CHECKING:
    from shapely import Polygon

    from preprocess.model.artwork.artwork import Artwork

OFF_THE_PAGE = "off-the-page"

_SMALL = 1e-4
"""Lengths in mm below this do not reach beyond the page: they are below the written grid."""


def off_the_page(outline: Polygon, artwork: Artwork) -> list[Finding]:
    """A warning of how far an outline reaches beyond the artwork's page; none within it."""
    left, top, right, bottom = outline.bounds
    page = artwork.page
    reach = max(
        page.left - left,
        page.top - top,
        right - page.left - page.width,
        bottom - page.top - page.height,
    )
    if reach <= _SMALL:
        return []
    message = f"the artwork now reaches {reach:.2f} mm beyond the page"
    remedy = "laser software may cut it off there: shrink it, move it, or enlarge the page"
    return [warn("off-the-page", message, remedy)]
