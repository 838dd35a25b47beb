"""One document being read: its tree, its style sheets, and where remarks go."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from preprocess.model.options.fonts import Fonts
from preprocess.model.options.limits import DrawingLimits
from preprocess.read.fonts.catalogue import FontCatalogue
from preprocess.read.xml.elements import referenced
from preprocess.read.xml.lengths import Units, WidthHeight

if TYPE_CHECKING:
    from collections.abc import Mapping

    from cssselect2 import ElementWrapper
    from lxml import etree

    from preprocess.loading.png.grey_png import DecodedGreys
    from preprocess.model.artwork.artwork import Drawing
    from preprocess.model.artwork.picture import Picture
    from preprocess.model.artwork.shape import Matrix
    from preprocess.model.options.lettering import TextFit
    from preprocess.read.messages.remarks import Remarks
    from preprocess.read.scene.context import RenderContext
    from preprocess.read.scene.visit import ElementVisit
    from preprocess.read.style.cascade import Cascade
    from preprocess.read.style.selector_matcher import SelectorMatcher
    from preprocess.read.xml.document import SvgDocument


@dataclass(slots=True)
class Scene:
    """One document during the walk: its tree, styles, limits, and counters of copies and tiles."""

    document: SvgDocument
    cascade: Cascade
    choices: SelectorMatcher
    remarks: Remarks
    drawing: Drawing
    limits: DrawingLimits = DrawingLimits()
    wants_hidden: bool = False
    window: WidthHeight = (0.0, 0.0)
    page: WidthHeight | None = None
    root_font: float = 16.0
    copies: int = field(default=0)
    tiles: int = field(default=0)
    shelf: FontCatalogue = field(default_factory=lambda: FontCatalogue(Fonts()))
    fits: Mapping[etree._Element, TextFit] = field(default_factory=dict)
    pictures: list[Picture] = field(default_factory=list)
    greys: dict[str, tuple[DecodedGreys, Matrix]] = field(default_factory=dict)

    @property
    def by_id(self) -> Mapping[str, ElementWrapper]:
        """Elements by id."""
        return self.document.by_id

    @property
    def mm_per_px(self) -> float:
        """Millimetres in a px of the page."""
        return 25.4 / self.drawing.px_per_inch

    def units(self, context: RenderContext) -> Units:
        """Reference of relative lengths in a context."""
        found: Units | None = context.kept.get(Units)
        if found is None:
            font, px = context.style.font, self.drawing.px_per_inch
            found = Units(px, context.box, self.window, font, self.root_font)
            context.kept[Units] = found
        return found

    def target(self, href: str) -> ElementWrapper | None:
        """The element that "#id" refers to; None for any other text."""
        return referenced(href, self.by_id)

    def say(self, visit: ElementVisit, kind: str, detail: str = "") -> None:
        """Remark on an element, unless it is not shown anyway."""
        if not visit.context.quiet and not visit.context.hidden:
            self.remarks.on(kind, visit, detail)

    def may_tile(self) -> bool:
        """Count one more tile, or clip within a clip; False when there are too many."""
        self.tiles += 1
        return self.tiles <= self.limits.tiles

    def may_copy(self) -> bool:
        """Count one more copied element; False when there are too many."""
        self.copies += 1
        return self.copies <= self.limits.copies
