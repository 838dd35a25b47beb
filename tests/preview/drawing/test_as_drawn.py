"""The drawing as read is moved to where the output has it."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import affine_transform

from preprocess.model.artwork.artwork import Page
from preprocess.model.artwork.settings import Operation
from preprocess.model.artwork.shape import Stroke
from preprocess.model.bench.bench import Bench
from preprocess.passes._shared.transform import shape_mapped
from preprocess.passes.place.place import PlaceDrawing
from preprocess.passes.strokes_to_areas import StrokesToAreas
from preprocess.preview.drawing.as_drawn import Placing, as_placed, centred, in_words
from preprocess.preview.overlay.difference import compare_artworks
from tests.labels import fern_label


def carried(artwork, matrix, only=None):
    return replace(
        artwork,
        shapes=tuple(
            shape if only not in (None, shape.layer) else shape_mapped(shape, matrix)
            for shape in artwork.shapes
        ),
    )


PLAIN = replace(fern_label(), shapes=tuple(replace(s, bars=None) for s in fern_label().shapes))


@settings(max_examples=25, deadline=None)
@given(
    st.floats(-180, 180), st.floats(0.3, 3), st.booleans(), st.floats(-40, 40), st.floats(-40, 40)
)
def test_any_placing_is_found(angle, factor, mirrored, right, down):
    turn = math.radians(angle)
    x, y = factor * math.cos(turn), factor * math.sin(turn)
    after = carried(PLAIN, (-x if mirrored else x, -y if mirrored else y, -y, x, right, down))
    moved, placing = as_placed(PLAIN, after)
    assert placing is not None
    matrix = placing.matrix
    for one, two in zip(moved.shapes, after.shapes, strict=True):
        assert one.geometry.hausdorff_distance(two.geometry) < 1e-6
    assert abs(matrix[0] * matrix[3] - matrix[1] * matrix[2]) == pytest.approx(factor**2)
    assert ("mirrored" in in_words(placing)) is mirrored


def test_only_what_was_placed_is_moved():
    after = carried(PLAIN, (1, 0, 0, 1, 5, 0), only="dots")
    moved, placing = as_placed(PLAIN, after)
    assert placing == ((1, 0, 0, 1, 5, 0), 1)
    assert compare_artworks(moved, after).is_none


def test_what_stayed_has_no_map():
    assert as_placed(PLAIN, PLAIN) == (PLAIN, None)


def test_what_went_two_ways_is_compared_as_it_lies():
    after = carried(carried(PLAIN, (1, 0, 0, 1, 5, 0), only="dots"), (1, 0, 0, 1, 0, 5), "name")
    assert compare_artworks(as_placed(PLAIN, after)[0], after).is_none


def test_copies_are_compared_with_as_many_copies():
    tray = PlaceDrawing(copies=(2, 3), spacing=(100.0, 70.0))
    after = tray(PLAIN, Bench()).artwork
    moved, placing = as_placed(PLAIN, after)
    assert placing.copies == 6
    assert in_words(placing) == "copied 6 times"
    assert len(moved.shapes) == 6 * len(PLAIN.shapes)
    assert compare_artworks(moved, after).is_none


def test_a_stroke_that_became_an_area_before_it_was_placed_is_found():
    line = replace(PLAIN.shapes[3], stroke=Stroke(width=0.5), operation=Operation.ENGRAVE)
    before = replace(PLAIN, shapes=(line,))
    area = StrokesToAreas()(before, Bench()).artwork
    after = PlaceDrawing(width=10.0)(area, Bench()).artwork
    found = compare_artworks(as_placed(before, after)[0], after)
    assert found.lost_lines.is_empty
    assert found.added.is_empty
    assert found.removed.is_empty
    assert found.widened.area == pytest.approx(after.shapes[0].geometry.area, rel=1e-3)


def test_sources_that_several_shapes_share_count_once():
    # as after merging and levels: every level comes from all sources
    sources = tuple(s for shape in PLAIN.shapes for s in shape.sources)
    merged = replace(PLAIN, shapes=tuple(replace(s, sources=sources) for s in PLAIN.shapes))
    after = carried(merged, (1, 0, 0, 1, 1, 2))
    assert as_placed(PLAIN, after)[1] == ((1, 0, 0, 1, 1, 2), 1)


def test_strokes_go_along():
    line = replace(PLAIN.shapes[3], stroke=Stroke(width=0.5))
    before = replace(PLAIN, shapes=(line,))
    after = carried(before, (2, 0, 0, 2, 0, 0))
    moved, _ = as_placed(before, after)
    assert moved.shapes[0].stroke.width_mm == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("matrix", "words"),
    [
        ((1, 0, 0, 1, 3, 4), "moved"),
        ((2, 0, 0, 2, 0, 0), "scaled 2 times"),
        ((-1, 0, 0, 1, 0, 0), "mirrored"),
        ((0, -1, 1, 0, 0, 0), "turned 90°"),
        ((0, -1.5, 1.5, 0, 9, 9), "scaled 1.5 times, turned 90°"),
    ],
)
def test_maps_in_words(matrix, words):
    assert in_words(Placing(matrix)) == words


def test_pages_meet_in_their_centres():
    other = replace(PLAIN, page=Page(width=100.0, height=60.0))
    moved = centred(PLAIN, other)
    assert moved.page.centre == (50, 30)
    # PLAIN's page has its centre at 40, 26
    want = affine_transform(PLAIN.shapes[0].geometry, (1, 0, 0, 1, 10, 4))
    assert moved.shapes[0].geometry.equals_exact(want, 1e-9)
    assert moved.parts[0].bounds == (20, 8, 80, 54)
    assert centred(other, other) is other
