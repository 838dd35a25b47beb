"""Layers of a written file as figures and shapes, for tests."""

from __future__ import annotations

from shapely import MultiLineString, MultiPolygon

from preprocess.write.verify.parsing import ReadLayer, parse_written
from preprocess.write.verify.path_sums import PathSums, path_sums
from preprocess.write.verify.ring_match import painted_area


def written_figures(data: bytes) -> dict[str, PathSums]:
    """Count, area, length, first moments and box of each layer of a written file, by its title.

    Raises:
        ForeignMarkup: the bytes are not in the writer's dialect.
    """
    return {
        layer.title: _figures(layer) for layer in parse_written(data).layers if not layer.images
    }


def read_back_shapes(data: bytes) -> dict[str, MultiPolygon | MultiLineString]:
    """Areas (even-odd) or lines of each layer of a written file, by the layer's id.

    Raises:
        ForeignMarkup: the bytes are not in the writer's dialect.
    """
    return {layer.id: _shapes(layer) for layer in parse_written(data).layers if not layer.images}


def _figures(layer: ReadLayer) -> PathSums:
    subpaths = tuple(part for path in layer.paths for part in path.subpaths)
    return path_sums([subpaths], filled=any(path.fill != "none" for path in layer.paths))[0]


def _shapes(layer: ReadLayer) -> MultiPolygon | MultiLineString:
    if layer.paths and layer.paths[0].fill != "none":
        areas = [painted_area([points for points, _ in path.subpaths]) for path in layer.paths]
        return MultiPolygon([polygon for area in areas for polygon in area.geoms])
    lines = [
        [*points.tolist(), points[0].tolist()] if closed else points.tolist()
        for path in layer.paths
        for points, closed in path.subpaths
    ]
    return MultiLineString(lines)
