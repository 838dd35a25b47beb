"""The walk through the document: painted outlines in painter's order.

Visits stand on a stack of our own, so that depth costs no recursion. Elements that need a walk of
their own (clips, masks, markers, patterns) see it as an `ElementWalker`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.read.clip.clips import apply_clips, outlines_bounding_box
from preprocess.read.scene.painted import PaintedOutline
from preprocess.read.text.text_element import text_outlines
from preprocess.read.walk.containers import expanded_container, is_drawn
from preprocess.read.walk.entering import entered_context
from preprocess.read.walk.shape_elements import shape_outlines
from preprocess.read.xml.affine import IDENTITY, BoundingBox
from preprocess.read.xml.elements import SHAPES

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from preprocess.read.scene.scene import Scene
    from preprocess.read.scene.visit import ElementVisit
    from preprocess.read.scene.walker import WalkItem


class DocumentWalker:
    """Walks parts of one document."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene

    def run(self, items: Iterable[WalkItem]) -> list[PaintedOutline]:
        """Visit elements in order; outlines that they give rise to come in their place."""
        found: list[PaintedOutline] = []
        stack = list(items)[::-1]
        while stack:
            item = stack.pop()
            if isinstance(item, PaintedOutline):
                found.append(item)
            else:
                stack.extend(reversed(self._visited(item)))
        return found

    def _visited(self, visit: ElementVisit) -> Sequence[WalkItem]:
        if not is_drawn(self.scene, visit):
            return []
        context = entered_context(
            self.scene, visit, bounds=lambda own: self.bounds(visit._replace(context=own))
        )
        if context.hidden and not self.scene.wants_hidden:
            return []
        return self._expanded(apply_clips(self, visit._replace(context=context)))

    def _expanded(self, visit: ElementVisit) -> Sequence[WalkItem]:
        """The outlines of an entered element, or the elements that come in its place."""
        if visit.tag in SHAPES:
            return shape_outlines(self, visit)
        if visit.tag == "text":
            return text_outlines(self, visit)
        return expanded_container(self.scene, visit)

    def bounds(self, visit: ElementVisit) -> BoundingBox | None:
        """The bounding box of an entered element's outlines in its own user units."""
        own = visit.inside(matrix=IDENTITY, clip=None, quiet=True, silhouette=True, cells=True)
        return outlines_bounding_box(self.run(self._expanded(own)))
