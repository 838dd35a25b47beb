"""Difference of two artworks, as geometry: kept, new layer, added, removed."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import shapely
from shapely import MultiLineString, MultiPolygon

from preprocess.geometry.base.normalise import as_lines
from preprocess.geometry.lines.stroking import outline_stroke
from preprocess.geometry.offset.offset import grow_area
from preprocess.geometry.offset.opening import without_slivers
from preprocess.geometry.overlay.booleans import cut_away, difference, intersection, union
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Operation
from preprocess.preview.overlay.alongside import run_along
from preprocess.preview.overlay.doubled import doubled_areas, doubled_lines, surplus_area
from preprocess.preview.overlay.hatched import split_hatched

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from shapely import Geometry

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.artwork.source import Source

_CRUMB = 0.02
"""mm: shorter pieces of lines that differ come from cutting and are not shown."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerChange:
    """One engraved layer of the output without its bars: what stayed as it was, and the rest.

    `changed` was painted on another layer, or without a level, or not at all.
    """

    output: OutputLayer
    stays: MultiPolygon
    changed: MultiPolygon


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """Two artworks compared, in mm. Areas that two layers of the output share count for both.

    `widened` are areas that were drawn as strokes; `twice` and `twice_lines` lay in several shapes
    of one layer before and no longer do; `too_much` is their area, mm², counted again for each
    further shape; `traced` are the lines of each scored or cut layer.
    `hatched` were areas before and are filled now by lines that lie `spacing` mm apart; those are
    not among the `new_lines`, nor are the areas among the `removed`.
    """

    layers: tuple[LayerChange, ...]
    traced: tuple[tuple[OutputLayer, MultiLineString], ...]
    bars: MultiPolygon
    added: MultiPolygon
    widened: MultiPolygon
    removed: MultiPolygon
    twice: MultiPolygon
    too_much: float
    twice_lines: MultiLineString
    hatched: MultiPolygon
    spacing: float
    new_lines: MultiLineString
    lost_lines: MultiLineString
    paths: tuple[int, int]

    @property
    def is_none(self) -> bool:
        """True if the picture is the same."""
        geometries = (
            *(layer.changed for layer in self.layers),
            *(self.bars, self.added, self.widened, self.removed, self.twice),
            *(self.hatched, self.twice_lines, self.new_lines, self.lost_lines),
        )
        return all(geometry.is_empty for geometry in geometries)


def compare_artworks(before: Artwork, after: Artwork, *, placed: bool = False) -> Difference:
    """Compare what two artworks mark; guides are not marked.

    `placed` says that strokes of `before` were flattened at another size than those of `after`.
    """
    was, now = _marked(before), _marked(after)
    became = _became_areas(was, now, before.drawing.tolerance)
    lines = [shape for shape in was if shape not in became]
    painted = [became.get(shape, shape) for shape in was]
    old, new = _united(s for s in painted if s.is_area), _areas(now)
    drawn_as_areas = _united(s for s in was if s.is_area)
    strokes_left = [s for s in lines if s.stroke and not s.is_area]
    others = _outlined(strokes_left)
    strokes = union([others, *(shape.geometry for shape in became.values())])
    extra = without_slivers(difference(new, drawn_as_areas))
    off = 2 * before.drawing.tolerance if placed else 0.0
    old_lines, new_lines = _lines(lines), _lines(now)
    gone = run_along(old_lines, new_lines).apart
    rows = split_hatched(difference(old, new), run_along(new_lines, old_lines).apart)
    still_lines = _drawn_ids(now, MultiLineString)
    given_up = [s for s in strokes_left if still_lines.isdisjoint(x.drawn_id for x in s.sources)]
    drawn = split_hatched(difference(_outlined(given_up), union([old, new])), rows.lines)
    filled = without_slivers(union([rows.area, drawn.area]))
    return Difference(
        layers=tuple(_layer(o, before) for o in output_layers(after) if _is_engraved(o)),
        traced=tuple((o, _lines(o.shapes)) for o in output_layers(after) if not _is_engraved(o)),
        bars=without_slivers(difference(_bars(now), _bars(was))),
        added=_but_for_cells(
            _but_for_curves(without_slivers(difference(extra, strokes)), strokes, off), old, now
        ),
        widened=without_slivers(intersection(extra, strokes)),
        removed=_but_for_cells(
            _but_for_curves(without_slivers(rows.removed), strokes, off), new, now
        ),
        twice=without_slivers(difference(doubled_areas(painted), doubled_areas(now))),
        too_much=surplus_area(painted) - surplus_area(now),
        twice_lines=run_along(doubled_lines(lines), doubled_lines(now)).apart,
        hatched=filled,
        spacing=max(rows.spacing, drawn.spacing),
        new_lines=_long(drawn.lines),
        lost_lines=_long(cut_away(gone, union([new, filled]))),
        paths=(len(was), len(now)),
    )


