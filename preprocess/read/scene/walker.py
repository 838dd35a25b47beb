"""The walk as lower rooms see it: clips, masks, markers and patterns walk elements of their own."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol, Union

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preprocess.read.scene.painted import PaintedOutline
    from preprocess.read.scene.scene import Scene
    from preprocess.read.scene.visit import ElementVisit
    from preprocess.read.xml.affine import BoundingBox


WalkItem = Union["PaintedOutline", "ElementVisit"]
"""An outline that is ready, or an element that is still to be visited."""


class ElementWalker(Protocol):
    """Walks parts of one document."""

    @property
    def scene(self) -> Scene:
        """The document and its state."""

    def run(self, items: Iterable[WalkItem]) -> list[PaintedOutline]:
        """Visit elements in order; outlines that they give rise to come in their place."""

    def bounds(self, visit: ElementVisit) -> BoundingBox | None:
        """The bounding box of an entered element's outlines in its own user units."""
