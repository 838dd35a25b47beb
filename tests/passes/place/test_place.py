from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import MultiLineString, MultiPolygon, Point, box

from preprocess.errors import Refusal
from preprocess.geometry.lines.stroking import outline_stroke
from preprocess.model.artwork.settings import Operation
from preprocess.model.artwork.shape import Stroke
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine
from preprocess.model.bench.part import Part
from preprocess.passes.place.place import CentreOn, PlaceDrawing
from tests.passes.strategies import artwork, shape

LEAF = shape("leaf", box(4, 6, 14, 10))
LABEL = MultiPolygon([box(2, 2, 22, 14)])
CLIP = MultiPolygon([box(18, 3, 20, 5)])
DRAWN = Bench(parts=(Part(outline="#label-edge"),))
GIVEN = Bench(parts=(Part(outline=(20.0, 12.0)),))
FIELD = Machine(field=(60.0, 50.0))


def place(art=None, bench=None, **params):
    art = art or artwork([LEAF], parts=(LABEL,), keep_off=(CLIP,))
    return PlaceDrawing(**params)(art, bench or DRAWN)


def box_of(geometry):
    return [round(value, 9) for value in geometry.bounds]


def leaf_box(outcome):
    return box_of(outcome.artwork.shapes[0].geometry)


@pytest.mark.parametrize(
    ("params", "expected"),
    [
        ({}, [4, 6, 14, 10]),
        ({"width": 20.0}, [-1, 4, 19, 12]),
        ({"height": 2.0}, [6.5, 7, 11.5, 9]),
        ({"width": 20.0, "height": 8.0}, [-1, 4, 19, 12]),
        ({"width": 20.0, "height": 2.0, "stretch": True}, [-1, 7, 19, 9]),
        ({"rotate": 90.0}, [7, 3, 11, 13]),
        ({"rotate": 90.0, "width": 8.0}, [5, -2, 13, 18]),
        ({"shift": (1.0, -2.0)}, [5, 4, 15, 8]),
        ({"centre_on": CentreOn.PAGE}, [15, 18, 25, 22]),
        ({"centre_on": CentreOn.PART}, [7, 6, 17, 10]),
        ({"centre_on": CentreOn.PART, "shift": (0.0, 1.0)}, [7, 7, 17, 11]),
    ],
)
def test_where_the_leaf_comes_to_lie(params, expected):
    assert leaf_box(place(**params)) == expected


def test_turning_is_counter_clockwise_as_seen_and_mirroring_comes_first():
    foot = shape("foot", MultiPolygon([box(0, 0, 10, 2).union(box(0, 2, 2, 6))]))
    tip = Point(1, 5)  # of the short leg, at the lower left
    cases = {
        (0.0, True): Point(9, 5),
        (90.0, False): Point(7, 7),
        (180.0, False): Point(9, 1),
        (90.0, True): Point(7, -1),
    }
    for (angle, mirror), where in cases.items():
        art = artwork([foot])
        assert art.shapes[0].geometry.contains(tip)
        (after,) = place(art, rotate=angle, mirror=mirror).artwork.shapes
        assert after.geometry.contains(where), (angle, mirror)


def test_sizes_that_disagree_are_refused_unless_stretching_is_asked_for():
    with pytest.raises(Refusal, match=r"width 20 mm is 2 times .* height 2 mm 0.5 times"):
        place(width=20.0, height=2.0)
    rounded_by_hand = place(width=33.3, height=13.33)
    assert leaf_box(rounded_by_hand)[2] - leaf_box(rounded_by_hand)[0] == pytest.approx(33.3)


def test_a_level_line_has_no_height_to_scale():
    line = replace(LEAF, geometry=MultiLineString([[(0, 5), (9, 5)]]), operation=Operation.SCORE)
    with pytest.raises(Refusal, match="no height that could become 3 mm; give the width"):
        place(artwork([line]), height=3.0)
    assert leaf_box(place(artwork([line]), width=3.0)) == [3, 5, 6, 5]


def test_a_new_size_asks_for_a_look_at_the_settings():
    (finding,) = place(width=20.0, centre_on=CentreOn.PAGE).findings
    assert (finding.code, finding.severity) == ("size-changed", "warn")
    assert "2 times its drawn size, 20.00 × 8.00 mm;" in finding.message
    assert "outline was scaled too" in finding.remedy
    (on_part,) = place(width=20.0, centre_on=CentreOn.PART).findings
    assert "scaled along" not in on_part.remedy


def test_leaving_the_page_is_told():
    (finding,) = place(shift=(-6.5, 0.0)).findings
    assert finding.code == "off-the-page"
    assert "2.50 mm beyond the page" in finding.message


def test_what_was_drawn_with_the_artwork_goes_with_it():
    after = place(width=20.0, shift=(0.0, 10.0)).artwork
    assert box_of(after.parts[0]) == [-5, 6, 35, 30]
    assert box_of(after.keep_off[0]) == [27, 8, 31, 12]
    assert after.page == artwork([LEAF]).page


