from __future__ import annotations

import pytest
import shapely
from shapely import MultiPolygon, Point, box

from preprocess.geometry.overlay.owners import areas_under
from preprocess.geometry.overlay.partition import NODE_GRID
from preprocess.geometry.overlay.topmost import divide_by_topmost


def area(*parts):
    return MultiPolygon(list(parts))


def test_owners_overlap_and_neighbours_do_not():
    pieces = [box(0, 0, 4, 4), box(6, 0, 8, 4)]
    painted = [area(box(0, 0, 2, 2)), area(box(4, 0, 6, 4)), area(box(1, 1, 7, 2))]
    assert areas_under(pieces, painted) == ((0, 2), (2,))


def test_an_overlap_thinner_than_a_mended_seam_is_none():
    piece = [box(0, 0, 4, 4)]
    painted = [area(box(0, 0, 4, 4)), area(box(4 - 1e-6, 0, 8, 4))]
    assert areas_under(piece, painted) == ((0,),)
    assert areas_under(piece, [painted[0], area(box(4 - 1e-4, 0, 8, 4))]) == ((0, 1),)


def test_the_nearest_owns_what_nobody_painted():
    assert areas_under([box(10, 0, 11, 1)], [area(box(0, 0, 1, 1)), area(box(7, 0, 8, 1))]) == (
        (1,),
    )
    assert areas_under([box(0, 0, 1, 1)], []) == ((),)
    assert areas_under([], [area(box(0, 0, 1, 1))]) == ()


def test_the_one_on_top_has_what_is_shared():
    low, high = area(box(0, 0, 6, 2)), area(box(4, 0, 8, 2))
    found = divide_by_topmost(area(box(0, 0, 8, 2)), [low, high], [0, 1])
    assert {key: value.area for key, value in found.items()} == {0: 8.0, 1: 8.0}
    found = divide_by_topmost(area(box(0, 0, 8, 2)), [high, low], [0, 1])
    assert {key: value.area for key, value in found.items()} == {0: 4.0, 1: 12.0}


def test_a_grown_rim_goes_along_and_nothing_is_lost():
    """The rim is one face about two leaves: it goes whole to one of them."""
    leaves = [area(box(0, 0, 6, 2)), area(box(4, 0, 8, 2))]
    grown = area(box(-1, -1, 9, 3))
    found = divide_by_topmost(grown, leaves, [0, 1])
    assert sum(value.area for value in found.values()) == pytest.approx(40, abs=1e-12)
    assert found[0].intersection(found[1]).area == pytest.approx(0, abs=1e-12)


def test_covered_groups_are_left_out():
    found = divide_by_topmost(
        area(box(0, 0, 4, 4)), [area(box(1, 1, 2, 2)), area(box(0, 0, 4, 4))], [0, 1]
    )
    assert list(found) == [1]


def test_many_discs_tile_their_union():
    discs = [area(Point(i * 0.7, (i * 37) % 5 * 0.4).buffer(0.6)) for i in range(20)]
    whole = area(*shapely.get_parts(shapely.union_all(discs)))
    found = divide_by_topmost(whole, discs, list(range(20)))
    total = sum(value.area for value in found.values())
    assert total == pytest.approx(whole.area, abs=NODE_GRID * whole.length)
    for index, piece in found.items():
        above = shapely.union_all(discs[index + 1 :])
        assert piece.symmetric_difference(discs[index] - above).area < 1e-9
