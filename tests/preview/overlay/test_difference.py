"""What differs between two artworks, against areas and lengths worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import MultiLineString, MultiPolygon, box
from shapely.affinity import translate

from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Layer, Operation
from preprocess.model.artwork.shape import Stroke
from preprocess.preview.overlay.difference import compare_artworks
from tests.labels import fern_label, shape

ENGRAVE, SCORE, GUIDE = Operation.ENGRAVE, Operation.SCORE, Operation.GUIDE


def area(*boxes):
    return MultiPolygon([box(*b) for b in boxes])


def art(*shapes):
    names = dict.fromkeys(s.layer for s in shapes)
    return Artwork(
        page=Page(width=50.0, height=50.0),
        shapes=tuple(shapes),
        layers=tuple(Layer(name=n, operation=None, settings={}) for n in names),
    )


def engraved(*boxes, name="a", layer="a", **more):
    return shape(name, layer, ENGRAVE, area(*boxes), **more)


SQUARE = engraved((0, 0, 10, 10))


def test_the_same_is_no_difference():
    label = fern_label()
    assert compare_artworks(label, label).is_none


def test_rounding_is_no_difference():
    label = fern_label()
    moved = tuple(
        replace(s, geometry=translate(s.geometry, 4e-5, -4e-5), bars=None) for s in label.shapes
    )
    still = tuple(replace(s, bars=None) for s in label.shapes)
    found = compare_artworks(replace(label, shapes=still), replace(label, shapes=moved))
    assert found.is_none
    assert found.layers[0].stays.area == pytest.approx(label.shapes[0].geometry.area, abs=0.01)


def test_added_and_removed_areas():
    found = compare_artworks(art(SQUARE), art(engraved((5, 0, 15, 10))))
    assert found.added.area == 50
    assert found.removed.area == 50
    (layer,) = found.layers
    assert (layer.stays.area, layer.changed.area) == (50, 50)


def test_bars_are_no_artwork():
    found = compare_artworks(art(SQUARE), art(replace(SQUARE, bars=area((20, 0, 21, 10)))))
    assert found.bars.area == 10
    assert found.added.is_empty
    assert not found.is_none


def test_bars_that_stood_before_are_not_new():
    barred = art(replace(SQUARE, bars=area((20, 0, 21, 10))))
    assert compare_artworks(barred, barred).is_none


def test_levels_are_a_change_of_layer():
    wide, narrow = engraved((0, 0, 10, 6), level=1), engraved((0, 6, 10, 10), level=2)
    found = compare_artworks(art(SQUARE), art(wide, narrow))
    assert [layer.output.id for layer in found.layers] == ["a-1", "a-2"]
    assert [layer.changed.area for layer in found.layers] == [60, 40]
    assert all(layer.stays.is_empty for layer in found.layers)
    assert found.added.is_empty
    assert found.removed.is_empty
    assert not found.is_none


def test_strokes_that_became_areas_are_not_added():
    line = shape("s", "a", SCORE, MultiLineString([[(0, 20), (10, 20)]]), stroke=Stroke(width=2.0))
    found = compare_artworks(art(SQUARE, line), art(SQUARE, engraved((0, 19, 10, 21), name="s")))
    assert found.widened.area == pytest.approx(20)
    assert found.added.is_empty
    assert found.lost_lines.is_empty
    assert found.traced == ()


def test_lines_added_and_taken_away():
    keep, old, new = ([(0, y), (10, y)] for y in (20, 30, 40))
    before = shape("s", "a", SCORE, MultiLineString([keep, old]))
    after = shape("s", "a", SCORE, MultiLineString([keep, new]))
    found = compare_artworks(art(before), art(after))
    assert found.lost_lines.bounds == (0, 30, 10, 30)
    assert found.new_lines.bounds == (0, 40, 10, 40)
    ((output, lines),) = found.traced
    assert (output.operation, lines.length) == (SCORE, 20)


def test_a_reversed_line_is_the_same():
    there = shape("s", "a", SCORE, MultiLineString([[(0, 0), (10, 0)]]))
    back = shape("s", "a", SCORE, MultiLineString([[(10, 0), (4, 0), (0, 0)]]))
    assert compare_artworks(art(there), art(back)).is_none


def test_one_line_alone_is_traced():
    found = compare_artworks(
        art(), art(shape("s", "a", SCORE, MultiLineString([[(0, 0), (3, 4)]])))
    )
    assert found.new_lines.length == 5
    assert found.traced[0][1].length == 5


def test_what_lay_twice_in_a_layer_is_told():
    before = art(SQUARE, engraved((8, 0, 18, 10), name="b"), engraved((0, 20, 1, 21), name="c"))
    after = art(engraved((0, 0, 18, 10), (0, 20, 1, 21)))
    found = compare_artworks(before, after)
    assert found.twice.area == 20
    assert found.added.is_empty
    assert found.paths == (3, 1)
    assert not found.is_none


def test_a_duplicate_that_was_dropped_lay_twice():
    found = compare_artworks(art(SQUARE, replace(SQUARE, id="b")), art(SQUARE))
    assert found.twice.area == 100
    assert found.removed.is_empty


def test_a_stroke_that_was_dropped_from_the_outline_of_its_own_fill_is_no_area():
    """A seed drawn filled and stroked, to be cut: its stroke runs where its fill is cut."""
    ring = MultiLineString([[(0, 0), (0, 10), (10, 10), (10, 0), (0, 0)]])
    stroke = shape("seed", "a", Operation.CUT, ring, stroke=Stroke(width=2.0))
    drawn_as = replace(stroke.sources[0], geometry=area((0, 0, 10, 10)))
    outline = replace(stroke, sources=(drawn_as,), stroke=None)
    found = compare_artworks(art(outline, stroke), art(outline))
    assert found.removed.is_empty
    assert found.hatched.is_empty
    assert found.lost_lines.is_empty
    assert found.twice_lines.length == 40


def test_overlaps_that_stay_are_no_change():
    both = art(SQUARE, engraved((8, 0, 18, 10), name="b"))
    assert compare_artworks(both, both).is_none


def test_overlaps_of_two_layers_are_not_twice_in_one():
    before = art(SQUARE, engraved((8, 0, 18, 10), layer="b"))
    assert compare_artworks(before, before).twice.is_empty


def test_guides_are_not_compared():
    guide = shape("g", "g", GUIDE, area((0, 0, 50, 50)))
    found = compare_artworks(art(SQUARE, guide), art(SQUARE))
    assert found.is_none
    assert found.paths == (1, 1)


def test_nothing_against_nothing():
    assert compare_artworks(art(), art()).is_none


def test_an_area_to_score_is_traced_around():
    found = compare_artworks(art(), art(shape("s", "a", SCORE, area((0, 0, 3, 4)))))
    assert found.new_lines.length == 14
    assert found.added.is_empty
