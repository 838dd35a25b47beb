"""The drawing as read is moved to where the output has it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import affine_transform, rotate, scale, translate

from preprocess.model.artwork.artwork import Page
from preprocess.model.artwork.shape import Stroke
from preprocess.preview.drawing.as_drawn import as_placed, centred, in_words
from preprocess.preview.overlay.difference import compare_artworks
from tests.labels import fern_label


def carried(artwork, move, only=None):
    def one(shape):
        if only is not None and shape.layer != only:
            return shape
        sources = tuple(replace(s, geometry=move(s.geometry)) for s in shape.sources)
        bars = None if shape.bars is None else move(shape.bars)
        return replace(shape, geometry=move(shape.geometry), sources=sources, bars=bars)

    return replace(artwork, shapes=tuple(one(shape) for shape in artwork.shapes))


PLAIN = replace(fern_label(), shapes=tuple(replace(s, bars=None) for s in fern_label().shapes))


@settings(max_examples=25, deadline=None)
@given(
    st.floats(-180, 180), st.floats(0.3, 3), st.booleans(), st.floats(-40, 40), st.floats(-40, 40)
)
def test_any_placing_is_found(angle, factor, mirrored, right, down):
    def move(g):
        g = scale(g, -factor if mirrored else factor, factor, origin=(0, 0))
        return translate(rotate(g, angle, origin=(0, 0)), right, down)

    after = carried(PLAIN, move)
    moved, matrix = as_placed(PLAIN, after)
    assert matrix is not None
    for one, two in zip(moved.shapes, after.shapes, strict=True):
        assert one.geometry.hausdorff_distance(two.geometry) < 1e-6
    assert abs(matrix[0] * matrix[3] - matrix[1] * matrix[2]) == pytest.approx(factor**2)
    assert ("mirrored" in in_words(matrix)) is mirrored


def test_only_what_was_placed_is_moved():
    after = carried(PLAIN, lambda g: translate(g, 5, 0), only="dots")
    moved, matrix = as_placed(PLAIN, after)
    assert matrix == pytest.approx((1, 0, 0, 1, 5, 0))
    assert compare_artworks(moved, after).is_none


def test_what_stayed_has_no_map():
    assert as_placed(PLAIN, PLAIN) == (PLAIN, None)


def test_what_no_single_map_explains_is_left_alone():
    after = carried(carried(PLAIN, lambda g: translate(g, 5, 0), only="dots"),
                    lambda g: translate(g, 0, 5), only="name")  # fmt: skip
    assert as_placed(PLAIN, after) == (PLAIN, None)


def test_sources_that_several_shapes_share_count_once():
    # as after merging and levels: every level comes from all sources
    sources = tuple(s for shape in PLAIN.shapes for s in shape.sources)
    merged = replace(PLAIN, shapes=tuple(replace(s, sources=sources) for s in PLAIN.shapes))
    after = carried(merged, lambda g: translate(g, 1, 2))
    assert as_placed(PLAIN, after)[1] == pytest.approx((1, 0, 0, 1, 1, 2))


def test_strokes_go_along():
    line = replace(PLAIN.shapes[3], stroke=Stroke(width=0.5))
    before = replace(PLAIN, shapes=(line,))
    after = carried(before, lambda g: scale(g, 2, 2, origin=(0, 0)))
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
    assert in_words(matrix) == words


def test_pages_meet_in_their_centres():
    other = replace(PLAIN, page=Page(width=100.0, height=60.0))
    moved = centred(PLAIN, other)
    assert moved.page.centre == (50, 30)
    # PLAIN's page has its centre at 40, 26
    want = affine_transform(PLAIN.shapes[0].geometry, (1, 0, 0, 1, 10, 4))
    assert moved.shapes[0].geometry.equals_exact(want, 1e-9)
    assert moved.parts[0].bounds == (20, 8, 80, 54)
    assert centred(other, other) is other
