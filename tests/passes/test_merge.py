from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import MultiLineString, box

from preprocess.engine.facts import MERGED, ZONED
from preprocess.errors import Refusal
from preprocess.findings import Severity
from preprocess.model.artwork.settings import Operation
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine, RasterGroups
from preprocess.passes.merge import Merge
from tests.passes.strategies import artwork, shape

EACH_COLOUR = Bench(machine=Machine(name="bench galvo", raster_groups=RasterGroups.EACH_COLOUR))


def leaf(name, x, **more):
    return shape(name, box(x, 0, x + 4, 2), **more)


def test_the_compound_stands_where_its_first_shape_stood():
    line = replace(
        leaf("vein", 0), geometry=MultiLineString([[(0, 0), (1, 1)]]), operation=Operation.SCORE
    )
    seed = leaf("seed", 30, layer="seeds")
    art = artwork([line, leaf("a", 0), seed, leaf("b", 10), leaf("c", 20)])
    after = Merge()(art, Bench()).artwork
    assert [s.id for s in after.shapes] == ["vein", "leaflets-compound", "seed"]
    assert after.shapes[0] is line
    assert after.shapes[2] is seed
    assert [source.id for source in after.shapes[1].sources] == ["a", "b", "c"]


def test_overlaps_are_reported_with_those_that_overlap():
    a, b, c, d = leaf("a", 0), leaf("b", 3), leaf("c", 7), leaf("d", 20)
    outcome = Merge()(artwork([a, b, c, d]), Bench())
    (finding,) = outcome.findings
    assert finding.code == "overlaps-united"
    assert finding.elements == ("a", "b")  # b and c only share an edge
    assert "2.00 mm² of leaflets" in finding.message
    assert outcome.changes[0].removed.area == pytest.approx(2)
    assert outcome.artwork.shapes[0].geometry.area == pytest.approx(30)


def test_three_on_one_spot_are_marked_twice_too_often():
    outcome = Merge()(artwork([leaf(name, 0) for name in "abc"]), Bench())
    assert outcome.changes[0].removed.area == pytest.approx(16)
    assert outcome.findings[0].elements == ("a", "b", "c")


def test_each_level_becomes_one_path():
    shapes = [replace(leaf(f"a{i}", 6 * i), level=1 + i % 2) for i in range(6)]
    after = Merge()(artwork(shapes), Bench()).artwork
    assert [(s.id, s.level) for s in after.shapes] == [
        ("leaflets-1-compound", 1),
        ("leaflets-2-compound", 2),
    ]
    assert MERGED.holds(after, "leaflets")
    assert ZONED.holds(after, "leaflets")


def test_a_shape_alone_stays_as_it_is():
    art = artwork([leaf("a", 0)])
    outcome = Merge()(art, Bench())
    assert outcome.artwork == art
    assert outcome.findings == outcome.changes == ()


def test_ids_stay_unlike():
    taken = leaf("leaflets-compound", 0, layer="seeds")
    after = Merge()(artwork([taken, leaf("a", 0), leaf("b", 9)]), Bench()).artwork
    assert [s.id for s in after.shapes] == ["leaflets-compound", "leaflets-compound-1"]


def test_it_says_that_each_colour_is_swept_as_a_whole_anyway():
    (finding,) = Merge()(artwork([leaf("a", 0), leaf("b", 9)]), EACH_COLOUR).findings
    assert (finding.code, finding.severity) == ("merge-without-effect", Severity.NOTE)
    assert "bench galvo" in finding.message


def test_choosing_some_of_what_was_merged_is_refused():
    red = replace(leaf("b", 9).sources[0], label="Seeds")
    art = artwork([leaf("a", 0), replace(leaf("b", 9), sources=(red,))])
    merged = Merge()(art, Bench()).artwork
    with pytest.raises(Refusal, match="only some of the elements"):
        Merge(only=Selection(label="Seeds"))(merged, Bench())