def _became_areas(
    was: Sequence[Shape], now: Sequence[Shape], tolerance: float
) -> dict[Shape, Shape]:
    """Strokes of before that are areas now, each as the area that it painted.

    Their elements are painted as areas in the output, and no longer as lines.
    """
    areas, lines = _with_more_areas(was, now), _drawn_ids(now, MultiLineString)
    return {
        shape: replace(
            shape,
            operation=Operation.ENGRAVE,
            geometry=outline_stroke(shape.geometry, shape.stroke, tolerance=tolerance),
            stroke=None,
        )
        for shape in was
        if shape.stroke is not None
        and not shape.is_area
        and all(s.drawn_id in areas and s.drawn_id not in lines for s in shape.sources)
    }


def _with_more_areas(was: Sequence[Shape], now: Sequence[Shape]) -> set[str]:
    """Elements of the drawing that paint more areas than before: fill and stroke are one each."""
    fills = Counter(source.drawn_id for source in _area_sources(was))
    found = Counter((source.id, source.drawn_id) for source in _area_sources(now))
    return {drawn for (_, drawn), count in found.items() if count > fills[drawn]}


def _area_sources(shapes: Sequence[Shape]) -> set[Source]:
    sources = (source for shape in shapes for source in shape.sources)
    return {source for source in sources if isinstance(source.geometry, MultiPolygon)}


def _drawn_ids(shapes: Sequence[Shape], kind: type[Geometry]) -> set[str]:
    """Elements of the drawing that the shapes paint as areas, or as lines."""
    sources = (source for shape in shapes for source in shape.sources)
    return {source.drawn_id for source in sources if isinstance(source.geometry, kind)}


def _outlined(strokes: Iterable[Shape]) -> MultiPolygon:
    """Area that strokes paint."""
    return union([outline_stroke(s.geometry, s.stroke) for s in strokes if s.stroke])


def _marked(artwork: Artwork) -> list[Shape]:
    return [shape for shape in artwork.shapes if shape.operation is not Operation.GUIDE]


def _is_engraved(output: OutputLayer) -> bool:
    return output.operation is Operation.ENGRAVE


def _areas(shapes: Iterable[Shape]) -> MultiPolygon:
    return _united(shape for shape in shapes if shape.is_engraved_area)


def _united(shapes: Iterable[Shape]) -> MultiPolygon:
    """Union of areas; exact copies count once, for many of them would be costly."""
    return union({shape.geometry.wkb: shape.geometry for shape in shapes}.values())


def _bars(shapes: Iterable[Shape]) -> MultiPolygon:
    return union([shape.bars for shape in shapes if shape.bars is not None])


def _lines(shapes: Sequence[Shape]) -> MultiLineString:
    """Traced lines: lines as they are, outlines of areas."""
    traced = [s.geometry for s in shapes if not s.is_engraved_area]
    lines = [g.boundary if g.geom_type == "MultiPolygon" else g for g in traced]
    return as_lines(lines)


def _long(lines: MultiLineString) -> MultiLineString:
    """Without the crumbs that cutting leaves."""
    parts = shapely.get_parts(lines)
    return as_lines(parts[shapely.length(parts) > _CRUMB])


def _but_for_cells(
    area: MultiPolygon, other: MultiPolygon, shapes: Iterable[Shape]
) -> MultiPolygon:
    """What lies farther than a cell from the other, where cells of greys stand for drawn edges."""
    cells = [(s.grey.cell[0], s.grey.height) for s in shapes if s.grey is not None]
    if not cells:
        return area
    widest = max(math.hypot(*cell) for cell in cells)
    return without_slivers(difference(area, grow_area(other, widest)))


def _layer(output: OutputLayer, before: Artwork) -> LayerChange:
    area = _areas(output.shapes)
    same = _areas(s for s in before.shapes_of(output.layer) if s.level == output.level)
    changed = without_slivers(difference(area, same))
    return LayerChange(output=output, stays=intersection(area, same), changed=changed)


def _but_for_curves(area: MultiPolygon, strokes: MultiPolygon, off: float) -> MultiPolygon:
    """Without slivers along strokes whose curves were flattened before they were scaled."""
    if not off:
        return area
    parts = shapely.get_parts(area)
    rim = shapely.buffer(shapely.boundary(strokes), off, quad_segs=2)
    return MultiPolygon(list(parts[~shapely.covered_by(parts, rim)]))