def test_a_part_given_by_numbers_stays():
    after = place(bench=GIVEN, shift=(1.0, 1.0)).artwork
    assert after.parts == (LABEL,)
    assert box_of(after.keep_off[0]) == [19, 4, 21, 6]


def test_copies_of_a_part_given_by_numbers_stay_when_the_drawing_moves_again():
    tray = PlaceDrawing(copies=(2, 1), spacing=(30.0, 20.0))
    first = place(bench=GIVEN).artwork
    laid = tray(first, GIVEN).artwork
    after = PlaceDrawing(shift=(1.0, 2.0))(laid, GIVEN).artwork
    assert [box_of(part) for part in after.parts] == [[-13, 2, 7, 14], [17, 2, 37, 14]]
    assert box_of(after.keep_off[1]) == [34, 5, 36, 7]  # a clip is drawn, and goes along
    drawn = PlaceDrawing(shift=(1.0, 2.0))(laid, DRAWN).artwork
    assert [box_of(part) for part in drawn.parts] == [[-12, 4, 8, 16], [18, 4, 38, 16]]


def test_a_part_that_is_the_aim_stays():
    after = place(width=20.0, centre_on=CentreOn.PART).artwork
    assert (after.parts, after.keep_off) == ((LABEL,), (CLIP,))


def test_a_field_without_a_place_lies_about_the_part_and_both_stay():
    bench = replace(DRAWN, machine=FIELD)
    outcome = place(bench=bench, centre_on=CentreOn.FIELD)
    assert leaf_box(outcome) == [7, 6, 17, 10]
    assert outcome.artwork.parts == (LABEL,)


def test_a_field_with_a_place_takes_the_part_along():
    bench = replace(DRAWN, machine=replace(FIELD, field_origin=(0.0, 0.0)))
    outcome = place(bench=bench, centre_on=CentreOn.FIELD)
    assert leaf_box(outcome) == [25, 23, 35, 27]
    assert box_of(outcome.artwork.parts[0]) == [23, 19, 43, 31]


@pytest.mark.parametrize("middle", [CentreOn.PART, CentreOn.FIELD])
def test_a_middle_that_nobody_knows_is_refused(middle):
    with pytest.raises(Refusal, match=r"there is no (part|field) to centre on"):
        place(artwork([LEAF]), Bench(), centre_on=middle)


def test_only_some_move_and_nothing_goes_along():
    other = shape("other", box(0, 0, 1, 1), label="Seeds")
    art = artwork([LEAF, other], parts=(LABEL,), keep_off=(CLIP,))
    after = place(art, only=Selection(label="Leaflets"), shift=(1.0, 0.0)).artwork
    assert box_of(after.shapes[0].geometry) == [5, 6, 15, 10]
    assert after.shapes[1] is other
    assert (after.parts, after.keep_off) == (art.parts, art.keep_off)


def test_sources_move_too():
    (leaf,) = place(rotate=30.0, width=7.0).artwork.shapes
    assert leaf.sources[0].geometry == leaf.geometry


def test_placing_a_stroke_and_then_painting_it_is_painting_it_and_then_placing():
    """Under an uneven stretch the stroke becomes uneven too; its clips move along."""
    frame = shape("frame", box(0, 0, 40, 40))  # so that both drawings have the same box
    lines = MultiLineString([[(4, 4), (12, 8), (12, 14)]])
    stroke = Stroke(
        width=1.5,
        matrix=(1.2, 0.3, 0.0, 0.8, 2.0, 1.0),
        within=MultiPolygon([box(0, 0, 12.2, 13)]),
        without=MultiPolygon([box(6, 0, 7, 20)]),
    )
    drawn = replace(LEAF, geometry=lines, operation=Operation.SCORE, stroke=stroke)
    painted = replace(LEAF, geometry=outline_stroke(lines, stroke))
    step = PlaceDrawing(rotate=25.0, mirror=True, width=22.0, height=9.0, stretch=True)
    late = step(artwork([frame, drawn]), DRAWN).artwork.shapes[1]
    early = step(artwork([frame, painted]), DRAWN).artwork.shapes[1]
    difference = outline_stroke(late.geometry, late.stroke).symmetric_difference(early.geometry)
    assert difference.area < 1e-5 * early.geometry.length


def guide(name, *points):
    lines = MultiLineString([points])
    return replace(shape(name, box(0, 0, 1, 1), operation=Operation.GUIDE), geometry=lines)


def test_guides_go_along_but_have_no_say():
    helper = guide("helper", (0, 8), (40, 8))
    outcome = place(artwork([helper, LEAF]), width=20.0, centre_on=CentreOn.PAGE)
    moved, leaf = outcome.artwork.shapes
    assert box_of(leaf.geometry) == [10, 16, 30, 24]
    assert box_of(moved.geometry) == [2, 20, 82, 20]
    assert "off-the-page" not in {finding.code for finding in outcome.findings}


def test_guides_alone_are_placed_by_their_own_size():
    outcome = place(artwork([guide("helper", (0, 0), (8, 4))]), width=4.0)
    assert box_of(outcome.artwork.shapes[0].geometry) == [2, 1, 6, 3]
