"""What holds for any artwork: merging and splitting change paths, never what is painted."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import scipy.ndimage
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiLineString

from preprocess.engine.facts import FILLED, MERGED, SEPARATE
from preprocess.engine.ledger import imbalances, totals
from preprocess.model.artwork.settings import Operation
from preprocess.model.bench.bench import Bench
from preprocess.passes.drop_duplicates import DropDuplicates
from preprocess.passes.merge import Merge
from preprocess.passes.place.place import CentreOn, PlaceDrawing
from preprocess.passes.split import Split, SplitBy
from preprocess.passes.strokes_to_areas import StrokesToAreas
from tests.passes.strategies import angles, areas, artwork, drawn, raster, shape, tiles, turned

BENCH = Bench()
MEND = 4e-6
"""How far closing a slit may move an edge, to either side, in mm."""


def run(art, *passes):
    for step in passes:
        outcome = step(art, BENCH)
        assert imbalances(totals(art), outcome.changes, totals(outcome.artwork)) == ()
        art = outcome.artwork
    return art


def paint(art):
    return shapely.union_all([s.geometry for s in art.shapes])


def same_paint(one, other):
    a, b = paint(one), paint(other)
    return a.symmetric_difference(b).area <= MEND * (a.length + b.length)


def same_shapes(one, other):
    assert [(s.id, s.layer, s.operation) for s in one.shapes] == [
        (s.id, s.layer, s.operation) for s in other.shapes
    ]
    return all(
        a.geometry.symmetric_difference(b.geometry).area <= MEND * a.geometry.length
        for a, b in zip(one.shapes, other.shapes, strict=True)
    )


@given(areas(), angles)
def test_merge_paints_the_same_and_nothing_twice(painted, angle):
    before = drawn(painted, angle)
    after = run(before, Merge())
    assert same_paint(before, after)
    assert len(after.shapes) == 1
    assert MERGED.holds(after, "leaflets")
    assert after.shapes[0].geometry.is_valid
    assert len(after.shapes[0].sources) == len(painted)


@given(areas(), angles)
def test_as_many_paths_as_a_raster_has_components(painted, angle):
    labels, count = scipy.ndimage.label(raster(painted))
    assert labels.max() == count
    after = run(drawn(painted, angle), Merge(), Split())
    assert SEPARATE.holds(after, "leaflets")
    assert len(after.shapes) == count


@given(areas(), angles)
def test_holes_are_those_of_the_raster(painted, angle):
    """Dark regions but for the surroundings; where two touch in a point, they may count as one."""
    dark = np.pad(~raster(painted), 1, constant_values=True)
    _, fewest = scipy.ndimage.label(dark, structure=np.ones((3, 3)))
    _, most = scipy.ndimage.label(dark)
    (merged,) = run(drawn(painted, angle), Merge()).shapes
    assert fewest - 1 <= sum(len(part.interiors) for part in merged.geometry.geoms) <= most - 1


@given(areas(), angles, st.sampled_from(list(SplitBy)))
def test_split_after_merge_paints_the_same(painted, angle, by):
    merged = run(drawn(painted, angle), Merge())
    pieces = run(merged, Split(by=by))
    assert same_paint(merged, pieces)
    assert sum(s.geometry.area for s in pieces.shapes) == pytest.approx(paint(merged).area)
    assert all(s.geometry.is_valid for s in pieces.shapes)
    assert len({s.id for s in pieces.shapes}) == len(pieces.shapes)


@given(areas(least=2), angles)
def test_by_source_gives_each_element_what_shows_of_it(painted, angle):
    before = drawn(painted, angle)
    after = run(before, Merge(), Split(by=SplitBy.SOURCE))
    if len(after.shapes) == 1:
        return
    for piece in after.shapes:
        (source,) = piece.sources
        index = [s.id for s in before.shapes].index(source.id)
        above = shapely.union_all([s.geometry for s in before.shapes[index + 1 :]])
        shows = source.geometry.difference(above)
        slack = 2 * MEND * (source.geometry.length + above.length)
        assert piece.geometry.symmetric_difference(shows).area <= slack


@given(areas(), angles, st.sampled_from(list(SplitBy)))
def test_twice_is_once(painted, angle, by):
    merged = run(drawn(painted, angle), Merge())
    assert run(merged, Merge()) == merged
    pieces = run(merged, Split(by=by))
    assert run(pieces, Split(by=by)) == pieces
    once = run(drawn([*painted, *painted], angle), DropDuplicates())
    assert run(once, DropDuplicates()) == once


PLACES = st.one_of(
    angles.map(lambda angle: PlaceDrawing(rotate=angle)),
    st.just(PlaceDrawing(mirror=True)),
    angles.map(lambda angle: PlaceDrawing(rotate=angle, mirror=True, shift=(3.25, -1.5))),
    st.floats(5, 60).map(lambda width: PlaceDrawing(width=width, centre_on=CentreOn.PAGE)),
)


@given(areas(), angles, PLACES)
def test_placing_commutes_with_merging(painted, angle, place):
    art = drawn(painted, angle)
    one, other = run(art, Merge(), place), run(art, place, Merge())
    assert same_shapes(one, other)
    assert len(one.shapes[0].geometry.geoms) == len(other.shapes[0].geometry.geoms)


@given(areas(), PLACES)
def test_placing_commutes_with_splitting(painted, place):
    """As sets: which piece is topmost may differ once the art is turned."""
    merged = run(drawn(painted), Merge())
    one, other = run(merged, Split(), place), run(merged, place, Split())
    assert len(one.shapes) == len(other.shapes)
    assert same_paint(one, other)
    assert np.allclose(
        sorted(s.geometry.area for s in one.shapes), sorted(s.geometry.area for s in other.shapes)
    )


@given(areas(), angles)
def test_turned_forth_and_back_is_where_it_was(painted, angle):
    """The middle of the box is not that of the turned box, so the way back is told apart."""
    art = drawn(painted)
    forth = run(art, PlaceDrawing(rotate=angle))
    back = run(forth, PlaceDrawing(rotate=-angle))
    x, y = np.array(shapely.total_bounds([s.geometry for s in art.shapes])[:2])
    u, v = np.array(shapely.total_bounds([s.geometry for s in back.shapes])[:2])
    home = run(back, PlaceDrawing(shift=(float(x - u), float(y - v))))
    for a, b in zip(art.shapes, home.shapes, strict=True):
        assert a.geometry.hausdorff_distance(b.geometry) < 1e-9


@given(areas(), st.floats(2, 80))
def test_a_width_scales_areas_by_its_square(painted, width):
    art = drawn(painted)
    left, _, right, _ = shapely.total_bounds([s.geometry for s in art.shapes])
    after = run(art, PlaceDrawing(width=width))
    x0, _, x1, _ = shapely.total_bounds([s.geometry for s in after.shapes])
    assert x1 - x0 == pytest.approx(width)
    assert paint(after).area == pytest.approx(paint(art).area * (width / (right - left)) ** 2)


@given(tiles(), angles)
def test_turned_tiles_become_one_part_without_slits(painted, angle):
    (merged,) = run(drawn(painted, angle), Merge()).shapes
    (part,) = merged.geometry.geoms
    assert len(part.interiors) == 0
    whole = shapely.union_all(painted).envelope
    assert part.symmetric_difference(turned(whole, angle)).area <= MEND * 2 * whole.length


@given(st.lists(st.integers(0, 8), min_size=1, max_size=12), st.randoms())
def test_duplicates_are_dropped_whatever_their_direction(picks, random):
    """Nine unlike lines, some of them several times over, backwards or from another start."""
    lines = [
        np.array([(2.0 * i + 1, 2.0), (2.0 * i + 2, 2.0), (2.0 * i + 1.5, 5.0 + i)])
        for i in range(9)
    ]
    shapes = []
    for number, pick in enumerate(picks):
        points = lines[pick]
        if pick % 2:
            points = np.roll(points, random.randrange(3), axis=0)
            points = np.concatenate([points, points[:1]])
        if random.random() < 0.5:
            points = points[::-1]
        line = MultiLineString([LineString(points)])
        plain = shape(f"v{number}", shapely.box(0, 0, 1, 1), operation=Operation.SCORE)
        shapes.append(replace(plain, geometry=line))
    after = run(artwork(shapes), DropDuplicates())
    first = [number for number, pick in enumerate(picks) if pick not in picks[:number]]
    assert [s.id for s in after.shapes] == [f"v{number}" for number in first]


@settings(max_examples=20)
@given(areas())
def test_nothing_is_done_to_what_is_not_chosen(painted):
    from preprocess.model.artwork.source import Selection

    mine = [shape(f"a{i}", turned(a, 0.0)) for i, a in enumerate(painted)]
    others = [shape(f"b{i}", turned(a, 0.0), label="Others") for i, a in enumerate(painted)]
    art = artwork([*mine, *others])
    only = Selection(label="Leaflets")
    for step in (
        Merge(only=only),
        Split(only=only),
        Split(only=only, by=SplitBy.SOURCE),
        DropDuplicates(only=only),
        PlaceDrawing(only=only, width=7.0),
        StrokesToAreas(only=only),
    ):
        kept = [s for s in run(art, step).shapes if s.id.startswith("b")]
        assert kept == others


@pytest.mark.parametrize(
    "step", [Merge(), Split(), Split(by=SplitBy.LABEL), DropDuplicates(), PlaceDrawing(width=3.0)]
)
def test_nothing_in_nothing_out(step):
    empty = artwork([])
    outcome = step(empty, BENCH)
    assert outcome.artwork == empty
    assert not outcome.findings
    assert not outcome.changes
    assert FILLED.holds(outcome.artwork, "leaflets")
