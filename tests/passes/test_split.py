from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import MultiPolygon, box

from preprocess.engine.facts import SEPARATE, ZONED
from preprocess.model.artwork.source import Source
from preprocess.model.bench.bench import Bench
from preprocess.passes.merge import Merge
from preprocess.passes.split import Split, SplitBy
from tests.passes.strategies import artwork, shape
from tests.passes.test_merge import EACH_COLOUR


def compound(*sources, grown=0.0):
    """One path of several elements (name, label, area), painted in this order."""
    shapes = [shape(name, area, label=label) for name, label, area in sources]
    (merged,) = Merge()(artwork(shapes), Bench()).artwork.shapes or shapes
    area = merged.geometry if not grown else merged.geometry.buffer(grown, join_style="mitre")
    return replace(merged, geometry=MultiPolygon(list(getattr(area, "geoms", [area]))))


def pieces(split, *shapes):
    return split(artwork(shapes), Bench()).artwork.shapes


def facts(shapes):
    return [(s.id, round(s.geometry.area, 6), [x.id for x in s.sources]) for s in shapes]


def test_pieces_come_from_top_to_bottom_and_know_their_elements():
    one = compound(
        ("low", "Fern", box(0, 20, 4, 22)),
        ("leaf", "Fern", box(0, 0, 4, 2)),
        ("stem", "Fern", box(3, 0, 4, 10)),
        ("right", "Fern", box(8, 0, 9, 1)),
    )
    assert facts(pieces(Split(), one)) == [
        ("stem", 16.0, ["leaf", "stem"]),
        ("right", 1.0, ["right"]),
        ("low", 8.0, ["low"]),
    ]


def test_areas_that_touch_in_a_point_are_separate():
    one = compound(("a", None, box(0, 0, 2, 2)), ("b", None, box(2, 2, 4, 4)))
    assert facts(pieces(Split(), one)) == [("a", 4.0, ["a"]), ("b", 4.0, ["b"])]


def test_dots_of_one_element_are_numbered_and_unlike_to_other_ids():
    dots = shape("dots", MultiPolygon([box(i, 0, i + 0.5, 1) for i in range(3)]))
    other = shape("dots-2", box(0, 5, 1, 6))
    assert [s.id for s in pieces(Split(), dots, other)] == ["dots-1", "dots-3", "dots-4", "dots-2"]


def test_levels_stay():
    zone = replace(shape("a", MultiPolygon([box(0, 0, 1, 1), box(3, 0, 4, 1)])), level=2)
    after = Split()(artwork([zone]), Bench()).artwork
    assert [s.level for s in after.shapes] == [2, 2]
    assert ZONED.holds(after, "leaflets")
    assert SEPARATE.holds(after, "leaflets")


def test_a_zone_cut_out_of_two_leaves_belongs_to_both():
    """A strip through two leaves that holds no inner point of either."""
    left, right = box(0, 0, 4, 10), box(4, 0, 8, 10)
    one = compound(("left", None, left), ("right", None, right))
    strip = replace(one, geometry=MultiPolygon([box(0, 8, 8, 9), box(0, 1, 8, 2)]))
    assert [[x.id for x in s.sources] for s in pieces(Split(), strip)] == [["left", "right"]] * 2


def test_a_piece_that_no_element_painted_belongs_to_the_nearest():
    one = compound(("a", None, box(0, 0, 2, 2)), ("b", None, box(20, 0, 22, 2)))
    extra = MultiPolygon([*one.geometry.geoms, box(17, 5, 18, 6)])
    assert facts(pieces(Split(), replace(one, geometry=extra)))[2] == ("b-2", 1.0, ["b"])


def test_an_area_of_unknown_elements_keeps_them_all():
    sources = (Source(id="a"), Source(id="b"))
    one = replace(shape("x", MultiPolygon([box(0, 0, 1, 1), box(3, 0, 4, 1)])), sources=sources)
    assert [s.sources for s in pieces(Split(), one)] == [sources, sources]
    assert len(pieces(Split(by=SplitBy.SOURCE), one)) == 1


def test_what_was_grown_goes_back_to_the_nearest_element():
    one = compound(("a", None, box(0, 0, 4, 4)), ("b", None, box(10, 0, 14, 4)), grown=0.5)
    assert facts(pieces(Split(by=SplitBy.SOURCE), one)) == [("a", 25.0, ["a"]), ("b", 25.0, ["b"])]


def test_by_label_puts_what_has_none_under_the_layer():
    one = compound(("a", "Fern", box(0, 0, 1, 1)), ("b", None, box(3, 0, 4, 1)))
    assert [s.id for s in pieces(Split(by=SplitBy.LABEL), one)] == ["Fern", "leaflets"]


def test_fill_and_stroke_of_one_element_stay_together():
    one = compound(
        ("leaf", None, box(0, 0, 4, 4)),
        ("seed", None, box(10, 0, 11, 1)),
        ("leaf", None, box(3, 0, 5, 4)),
    )
    assert facts(pieces(Split(by=SplitBy.SOURCE), one))[0] == ("leaf", 20.0, ["leaf", "leaf"])


def test_covered_elements_are_named():
    one = compound(("under", None, box(1, 1, 2, 2)), ("over", None, box(0, 0, 4, 4)),
                   ("beside", None, box(6, 0, 7, 1)))  # fmt: skip
    outcome = Split(by=SplitBy.SOURCE)(artwork([one]), Bench())
    assert {f.code: f.elements for f in outcome.findings} == {
        "paths-split": ("leaflets-compound",),
        "elements-covered": ("under",),
    }
    assert [f.message for f in outcome.findings] == [
        "1 path became 2 separate ones",
        "1 element without a path, hidden under later paint",
    ]


@pytest.mark.parametrize(
    ("by", "gives"), [(SplitBy.CONNECTED, {SEPARATE}), (SplitBy.SOURCE, set())]
)
def test_only_connected_areas_are_sure_to_be_separate(by, gives):
    assert Split(by=by).contract_on(Bench()).gives == gives


def test_it_says_that_each_colour_is_swept_as_a_whole_anyway():
    findings = Split()(artwork([shape("a", box(0, 0, 1, 1))]), EACH_COLOUR).findings
    assert [f.code for f in findings] == ["split-without-effect"]
