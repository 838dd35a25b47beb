"""One document being read: its tree, its style sheets, and where remarks go."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from preprocess.model.fonts import Fonts
from preprocess.model.limits import Limits
from preprocess.read.lengths import Box, Units
from preprocess.read.text.shelf import Shelf

if TYPE_CHECKING:
    from collections.abc import Mapping

    from cssselect2 import ElementWrapper
    from lxml import etree

    from preprocess.model.artwork import Drawing
    from preprocess.model.lettering import Fit
    from preprocess.model.picture import Picture
    from preprocess.read.choices import Choices
    from preprocess.read.css import Cascade
    from preprocess.read.document import Document
    from preprocess.read.painted import Frame
    from preprocess.read.remarks import Remarks
    from preprocess.read.style import Style


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
