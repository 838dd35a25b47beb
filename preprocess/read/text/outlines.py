"""Placed clusters as paths, one for each span and font.

Letters of one font wind alike, so that where they overlap, as script letters and those of
variable fonts do, the nonzero rule fills them whole.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.read.shapes.path_data import Path
from preprocess.read.xml.affine import compose, radian_rotation, scaling, translation

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.model.artwork.shape import Matrix
    from preprocess.read.fonts.font import GlyphSegment
    from preprocess.read.text.layout.chunks import PlacedCluster
    from preprocess.read.text.layout.runs import Cluster
    from preprocess.read.text.letters import Span

_THICKNESS = 0.1
"""Of decorations, in font sizes; CSS leaves it open, browsers take this."""


def cluster_outlines(placed: Sequence[PlacedCluster]) -> list[tuple[Span, Path]]:
    """The letters and the lines through, over and under them, in reading order."""
    found: dict[tuple[Span, object], Path] = {}
    for one in sorted(placed, key=lambda one: one.cluster.letter):
        cluster = one.cluster
        for line in cluster.span.lines:
            path = found.setdefault((cluster.span, line), Path())
            _add(path, _box(*_line(cluster, line), cluster), _standing(one))
        path = found.setdefault((cluster.span, cluster.font), Path())
        matrix = compose(_standing(one), scaling(cluster.scale * cluster.stretch, -cluster.scale))
        along = 0.0
        for glyph in cluster.glyphs:
            at = translation(along + glyph.x, glyph.y)
            _add(path, cluster.font.outline(glyph.number), compose(matrix, at))
            along += glyph.advance
    return [(span, path) for (span, _), path in found.items() if path]


def cluster_cells(placed: Sequence[PlacedCluster]) -> list[tuple[Span, Path]]:
    """The cells of the letters: as wide as they lead, as high as their font."""
    found: dict[Span, Path] = {}
    for one in placed:
        font, scale = one.cluster.font, one.cluster.scale
        path = found.setdefault(one.cluster.span, Path())
        box = _box(font.ascent * scale, -font.descent * scale, one.cluster)
        _add(path, box, _standing(one))
    return list(found.items())


def _standing(one: PlacedCluster) -> Matrix:
    """From a cluster's own place, y downwards, to user units."""
    turned = compose(translation(one.x, one.y), radian_rotation(one.angle))
    return compose(turned, translation(one.aside, one.drop))


def _line(cluster: Cluster, line: str) -> tuple[float, float]:
    """Upper and lower edge of a decoration, upwards from the baseline in user units."""
    size = cluster.font.units * cluster.scale
    thick, ascent = size * _THICKNESS, cluster.font.ascent * cluster.scale
    top = {
        "underline": -thick / 2,
        "overline": ascent + thick,
        "line-through": ascent / 3 + thick / 2,
    }[line]
    return top, top - thick


def _box(top: float, bottom: float, cluster: Cluster) -> Iterator[GlyphSegment]:
    wide = cluster.advance
    corners = ((0.0, -top), (wide, -top), (wide, -bottom), (0.0, -bottom))
    yield from (("L" if at else "M", corner) for at, corner in enumerate(corners))
    yield "Z", ()


def _add(
    path: Path, segments: Sequence[GlyphSegment] | Iterator[GlyphSegment], matrix: Matrix
) -> None:
    a, b, c, d, e, f = matrix
    for kind, numbers in segments:
        path.kinds += kind.encode()
        for x, y in zip(numbers[::2], numbers[1::2], strict=True):
            path.numbers.extend((a * x + c * y + e, b * x + d * y + f))
