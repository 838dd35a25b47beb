"""SVG in: from the bytes of a drawing to artwork in millimetres."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.errors import Place, wrong
from preprocess.model.artwork.artwork import Artwork
from preprocess.model.artwork.settings import Operation
from preprocess.read.artwork.banding import banded
from preprocess.read.artwork.knockout import knocked_out
from preprocess.read.artwork.layering import layer_findings, layers_of, rule_for, shapes_of
from preprocess.read.artwork.painted_geometry import PaintedGeometry, extent, on_page, pieces_of
from preprocess.read.artwork.silhouettes import silhouette_selectors, silhouettes
from preprocess.read.clip.clips import clipped
from preprocess.read.fonts.catalogue import FontCatalogue
from preprocess.read.messages.remarks import Remarks
from preprocess.read.paint.gradient_levels import contrast
from preprocess.read.paint.images import off_page
from preprocess.read.scene.scene import Scene
from preprocess.read.shapes.regions import rectangle
from preprocess.read.style.cascade import Cascade
from preprocess.read.style.choices import SelectorMatcher, selectors_of
from preprocess.read.text.substitution import filled
from preprocess.read.walk.pages import opened, page_of, size_findings
from preprocess.read.walk.walk import DocumentWalker
from preprocess.read.xml.affine import IDENTITY
from preprocess.read.xml.document import parse

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from preprocess.findings import Finding
    from preprocess.model.artwork.artwork import Page
    from preprocess.model.options.reading import Wanted
    from preprocess.read.scene.context import RenderContext
    from preprocess.read.scene.painted import Ink, PaintedOutline
    from preprocess.read.xml.viewport import PageSize


_TRACED = frozenset({Operation.SCORE, Operation.CUT})

_UNSEEN = 0.03
"""Contrast to the page below which a person may not see that there is paint."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """The artwork of a drawing, and what a person should know about how it was read.

    `font_files` are the files that its lettering was taken from.
    """

    artwork: Artwork
    findings: tuple[Finding, ...] = ()
    font_files: tuple[Path, ...] = ()


def read(data: bytes, name: str, wanted: Wanted) -> Reading:
    """Read a drawing.

    Args:
        data: bytes of the SVG.
        name: what to call the file in messages.
        wanted: what the recipe asks of the reader.

    Returns:
        Artwork in mm, the page's upper left corner at (0, 0), coordinates rounded to 1e-6 mm.

    Raises:
        UserError: the bytes are no SVG, the page has no area, or a selector of a part or keep-off
            area matches nothing.
    """
    try:
        return _read(data, name, wanted)
    except RecursionError:
        found = "references, clips or style rules are nested too deep to be followed"
        raise wrong(found, "export the drawing again as plain SVG", place=Place(name)) from None


def _read(data: bytes, name: str, wanted: Wanted) -> Reading:
    remarks = Remarks()
    scene = _scene(data, name, wanted, remarks)
    opening = opened(scene)
    painted = _walked(scene, opening.context)
    marked = _marked(painted, wanted, remarks)
    rules = {id(one): rule_for(one, wanted) for one in marked}
    exact = [(r := rules[id(one)]) is not None and r.operation in _TRACED for one in marked]
    pieces = pieces_of(marked, exact, wanted, remarks)
    page, pieces = _on_page(pieces, opening.size, scene, remarks)
    pieces = banded(pieces, [rules[id(piece.painted)] for piece in pieces], wanted, remarks)
    pieces = knocked_out(pieces, wanted, remarks)
    shapes = shapes_of(pieces, [rules[id(piece.painted)] for piece in pieces])
    parts, keep_off = silhouettes(painted, wanted, page, name)
    artwork = Artwork(
        page=page,
        shapes=shapes,
        layers=layers_of(shapes, wanted),
        parts=parts,
        keep_off=keep_off,
        drawing=wanted.drawing,
        pictures=tuple(scene.pictures),
    )
    off_page(artwork.pictures, page, remarks)
    scale = size_findings(opening, page, scene)
    findings = (*scale, *remarks.findings(), *layer_findings(shapes, wanted))
    return Reading(artwork=artwork, findings=findings, font_files=scene.shelf.used)


def _scene(data: bytes, name: str, wanted: Wanted, remarks: Remarks) -> Scene:
    document, fits = filled(parse(data, name, wanted.limits), wanted.texts)
    return Scene(
        document=document,
        cascade=Cascade(document.root, remarks),
        choices=SelectorMatcher(selectors_of(wanted)),
        remarks=remarks,
        drawing=wanted.drawing,
        limits=wanted.limits,
        fits=fits,
        shelf=FontCatalogue(wanted.fonts, document.root),
        wants_hidden=bool(silhouette_selectors(wanted)),
    )


def _walked(scene: Scene, context: RenderContext) -> list[PaintedOutline]:
    walker, root = DocumentWalker(scene), scene.document.root
    if context.hidden and not scene.wants_hidden:
        return []
    return walker.children(root, clipped(walker, root, context, "svg"), "svg")


def _marked(
    painted: Sequence[PaintedOutline], wanted: Wanted, remarks: Remarks
) -> list[PaintedOutline]:
    """What is to be marked: painted, shown, and no silhouette."""
    taken = silhouette_selectors(wanted)
    found = []
    for one in painted:
        if one.hidden or one.selectors & taken:
            continue
        if one.ink is None or one.ink.alpha <= 0 or not one.path:
            remarks.on("draws-nothing", one)
            continue
        if one.ink.alpha < wanted.drawing.faintest:
            remarks.on("too-faint", one, f"{100 * one.ink.alpha:.3g} % opacity")
            continue
        if one.ink.alpha < 1:
            remarks.on("see-through", one)
        if _looks_like_the_page(one.ink, wanted):
            remarks.on("nearly-page-colour", one, one.ink.colour)
        found.append(one)
    return found


def _looks_like_the_page(ink: Ink, wanted: Wanted) -> bool:
    page = wanted.drawing.page_colour.lower()
    told_apart = wanted.shades.flat_fills and not wanted.shades.is_solid
    if ink.shade is not None or ink.colour == page or told_apart:
        return False
    return abs(contrast(ink.colour, page)) < _UNSEEN


def _on_page(
    pieces: Sequence[PaintedGeometry], size: PageSize | None, scene: Scene, remarks: Remarks
) -> tuple[Page, list[PaintedGeometry]]:
    page = page_of(size, extent(pieces), scene)
    bounds = (0.0, 0.0, page.width, page.height)
    return page, on_page(pieces, rectangle(bounds, IDENTITY), remarks)
