"""One element in the context in which it is drawn."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

from preprocess.read.scene.painted import Ink, Outline, PaintedOutline
from preprocess.read.xml.elements import placed_children

if TYPE_CHECKING:
    from collections.abc import Mapping

    from cssselect2 import ElementWrapper

    from preprocess.read.scene.context import RenderContext
    from preprocess.read.style.computed import Style


class ElementVisit(NamedTuple):
    """An element in a context; `place` is its path of positions, `alias` a name to go before it."""

    element: ElementWrapper
    context: RenderContext
    place: str
    alias: str = ""

    @property
    def name(self) -> str:
        """The element's id or path, behind the names of the uses that copy it."""
        own, within = self.element.id or self.place, self.context.within
        return self.alias or (f"{within}/{own}" if within else own)

    @property
    def line(self) -> int | None:
        """Line in the file."""
        line: int | None = self.element.etree_element.sourceline
        return line

    @property
    def label(self) -> str | None:
        """Label or id of the nearest group that has one."""
        return self.context.enclosing.nearest

    @property
    def tag(self) -> str:
        """Local name of the element."""
        return str(self.element.local_name)

    @property
    def attributes(self) -> Mapping[str, str]:
        """Attributes of the element."""
        found: Mapping[str, str] = self.element.etree_element.attrib
        return found

    @property
    def style(self) -> Style:
        """Computed style."""
        return self.context.style

    def inside(self, **changes: Any) -> ElementVisit:
        """The same element in a changed context."""
        return self._replace(context=replace(self.context, **changes))

    def children(self) -> list[ElementVisit]:
        """The children of the element, in the same context."""
        placed = placed_children(self.element, self.place)
        return [ElementVisit(child, self.context, place) for child, place in placed]

    def outline(
        self, path: Outline, ink: Ink | None = None, rule: str = "nonzero"
    ) -> PaintedOutline:
        """An outline of the element where its context puts it."""
        context = self.context
        return PaintedOutline(
            name=self.name,
            line=self.line,
            enclosing=context.enclosing,
            selectors=context.selectors,
            path=path,
            matrix=context.matrix,
            ink=ink,
            rule=rule,
            clip=context.clip,
            hidden=context.hidden,
            blend=context.blend,
        )
