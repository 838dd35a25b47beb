"""Silhouettes of parts and keep-off areas: never marked, never knocking out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely

from preprocess.errors import Complaint, Place, UserError
from preprocess.geometry.base.normalise import as_area
from preprocess.geometry.base.rounding import snap_to_grid
from preprocess.geometry.overlay.affine_image import apply_affine
from preprocess.geometry.overlay.booleans import union
from preprocess.model.bench.bench import keeps_off
from preprocess.read.artwork.layering import QUOTE_SELECTOR
from preprocess.read.shapes.fill_and_stroke import fill_rule_area, flatten_outlines

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from shapely import MultiPolygon

    from preprocess.findings import Finding
    from preprocess.model.artwork.artwork import Page
    from preprocess.model.artwork.shape import Matrix
    from preprocess.model.bench.part import Part
    from preprocess.model.bench.relief import Relief
    from preprocess.model.options.reading import ReadingOptions
    from preprocess.read.scene.painted import PaintedOutline

_DECIMALS = 6

_CLOSE = "choose a closed outline, such as a rectangle or a closed path"


@dataclass(frozen=True, slots=True, kw_only=True)
class Silhouettes:
    """Areas in mm of parts and of what is kept off, poses of models, and findings on these."""

    parts: tuple[MultiPolygon, ...]
    keep_off: tuple[MultiPolygon, ...]
    poses: tuple[Matrix | None, ...]
    findings: tuple[Finding, ...]


def silhouette_selectors(options: ReadingOptions) -> frozenset[str]:
    """The selectors of parts with their guides, and of keep-off areas."""
    parts = (text for part in options.parts for text in (part.drawn, part.guides))
    return frozenset(text for text in (*parts, *options.keep_off) if text is not None)


def silhouettes_of(
    painted: Sequence[PaintedOutline], options: ReadingOptions, page: Page, name: str
) -> Silhouettes:
    """The areas of parts and keep-off areas; those of models are laid on the page.

    Raises:
        UserError: a selector matches nothing, or nothing with an area, or a model does not fit.
    """
    tolerance = options.drawing.tolerance
    complaints: list[Complaint] = []

    def chosen(selector: str, what: str) -> MultiPolygon:
        mine = [one for one in painted if selector in one.selectors]
        area = _outline(mine, tolerance)
        if area.is_empty:
            complaints.append(_complaint(selector, what, name, mine))
        return area

    drawn = [None if p.drawn is None else chosen(p.drawn, "part") for p in options.parts]
    keep_off = tuple(chosen(selector, "keep_off") for selector in options.keep_off)
    if complaints:
        raise UserError(complaints)
    reliefs = [*options.reliefs, *[None] * (len(options.parts) - len(options.reliefs))]
    laid = [
        _laid(part, relief, area, page, name)
        for part, relief, area in zip(options.parts, reliefs, drawn, strict=True)
    ]
    return Silhouettes(
        parts=tuple(one.part for one in laid),
        keep_off=(*(one.off for one in laid if one.off is not None), *keep_off),
        poses=tuple(one.pose for one in laid) if any(reliefs) else (),
        findings=tuple(found for one in laid for found in one.findings),
    )


@dataclass(frozen=True, slots=True)
class _Laid:
    """One part on the page: its silhouette, and of a model its keep-off area and pose."""

    part: MultiPolygon
    off: MultiPolygon | None = None
    pose: Matrix | None = None
    findings: tuple[Finding, ...] = ()


def _laid(
    part: Part, relief: Relief | None, drawn: MultiPolygon | None, page: Page, name: str
) -> _Laid:
    if relief is None:
        if drawn is not None:
            return _Laid(drawn)
        size = part.outline if isinstance(part.outline, tuple) else (0.0, 0.0)
        return _Laid(_centred(size, page))
    from preprocess.read.part.pose import pose_on_page, pose_under_outline

    findings: list[Finding] = []
    if drawn is None:
        pose = pose_on_page(part, relief, page)
    else:
        pose, findings = pose_under_outline(part, relief, drawn, name)
    off = None
    if keeps_off(part, relief):
        off = _on_page(union([relief.raised, relief.sunk, relief.slanted]), pose)
    return _Laid(_on_page(relief.outline, pose), off, pose, tuple(findings))


def _on_page(area: MultiPolygon, pose: Matrix) -> MultiPolygon:
    return snap_to_grid(apply_affine(area, pose), _DECIMALS)


def _outline(painted: Iterable[PaintedOutline], tolerance: float) -> MultiPolygon:
    """Area enclosed by outlines, whatever their paint."""
    painted = list(painted)
    return union(
        fill_rule_area(one, contours)
        for one, contours in zip(painted, flatten_outlines(painted, tolerance), strict=True)
    )


def _complaint(selector: str, what: str, name: str, found: Sequence[PaintedOutline]) -> Complaint:
    if found:
        place = Place(name, found[0].line)
        return Complaint(f"{what}: {selector!r} encloses no area", _CLOSE, place)
    return Complaint(
        f"{what}: {selector!r} matches nothing in the drawing", QUOTE_SELECTOR, Place(name)
    )


def _centred(size: tuple[float, float], page: Page) -> MultiPolygon:
    (x, y), (width, height) = page.centre, size
    return as_area(shapely.box(x - width / 2, y - height / 2, x + width / 2, y + height / 2))
