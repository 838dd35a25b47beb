"""Reader of SVG: from the bytes of a drawing to artwork in millimetres."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preprocess.errors import Place, wrong
from preprocess.model.artwork.artwork import Artwork
from preprocess.model.artwork.settings import Operation
from preprocess.read.artwork.banding import cut_into_bands
from preprocess.read.artwork.blending import blend
from preprocess.read.artwork.grey_pictures import GreyPicture, with_grey_images
from preprocess.read.artwork.knockout import knock_out
from preprocess.read.artwork.layering import (
    artwork_layers,
    artwork_shapes,
    layer_findings,
    matching_rule,
)
from preprocess.read.artwork.painted_geometry import (
    PaintedGeometry,
    crop_to_page,
    drawn_extent,
    painted_geometries,
)
from preprocess.read.artwork.silhouettes import silhouette_selectors, silhouettes_of
from preprocess.read.clip.clips import apply_clips
from preprocess.read.fonts.catalogue import FontCatalogue
from preprocess.read.messages.remarks import Remarks
from preprocess.read.paint.gradient_levels import page_contrast
from preprocess.read.paint.images import remark_pictures_beyond_page
from preprocess.read.scene.scene import Scene
from preprocess.read.scene.visit import ElementVisit
from preprocess.read.shapes.regions import mapped_rectangle
from preprocess.read.style.cascade import Cascade
from preprocess.read.style.selector_matcher import SelectorMatcher, recipe_selectors
from preprocess.read.text.substitution import substitute_texts
from preprocess.read.walk.animations import remark_animations
from preprocess.read.walk.copies import refuse_too_many_copies
from preprocess.read.walk.document_walker import DocumentWalker
from preprocess.read.walk.lost_geometry import remark_lost_geometry
from preprocess.read.walk.root_viewport import enter_root, page_size_findings, resolve_page
from preprocess.read.xml.affine import IDENTITY
from preprocess.read.xml.animation import apply_initial_sets
from preprocess.read.xml.document import parse_svg
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from preprocess.findings import Finding
    from preprocess.model.artwork.artwork import Page
    from preprocess.model.options.reading import ReadingOptions
    from preprocess.read.scene.context import RenderContext
    from preprocess.read.scene.painted import Ink, PaintedOutline
    from preprocess.read.xml.viewport import PageSize


_TRACED = frozenset({Operation.SCORE, Operation.CUT})

_UNSEEN = 0.03
"""Contrast to the page below which a person may not see that there is paint."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """The artwork of a drawing and the findings of the reader.

    `font_files` are the files that its lettering was taken from.
    """

    artwork: Artwork
    findings: tuple[Finding, ...] = ()
    font_files: tuple[Path, ...] = ()


def read(data: bytes, name: str, options: ReadingOptions) -> Reading:
    """Read a drawing.

    Args:
        data: bytes of the SVG.
        name: what to call the file in messages.
        options: what the recipe asks of the reader.

    Returns:
        Artwork in mm, the page's upper left corner at (0, 0), coordinates rounded to 1e-6 mm.

    Raises:
        UserError: the bytes are no SVG, the page has no area, or a selector of a part or keep-off
            area matches nothing.
    """
    try:
        return _read(data, name, options)
    except RecursionError:
        found = "references, clips or style rules are nested too deep to be followed"
        raise wrong(found, "export the drawing again as plain SVG", place=Place(name)) from None


def _read(data: bytes, name: str, options: ReadingOptions) -> Reading:
    remarks = Remarks()
    scene = _scene(data, name, options, remarks)
    refuse_too_many_copies(scene.document, options.limits.copies)
    remark_lost_geometry(scene.document, remarks)
    remark_animations(scene.document, remarks)
    opening = enter_root(scene)
    painted = _walked(scene, opening.context)
    marked = _marked(painted, options, remarks)
    rules = {id(one): matching_rule(one, options) for one in marked}
    exact = [(r := rules[id(one)]) is not None and r.operation in _TRACED for one in marked]
    pieces = painted_geometries(marked, exact, options, remarks)
    page, pieces = _on_page(pieces, opening.size, scene, remarks)
    pieces = cut_into_bands(
        pieces, [rules[id(piece.painted)] for piece in pieces], options, remarks
    )
    pieces = blend(pieces, options, remarks)
    pieces = knock_out(pieces, options, remarks)
    shapes = artwork_shapes(pieces, [rules[id(piece.painted)] for piece in pieces])
    layers = artwork_layers(shapes, options)
    pictures = {name: GreyPicture(*found) for name, found in scene.greys.items()}
    shapes = with_grey_images(shapes, pictures)
    silhouettes = silhouettes_of(painted, options, page, name)
    artwork = Artwork(
        page=page,
        shapes=shapes,
        layers=layers,
        parts=silhouettes.parts,
        keep_off=silhouettes.keep_off,
        poses=silhouettes.poses,
        drawing=options.drawing,
        pictures=tuple(scene.pictures),
    )
    remark_pictures_beyond_page(artwork.pictures, page, remarks)
    scale = page_size_findings(opening, page, scene)
    findings = (
        *scale,
        *silhouettes.findings,
        *remarks.findings(),
        *layer_findings(shapes, options),
    )
    if any(options.reliefs):
        from preprocess.read.artwork.shaded import with_shade

        artwork = with_shade(artwork, options)
    return Reading(artwork=artwork, findings=findings, font_files=scene.shelf.used)


def _scene(data: bytes, name: str, options: ReadingOptions, remarks: Remarks) -> Scene:
    parsed = parse_svg(data, name, options.limits)
    apply_initial_sets(parsed)
    document, fits = substitute_texts(parsed, options.texts)
    return Scene(
        document=document,
        cascade=Cascade(document.root, remarks),
        choices=SelectorMatcher(recipe_selectors(options)),
        remarks=remarks,
        drawing=options.drawing,
        limits=options.limits,
        fits=fits,
        shelf=FontCatalogue(options.fonts, document.root),
        wants_hidden=bool(silhouette_selectors(options)),
    )


def _walked(scene: Scene, context: RenderContext) -> list[PaintedOutline]:
    walker, root = DocumentWalker(scene), scene.document.root
    if context.hidden and not scene.wants_hidden:
        return []
    return walker.run(apply_clips(walker, ElementVisit(root, context, "svg")).children())


def _marked(
    painted: Sequence[PaintedOutline], options: ReadingOptions, remarks: Remarks
) -> list[PaintedOutline]:
    """Outlines to mark: painted, visible, and no silhouette of a part."""
    taken = silhouette_selectors(options)
    found = []
    for one in painted:
        if one.hidden or one.selectors & taken:
            continue
        if one.ink is None or one.ink.alpha <= 0 or not one.path:
            remarks.on("draws-nothing", one)
            continue
        if one.ink.alpha < options.drawing.faintest:
            remarks.on("too-faint", one, f"{digits(100 * one.ink.alpha, 3)} % opacity")
            continue
        if one.ink.alpha < 1:
            remarks.on("see-through", one)
        ink = _ink_on_page(one.ink, options)
        if _looks_like_the_page(ink, options):
            share = math.ceil(100 * _difference(ink.colour, options))
            remarks.on("nearly-page-colour", one, f"{ink.colour}, page_within: {share} %")
        found.append(one if ink is one.ink else replace(one, ink=ink))
    return found


def _ink_on_page(ink: Ink, options: ReadingOptions) -> Ink:
    """The ink of the page where the recipe takes it for that."""
    page = options.drawing.page_colour.lower()
    if ink.shade is not None or ink.colour == page or not options.drawing.page_within:
        return ink
    near = _difference(ink.colour, options) <= options.drawing.page_within
    return replace(ink, colour=page) if near else ink


def _difference(colour: str, options: ReadingOptions) -> float:
    """The most that a channel differs from that of the page, as a share."""
    page = bytes.fromhex(options.drawing.page_colour[1:])
    return max(abs(a - b) for a, b in zip(bytes.fromhex(colour[1:]), page, strict=True)) / 255


def _looks_like_the_page(ink: Ink, options: ReadingOptions) -> bool:
    page = options.drawing.page_colour.lower()
    told_apart = options.shades.flat_fills and not options.shades.is_solid
    if ink.shade is not None or ink.colour == page or told_apart:
        return False
    return abs(page_contrast(ink.colour, page)) < _UNSEEN


def _on_page(
    pieces: Sequence[PaintedGeometry], size: PageSize | None, scene: Scene, remarks: Remarks
) -> tuple[Page, list[PaintedGeometry]]:
    page = resolve_page(size, drawn_extent(pieces), scene)
    bounds = (0.0, 0.0, page.width, page.height)
    return page, crop_to_page(pieces, mapped_rectangle(bounds, IDENTITY), remarks)
