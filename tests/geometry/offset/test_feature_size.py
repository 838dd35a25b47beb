"""How fine and how large shapes are: rectangles, discs and stems, worked out by hand."""

import pytest
from shapely import MultiPolygon, Point, box, unary_union
from shapely.affinity import translate

from preprocess.geometry.offset.feature_size import finest_width, longest_side, share_narrower


def area(*shapes):
    joined = unary_union(shapes)
    return joined if isinstance(joined, MultiPolygon) else MultiPolygon([joined])


LEAF_ON_STEM = area(box(0, 0, 10, 10), box(10, 4.75, 40, 5.25))
"""100 mm² of leaf, and a stem of 30 × 0.5 mm: 15 of 115 mm²."""


@pytest.mark.parametrize(
    ("drawn", "width"),
    [
        (area(box(0, 0, 10, 2)), 2.0),
        (area(box(0, 0, 1, 6)), 1.0),
        (area(Point(0, 0).buffer(1.5, quad_segs=64)), 3.0),
        (LEAF_ON_STEM, 0.5),
        (area(box(0, 0, 10, 10), box(10, 4.9, 25, 5.1)), 10.0),  # 3 mm² of 103: too few to count
    ],
)
def test_the_finest_places_of_an_area(drawn, width):
    assert finest_width(drawn) == pytest.approx(width, rel=0.02)


def test_the_share_that_is_narrower():
    assert share_narrower(LEAF_ON_STEM, 0.6) == pytest.approx(15 / 115, rel=0.01)
    assert share_narrower(LEAF_ON_STEM, 0.4) == 0


def test_the_longest_piece_counts_by_itself():
    assert longest_side(area(box(0, 0, 3, 7), box(20, 0, 24, 2))) == 7


def test_of_many_pieces_some_stand_for_all():
    # 800 leaves of some 314 mm², and after each a stem of 40 × 0.5 mm: 60 000 corners
    leaf = Point(0, 0).buffer(10, quad_segs=16)
    stem = box(0, 20, 40, 20.5)
    pairs = [translate(piece, 50 * n) for n in range(800) for piece in (leaf, stem)]
    assert share_narrower(MultiPolygon(pairs), 0.6) == pytest.approx(
        20 / (leaf.area + 20), rel=0.15
    )
