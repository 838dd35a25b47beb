"""One document being read: its tree, its style sheets, and where remarks go."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from preprocess.model.options.fonts import Fonts
from preprocess.model.options.limits import Limits
from preprocess.read.text.fonts.catalogue import Shelf
from preprocess.read.xml.lengths import Box, Units

if TYPE_CHECKING:
    from collections.abc import Mapping

    from cssselect2 import ElementWrapper
    from lxml import etree

    from preprocess.model.artwork.artwork import Drawing
    from preprocess.model.artwork.picture import Picture
    from preprocess.model.options.lettering import Fit
    from preprocess.read.messages.remarks import Remarks
    from preprocess.read.style.cascade import Cascade
    from preprocess.read.style.choices import Choices
    from preprocess.read.style.computed import Style
    from preprocess.read.walk.painted import Frame
    from preprocess.read.xml.document import Document


@dataclass(slots=True)
class Scene:
    """All that stays the same while one document is walked, what was copied and carried."""

    document: Document
    cascade: Cascade
    choices: Choices
    remarks: Remarks
    drawing: Drawing
    limits: Limits = Limits()
    wants_hidden: bool = False
    window: Box = (0.0, 0.0)
    page: Box | None = None
    root_font: float = 16.0
    copies: int = field(default=0)
    tiles: int = field(default=0)
    shelf: Shelf = field(default_factory=lambda: Shelf(Fonts()))
    fits: Mapping[etree._Element, Fit] = field(default_factory=dict)
    pictures: list[Picture] = field(default_factory=list)

    @property
    def by_id(self) -> Mapping[str, ElementWrapper]:
        """Elements by id."""
        return self.document.by_id

    @property
    def mm_per_px(self) -> float:
        """Millimetres in a px of the page."""
        return 25.4 / self.drawing.px_per_inch

    def units(self, frame: Frame, style: Style | None = None) -> Units:
        """What relative lengths of an element refer to."""
        font = (style or frame.style).font
        return Units(self.drawing.px_per_inch, frame.box, self.window, font, self.root_font)

    def say(
        self, frame: Frame, kind: str, name: str, element: ElementWrapper, detail: str = ""
    ) -> None:
        """Remark on an element, unless it is not shown anyway."""
        if not frame.quiet and not frame.hidden:
            label = frame.label or frame.group
            self.remarks.add(kind, name, element.etree_element.sourceline, detail, label)

    def may_tile(self) -> bool:
        """Count one more tile, or clip within a clip; False when there are too many."""
        self.tiles += 1
        return self.tiles <= self.limits.tiles

    def may_copy(self) -> bool:
        """Count one more copied element; False when there are too many."""
        self.copies += 1
        return self.copies <= self.limits.copies
