"""The page: its physical size, where that came from, and how user units map to mm."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preprocess.errors import Place, wrong
from preprocess.findings import Finding, note, warn
from preprocess.model.artwork.artwork import Page
from preprocess.read.scene.context import RenderContext
from preprocess.read.scene.visit import ElementVisit
from preprocess.read.shapes.regions import FARTHEST_MM
from preprocess.read.style.computed import Style, compute_style
from preprocess.read.walk.entering import entered_context
from preprocess.read.xml.affine import compose, scaling
from preprocess.read.xml.lengths import Units
from preprocess.read.xml.viewport import (
    MM_PER_INCH,
    PageSize,
    PageSizeAt,
    other_page_sizes,
    page_size,
    page_size_text,
    view_box,
    view_map,
)
from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.read.scene.scene import Scene


_UNKNOWN = (300.0, 150.0)
"""Size that CSS gives to a picture without one, px."""


@dataclass(frozen=True, slots=True)
class RootViewport:
    """The context inside the outermost svg; `size` is None for a drawing without a size.

    `size_at` gives the size that it has for another number of px per inch.
    """

    context: RenderContext
    size: PageSize | None
    size_at: PageSizeAt


def enter_root(scene: Scene) -> RootViewport:
    """Enter the outermost svg; sets the scene's window.

    Raises:
        UserError: the page has no area.
    """
    root, px = scene.document.root, scene.drawing.px_per_inch
    attributes = root.etree_element.attrib
    style = compute_style(scene.cascade.declared(root), Style(), Units(px))
    scene.root_font = style.font
    box = view_box(attributes.get("viewBox"))

    def size_at(per_inch: float) -> PageSize | None:
        units = Units(per_inch, font=style.font, root_font=style.font)
        return page_size(style("width"), style("height"), box, units)

    size = size_at(px)
    flat_box = box is not None and min(box[2:]) <= 0
    if (size is not None and min(size.width, size.height) <= 0) or flat_box:
        _refuse(scene)
    if size is not None and max(size.width, size.height) * scene.mm_per_px > FARTHEST_MM:
        _refuse(scene, "the page is larger than a thousand metres")
    scene.window = (size.width, size.height) if size else _UNKNOWN
    scene.page = scene.window if size else None
    context = RenderContext(matrix=scaling(scene.mm_per_px, scene.mm_per_px), box=scene.window)
    inner = entered_context(scene, ElementVisit(root, context, "svg"), "50% 50%")
    view = view_map(box, attributes.get("preserveAspectRatio", ""), *scene.window)
    inside = compose(inner.matrix, view)
    context = replace(inner, matrix=inside, box=box[2:] if box else scene.window)
    return RootViewport(context, size, size_at)


def _refuse(scene: Scene, found: str = "the page has no area") -> None:
    place = Place(scene.document.name, scene.document.root.etree_element.sourceline)
    raise wrong(found, "give the svg a width, height and viewBox", place=place)


def resolve_page(size: PageSize | None, extent: tuple[float, float], scene: Scene) -> Page:
    """The page in mm; the extent of the artwork for a drawing without a size.

    Raises:
        UserError: there is neither a size nor anything drawn.
    """
    if size is not None:
        mm, words = scene.mm_per_px, size.source
        if size.pixels and "px per inch" not in words:
            words += f" at {digits(scene.drawing.px_per_inch)} px per inch"
        return Page(width=size.width * mm, height=size.height * mm, size_from=words)
    if min(extent) <= 0:
        _refuse(scene)
    words = f"extent of what is drawn at {digits(scene.drawing.px_per_inch)} px per inch"
    return Page(width=extent[0], height=extent[1], size_from=words)


def page_size_findings(opening: RootViewport, page: Page, scene: Scene) -> tuple[Finding, ...]:
    """Finding on an assumed scale, with the sizes for other px per inch."""
    size, px = opening.size, scene.drawing.px_per_inch
    if size is None:
        scale = px / MM_PER_INCH
        size = PageSize(page.width * scale, page.height * scale, page.size_from, False, True)  # noqa: FBT003
    if size.sure and not size.pixels:
        return ()
    line = scene.document.root.etree_element.sourceline
    others = f"; it would be {other_page_sizes(size, px, opening.size_at)} px per inch"
    if size.sure:
        message = (
            f"the page is {page_size_text(size, px)}, counting {digits(px)} px per inch{others}"
        )
        return (replace(note("size-in-pixels", message, _SET), line=line),)
    taken = f"{page_size_text(size, px)} ({page.size_from})"
    message = f"the drawing states no full physical size: the page is taken as {taken}"
    message += others if size.pixels else ""
    return (replace(warn("assumed-scale", message, _STATE), line=line),)


_SET = "give width and height in mm, or set drawing: {px_per_inch: …} in the recipe"
_STATE = "measure the result; " + _SET
