"""The walk through the document: what is painted, where, in painter's order.

Tasks stand on a stack of our own, so that depth costs no recursion. Elements that need a walk of
their own (clips, masks, markers, patterns) see it as an `ElementWalker`.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.read.clip import clips
from preprocess.read.scene.painted import PaintedOutline
from preprocess.read.text import drawn
from preprocess.read.walk import containers, leaves
from preprocess.read.walk.entering import entered
from preprocess.read.xml.elements import SHAPES
from preprocess.read.xml.names import placed_children

if TYPE_CHECKING:
    from collections.abc import Iterable

    from cssselect2 import ElementWrapper

    from preprocess.read.scene.context import RenderContext
    from preprocess.read.scene.scene import Scene
    from preprocess.read.scene.walker import WalkItem
    from preprocess.read.xml.affine import BoundingBox


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
                stack.extend(reversed(self._visited(*item)))
        return found

    def _visited(
        self, element: ElementWrapper, context: RenderContext, place: str
    ) -> list[WalkItem]:
        if not containers.is_drawn(self.scene, element, context, context.name_of(element, place)):
            return []
        inner = entered(
            self.scene, element, context, place, bounds=lambda f: self.bounds(element, f, place)
        )
        if inner.hidden and not self.scene.wants_hidden:
            return []
        inner = clips.clipped(self, element, inner, place)
        return self.expanded(element, inner, place)

    def expanded(
        self, element: ElementWrapper, context: RenderContext, place: str
    ) -> list[WalkItem]:
        """The outlines of an entered element, or the elements that come in its place."""
        tag = element.local_name
        if tag in SHAPES:
            return [*leaves.shape_outlines(self, element, context, place)]
        if tag == "text":
            return [*drawn.text_outlines(self, element, context, place)]
        return containers.expanded(self.scene, element, context, place)

    def bounds(
        self, element: ElementWrapper, context: RenderContext, place: str
    ) -> BoundingBox | None:
        """The bounding box of an entered element's outlines in its own user units."""
        own = replace(
            context,
            matrix=(1.0, 0.0, 0.0, 1.0, 0.0, 0.0),
            clip=None,
            quiet=True,
            silhouette=True,
            cells=True,
        )
        return clips.outlines_bounding_box(self.run(self.expanded(element, own, place)))

    def children(
        self, element: ElementWrapper, context: RenderContext, place: str
    ) -> list[PaintedOutline]:
        """Walk the children of an element."""
        return self.run(
            [(child, context, where) for child, where in placed_children(element, place)]
        )
